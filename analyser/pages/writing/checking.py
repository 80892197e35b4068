"""The pages of `check` and `whatif`: the answer first, then what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.checking.finding import listed
from analyser.checking.held_by import way_in_words
from analyser.checking.overloaded import breaks_words
from analyser.checking.requirements import asks_for_forces
from analyser.checking.results import Result
from analyser.checking.runs_to_stopper import caught_by_stoppers, hands_off_on_stoppers
from analyser.checking.scenario import After
from analyser.holding.outcome import BodyOutcome, FailureOutcome, Outcome
from analyser.pages.writing.findings import findings_lines, slips_lines
from analyser.pages.writing.forces_page import followed, forces_lines, not_worked_out
from analyser.pages.writing.grouping import any_with_any, by_bodies, in_brief
from analyser.pages.writing.motion_page import in_time_lines, in_time_words
from analyser.pages.writing.states_page import states_lines
from analyser.pages.writing.terminal import hanging, heading, line, title, where
from analyser.rig.model import Nature, Rig

if TYPE_CHECKING:
    from analyser.forces.loads import Loads

MOST_LINES = 14
WORDS_OF_SIZE = {2: "2 together", 3: "3 together", 4: "4 together"}


def check_page(result: Result, file: str, *, latent: bool = False, about: str = "") -> RenderableType:
    """The answer first, then what brings each body down, then what was asked and assumed. `about` says
    what the verdict is about, where it is not the rig as written."""
    rig = result.rig
    outcome = result.states[0].outcome
    rows: list[RenderableType] = [title(rig, file)]
    first = ", as first attached" if len(result.states) > 1 else ""
    rows += [heading(f"Who is held, and by what{first}"), _people(rig, outcome, result.states[0].loads)]
    rows += [heading(f"What brings them down{first}"), *_downfalls(rig, outcome)]
    rows.append(_hands_off(rig, outcome))
    if latent:
        first = " (as first attached)" if len(result.states) > 1 else ""
        rows += [heading(f"Slips that nobody sees before weighting{first}"), *slips_lines(result)]
    rows += findings_lines(result)
    rows += states_lines(result)
    rows += forces_lines(result)
    rows += [
        heading(
            "Required" if not rig.requirements[0].assumed else "Required (house defaults: the file asks for nothing)"
        )
    ]
    for one in result.requirements:
        word = {True: "met", False: "NOT MET", None: "NOT CHECKED"}[one.met]
        rows.append(hanging(word, one.requirement.text, "" if one.met else "bold"))
        rows += [hanging("", reason, "") for reason in one.because]
    rows += [heading("Taken as given"), *_assumed(result)]
    rows += [Text(), Text(" ".join(CAUTIONS), style="italic"), Text(f"{about}{result.closing}", style="bold")]
    return Group(*rows)


def _people(rig: Rig, outcome: Outcome, loads: Loads | None) -> RenderableType:
    if not outcome.bodies:
        return line("nobody and nothing in this file has to be held")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  who", "state", "attachments", "independent", "falls after"):
        table.add_column(
            column, header_style="", justify="right" if column in ("attachments", "independent") else "left"
        )
    for body in outcome.bodies:
        table.add_row(
            Text(f"  {body.name} ({rig.parts[body.name].kind})", style="bold"),
            Text(_state(body, loads), style="" if body.held and not body.tips else "bold red"),
            f"{body.attachments}{' + feet' if rig.parts[body.name].standing else ''}",
            _count(body),
            _falls_after(rig, body, outcome),
        )
    rows: list[RenderableType] = [table, Text()]
    for body in outcome.bodies:
        for number, way in enumerate(body.ways):
            rows.append(hanging(body.name if not number else "", f"by {way_in_words(rig, body.name, way)}"))
    return Group(*rows)


def _hands_off(rig: Rig, outcome: Outcome) -> RenderableType:
    hands = outcome.hands_off_falls
    words = f"{listed(hands)} {'falls' if len(hands) == 1 else 'fall'}" if hands else "nobody falls"
    runs, stoppers = hands_off_on_stoppers(rig, outcome)
    if runs:
        words = f"{words}, but " if not hands else f"{words}; "
        words += f"{listed(runs)} {'runs' if len(runs) == 1 else 'run'} down to {listed(stoppers)} first"
    for let_go, stopper, names in caught_by_stoppers(rig, outcome):
        if let_go.endswith(" lets go"):
            words += f"; once {let_go}, {listed(names)} {'runs' if len(names) == 1 else 'run'} to {stopper}"
    return hanging("hands off", f"with every hand off at once: {words}", "bold" if hands else "")


def _state(body: BodyOutcome, loads: Loads | None) -> str:
    if body.only_by_person:
        return "ONLY BY A PERSON"
    if not body.held:
        return "NOT HELD"
    if body.tips:
        return "TIPS"
    balanced = loads is not None and loads.now.accepted and body.name not in loads.now.falls
    return "held; forces balance" if balanced else "still connected; drop not checked"


def _count(body: BodyOutcome) -> str:
    if body.independent is None:
        return "–"
    return f"{body.independent}" if body.independent_exact else f"≥ {body.independent}"


def _falls_after(rig: Rig, body: BodyOutcome, outcome: Outcome) -> Text:
    size = body.smallest_failure_set
    if size is None:
        return Text("nothing that can fail" if body.independent is None else f"more than {outcome.order}")
    if size == 0:
        return Text("NOTHING FAILED", style="bold red")
    if size == 1:
        accepted = {one.failure for one in rig.accepted}
        singles = [cut[0] for cut in outcome.failure_sets[body.name] if len(cut) == 1]
        if accepted.issuperset(singles):
            return Text("1 ALONE (accepted)")
        return Text("1 ALONE", style="bold red")
    return Text(WORDS_OF_SIZE.get(size, f"{size} together"))


def _downfalls(rig: Rig, outcome: Outcome) -> list[RenderableType]:
    already = {body.name for body in outcome.bodies if not body.held}
    accepted = {one.failure for one in rig.accepted}
    rows: list[RenderableType] = []
    for name in sorted(already):
        rows.append(hanging("nothing", f"{name} falls with nothing failed", "bold"))
    singles = _singles(outcome, already)
    for effect, failures in singles:
        for taken in (False, True):
            mine = [one for one in failures if (one in accepted) is taken]
            if mine:
                label = Text(in_brief(rig, mine) + (" (accepted)" if taken else ""), style="bold")
                rows.append(hanging("one alone", Text.assemble(label, f": {effect}"), "" if taken else "bold red"))
    if not singles and not already:
        rows.append(line("one alone: no single failure that this file can express drops anybody"))
    for size in range(2, outcome.order + 1):
        groups = by_bodies(outcome.failure_sets, size)
        lines: list[RenderableType] = []
        for names, sets in groups:
            falls = f": {listed(names)} {'falls' if len(names) == 1 else 'fall'}"
            if size == 2:
                for one, two in any_with_any(sets):
                    pair = (in_brief(rig, one), "\nwith ", in_brief(rig, two), falls)
                    lines.append(hanging("two together", Text.assemble(*pair)))
            else:
                lines += [hanging(WORDS_OF_SIZE.get(size, str(size)), " + ".join(one) + falls) for one in sets]
        rows += _shortened(lines, sum(len(sets) for _, sets in groups), size)
        if size == 2 and lines:
            words = (
                "either half of a pair, by itself, drops none of those named with it: it leaves them one "
                "failure from falling until it is mended"
            )
            rows.append(hanging("left on one", words))
    tips: dict[tuple[str, ...], list[str]] = {}
    for failure in outcome.failures:
        if failure.tips and not set(failure.falls) - already:
            tips.setdefault(failure.tips, []).append(failure.id)
    for names, failures in sorted(tips.items()):
        rows.append(
            hanging("tips", f"{in_brief(rig, failures)}: {listed(names)} {'tips' if len(names) == 1 else 'tip'}")
        )
    return rows


def _shortened(lines: list[RenderableType], count: int, size: int) -> list[RenderableType]:
    if not lines:
        return [line(f"{WORDS_OF_SIZE.get(size, size)}: no set of that size drops anybody")]
    if len(lines) <= MOST_LINES:
        return lines
    rest = len(lines) - MOST_LINES
    return [*lines[:MOST_LINES], line(f"… and {rest} more lines ({count} sets in all: `--json` lists each)")]


def _singles(outcome: Outcome, already: set[str]) -> list[tuple[str, list[str]]]:
    """Single failures that drop somebody, those with the same effect told together."""
    groups: dict[str, list[str]] = {}
    for failure in outcome.failures:
        falls = [name for name in failure.falls if name not in already]
        if falls:
            groups.setdefault(effect_words(failure, falls, outcome), []).append(failure.id)
    return sorted(groups.items(), key=lambda item: (-len(item[1]), item[1]))


def effect_words(failure: FailureOutcome, falls: Sequence[str], outcome: Outcome) -> str:
    """`the basket falls; vic is left on one` after one failure."""
    words = []
    by_person = [name for name in falls if name in failure.only_by_person]
    plain = [name for name in falls if name not in by_person]
    if plain:
        words.append(f"{listed(plain)} {'falls' if len(plain) == 1 else 'fall'}")
    if by_person:
        words.append(
            f"{listed(by_person)} {'falls, or hangs' if len(by_person) == 1 else 'fall, or hang'} only from a person"
        )
    if failure.tips:
        words.append(f"{listed(failure.tips)} {'tips' if len(failure.tips) == 1 else 'tip'}")
    fresh = _newly_on_one(failure, outcome)
    if fresh:
        words.append(f"{listed(fresh)} {'is' if len(fresh) == 1 else 'are'} left on one")
    return "; ".join(words)


def _newly_on_one(failure: FailureOutcome, outcome: Outcome) -> list[str]:
    smallest = {body.name: body.smallest_failure_set for body in outcome.bodies}
    return [name for name in failure.down_to_one if smallest[name] not in (0, 1)]


def _assumed(result: Result) -> list[RenderableType]:
    rig = result.rig
    rows: list[RenderableType] = []
    for one in rig.sound:
        rows.append(hanging("sound", f"{one.failure} is taken as impossible: {one.reason} ({where(rig, one.place)})"))
    for one in rig.accepted:
        rows.append(hanging("accepted", f"{one.failure}: {one.reason} ({where(rig, one.place)})"))
    standing = [p.name for p in rig.parts.values() if p.nature is Nature.PERSON and p.standing and not p.exposed]
    if standing:
        rows.append(hanging("standing", f"{listed(standing)}: on ground where they cannot fall, as the file says"))
    if rig.observations:
        rows.append(
            hanging("observed", f"{len(rig.observations)} facts: for `stillheld reconstruct`, not looked at here")
        )
    lacking = result.states[0].lacking
    if lacking and not asks_for_forces(rig):
        rows.append(hanging("forces", f"{not_worked_out(lacking)} (`stillheld forces` lists what to add)"))
    none = [one.split(" declared")[0] for one in result.not_declared]
    if none:
        rows.append(hanging("not declared", f"{', '.join(none)} declared: none checked"))
    rows.append(hanging("searched", f"{result.complete}. Strength, knots, rope condition and skill are not judged."))
    return rows


# -- the page of `whatif`


def whatif_page(before: Outcome, then: After, file: str) -> RenderableType:
    """Who falls after these failures, who is down to one, and by what the rest is still held."""
    rig, after = then.rig, then.outcome
    rows: list[RenderableType] = [title(rig, file), heading("What if"), *(line(one.id) for one in then.failures)]
    rows.append(heading("Then"))
    for body in after.bodies:
        was = before.body(body.name)
        told = followed(body.name, then.aftermath) if then.aftermath else ""
        style = "" if body.held and not body.tips else "bold red"
        rows.append(hanging(body.name, Text(_then(was, body, told), style=style)))
        for way in body.ways:
            rows.append(hanging("", f"by {way_in_words(rig, body.name, way)}"))
        singles = [one[0] for one in after.failure_sets[body.name] if len(one) == 1]
        if body.held and singles:
            rows.append(hanging("", f"now falls if one more follows: {in_brief(rig, singles)}"))
    if then.aftermath and then.aftermath.motion:
        found = then.aftermath.equilibrium
        called = {one.name: found.called(one) for one in found.lines}
        rows += [heading("In time"), *in_time_lines(then.aftermath.motion, called)]
        rows.append(hanging("", in_time_words([then.aftermath.motion])))
    if then.overload:
        rows += [heading("Under that load"), line((breaks_words(then.overload), "bold red"))]
    count = len(rig.sound)
    given = f"{count} assumption{'' if count == 1 else 's'}"
    last = f"on {then.on}, with {given}"
    if then.aftermath is None:
        last += ": still connected does not say how far anybody drops first"
    rows += [Text(), Text(" ".join(CAUTIONS), style="italic"), Text(last, style="bold")]
    return Group(*rows)


def _then(was: BodyOutcome, now: BodyOutcome, told: str) -> str:
    if now.only_by_person:
        return "FALLS, or is held only by a person or by bare hands"
    if not now.held:
        return "FALLS" if was.held else "falls (as it does with nothing failed)"
    words = ["TIPS, but is still connected" if now.tips else told or "still connected; drop not checked"]
    if now.smallest_failure_set == 1:
        words.append("down to one" if was.smallest_failure_set != 1 else "on one, as before")
    elif now.independent is not None:
        words.append(f"{now.independent} independent")
    return "; ".join(words)
