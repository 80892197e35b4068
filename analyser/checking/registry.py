"""The rules in the order in which a reviewer thinks: is it held, by what, by how few, by whom."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from analyser.checking import (
    anchoring,
    as_written,
    at_once,
    bare_edge,
    below_and_above,
    by_its_middle,
    by_one_end,
    connectors,
    down_to_one,
    ends_not_written,
    fewer_independent,
    frame_unheld,
    free_to_run,
    held_by_hands,
    holds_nobody,
    litter_tips,
    lowering,
    no_stopper,
    not_held,
    one_sleeve,
    only_by_person,
    opened,
    overloaded,
    people,
    reaching_ground,
    rope_sizes,
    rope_too_short,
    running_ropes,
    runs_to_stopper,
    shared_edge,
    short_tail,
    single_point,
    slides_along,
    sloping_underfoot,
    standing,
    step_drops,
    stopper_against,
    taken_in_too_far,
    waiving,
)
from analyser.checking.asking import Asking, Seen, wanted
from analyser.checking.finding import Asked, Finding, Rule
from analyser.rig.model import Rig

RULES: tuple[Rule, ...] = (
    not_held.RULE,
    only_by_person.RULE,
    single_point.RULE,
    held_by_hands.RULE,
    runs_to_stopper.RULE,
    stopper_against.RULE,
    fewer_independent.RULE,
    shared_edge.RULE,
    litter_tips.RULE,
    free_to_run.RULE,
    frame_unheld.RULE,
    by_its_middle.RULE,
    by_one_end.RULE,
    ends_not_written.RULE,
    sloping_underfoot.RULE,
    slides_along.RULE,
    down_to_one.RULE,
    # people
    people.EXPOSED,
    people.ON_A_PERSON,
    people.ONE,
    people.POINT,
    people.PATIENT,
    people.ATTENDANT,
    people.TWO_PLACES,
    people.OUT_OF_REACH,
    at_once.AT_ONCE,
    # steps
    lowering.RULE,
    opened.NEEDED,
    opened.LOADED,
    step_drops.RULE,
    # anchors
    anchoring.STRUCTURE,
    anchoring.PLACE,
    anchoring.WEAK,
    anchoring.DIRECTION,
    below_and_above.RULE,
    # forces
    overloaded.RULE,
    reaching_ground.RULE,
    standing.FRAME,
    standing.TURNS,
    # ropes
    no_stopper.RULE,
    rope_too_short.RULE,
    taken_in_too_far.RULE,
    short_tail.RULE,
    bare_edge.BARE,
    bare_edge.HALF,
    one_sleeve.RULE,
    running_ropes.TEXTILE,
    running_ropes.ROPE_ON_ROPE,
    running_ropes.CONNECTOR,
    running_ropes.KNOT,
    rope_sizes.RANGE,
    rope_sizes.CORD,
    # connectors and what they join
    connectors.GATE,
    connectors.THREE_WAY,
    connectors.ACROSS,
    connectors.CROWDED,
    connectors.GIRTH,
    connectors.GEAR,
    # the file itself
    holds_nobody.RULE,
    as_written.BELOW_NOT_SAID,
    as_written.PLACE_WITHOUT_UNIT,
    as_written.UNUSED_PART,
    as_written.HANGS_LOOSE,
    as_written.GRIPS_NOTHING,
    as_written.REPEATED_CONTACT,
    as_written.UNKNOWN_KNOT,
    as_written.LONE_STRUCTURE,
    as_written.NO_OPERATOR,
    waiving.RULE,
)


def findings(states: Sequence[Seen]) -> list[tuple[Finding, ...]]:
    """The findings of each state, by line, then by rule, then by text."""
    asking = Asking()
    early = [rule for rule in RULES if "found" not in wanted(rule.find)[0]]
    told = [[finding for rule in early for finding in asking(rule.find, seen)] for seen in states]
    found = tuple(finding for one in told for finding in one)
    names = tuple(rule.name for rule in RULES)
    for rule in RULES:
        for seen, one in zip(states, told, strict=True) if rule not in early else ():
            one += asking(rule.find, replace(seen, found=found, rules=names))
    return [in_order(seen.rig, one) for seen, one in zip(states, told, strict=True)]


def in_order(rig: Rig, found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings with what the file accepts of them, by line, then by rule, then by text."""
    return tuple(sorted(waiving.waive(rig, found), key=lambda f: (f.place, f.rule, f.about, f.text)))


def asked(seen: Seen) -> tuple[Asked, ...]:
    """The facts that rules need and the file does not state, each of a part once."""
    asking = Asking()
    found = {one: None for rule in RULES if rule.asks for one in asking(rule.asks, seen)}
    return tuple(sorted(found, key=lambda one: (one.fact, one.part)))
