"""Loops under loops: a ring in which they meet carries, and what comes back to one place pulls it twice.

Source of every expectation: statics, by finger; how such things are rigged is common practice, no source.
"""

from __future__ import annotations

import pytest
from balance import fate as by_balance
from rigs import kind, rig_of

from analyser.holding.fate import Kind

CHAIN = """
    anchor bolt
    attach bolt - carabiner crab
    ring mid
    load bag: points eye
    rope upper
        through crab
        through mid
        closed with double-fishermans as upper-knot
    rope lower
        through mid
        through bag.eye
        closed with double-fishermans as lower-knot
"""
HUNG_V = """
    anchor left, right
    ring mid
    load bag: points eye
    rope upper
        tied to left as left-knot
        through mid
        tied to right as right-knot
    rope lower
        tied to bag.eye as one
        through mid
        tied to bag.eye as two
"""
CINCHED = """
    anchor bolt
    attach bolt - ring eye
    ring master
    attach master - friction-hitch cinch
    rope round-bolt
        tied to master as end
        through eye
        gripped by cinch
"""
BAG = """
    load bag: points eye
    rope loop
        tied to master as one
        through bag.eye
        tied to master as two
"""
LITTER = """
    litter basket: points head, foot
    rope head-loop
        tied to master as one
        through basket.head
        tied to master as two
    anchor other
    attach other - strap foot-strap - basket.foot
"""
WHEEL = """
    anchor bolt
    pulley wheel
    attach bolt - wheel
    ring mid
    load bag: points eye
    rope over
        tied to mid as one
        through wheel
        tied to mid as two
    rope under
        tied to mid as three
        through bag.eye
        tied to mid as four
"""


@pytest.mark.parametrize("text", [CHAIN, HUNG_V, CINCHED + BAG, WHEEL])
def test_a_load_in_a_loop_under_a_loop_is_held_and_all_of_it_is_critical(text: str) -> None:
    rig = rig_of(text)
    assert kind(rig, "bag") is Kind.HELD
    assert by_balance(rig, "bag", []) == "held"
    for failure in rig.failures:
        told = kind(rig, "bag", failure.id)
        assert told.not_held == (failure.part != "bag"), failure.id
        assert str(told) == by_balance(rig, "bag", [failure]), failure.id


@pytest.mark.parametrize(
    "failure", ["bolt fails", "eye fails", "cinch slips", "end slips", "one slips", "master fails"]
)
def test_a_litter_whose_head_hangs_so_tips_without_it(failure: str) -> None:
    rig = rig_of(CINCHED + LITTER)
    assert kind(rig, "basket") is Kind.HELD
    assert kind(rig, "basket", failure) is Kind.TIPS
    assert by_balance(rig, "basket", [rig.index.failures[failure]]) == "tips"


def test_a_loop_over_the_wrong_side_holds_nothing() -> None:
    """Both strands go down, to ground below: they pull the ring down twice, and nothing up."""
    rig = rig_of("""
        anchor kerb: below
        ring master
        load bag: points eye
        attach master - strap hanger - bag.eye
        rope down
            tied to master as one
            through kerb
            tied to master as two
    """)
    assert kind(rig, "bag") is Kind.FALLS
    assert by_balance(rig, "bag", []) == "falls"


def test_an_end_lashed_to_its_own_other_end_hangs_on_that() -> None:
    """The foot in a loop through the head's own eye: it has no support that it could lose."""
    rig = rig_of("""
        anchor bolt
        attach bolt - strap top
        litter basket: points head, foot
        rope head-loop
            through basket.head
            through top
            closed with double-fishermans as head-knot
        rope lashing
            tied to basket.foot with bowline as foot-knot
            through basket.head
            closed with double-fishermans as lashing-knot
    """)
    assert kind(rig, "basket", "foot-knot slips") is kind(rig, "basket")
    assert by_balance(rig, "basket", [rig.index.failures["foot-knot slips"]]) == str(kind(rig, "basket"))
