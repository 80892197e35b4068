"""The failure mode and effects worksheet: one row for each item and mode, in one state or in several.

The method is the inductive one (IEC 60812, known from memory, facts 9.14): from each item to what its
failure does, one failure at a time, all that follows from it counted with it (facts 9.2, 10 CFR 50
App. A). Severity is told in the categories of MIL-STD-882E (facts 9.1, tables restated in a public
repository file); which effect on a rope falls into which category is a mapping of our own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from analyser.checking.delivered import Delivered
from analyser.checking.fates import already, together
from analyser.checking.finding import listed, verb
from analyser.checking.first_look import FirstLook, first_look
from analyser.checking.foremost import verdict_line, verdict_rest
from analyser.checking.hanging_from import holder
from analyser.checking.latent import slips
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result, State
from analyser.checking.sentences import either
from analyser.language.identities import Revision, Span
from analyser.rig.frames_on import standing_on
from analyser.rig.model import Failure, Nature, Part, Rig, Role, reasons
from analyser.uses.mending.for_these import best_for, mends_for, takes
from analyser.uses.mending.ranking import Mend
from analyser.uses.procedure.holds import Loss, losses
from analyser.uses.procedure.inspecting import look_at
from analyser.uses.procedure.responding import answer_to, falling, losing

CATEGORIES = {
    "I": "catastrophic",
    "II": "critical",
    "III": "marginal",
    "IV": "negligible",
}
"""MIL-STD-882E, table of severity categories (facts 9.1, S90)."""
MAPPING = {
    "I": "somebody is not held: falls, runs to a knot, hangs only from a person; or a litter or a load does, which "
    "may strike somebody",
    "II": "held all the same, but tipped, turned over, dropped before it is held, or left so that one more failure "
    "drops it",
    "III": "a way of being held is lost, and two at least are left",
    "IV": "in this model nobody is held otherwise than before",
}
METHOD = (
    "Failure mode and effects worksheet: one failure at a time, everything that follows from it counted with it "
    "(the inductive method of IEC 60812; the wording of a single failure after 10 CFR 50 Appendix A).",
    "Severity in the categories of MIL-STD-882E; which effect falls into which of them is our own mapping, "
    "common practice, no source.",
    "Action: what mends it, as far as connections tell (ranked by structure, not by practice); else what to look at, "
    "or what to do if it fails: common practice, no source. Detection is left for people. A model of connections: "
    "strength, drop and condition are not judged.",
)


@dataclass(frozen=True, slots=True)
class Row:
    """One item and mode. `detection` is left empty, for people; `falls` are those who are not held after it."""

    states: tuple[int, ...]
    during: bool
    """Is it so while the step to that state is being done, and not after it?"""
    item: str
    kind: str
    function: str
    mode: str
    shows: str
    detection: str
    local_effect: str
    end_effect: str
    still_holds: str
    severity: str
    accepted: str
    action: str
    falls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, repr=False)
class Worksheet(Delivered):
    """`shown` says which states: `all`, `worst`, or the number of one."""

    SHAPE = "analyser.uses.procedure.procedure_shapes.WorksheetTold"

    title: str
    revision: Revision | None
    file: str
    shown: str
    states: tuple[tuple[int, str], ...]
    """Each state that is told of, and after which step it is."""
    steps: tuple[str, ...]
    """Of every state of the plan, by its number, that of the step that leads to it."""
    during: tuple[tuple[int, str], ...]
    """What is true only while a step is being done, by the state that the step leads to."""
    method: tuple[str, ...]
    categories: tuple[tuple[str, str, str], ...]
    """Category, its published name, and what we count into it."""
    rows: tuple[Row, ...]
    closing: str
    rests: str
    """On what the verdict rests."""
    foremost: str
    """The verdict with who is worst off, and by what."""
    cautions: tuple[str, ...]
    unseen: frozenset[tuple[str, str]]
    """Item and mode of what may be there before the load comes, in some state, and nobody sees it."""
    look: FirstLook
    """Who hangs on one, and on what, over all states."""
    best: Mend | None
    """What would take away all on which the worst off hang, as first attached."""
    met: bool
    digest: str
    """Of the text: the same on every paper that is made of it."""

    @property
    def short(self) -> str:
        return f"{len(self.rows)} rows; {self.closing}"


def worksheet(result: Result, file: str, shown: str = "all") -> Worksheet:
    """The rows of one state (`shown` its number), of the `worst`, or of `all`. IndexError for a number
    that no state has. States one after the other with the same answers share their rows."""
    runs = _runs(result)
    if shown == "worst":
        chosen = [min(runs, key=lambda run: _badness(result, run))]
    elif shown == "all":
        chosen = runs
    else:
        state = result.states[int(shown)]
        chosen = [[one] for one in (*state.meanwhile, state)]
    look = first_look(result)
    mends = mends_for(result.rig, look)
    rows = list(_instead((row for run in chosen for row in _rows(run, mends)), look))
    told = [state for run in chosen for state in run]
    states, during = (tuple((s.number, _when(s)) for s in told if bool(s.when) is within) for within in (False, True))
    categories = tuple((number, name, MAPPING[number]) for number, name in CATEGORIES.items())
    return Worksheet(
        result.rig.title,
        result.rig.revision,
        file,
        shown,
        states,
        tuple(state.numbered for state in result.states),
        during,
        METHOD,
        categories,
        tuple(rows),
        result.closing,
        verdict_rest(result),
        verdict_line(result),
        CAUTIONS,
        frozenset((str(one.part), one.mode) for run in chosen for one in _unseen(run[0])),
        look,
        best_for(mends, look.endangered[0]) if look.endangered else None,
        result.met,
        result.rig.digest,
    )


def _instead(rows: Iterable[Row], look: FirstLook) -> Iterator[Row]:
    """Where a step is what does it, no look at a part mends it."""
    step = look.step
    worst = {*look.endangered[0].bodies} if step and look.endangered else set()
    for row in rows:
        theirs = not worst.isdisjoint(row.falls) and 0 not in row.states  # as first attached a part may mend it
        yield replace(row, action=f"stop before step {step.number}: see above") if step and theirs else row


def _when(state: State) -> str:
    if state.step is None:
        return "as first attached"
    if state.when:
        return f"{state.stage}: during {state.step} (line {state.line}), {state.when}"
    return f"{state.stage}: after {state.step} (line {state.line})"


def _runs(result: Result) -> list[list[State]]:
    """States that follow one another with the very same outcome."""
    runs: list[list[State]] = []
    for state in result.every_state:
        if runs and runs[-1][-1].outcome is state.outcome:
            runs[-1].append(state)
        else:
            runs.append([state])
    return runs


def _unseen(state: State) -> Iterator[Failure]:
    """The failures of a state that are slips which nobody sees before weighting."""
    yield from (state.rig.index.failures[slip.failure] for slip in slips(state.rig, state.outcome))


def _badness(result: Result, run: Sequence[State]) -> tuple[int, ...]:
    """Smaller is worse: who falls with nothing failed, requirements broken, then rows by category; the
    first state of those that are alike."""
    state = run[0]
    found = [severity(loss) for _, loss in losses(state)]
    unheld = sum(not body.held for body in state.outcome.bodies)
    broken = sum(any(s.number in one.states for s in run) for one in result.requirements if one.met is False)
    return (-unheld, -broken, *(-found.count(one) for one in CATEGORIES), state.number)


def severity(loss: Loss) -> str:
    """The category of a loss, by our mapping."""
    if loss.falls:
        return "I"
    if loss.shaken or loss.left_on_one:
        return "II"
    return "III" if loss.weakened else "IV"


def _rows(run: Sequence[State], mends: Sequence[Mend]) -> list[Row]:
    state = run[0]
    rig = state.rig
    numbers, within = tuple(one.number for one in run), bool(state.when)
    events = rig.index.failures
    unseen = {str(slip.failure): slip.words for slip in slips(rig, state.outcome)}
    accepted = reasons(rig.accepted)
    fallen = tuple(body.name for body in state.outcome.bodies if not body.held)
    rows = []
    these = together((body.name, body.fate) for body in state.outcome.bodies if not body.held)
    now = already(these, partial(holder, rig))
    if fallen:
        others = [body.name for body in state.outcome.bodies if body.held]
        held = f"{listed(others)}: held" if others else "nothing"
        told = ("", "", "", "as rigged", "does not show", "", "", now, held, "I", "", NOT_BEFORE, fallen)
        rows.append(Row(numbers, within, *told))
    for name, loss in losses(state):
        failure = events[name]
        end = [*falling(loss), *_left_on_one(loss), *losing(loss)]
        if fallen:
            end.append(now)
        rows.append(
            Row(
                numbers,
                within,
                failure.part,
                _kind(rig, failure.part),
                _function(rig, failure),
                failure.mode,
                _shows(unseen.get(name), loss),
                "",
                _local(rig, failure),
                "; ".join(end) or "nobody is held otherwise than before",
                _still(state, loss),
                severity(loss),
                accepted.get(name, ""),
                _action(state, failure, loss, () if state.number or within else mends),
                loss.falls,
            )
        )
    for one in rig.sound:
        part, mode = one.failure.part, one.failure.mode
        words = "not looked at: the file takes it as impossible"
        rows.append(Row(numbers, within, part, _kind(rig, part), "", mode, "", "", "", words, "", "", one.reason, ""))
    return rows


NOT_BEFORE = "nobody goes on it before it is mended and checked again"
LOOK_FOR = "look for it on the walk-down"


def _action(state: State, failure: Failure, loss: Loss, mends: Sequence[Mend]) -> str:
    """What mends it where an addition is known, else what to look at; of what drops nobody, what to do if it fails."""
    if not loss.anything:
        return LOOK_FOR
    if not loss.falls:
        return f"if it fails: {answer_to(loss)}"
    best = next((one for one in mends if takes(one, loss.falls, (failure.id,))), None)
    if best:
        return f"mend: {best.proposal.words}"
    rig = state.rig
    known = failure.part in rig.parts or isinstance(failure.part, Span)
    find = look_at(rig.parts.get(failure.part)) if known else ""
    return f"look: {find}" if find else LOOK_FOR


def _left_on_one(loss: Loss) -> list[str]:
    return [f"leaves {listed(loss.left_on_one)} on one"] if loss.left else []


FEW = 3
"""So many are named; of more it is said how many."""


def _still(state: State, loss: Loss) -> str:
    """By what everybody is held after a failure: who is left on one, then all others in a word."""
    words = [f"{listed(left.bodies)}: {left.chain or f'as before, until {either(left.next)}'}" for left in loss.left]
    touched = (*loss.falls, *loss.shaken, *loss.left_on_one, *loss.weakened)
    words += [f"{name}: {state.outcome.body(name).independent or 0} ways less one" for name in loss.weakened]
    others = [body.name for body in state.outcome.bodies if body.held and body.name not in touched]
    if others:
        words.append(f"{listed(others) if len(others) <= FEW else f'the other {len(others)}'}: as before")
    return "; ".join(words) or "nothing"


def _kind(rig: Rig, name: str) -> str:
    if name in rig.parts:
        return rig.parts[name].kind
    if isinstance(name, Span):
        return "stretch of rope"
    return "common cause" if rig.index.failures_of(name) else ""


def _shows(unseen: str | None, loss: Loss) -> str:
    if unseen:
        return f"may be there unseen before the load comes: {unseen}"
    if loss.falls:
        return "at once"
    if loss.shaken:
        return "at once, where it carried: it tips, drops or runs"
    if loss.left_on_one or loss.weakened:
        return "if it carried: the load goes over to what is left; else not until looked for"
    return "not by who is held: only when looked for"


def _local(rig: Rig, failure: Failure) -> str:
    """What the failure does at its place, from its effects."""
    effects = failure.effects
    words = []
    if effects.gone:
        own = rig.parts[failure.part].points if failure.part in rig.parts else ()
        others = sorted(effects.gone - {failure.part, *own})
        words.append(f"no longer there{f', nor {listed(others)}' if others else ''}")
    if effects.cut:
        words.append(f"severed: {listed(sorted(effects.cut))}" if effects.cut != {failure.part} else "severed")
    if effects.ungripped:
        words.append(
            f"{listed(sorted(effects.ungripped))} no longer {'grips' if len(effects.ungripped) == 1 else 'grip'}"
        )
    if effects.open_hands:
        words.append(f"{listed(sorted(effects.open_hands))}: hands open")
    if effects.unfooted:
        words.append(f"{listed(sorted(effects.unfooted))}: off their feet")
    if effects.cutting:
        words.append(f"severs every rope over {listed(sorted(effects.cutting))} that nothing keeps off it")
    return "; ".join(words)


def _function(rig: Rig, failure: Failure) -> str:
    """What the item is there for, from what it touches."""
    part = rig.parts.get(failure.part)
    if part is None:
        if isinstance(failure.part, Span):
            return f"carries from {failure.part.a} to {failure.part.b}"
        return "stands for one event that does several things at once"
    if failure.mode == "lets go":
        return "holds a rope, or works a device"
    if failure.mode == "loses footing":
        return "stands on their own feet"
    if failure.mode == "holds on":
        return "minds a device that must be left free"
    return _purpose(rig, part)


def _purpose(rig: Rig, part: Part) -> str:
    touching = tuple(one for name in (part.name, *part.points) for one in rig.touching.get(name, ()))
    touched = listed((*touching, *standing_on(rig, part.name))) or "nothing here"
    ropes = rig.index.ropes_at(part.name)
    match part.nature:
        case Nature.GROUND:
            return f"holds up {touched}"
        case Nature.PULLEY if ropes:
            return f"turns {listed(ropes)}"
        case Nature.GRIP:
            worked = f", worked by {part.operated_by}" if part.operated_by else ""
            return f"grips {listed(ropes) or 'nothing now'}{worked}"
        case Nature.KNOT:
            return f"ties {listed(ropes)} to {touched}" if touching else f"ends {listed(ropes)}"
        case Nature.STOPPER:
            return f"keeps the end of {listed(ropes)} from running through"
        case Nature.EDGE:
            return f"{listed(ropes)} {verb(ropes, 'lies', 'lie')} over it"
        case Nature.PAD:
            return f"keeps {_kept(rig, part.name)} off an edge"
        case Nature.LITTER:
            return f"carries {touched}"
        case Nature.STRUCTURE:
            return f"carries {listed([p.name for p in rig.parts.values() if part.name in p.part_of]) or 'nothing here'}"
        case Nature.HARNESS:
            return f"holds {part.body} at {touched}" if touching else f"is worn by {part.body}"
    return f"joins {touched}"


def _kept(rig: Rig, pad: str) -> str:
    over = rig.index.stations(Role.OVER)
    names = [at.rope.name for at in over if pad in (*at.station.guards, *rig.parts[at.part].guards)]
    return listed(list(dict.fromkeys(names))) or "ropes"
