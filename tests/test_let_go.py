"""What is no longer level, or no longer there, when a corner, an end or the ring of several lines is let go.

Source: the rules of holding, sections 3 and 5 (`analyser/holding/rules.md`); the statics of a rigid body on three
points; how such systems are rigged is common practice, no source. Each is asked of the second evaluator too.
"""

from __future__ import annotations

import pytest
from balance import FALLS, HOLDS, RUNS, SLACKENS, TIPS, told
from balance import fate as by_balance
from rigs import kind, rig_of

from analyser.checking.analysing import analyse
from analyser.holding.fate import Kind
from analyser.holding.outcome import assess, what_if

DECK = """
    anchor a, b, c, d
    load deck: points nw, ne, sw, se{more}, ends nw, sw | ne, se, sides nw, ne | sw, se
    attach a - sling one - deck.nw
    attach b - sling two - deck.ne
    attach c - sling three - deck.sw
    attach d - sling four - deck.se
    {line}
    person mia: stands on deck, points back
    anchor own
    attach own - lanyard tie - mia.back
"""


def test_three_of_four_corners_are_not_level() -> None:
    """The middle lies on the line between two of the three that are left. (Statics of a rigid body.)"""
    rig = rig_of(DECK.format(more="", line=""))
    for sling in ("one", "two", "three", "four"):
        assert kind(rig, "deck", f"{sling} fails") is Kind.TIPS
        assert kind(rig, "mia", f"{sling} fails") is Kind.SLACKENS  # no feet on a deck that tips
        assert told(rig, "deck", f"{sling} fails") == TIPS


def test_a_line_beside_the_corner_keeps_it_level() -> None:
    text = DECK.format(more=", north", line="attach a - sling five - deck.north")
    rig = rig_of(text.replace("sides nw, ne |", "sides nw, ne, north |"))
    assert kind(rig, "deck", "one fails") is Kind.HELD is kind(rig, "mia", "one fails")
    assert kind(rig, "deck", "three fails") is Kind.TIPS
    assert told(rig, "deck", "one fails") == HOLDS


def test_a_step_that_lets_an_end_go_drops_what_hangs_there() -> None:
    """As a failure does, in that state and after each failure in it; under a litter too, and one level further."""
    plan = rig_of("""
        rig "Two ends"  # invented
        anchor a, b
        bar beam: ends n | s
        attach a - strap leg-1 - beam.n
        attach b - strap leg-2 - beam.s
        load bag, sack, tub
        attach beam.s - sling hanger - bag
        attach beam.n - sling other - sack
        litter basket: points head, foot
        attach beam.n - sling to-head - basket.head
        attach beam.s - sling to-foot - basket.foot
        attach basket.foot - sling below - tub
        stage "Let one end go"
            detach leg-2 from b
    """)
    state = plan.stages[0].steps[-1].rig
    outcome = assess(state)
    for name, fate in (("bag", Kind.SLACKENS), ("sack", Kind.HELD), ("basket", Kind.SLACKENS), ("tub", Kind.SLACKENS)):
        assert outcome.body(name).fate.kind is fate, name
        assert by_balance(state, name, []) == fate.value, name


CLEW = """
    anchor left, right, floor
    pulley left-wheel, right-wheel
    attach left - left-wheel
    attach right - right-wheel
    ring clew
    load batten: points one, two, ends one | two
    rope red
        tied to batten.one as red-low
        through left-wheel
        tied to clew as red-end
    rope green
        tied to batten.two as green-low
        through right-wheel
        tied to clew as green-end
    attach floor - brake winch
    winch: self-locking
    rope haul
        tied to clew as haul-end
        gripped by winch, load from haul-end
    {more}
"""


def test_lines_to_one_ring_run_with_it_when_what_hauls_it_is_gone() -> None:
    """The ring goes up to its wheels, the load as far down: no stop until they jam."""
    rig = rig_of(CLEW.format(more=""))
    for failure in ("winch slips", "winch fails", "floor fails", "haul-end slips"):
        assert kind(rig, "batten", failure) is Kind.RUNS
        assert told(rig, "batten", failure) == RUNS
    assert kind(rig, "batten", "red-end slips") is Kind.TIPS


def test_a_second_line_keeps_the_ring() -> None:
    rig = rig_of(CLEW.format(more="anchor spare\n    attach spare - strap keeper - clew"))
    for failure in ("winch slips", "keeper fails"):
        assert kind(rig, "batten", failure) is Kind.HELD
        assert told(rig, "batten", failure) == HOLDS


SLING = """
    anchor bolt, far
    ring master
    attach bolt - master
    litter basket: points head, foot
    rope sling
        tied to {one}
        {head}
        {foot}
        tied to {other}
"""


@pytest.mark.parametrize(
    ("one", "head", "foot", "other", "fate"),
    [
        ("master", "through basket.head", "through basket.foot", "master", TIPS),
        ("bolt", "through basket.head", "through basket.foot", "master", TIPS),
        ("master", "through pulley w1 - basket.head", "through pulley w2 - basket.foot", "master", TIPS),
        ("master", "through basket.head", "through basket.foot", "far", HOLDS),  # a track: the strands part
        ("master", "tied to basket.head", "tied to basket.foot", "master", HOLDS),
        ("master", "tied to basket.head", "through basket.foot", "master", HOLDS),
    ],
)
def test_one_running_sling_holds_neither_end_up(one: str, head: str, foot: str, other: str, fate: str) -> None:
    """What hangs by two eyes on a rope of fixed length between two near points is level only as a ball on a hill is:
    its middle is lowest where it hangs by one end (an ellipse's long half is longer than its short one)."""
    rig = rig_of(SLING.format(one=one, head=head, foot=foot, other=other))
    assert told(rig, "basket") == fate
    assert assess(rig).body("basket").fate.kind.value == fate


BEAM = """
    anchor bolt
    bar beam: points left, mid, right, ends left | right
    attach bolt - strap pick - beam.mid
    load crate: points one, two, ends one | two
    {under}
"""


@pytest.mark.parametrize(
    ("under", "told_of"),
    [
        ("attach beam.left - sling a - crate.one\n    attach beam.right - sling b - crate.two", []),
        (
            "attach beam.left - sling a - crate.one\n    load bag\n    attach beam.right - sling b - bag",
            ["level-by-its-middle"],
        ),
        ("attach beam.left - sling a - crate.one", []),
    ],
)
def test_a_beam_on_one_pick_is_told_where_its_ends_bear_apart(under: str, told_of: list[str]) -> None:
    rig = rig_of(BEAM.format(under=under))
    assert [one.rule for one in analyse(rig).states[0].findings if one.rule == "level-by-its-middle"] == told_of


CRADLE = """
    anchor north, south, one, two, own
    load deck: points a, b, ends a | b
    attach north - strap north-strap - deck.a
    attach south - strap south-strap - deck.b
    person jo: {jo}, points waist
    attach own - lanyard jo-line - jo.waist
    person vic: points waist
    attach one - brake works
    works: operated by jo{more}
    rope red
        gripped by works, load from red-low
        tied to vic.waist as red-low
"""


@pytest.mark.parametrize(
    ("jo", "more", "failure", "fate"),
    [
        ("stands on deck", "", "north-strap fails", FALLS),  # off their feet: the brake runs
        ("stands on deck", "", "deck fails", FALLS),
        ("stands on deck", ", self-locking", "north-strap fails", HOLDS),
        ("standing", "", "north-strap fails", HOLDS),
        ("standing", "", "jo-line fails", HOLDS),
    ],
)
def test_who_is_off_their_feet_lets_go(jo: str, more: str, failure: str, fate: str) -> None:
    """Common practice, no source: who falls, or is swept off what they stand on, holds no rope for others."""
    rig = rig_of(CRADLE.format(jo=jo, more=more))
    assert told(rig, "vic", failure) == fate
    assert kind(rig, "vic", failure).value == fate


def test_who_hangs_and_is_not_held_lets_go_and_it_is_found_by_the_search() -> None:
    text = CRADLE.format(jo="", more="").replace("person jo: , points", "person jo: points")
    rig = rig_of(text)
    assert told(rig, "vic", "jo-line fails") == FALLS
    outcome = assess(rig, 2)
    alone = {event for one in outcome.failure_sets["vic"] for event in one if len(one) == 1}
    assert {"jo-line fails", "own fails"} <= {getattr(event, "spoken", event) for event in alone}


HALYARD = """
    footing f1, f2
    anchor ga, gb, ha, main-bolt, back-bolt
    frame head: feet f1, f2, guyed by guy-one
    rope guy
        tied to ga
        tied to head as guy-one
    pulley top-wheel, block
    attach head - top-wheel
    rope halyard
        tied to ha as halyard-end
        through top-wheel
        tied to block as halyard-low
    edge brow
    person vic: points waist
    rope main
        tied to main-bolt
        through block
        over brow, kept clear by block
        tied to vic.waist
"""


def test_a_guard_on_a_line_that_comes_down_guards_no_more() -> None:
    """With the frame gone the halyard still holds its block, lower: the rope lies on the brow."""
    rig = rig_of(HALYARD)
    for failures in (["f1 fails", "brow cuts"], ["top-wheel fails", "brow cuts"], ["halyard-end slips", "brow cuts"]):
        assert told(rig, "vic", *failures) == FALLS
    for alone in ("f1 fails", "top-wheel fails"):  # the block comes down, and the rope with it
        assert kind(rig, "vic", alone) is Kind.SLACKENS
        assert told(rig, "vic", alone) == SLACKENS
    assert kind(rig, "vic", "brow cuts") is Kind.HELD
    by_id = {one.id.spoken: one for one in rig.failures}
    assert what_if(rig, [by_id["f1 fails"], by_id["brow cuts"]]).falls == ("vic",)


def test_a_rope_held_out_by_a_carriage_drops_with_its_track() -> None:
    rig = rig_of("""
        anchor east, west, up
        pulley carriage
        rope track
            tied to east as track-east
            through carriage
            tied to west as track-west
        person vic: points waist
        rope main
            tied to up
            through carriage
            tied to vic.waist
    """)
    for failure in ("track-east slips", "carriage fails", "east fails"):
        assert kind(rig, "vic", failure) is Kind.SLACKENS
        assert told(rig, "vic", failure) == SLACKENS


TUBE = """
    anchor w, e, b
    bar tube: points left, mid, right, ends left | right
    load bell: 50 kg, points eye
    attach w - sling west - tube.left
    attach e - sling east - tube.right
    {bell}
    {more}
"""


@pytest.mark.parametrize(
    ("bell", "more", "fate"),
    [
        ("attach tube - sling ch (choked round tube) - bell.eye", "", SLACKENS),
        ("attach tube.mid - sling ch - bell.eye", "", SLACKENS),
        ("attach tube.right - sling ch - bell.eye", "", HOLDS),
        (  # a slack line catches it, and keeps it nowhere
            "attach tube.mid - sling ch - bell.eye",
            "rope safety\n        tied to b\n        slack 0.2 m\n        tied to tube.mid",
            SLACKENS,
        ),
        ("attach tube.mid - sling ch - bell.eye", "attach b - sling third - tube.mid", HOLDS),
    ],
)
def test_what_hangs_on_a_bar_that_goes_over(bell: str, more: str, fate: str) -> None:
    rig = rig_of(TUBE.format(bell=bell, more=more))
    assert told(rig, "bell", "west fails") == fate
    assert kind(rig, "bell", "west fails").value == fate
