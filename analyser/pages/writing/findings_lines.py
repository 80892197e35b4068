"""Findings as lines: what does most to people first, repeats told together, the mend where it is plain."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.finding import Finding, Severity
from analyser.checking.latent import Slip
from analyser.checking.results import Result
from analyser.checking.sentences import fall, in_few, listed, more
from analyser.language.identities import spoken
from analyser.pages.tree import Block, Fact, Line, Look, Section, Span, marked, section, strong
from analyser.pages.writing.ends import where
from analyser.pages.writing.grouping import in_brief
from analyser.rig.model import Nature, Rig

TOLD_ABOVE = ("single-point", "not-held", "runs-to-stopper", "only-by-person", "held-by-hands", "down-to-one")
"""Rules whose findings stand in the sections on who is held and what brings them down."""
MOST_ALIKE = 2
"""Findings of one rule that are told in full; what follows is told by part and line."""
MOST_SLIPS = 12
ORDER = (Severity.DANGER, Severity.CAUTION, Severity.NOTE)


def findings_sections(result: Result) -> list[Section]:
    """The findings that no other section tells, and the facts that are asked for; nothing where there are none."""
    found = [f for f in result.findings if f.rule not in TOLD_ABOVE]
    shown = ""
    if result.only:
        shown = f" (findings of {listed(result.only)} only)"
    elif result.without:
        shown = f" (without {listed(result.without)})"
    rows: list[Block] = [fact for group in groups_of(result.rig, found) for fact in _group(result.rig, group)]
    if not found and shown:
        rows.append(Line("nothing"))
    facts: dict[tuple[str, str], list[str]] = {}
    for one in result.states[0].asked:
        facts.setdefault((one.fact, one.add), []).append(one.part)
    for (fact, add), parts in facts.items():
        rows.append(Fact("not told", marked(f"{fact} not given for {len(parts)}: {in_few(parts)}; add {add}")))
    return [section(f"Worth a look{shown}", rows)] if rows else []


def groups_of(rig: Rig, found: Sequence[Finding]) -> list[list[Finding]]:
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


def finding_words(finding: Finding, place: str = "") -> Span:
    """A finding in a sentence, with the rule that says so, and where."""
    bad = finding.severity is Severity.DANGER and not finding.accepted
    accepted = f"; accepted: {finding.accepted}" if finding.accepted else ""
    return Span(
        f"{finding.severity}: {finding.text} ({finding.rule}{place}){accepted}", Look.ALARM if bad else Look.PLAIN
    )


def in_full(group: list[Finding]) -> list[Finding]:
    """Those of findings alike that are told in full."""
    return group if len(group) <= MOST_ALIKE + 1 else group[:MOST_ALIKE]


def _group(rig: Rig, group: list[Finding]) -> Iterator[Fact]:
    full = in_full(group)
    for finding in full:
        words = finding_words(finding)
        yield Fact(Span(where(rig, finding.place), words.look), marked(words.text))
        if finding.mend and not finding.accepted and (finding is full[-1] or finding.mend != full[-1].mend):
            yield Fact("", marked(f"to mend: {finding.mend}"))
    if rest := group[len(full) :]:
        others = dict.fromkeys(f"{spoken(f.about[0])} ({where(rig, f.place)})" for f in rest)
        yield Fact("", f"likewise {', '.join(others)}")


def slips_lines(result: Result) -> Iterator[Block]:
    """Which unseen slip makes which single failure deadly: what to check first before weighting."""
    alike: dict[tuple[object, ...], list[Slip]] = {}
    for one in result.slips:
        if one.alone or one.deadly:
            alike.setdefault((one.alone, one.deadly), []).append(one)
    groups = list(alike.values())
    label = "check first"
    for group in groups[:MOST_SLIPS]:
        for one in group:
            yield Fact(label, (strong(one.words), f" ({where(result.rig, one.place)})"))
            label = "or"
        label = "then"
        yield from _deadly(result.rig, group[0])
    told, deadly = (sum(map(len, some)) for some in (groups[:MOST_SLIPS], groups))
    if deadly > told:
        yield Line(more(deadly - told, "`--json` lists each"))
    if harmless := len(result.slips) - deadly:
        yield Line(f"{harmless} more {'slip makes' if harmless == 1 else 'slips make'} no single failure deadly")
    if not result.slips:
        yield Line("this file has no part of which a slip could stay unseen")


def _deadly(rig: Rig, slip: Slip) -> Iterator[Fact]:
    """What a slip does by itself, and which failures it makes deadly."""
    if slip.alone:
        yield Fact("", f"with nothing else failed {fall(slip.alone)}")
    by_bodies: dict[tuple[str, ...], list[str]] = {}
    for failure, bodies in slip.deadly:
        by_bodies.setdefault(bodies, []).append(failure)
    for bodies, failures in by_bodies.items():
        yield Fact("", f"makes deadly {in_brief(rig, failures)}: {fall(bodies)}")
