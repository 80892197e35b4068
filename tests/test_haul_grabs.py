"""A haul grab that goes lets out what it drew up, unless the capture stands before it: a drop.

Source of every expectation: statics (the throw of the tackle is rope that runs out); how hauls are rigged is common
practice, no source.
"""

from __future__ import annotations

import pytest
from balance import fate as by_balance
from rigs import kind, rig_of

from analyser.holding.fate import Kind

HAUL = """
    anchor bolt, second: not below
    person jo: standing
    load bag: points eye
    attach bolt - pulley head
    rope main
        tied to bag.eye with bowline as low
        gripped by rope-grab grab - {between}, load from low
        {loaded}
        through head
        through lower
        {tail}
        held by jo, tail towards end
"""
AT = "gripped by cam-pulley capture - second, load from low"
WHEELS = ("pulley lower", "carabiner grab-crab - pulley lower", "sling grab-sling - pulley lower")


@pytest.mark.parametrize("between", WHEELS)
@pytest.mark.parametrize(
    ("failure", "on_tail", "on_loaded"),
    [
        ("grab slips", Kind.SLACKENS, Kind.HELD),
        ("grab fails", Kind.SLACKENS, Kind.HELD),
        ("lower fails", Kind.SLACKENS, Kind.HELD),
        ("head fails", Kind.SLACKENS, Kind.HELD),
        ("jo lets go", Kind.HELD, Kind.HELD),
        ("low slips", Kind.FALLS, Kind.FALLS),
    ],
)
def test_a_three_to_one(between: str, failure: str, on_tail: Kind, on_loaded: Kind) -> None:
    for rig, expected in (
        (rig_of(HAUL.format(between=between, loaded="slack 0 m", tail=AT)), on_tail),
        (rig_of(HAUL.format(between=between, loaded=AT, tail="slack 0 m")), on_loaded),
    ):
        assert kind(rig, "bag", failure) is expected
        assert by_balance(rig, "bag", [rig.index.failures[failure]]) == str(expected)


@pytest.mark.parametrize("failure", ["grab slips", "lower fails"])
def test_the_second_wheel_of_a_five_to_one_is_no_capture_either(failure: str) -> None:
    """The capture at the second wheel above: what lies between the first two has run out before it holds."""
    rig = rig_of("""
        anchor bolt, second: not below
        load bag: points eye
        attach bolt - pulley head
        rope main
            tied to bag.eye with bowline as low
            gripped by rope-grab grab - pulley lower, load from low
            through head
            through lower
            gripped by cam-pulley capture - second, load from low
            through pulley other - grab
            stopper
    """)
    assert kind(rig, "bag", failure) is Kind.SLACKENS
    assert by_balance(rig, "bag", [rig.index.failures[failure]]) == "slackens"


def test_what_holds_the_load_itself_lets_no_haul_drop_it() -> None:
    rig = rig_of(
        HAUL.format(between="pulley lower", loaded="slack 0 m", tail=AT) + "    attach bolt - strap s - bag.eye\n"
    )
    assert kind(rig, "bag", "grab slips") is Kind.HELD
