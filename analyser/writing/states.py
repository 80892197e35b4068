"""The states of a rig as a strip: one line a step, those that break a requirement opened."""

from __future__ import annotations

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from analyser.findings.finding import Severity, listed, verb
from analyser.results import Result, State
from analyser.writing.findings import TOLD_ABOVE
from analyser.writing.grouping import in_brief
from analyser.writing.terminal import hanging, heading, where


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
    return rows


def _fewest(state: State) -> str:
    """Who has the fewest independent attachments in a state: people first."""
    people = [b for b in state.outcome.bodies if b.kind == "person"] or list(state.outcome.bodies)
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
    sizes = [b.smallest_failure_set for b in state.outcome.bodies if b.smallest_failure_set is not None]
    if not sizes:
        return f"more than {state.outcome.order}" if state.outcome.bodies else "–"
    return {0: "NOTHING FAILED", 1: "1 ALONE"}.get(min(sizes), f"{min(sizes)} together")


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
    for finding in result.fresh(state):
        if finding.rule in TOLD_ABOVE:
            continue
        style = "bold red" if finding.severity is Severity.DANGER and not finding.accepted else ""
        accepted = f"; accepted: {finding.accepted}" if finding.accepted else ""
        words = f"{finding.severity}: {finding.text} ({finding.rule}, {where(result.rig, finding.place)}){accepted}"
        rows.append(hanging(f"state {state.number}" if not rows else "", words, style))
        if finding.mend and not finding.accepted:
            rows.append(hanging("", f"to mend: {finding.mend}"))
    return rows
