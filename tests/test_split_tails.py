"""A hitch that grips for whoever hangs on a tied split tail does what it does on a cord: it moves with them.

Source of the expectation: statics (rope passes where nothing grips it); how such systems are tied is common practice,
no source.
"""

from __future__ import annotations

import pytest
from balance import fate as by_balance
from rigs import kind, rig_of

from analyser.holding.fate import Kind

CORD = "attach hitch - cord tail - {to}"
TIED = """rope tail: 8 mm
        tied to hitch with clove-hitch as tail-hitch
        tied to {to} with bowline as tail-end"""
BOTH = """rope tail: 8 mm
        tied to {to} with bowline as tail-end
        tied to hitch with clove-hitch as tail-hitch
        tied to sam.side with bowline as tail-side"""
DOUBLED = """
    anchor limb: not below
    attach limb - pulley saver
    person sam: points bridge, side
    attach sam.bridge - ring bridge-ring
    rope main: 11 mm
        tied to bridge-ring with bowline as main-end
        through saver
        gripped by friction-hitch hitch, load from start
        stopper
    {tail}
    {more}
"""
BESIDE = """anchor other
    attach other - lanyard lan - sam.side"""


@pytest.mark.parametrize("tail", [CORD, TIED, BOTH])
@pytest.mark.parametrize("to", ["bridge-ring", "sam.bridge"])
@pytest.mark.parametrize(
    ("failure", "expected"),
    [
        ("hitch fails", Kind.RUNS),
        ("hitch slips", Kind.RUNS),
        ("main[saver..hitch] is cut", Kind.FALLS),
        ("main[hitch..main-stopper] is cut", Kind.HELD),
    ],
)
def test_the_hitch_of_a_doubled_rope_on_a_tail(tail: str, to: str, failure: str, expected: Kind) -> None:
    rig = rig_of(DOUBLED.format(tail=tail.format(to=to), more=""))
    assert kind(rig, "sam", failure) is expected
    assert by_balance(rig, "sam", [rig.index.failures[failure]]) == str(expected)


@pytest.mark.parametrize("tail", [CORD, TIED])
@pytest.mark.parametrize("failure", ["lan fails", "other fails", "hitch fails", "saver fails"])
def test_a_lanyard_beside_it_is_a_second_way(tail: str, failure: str) -> None:
    rig = rig_of(DOUBLED.format(tail=tail.format(to="bridge-ring"), more=BESIDE))
    assert kind(rig, "sam", failure) is Kind.HELD
    assert by_balance(rig, "sam", [rig.index.failures[failure]]) == "held"


@pytest.mark.parametrize(
    ("failures", "expected"), [(("tail-hitch slips",), Kind.RUNS), (("tail-end slips",), Kind.FALLS)]
)
def test_a_tail_that_lets_go_takes_the_hitch_with_it(failures: tuple[str, ...], expected: Kind) -> None:
    rig = rig_of(DOUBLED.format(tail=TIED.format(to="bridge-ring"), more=""))
    assert kind(rig, "sam", *failures) is expected


def test_a_hitch_that_is_anchored_too_is_not_lashed_to_anybody() -> None:
    """It stands on its bolt: with that gone it comes down to the end of the tail."""
    rig = rig_of("""
        anchor top, bolt: not below
        attach top - pulley wheel
        attach bolt - friction-hitch hitch
        load bag: points eye
        rope main
            tied to bag.eye with bowline
            through wheel
            gripped by hitch, load from start
            stopper
        rope tail
            tied to hitch with clove-hitch
            tied to bag.eye with bowline
    """)
    assert kind(rig, "bag", "bolt fails") in (Kind.RUNS, Kind.FALLS)
    assert kind(rig, "bag", "bolt fails").value == by_balance(rig, "bag", [rig.index.failures["bolt fails"]])
