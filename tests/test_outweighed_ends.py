"""An end that something keeps up which never counts as holding it: lost with that, and the body tips.

Source of every expectation: statics (what was up by a counterweight comes down without it).
"""

from __future__ import annotations

import pytest
from balance import fate as by_balance
from rigs import kind, rig_of

from analyser.holding.fate import Kind

FOOT = """
    anchor bolt, other
    litter basket: points head, foot
    attach bolt - strap head-strap - basket.head
    attach other - pulley wheel
    person jo: standing, below
    {what}
    rope cw
        tied to basket.foot with bowline as foot-knot
        through wheel
        {end}
"""
WEIGHT = {"what": "counterweight bag: 40 kg", "end": "tied to bag with bowline as bag-knot"}
TIED = {"what": "anchor low", "end": "tied to low with bowline as bag-knot"}


@pytest.mark.parametrize("how", [WEIGHT, TIED])
@pytest.mark.parametrize("failure", ["foot-knot slips", "wheel fails", "other fails"])
def test_the_foot_comes_down_without_what_kept_it_up(how: dict[str, str], failure: str) -> None:
    rig = rig_of(FOOT.format(**how))
    assert kind(rig, "basket") is Kind.HELD
    told = kind(rig, "basket", failure)
    assert told is (Kind.TIPS if how is not TIED or failure == "foot-knot slips" else told)
    assert told in (Kind.TIPS, Kind.SLACKENS)
    assert by_balance(rig, "basket", [rig.index.failures[failure]]) == str(told)


def test_so_it_does_when_the_weight_goes() -> None:
    rig = rig_of(FOOT.format(**WEIGHT))
    assert kind(rig, "basket", "bag-knot slips") is Kind.TIPS
    assert by_balance(rig, "basket", [rig.index.failures["bag-knot slips"]]) == "tips"


def test_what_hangs_from_that_end_drops_with_it() -> None:
    rig = rig_of(FOOT.format(**WEIGHT) + "    load bottle: points eye\n    attach basket.foot - strap s - bottle.eye\n")
    assert kind(rig, "bottle", "bag-knot slips") is Kind.SLACKENS
    assert by_balance(rig, "bottle", [rig.index.failures["bag-knot slips"]]) == "slackens"


def test_who_never_was_up_by_anything_loses_nothing() -> None:
    rig = rig_of("""
        anchor bolt
        litter basket: points head, foot
        attach bolt - strap head-strap - basket.head
        load bag: points eye
        attach basket.foot - strap s - bag.eye
    """)
    assert kind(rig, "basket", "s fails") is Kind.HELD
    assert by_balance(rig, "basket", [rig.index.failures["s fails"]]) == "held"
