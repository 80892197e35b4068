"""Edges that ropes pass without protection, or with protection on some of the ropes only."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed, verb
from analyser.checking.tracing import concerned, rope_may_matter
from analyser.holding.outcome import Outcome
from analyser.rig.model import Nature, Rig, Role

Passages = dict[str, tuple[list[str], list[str]]]


def passages(rig: Rig) -> Passages:
    """For each edge that ropes pass: the ropes that pass it guarded, and those that pass it bare."""
    found: Passages = {p.name: ([], []) for p in rig.parts.values() if p.nature is Nature.EDGE}
    for rope in rig.ropes:
        for station in rope.stations:
            if station.role is Role.OVER:
                guarded = bool(station.guards or rig.parts[station.part].guards)
                found[station.part][0 if guarded else 1].append(rope.name)
    return found


def bare_passages(rig: Rig) -> Iterator[tuple[str, str]]:
    """Each edge with each rope that passes it bare."""
    for edge, (_, bare) in passages(rig).items():
        yield from ((edge, rope) for rope in dict.fromkeys(bare))


def _bearing(rig: Rig, outcome: Outcome, names: list[str]) -> list[str]:
    """Those of the ropes on which somebody hangs: no tag lines."""
    return [rope.name for rope in rig.ropes if rope.name in names and rope_may_matter(outcome, rope)]


def _find_bare(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for edge, (guarded, bare) in passages(rig).items():
        ropes = _bearing(rig, outcome, bare)
        if ropes and not guarded:
            text = f"{listed(ropes)} {verb(ropes, 'passes', 'pass')} {edge} without protection"
            bodies = concerned(outcome, f"{edge} cuts")
            mend = f"`over {edge}, padded by mat`, with `pad mat`"
            yield BARE.told(text, (edge,), rig.parts[edge].place, bodies, mend=mend)


def _find_half(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for edge, (guarded, bare) in passages(rig).items():
        ropes = [rope for rope in _bearing(rig, outcome, bare) if rope not in guarded]
        if ropes and guarded:
            text = f"at {edge}, {listed(list(dict.fromkeys(guarded)))} is protected and {listed(ropes)} not"
            bodies = concerned(outcome, f"{edge} cuts")
            mend = f"protect every rope there: `{edge}: padded by …`"
            yield HALF.told(text, (edge,), rig.parts[edge].place, bodies, mend=mend)


BARE = Rule(
    name="bare-edge",
    severity=Severity.CAUTION,
    means="Ropes pass an edge, and nothing is between them and it.",
    matters="A loaded rope that moves a little over an edge, even a blunt one, is soon cut.",
    mends="A pad or a roller for every rope, or a line kept clear: `over lip, padded by mat`.",
    source="safety alert 3374 on ropes rigged over an edge, an extract seen (facts 11.9, S14)",
    wrong="""
anchor bolt
edge lip   # here
person sam
rope red
    tied to bolt
    over lip
    tied to sam
""",
    right="""
anchor bolt
edge lip
pad mat
person sam
rope red
    tied to bolt
    over lip, padded by mat
    tied to sam
""",
    find=_find_bare,
)

HALF = Rule(
    name="half-padded-edge",
    severity=Severity.CAUTION,
    means="Over one edge some ropes are protected and others not.",
    matters="The second line is there for when the first is lost: the edge that may cut the one meets the other bare.",
    mends="Protect every rope at that edge.",
    source="safety alert 3374 on ropes rigged over an edge, an extract seen (facts 11.9, S14)",
    wrong="""
anchor left, right
edge lip   # here
pad mat
person sam: points waist, chest
rope red
    tied to left
    over lip, padded by mat
    tied to sam.waist
rope green
    tied to right
    over lip
    tied to sam.chest
""",
    right="""
anchor left, right
edge lip
pad mat, second-mat
person sam: points waist, chest
rope red
    tied to left
    over lip, padded by mat
    tied to sam.waist
rope green
    tied to right
    over lip, padded by second-mat
    tied to sam.chest
""",
    find=_find_half,
)
