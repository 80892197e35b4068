"""A sling or lanyard in a basket holds by both its ends: without one it slides off what it lies round.

Source of every expectation: statics (a strand round something slides until its other end holds it).
"""

from __future__ import annotations

import pytest
from balance import fate as by_balance
from rigs import checked, kind, rig_of

import analyser
from analyser.holding.fate import Kind

FLIP = """
    anchor pole
    person sam: points left, right, chest
    carabiner left-crab, right-crab: locking
    attach sam.left - left-crab - lanyard flip - right-crab - sam.right
    flip: {how} pole
    {more}
"""
SECOND = "attach pole - strap hip - sam.chest"


@pytest.mark.parametrize("failure", ["left-crab fails", "right-crab fails", "flip fails", "pole fails"])
def test_a_lanyard_round_a_pole_is_lost_with_either_end(failure: str) -> None:
    rig = rig_of(FLIP.format(how="basket round", more=""))
    assert kind(rig, "sam") is Kind.HELD
    assert kind(rig, "sam", failure) is Kind.FALLS
    assert by_balance(rig, "sam", [rig.index.failures[failure]]) == "falls"
    held = rig_of(FLIP.format(how="basket round", more=SECOND))
    assert kind(held, "sam", failure) is (Kind.FALLS if failure == "pole fails" else Kind.HELD)


def test_it_is_one_attachment_though_it_has_two_ends() -> None:
    (sam,) = analyser.check(rig_of(FLIP.format(how="basket round", more=""))).bodies
    assert (sam.attachments, sam.independent) == (1, 1)
    (sam,) = analyser.check(rig_of(FLIP.format(how="basket round", more=SECOND))).bodies
    assert (sam.attachments, sam.independent) == (2, 1)


def test_something_else_at_the_same_point_is_an_attachment_of_its_own() -> None:
    (sam,) = analyser.check(rig_of(FLIP.format(how="basket round", more=SECOND.replace("chest", "left")))).bodies
    assert (sam.attachments, sam.independent) == (2, 1)


@pytest.mark.parametrize(("more", "severity"), [("", "danger"), (SECOND, "caution")])
def test_it_is_said_that_it_may_slide_along(more: str, severity: str) -> None:
    found = [
        one
        for one in analyser.check(rig_of(FLIP.format(how="basket round", more=more))).states[0].findings
        if one.rule == "slides-along"
    ]
    assert [(one.severity, one.bodies) for one in found] == [(severity, ("sam",))]
    assert found[0].text.startswith("flip lies round pole with both ends on sam, and counts as holding")
    choked = analyser.check(rig_of(FLIP.format(how="choked round", more=more))).states[0].findings
    assert not any(one.rule == "slides-along" for one in choked)


def test_choked_it_holds_by_what_is_attached_to_it() -> None:
    rig = rig_of(FLIP.format(how="choked round", more=""))
    assert kind(rig, "sam", "left-crab fails") is Kind.HELD


def test_both_ends_in_one_ring_are_one_end() -> None:
    rig = rig_of("""
        anchor beam
        load crate: points eye
        sling under: basket round beam
        attach under - ring gather - crate.eye
    """)
    assert kind(rig, "crate") is Kind.HELD
    assert kind(rig, "crate", "gather fails") is Kind.FALLS


def test_a_bridge_over_a_beam_to_two_hooks() -> None:
    """A load between the two ends of one sling over a beam falls when either hook goes, and doesn't merely tip."""
    rig = rig_of("""
        anchor beam
        load crate: points one, two, ends one | two
        sling over: basket round beam
        attach over - carabiner hook-1 (locking) - crate.one
        attach over - carabiner hook-2 (locking) - crate.two
    """)
    assert kind(rig, "crate", "hook-1 fails") is Kind.FALLS
    assert by_balance(rig, "crate", [rig.index.failures["hook-1 fails"]]) == "falls"


PASSING = """
    anchor pole, post
    person sam: points left, right, chest
    lanyard flip: basket round pole
    attach sam.left - flip - carabiner crab - sam.right
    attach post - strap hip - sam.chest
    stage "Past a branch"
        {opened}
        attach {back}
        detach hip from post
"""


@pytest.mark.parametrize(
    ("opened", "back"),
    [
        ("detach crab from sam.right", "crab - sam.right"),
        ("detach flip from crab", "flip - crab"),
        ("detach crab", "flip - crab - sam.right"),
        ("detach flip from sam.left", "flip - sam.left"),
    ],
)
def test_with_one_end_taken_off_in_a_step_it_holds_nobody(opened: str, back: str) -> None:
    """Whichever link is opened; on again, it holds as before."""
    first, off, on, alone = checked(PASSING.format(opened=opened, back=back)).states
    assert kind(off.rig, "sam", "hip fails") is Kind.FALLS
    assert by_balance(off.rig, "sam", [off.rig.index.failures["hip fails"]]) == "falls"
    assert off.outcome.body("sam").independent == 1
    for state in (first, on):
        assert kind(state.rig, "sam", "hip fails") is Kind.HELD
    assert kind(alone.rig, "sam") is Kind.HELD


def test_both_ends_in_one_ring_are_written_once() -> None:
    plan = analyser.read_text(
        'rig "One ring"\nanchor beam\nperson sam: points waist\nsling s: basket round beam\n'
        'attach s - ring eye - sam.waist\nstage "On"\n    attach s - sam.waist\n'
    )
    assert kind(plan.first, "sam") is Kind.HELD, "two ends that come later don't tell that one was off before"
