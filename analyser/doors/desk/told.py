"""What a desk shows of a rig, as plain data: the only place where the results are read for it.

First at a glance (who is held, and what alone brings them down: the single failures, asked together),
then all that a check says; and what follows the failures that somebody supposes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from analyser.checking import glance
from analyser.checking.calling import At
from analyser.checking.fates import SHAKEN
from analyser.checking.finding import Finding, Severity
from analyser.checking.held_by import way_in_words
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result, State
from analyser.checking.scenario import After, after_failures
from analyser.holding.fate import Fate, Kind
from analyser.holding.outcome import BodyOutcome, assess
from analyser.language.identities import FailureId
from analyser.pages.drawing.marks import held_rows
from analyser.pages.writers.hypertext import elements
from analyser.pages.writing.translation import LANGUAGES, catalogue, verdict
from analyser.pages.writing.whatif_page import whatif_page
from analyser.rig.model import Failure, Rig

Data = dict[str, Any]
"""Of lists, dictionaries, words and numbers: as JSON has them."""
ONE, HELD = "one", "held"
"""What becomes of a body is the kind of its fate, with these two for who is held: one failure from not being held,
or further. The words for it are the page's."""
NO_GRAVER = (Kind.HELD, Kind.DROPS)
"""What is told of who is left on one by that: how far they drop first the forces say."""
WORDS = {
    Kind.FALLS: "falls",
    Kind.BY_A_PERSON: "person",
    Kind.BY_ANOTHERS_WEIGHT: "weight",
    Kind.RUNS: "runs",
    Kind.TO_THE_GROUND: "falls",
    Kind.TURNS_OVER: "tips",
    Kind.TIPS: "tips",
    Kind.DROPS: "slackens",
    Kind.SLACKENS: "slackens",
    Kind.HELD: HELD,
}


def at_a_glance(rig: Rig, glances: glance.Glances) -> Data:
    """Who is held in a rig as it is, and which single failures drop whom. No more than a few sweeps of what has
    changed since `glances` was last asked."""
    bodies = [
        {"name": one.body, "kind": rig.parts[one.body].kind, **_next(rig, one.fate, one.alone or (), one.shaken)}
        for one in glances.of(rig)
    ]
    return {"title": rig.title, "bodies": bodies}


def _next(rig: Rig, fate: Fate, alone: Sequence[FailureId], shaken: bool) -> Data:
    """A body's fate, and after which failures alone it is no longer held; what is accepted makes no fate worse."""
    accepted = {one.failure for one in rig.accepted}
    word = ONE if fate.kind in NO_GRAVER and set(alone) - accepted else WORDS[fate.kind]
    return {"fate": word, "alone": list(alone), "to": list(fate.to), "shaken": shaken}


def checked(result: Result, file: str) -> Data:
    """All that a check says, for the page of one file."""
    rig = result.rig
    broken = set(result.broken_states)
    return {
        "title": rig.title,
        "revision": rig.revision,
        "met": result.met,
        "closing": {one: catalogue(one).text(verdict(result)) for one in LANGUAGES},
        "complete": result.complete,
        "cautions": list(CAUTIONS),
        "order": result.order,
        "states": [_state(one, one.number in broken, file) for one in result.states],
        "requirements": [
            {
                "text": one.asked,
                "met": one.met,
                "because": list(one.because),
                "line": None if one.requirement.assumed else _line(one.requirement.place, file),
                "assumed": one.requirement.assumed,
                "states": list(one.states),
            }
            for one in result.requirements
        ],
        "findings": [
            _finding(one, state, file) for state in result.states for one in in_order_of_need(result.fresh(state))
        ],
        "parts": _parts(result, file),
    }


def in_order_of_need(findings: Iterable[Finding]) -> list[Finding]:
    """Dangers first, what is accepted last."""
    grave = list(Severity)
    return sorted(findings, key=lambda one: (one.accepted is not None, grave.index(one.severity)))


def _finding(finding: Finding, state: State, file: str) -> Data:
    return {
        "rule": finding.rule,
        "severity": str(finding.severity),
        "text": finding.text,
        "mend": finding.mend,
        "accepted": finding.accepted,
        "line": _line(finding.place, file),
        "state": state.number,
    }


def _state(state: State, broken: bool, file: str) -> Data:
    held = held_rows(state.rig, state.outcome)
    return {
        "number": state.number,
        "stage": state.stage,
        "step": state.step,
        "line": state.line,
        "broken": broken,
        "possible": [one.id for one in state.outcome.failures],
        "bodies": [_body(state, body, held[body.name]) for body in state.outcome.bodies],
    }


def _body(state: State, body: BodyOutcome, rows: Sequence[str]) -> Data:
    sets = state.outcome.failure_sets[body.name]
    fates = {one.id: one.fate(body.name) for one in state.outcome.failures}
    alone = [] if body.fate.not_held else [name for name, then in fates.items() if then.not_held]
    shaken = any(one.kind in SHAKEN for one in fates.values())
    return {
        "name": body.name,
        "kind": state.rig.parts[body.name].kind,
        **_next(state.rig, body.fate, alone, shaken),
        "attachments": body.attachments,
        "independent": body.independent,
        "exact": body.independent_exact,
        "pairs": sum(len(cut) == 2 for cut in sets),
        "by": [way_in_words(state.rig, body.name, way) for way in body.ways],
        "in_picture": rows,
    }


def _parts(result: Result, file: str) -> dict[str, Data]:
    """Each thing that can be pressed in the picture: its kind, its line, and what can fail of it."""
    found: dict[str, Data] = {}

    def told(name: str, kind: str, line: int | None) -> Data:
        return found.setdefault(name, {"kind": kind, "line": line, "failures": []})

    for state in result.states:
        for part in state.rig.parts.values():
            told(part.name, part.kind, _line(part.place, file))
        for rope in state.rig.ropes:
            for number, span in enumerate(rope.spans):
                end = rope.stations[min(number + 1, len(rope.stations) - 1)]
                told(span, f"{rope.kind} {rope.name}", _line(end.place, file))
        for one in state.rig.failures:
            mine = told(one.part, "cause", _line(one.place, file))["failures"]
            if one.id not in mine:
                mine.append(one.id)
    return found


def _line(place: Any, file: str) -> int | None:
    """The line of a place in the file that is shown; None where it stands in another."""
    return place.line if place.file == file else None


def supposed(rig: Rig, failures: Sequence[Failure], file: str) -> Data:
    """What follows these failures together: each body's fate, and the page of `stillheld whatif` on it."""
    before = assess(rig)
    then = after_failures(At(rig), failures)
    fates = {body.name: _fate_after(body, then) for body in then.outcome.bodies}
    _, _, *told = whatif_page(before, then, file).blocks  # its title and what failed stand on the page already
    return {
        "failed": [one.id for one in failures],
        "fates": fates,
        "next": {
            body.name: [cut[0] for cut in then.outcome.failure_sets[body.name] if len(cut) == 1] if body.held else []
            for body in then.outcome.bodies
        },
        "in_picture": held_rows(rig, then.outcome),
        "page": str(elements(told)),
    }


def _fate_after(now: BodyOutcome, then: After) -> str:
    if now.name in then.falls and not now.fate.not_held:  # once what is overloaded has broken
        return WORDS[Kind.FALLS]
    return ONE if now.fate.kind in NO_GRAVER and now.smallest_failure_set == 1 else WORDS[now.fate.kind]


def failures_of(rig: Rig, names: Sequence[str]) -> list[Failure]:
    """The failures of these names; those that a state doesn't have are left out."""
    known = rig.index.failures
    return [known[name] for name in names if name in known]
