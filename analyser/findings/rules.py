"""The rules in the order in which a reviewer thinks: is it held, by what, by how few, by whom."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from analyser.findings import (
    as_written,
    fewer_independent,
    held_by_hands,
    litter_tips,
    not_held,
    only_by_person,
    shared_edge,
    single_point,
)
from analyser.findings.finding import Finding
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

Rule = Callable[[Rig, Outcome], Iterator[Finding]]

RULES: tuple[Rule, ...] = (
    not_held.find,
    only_by_person.find,
    single_point.find,
    held_by_hands.find,
    fewer_independent.find,
    shared_edge.find,
    litter_tips.find,
    as_written.find,
)


def findings(rig: Rig, outcome: Outcome) -> tuple[Finding, ...]:
    """Every finding of one state, by line, then by rule, then by text."""
    found = [finding for rule in RULES for finding in rule(rig, outcome)]
    return tuple(sorted(found, key=lambda f: (f.place, f.rule, f.about, f.text)))
