"""The rules in the order in which a reviewer thinks: is it held, by what, by how few, by whom."""

from __future__ import annotations

from analyser.findings import (
    fewer_independent,
    held_by_hands,
    litter_tips,
    not_held,
    only_by_person,
    runs_to_stopper,
    shared_edge,
    single_point,
)
from analyser.findings.as_written import BELOW_NOT_SAID, HANGS_LOOSE, REPEATED_CONTACT, UNKNOWN_KNOT, UNUSED_PART
from analyser.findings.finding import Finding, Rule
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

RULES: tuple[Rule, ...] = (
    not_held.RULE,
    only_by_person.RULE,
    single_point.RULE,
    held_by_hands.RULE,
    runs_to_stopper.RULE,
    fewer_independent.RULE,
    shared_edge.RULE,
    litter_tips.RULE,
    BELOW_NOT_SAID,
    UNUSED_PART,
    HANGS_LOOSE,
    REPEATED_CONTACT,
    UNKNOWN_KNOT,
)


def findings(rig: Rig, outcome: Outcome) -> tuple[Finding, ...]:
    """Every finding of one state, by line, then by rule, then by text."""
    found = [finding for rule in RULES for finding in rule.find(rig, outcome)]
    return tuple(sorted(found, key=lambda f: (f.place, f.rule, f.about, f.text)))
