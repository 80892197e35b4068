"""Findings as lines: what does most to people first, repeats told together, the mend where it is plain."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from analyser.checking.finding import Finding, Severity, in_few, listed, verb
from analyser.checking.latent import Slip
from analyser.checking.results import Result
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.terminal import hanging, heading, line, where
from analyser.rig.model import Nature, Rig

TOLD_ABOVE = ("single-point", "not-held", "only-by-person", "held-by-hands", "down-to-one")
"""Rules whose findings stand in the sections on who is held and what brings them down."""
MOST_ALIKE = 2
"""Findings of one rule that are told in full; what follows is told by part and line."""
MOST_SLIPS = 12
ORDER = (Severity.DANGER, Severity.CAUTION, Severity.NOTE)


def findings_lines(result: Result) -> list[RenderableType]:
    """The findings that no other section tells, and the facts that are asked for."""
    rig = result.rig
    found = [f for f in result.findings if f.rule not in TOLD_ABOVE]
    rows: list[RenderableType] = []
    shown = ""
    if result.only:
        shown = f" (findings of {listed(result.only)} only)"
    elif result.without:
        shown = f" (without {listed(result.without)})"
    if found or shown:
        rows.append(heading(f"Worth a look{shown}"))
    for group in _groups(rig, found):
        rows += _group(rig, group)
    if found == [] and shown:
        rows.append(line("nothing"))
    facts: dict[tuple[str, str], list[str]] = {}
    for one in result.states[0].asked:
        facts.setdefault((one.fact, one.add), []).append(one.part)
    if facts:
        rows += [] if found or shown else [heading("Worth a look")]
        rows += [hanging("not told", _asked(fact, add, parts)) for (fact, add), parts in facts.items()]
    return rows


def _groups(rig: Rig, found: Sequence[Finding]) -> list[list[Finding]]:
    """Findings of one rule and severity together: danger first, then by how many people they concern."""
    groups: dict[tuple[str, Severity, str | None], list[Finding]] = {}
    for finding in found:
        groups.setdefault((finding.rule, finding.severity, finding.accepted), []).append(finding)

    def people(finding: Finding) -> int:
        return sum(rig.parts[name].nature is Nature.PERSON for name in finding.bodies if name in rig.parts)

    def first(group: list[Finding]) -> tuple[object, ...]:
        one = group[0]
        return (bool(one.accepted), ORDER.index(one.severity), -people(one), -len(one.bodies), one.place, one.rule)

    for group in groups.values():
        group.sort(key=lambda f: (-people(f), -len(f.bodies), f.place, f.text))
    return sorted(groups.values(), key=first)


def _group(rig: Rig, group: list[Finding]) -> list[RenderableType]:
    rows: list[RenderableType] = []
    full = group if len(group) <= MOST_ALIKE + 1 else group[:MOST_ALIKE]
    for finding in full:
        style = "bold red" if finding.severity is Severity.DANGER and not finding.accepted else ""
        words = f"{finding.severity}: {finding.text} ({finding.rule})"
        if finding.accepted:
            words += f"; accepted: {finding.accepted}"
        rows.append(hanging(where(rig, finding.place), words, style))
        if finding.mend and not finding.accepted and (finding is full[-1] or finding.mend != full[-1].mend):
            rows.append(hanging("", f"to mend: {finding.mend}"))
    rest = group[len(full) :]
    if rest:
        names = ", ".join(f"{f.about[0]} ({where(rig, f.place)})" for f in rest)
        rows.append(hanging("", f"likewise {names}"))
    return rows


def _asked(fact: str, add: str, parts: Sequence[str]) -> str:
    return f"{fact} not given for {len(parts)}: {in_few(parts)}; add {add}"


def slips_lines(result: Result) -> list[RenderableType]:
    """Which unseen slip makes which single failure deadly: what to check first before weighting."""
    rows: list[RenderableType] = []
    slips = result.slips
    alike: dict[tuple[object, ...], list[Slip]] = {}
    for one in slips:
        if one.alone or one.deadly:
            alike.setdefault((one.alone, one.deadly), []).append(one)
    for group in list(alike.values())[:MOST_SLIPS]:
        first = group[0]
        label = "check first" if not rows else "then"
        for one in group:
            rows.append(hanging(label, Text.assemble((one.words, "bold"), f" ({where(result.rig, one.place)})")))
            label = "or" if len(group) > 1 else ""
        if first.alone:
            falls = f"{listed(first.alone)} {verb(first.alone, 'falls', 'fall')}"
            rows.append(hanging("", f"with nothing else failed {falls}"))
        by_bodies: dict[tuple[str, ...], list[str]] = {}
        for failure, bodies in first.deadly:
            by_bodies.setdefault(bodies, []).append(failure)
        for bodies, failures in by_bodies.items():
            falls = f"{listed(bodies)} {verb(bodies, 'falls', 'fall')}"
            rows.append(hanging("", f"makes deadly {in_brief(result.rig, failures)}: {falls}"))
    deadly = sum(len(group) for group in alike.values())
    told = sum(len(group) for group in list(alike.values())[:MOST_SLIPS])
    if deadly > told:
        rows.append(line(f"… and {deadly - told} more (`--json` lists each)"))
    harmless = len(slips) - deadly
    if harmless:
        rows.append(line(f"{harmless} more {'slip makes' if harmless == 1 else 'slips make'} no single failure deadly"))
    if not slips:
        rows.append(line("this file has no part of which a slip could stay unseen"))
    return rows
