"""The states of a rig as a strip: one line a step, those that break a requirement opened."""

from __future__ import annotations

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.finding import Finding, Severity, listed, verb
from analyser.checking.instead import InBetween
from analyser.checking.results import Result, State
from analyser.holding.outcome import Outcome
from analyser.pages.writing.findings import MOST_ALIKE, TOLD_ABOVE
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.terminal import hanging, heading, where

TOLD_BY_STATES = tuple(rule for rule in TOLD_ABOVE if rule not in ("only-by-person", "held-by-hands"))
"""Rules that the strip tells by its columns, or by who newly falls: who is held only by a person it doesn't."""


def states_lines(result: Result) -> list[RenderableType]:
    """Nothing for a rig without stages."""
    if len(result.states) == 1:
        return []
    broken = result.broken_states
    count = f"{len(broken)} of {len(result.states)} break a requirement" if broken else "none breaks a requirement"
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  state", "after step", "fewest independent", "falls after", ""):
        table.add_column(column, header_style="", overflow="fold")
    stage: str | None = None
    for state in result.states:
        if state.stage != stage and state.stage is not None:
            table.add_row("", Text(f"“{state.stage}”", style="bold"))
        stage = state.stage
        bad = state.number in broken
        table.add_row(
            Text(f"  {state.number}", style="bold red" if bad else ""),
            Text("as first attached" if state.step is None else f"{state.step} (line {state.line})"),
            _fewest(state),
            _falls_after(state),
            Text("BREAKS A REQUIREMENT" if bad else "", style="bold red"),
        )
    rows: list[RenderableType] = [heading(f"States: {count}"), table]
    for before, state in zip(result.states, result.states[1:], strict=False):
        rows += _opened(result, before, state)
        rows += [row for one in result.in_between if one.last == state.number for row in _instead(result, one)]
    return rows


def _instead(result: Result, one: InBetween) -> list[RenderableType]:
    """What to do first instead of a step that breaks something in between, and the states on both sides of it."""
    states = f"state {one.first}" if one.first == one.last else f"states {one.first}–{one.last}"
    rows: list[RenderableType] = [hanging(states, Text(f"broken only in between: {one.text}"))]
    for word, number in (("before", one.first - 1), ("after", one.last + 1)):
        rows.append(hanging("", f"{word}: {in_short(result.states[number])}"))
    return rows


def in_short(state: State) -> str:
    """A state in one short line: which, fewest independent, falls after."""
    step = "as first attached" if state.step is None else f"after {state.step}"
    return f"state {state.number}, {step}: fewest independent {_fewest(state)}, falls after {_falls_after(state)}"


def _fewest(state: State) -> str:
    """Who has the fewest independent attachments in a state, and while its step is being done where that is
    told apart."""
    words = _fewest_of(state.outcome)
    meanwhile = _fewest_of(state.during[1]) if state.during else words
    return words if meanwhile == words else f"meanwhile {meanwhile}, then {words}"


def _fewest_of(outcome: Outcome) -> str:
    """Who has the fewest independent attachments: people first."""
    people = [b for b in outcome.bodies if b.kind == "person"] or list(outcome.bodies)
    if not people:
        return "nobody has to be held"
    counted = [(b.independent, b.name) for b in people if b.independent is not None and b.held]
    fallen = [b.name for b in people if not b.held]
    if fallen:
        return f"{listed(fallen)}: NOT HELD"
    if not counted:
        return "–"
    least = min(number for number, _ in counted)
    return f"{least} ({listed([name for number, name in counted if number == least])})"


def _falls_after(state: State) -> str:
    """After how few failures somebody falls, and who: people first."""
    sizes = {b.name: b.smallest_failure_set for b in state.outcome.bodies if b.smallest_failure_set is not None}
    if not sizes:
        return f"more than {state.outcome.order}" if state.outcome.bodies else "–"
    least = min(sizes.values())
    words = {0: "NOTHING FAILED", 1: "1 ALONE"}.get(least, f"{least} together")
    if set(sizes.values()) == {least} and len(sizes) == len(state.outcome.bodies):
        return words
    accepted = {one.failure for one in state.rig.accepted}
    fall = [name for name, size in sizes.items() if size == least]
    cuts = [cut for name in fall for cut in state.outcome.failure_sets[name] if len(cut) == least]
    known = " (accepted)" if all(set(cut) & accepted for cut in cuts) else ""
    return f"{words}: {listed(fall)}{known}"


def _opened(result: Result, before: State, state: State) -> list[RenderableType]:
    """What a step brings that was not there before it: who newly falls after one failure, and findings."""
    was = {(b.name, cut) for b in before.outcome.bodies for cut in before.outcome.failure_sets[b.name]}
    rows: list[RenderableType] = []
    drops: dict[tuple[str, ...], list[str]] = {}
    for failure in state.outcome.failures:
        falls = tuple(n for n in failure.falls if (n, (failure.id,)) not in was and (n, ()) not in was)
        falls = tuple(n for n in falls if () not in state.outcome.failure_sets[n])
        if falls:
            drops.setdefault(falls, []).append(failure.id)
    for falls, failures in drops.items():
        words = f"now {in_brief(state.rig, failures)}: {listed(falls)} {verb(falls, 'falls', 'fall')}"
        rows.append(hanging(f"state {state.number}" if not rows else "", Text(words, style="bold")))
    fresh = [f for f in result.fresh(state) if f.rule not in TOLD_BY_STATES]
    alike: dict[tuple[str, bool], list[Finding]] = {}
    for finding in fresh:
        alike.setdefault((finding.rule, bool(finding.accepted)), []).append(finding)
    for group in alike.values():
        full = group if len(group) <= MOST_ALIKE + 1 else group[:MOST_ALIKE]
        for finding in full:
            style = "bold red" if finding.severity is Severity.DANGER and not finding.accepted else ""
            accepted = f"; accepted: {finding.accepted}" if finding.accepted else ""
            words = f"{finding.severity}: {finding.text} ({finding.rule}, {where(result.rig, finding.place)}){accepted}"
            rows.append(hanging(f"state {state.number}" if not rows else "", words, style))
            if finding.mend and not finding.accepted:
                rows.append(hanging("", f"to mend: {finding.mend}"))
        if len(group) > len(full):
            rest = ", ".join(sorted({name for finding in group[len(full) :] for name in finding.about}))
            rows.append(hanging("", f"and {len(group) - len(full)} more ({group[0].rule}): {rest}"))
    return rows
