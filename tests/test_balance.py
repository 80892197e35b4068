"""The second evaluator by itself: what the first edition got wrong, and each word, as readable rigs.

Source of every expectation in the tables: the design's own page, section 1. Physics beside it is
common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from balance import BY_PERSON, FALLS, HOLDS, RUNS, SLACKENS, TIPS, told
from rigs import rig_of

EXAMPLES = Path(__file__).parent.parent / "examples"


# ---- Section 1: what the first edition's rules got wrong.


def test_ground_below_ends_a_path_and_passes_nothing_on() -> None:
    rig = """
        anchor top
        anchor base: below
        person sam: points waist, chest
        rope mine
            tied to sam.waist with figure-eight
            tied to base with round-turn
        rope other
            tied to base with round-turn
            tied to top with figure-eight
    """
    assert told(rig, "sam") == FALLS


def test_down_through_a_low_redirect_and_up_to_the_body() -> None:
    rig = """
        anchor top
        anchor base: below
        person sam: points waist
        attach base - carabiner base-crab - pulley low-wheel
        rope red
            tied to top with figure-eight
            through low-wheel
            tied to sam.waist with figure-eight
    """
    assert told(rig, "sam") == FALLS
    assert told(rig.replace(": below", ""), "sam") == HOLDS
    assert told(rig, "sam", "low-wheel fails") == FALLS  # a failure that helps is never counted on


ARBOR = """
    anchor head
    anchor base: below
    load arbor: points top, bottom
    attach head - pulley head-wheel
    attach base - carabiner base-crab - pulley tension-wheel
    {lock}
    rope endless
        through head-wheel
        {grip}
        through tension-wheel
        closed with double-fishermans as arbor-knot
    attach arbor.top - arbor-knot
"""


def test_an_endless_line_circulates_with_the_lock_off() -> None:
    assert told(ARBOR.format(lock="", grip=""), "arbor") == FALLS


def test_the_lock_on_one_strand_holds_it() -> None:
    rig = ARBOR.format(lock="rope-grab lock\n    attach head - lock", grip="gripped by lock, both ways")
    assert told(rig, "arbor") == HOLDS
    assert told(rig, "arbor", "lock slips") == FALLS


def test_an_end_that_hangs_from_the_pulley_that_redirects_it() -> None:
    rig = """
        anchor top
        person sam: points waist
        pulley low-wheel
        {hung}
        rope hanger
            tied to top with figure-eight
            tied to low-wheel with bowline
        rope red
            tied to top with figure-eight
            through low-wheel
            tied to sam.waist with figure-eight
    """
    # Hung from above, it is not anchored against a pull upwards: as a bend at the bottom it would be
    # pulled up. But nothing says that it is one: sam hangs below it.
    assert told(rig.format(hung=""), "sam") == HOLDS
    below = """
        anchor top
        anchor base: below
        person sam: points waist
        pulley low-wheel
        attach base - carabiner base-crab - pulley turn
        rope tail
            tied to low-wheel with bowline
            through turn
            through low-wheel
            tied to sam.waist with figure-eight
        rope hanger
            tied to top with figure-eight
            tied to low-wheel with bowline
    """
    # The rope goes down from the wheel to a low turn, up through the wheel, and down to sam: the wheel is
    # pulled down three times and held from above.
    assert told(below, "sam") == HOLDS


def test_two_between_which_one_order_must_do() -> None:
    """Heights are one real order: ring b lies below ring a, so the rope from b back to a carries nothing."""
    rig = """
        anchor left, right
        ring a, b
        load rock: points eye
        rope red
            tied to left with bowline
            through a
            tied to b with bowline
        rope green
            tied to right with bowline
            through b
            tied to a with bowline
        rope lift
            tied to b with bowline
            tied to rock.eye with bowline
    """
    assert told(rig, "rock") == HOLDS
    assert told(rig, "rock", "right fails") == SLACKENS  # ring a was held by green, and bent red
    assert told(rig, "rock", "left fails") == FALLS  # green runs through b: nothing holds its end but ring a


@pytest.mark.parametrize(
    ("hitch", "expected"),
    [("carabiner base-crab", HOLDS), ("strap base-strap", HOLDS)],
)
def test_a_strap_to_ground_below_makes_nothing_low(hitch: str, expected: str) -> None:
    """A ring held down by a strap may still lie above the body; one clipped to the ground may not."""
    rig = f"""
        anchor top
        anchor base: below
        ring eye
        person sam: points waist
        attach base - {hitch} - eye
        rope red
            tied to top with figure-eight
            tied to eye with bowline
        attach eye - strap sam-strap - sam.waist
    """
    assert told(rig, "sam") == expected
    over = f"""
        anchor top
        anchor base: below
        pulley wheel
        person sam: points waist
        attach base - {hitch} - wheel
        rope red
            tied to top with figure-eight
            tied to wheel with bowline
        rope green
            tied to top with figure-eight
            through wheel
            tied to sam.waist with bowline
    """
    assert told(over, "sam") == (HOLDS if hitch.startswith("strap") else FALLS)


# ---- Words of one part or rope.


ON_A_DEVICE = """
    anchor top
    person jo: standing, points loop
    person vic: points waist
    attach top - brake main
    main: operated by jo
    rope red
        tied to vic.waist with figure-eight
        gripped by main
        {more}
"""


def test_a_device_that_is_held_open() -> None:
    rig = rig_of(ON_A_DEVICE.format(more="stopper") + '    stage "Down"\n        hold open main\n')
    assert told(rig, "vic") == HOLDS
    assert told(rig.stages[0].steps[0].rig, "vic") == RUNS


def test_an_opened_device_of_a_stage() -> None:
    rig = rig_of(ON_A_DEVICE.format(more="stopper") + '    stage "Open"\n        open main\n')
    assert told(rig.stages[0].steps[0].rig, "vic") == RUNS


def test_load_through_a_belayers_harness() -> None:
    text = """
        anchor top, rear
        person jo: standing
        harness jh: worn by jo{more}
        person vic: points waist
        attach rear - sling rear-sling - jh
        attach jh - brake main
        attach top - pulley wheel
        rope red
            tied to vic.waist with figure-eight
            through wheel
            gripped by main
    """
    assert told(rig_of(text.format(more="")), "vic") == BY_PERSON
    through = rig_of(text.format(more=", carries through"))
    assert told(through, "vic") == HOLDS
    assert told(through, "vic", "rear-sling fails") == BY_PERSON  # jo's feet


def test_a_tag_line_never_holds() -> None:
    text = """
        anchor top, side
        person vic: points waist, chest
        attach top - strap up - vic.waist
        rope steer{more}
            tied to side with figure-eight
            tied to vic.chest with figure-eight
    """
    assert told(rig_of(text.format(more="")), "vic", "up fails") == HOLDS
    steered = rig_of(text.format(more=": tag line"))
    assert told(steered, "vic", "up fails") == FALLS
    assert told(steered, "vic") == HOLDS


def test_ground_below_one_body() -> None:
    rig = rig_of("""
        anchor ledge: below ann
        person ann, ben: points waist
        attach ledge - lanyard one - ann.waist
        attach ledge - lanyard two - ben.waist
    """)
    assert told(rig, "ann") == FALLS
    assert told(rig, "ben") == HOLDS


def test_a_body_with_sides() -> None:
    text = """
        anchor a, b, c, d
        load deck: points nw, ne, sw, se, ends nw, sw | ne, se{more}
        attach a - sling s1 - deck.nw
        attach b - sling s2 - deck.ne
        attach c - sling s3 - deck.sw
    """
    rig = rig_of(text.format(more=""))
    assert told(rig, "deck", "s1 fails") == HOLDS  # sw still holds that end
    rig = rig_of(text.format(more=", sides nw, ne | sw, se"))
    assert told(rig, "deck", "s1 fails") == TIPS  # the other two leave the middle on the line between them
    assert told(rig, "deck", "s3 fails") == TIPS
    assert told(rig, "deck", "s2 fails") == TIPS
