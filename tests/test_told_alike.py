"""`whatif` says what `check` says; ends that sink, and who comes to rest on the ground, are told.

Each rig is small enough to be worked out by hand with the rules of holding, section 5 (`analyser/holding/rules.md`);
how such systems are rigged is common practice, no source.
"""

from __future__ import annotations

import pytest
from rigs import checked, rig_of

from analyser.checking.analysing import analyse
from analyser.checking.calling import At
from analyser.checking.foremost import verdict_line
from analyser.checking.scenario import after_failures
from analyser.holding.fate import Kind
from analyser.holding.outcome import assess, what_if
from analyser.rig.model import Rig

PLATFORM = """
    anchor west-beam, east-beam, spare
    load deck: 200 kg, points west, east, ends west | east
    attach west-beam - wire west-wire - winch west-hoist - deck.west
    attach east-beam - wire east-wire - winch east-hoist - deck.east
    person lou: stands on deck, points back
    attach spare - fall-arrester lou-arrester - lou.back
    {more}
"""
ARRESTERS = """
    attach spare - fall-arrester west-arrester - deck.west
    attach spare - fall-arrester east-arrester - deck.east
"""
LITTER = """
    anchor left, right
    litter basket: points head, foot
    attach left - strap head-leg - basket.head
    attach right - strap foot-leg - basket.foot
    stage "Off"
        detach foot-leg
        say "stop"
"""


@pytest.mark.parametrize("text", [PLATFORM.format(more=""), PLATFORM.format(more=ARRESTERS), LITTER])
def test_whatif_says_what_check_says(text: str) -> None:
    """In every state: who tips, who loses footing on what tips, who drops first."""
    for state in checked(text).states:
        for failure in state.outcome.failures:
            event = state.rig.index.failures[failure.id]
            told = {body.name: body.fate for body in after_failures(At(state.rig), [event]).outcome.bodies}
            assert told == {body.name: failure.fate(body.name) for body in state.outcome.bodies}


def kinds(rig: Rig, failure: str) -> dict[str, Kind]:
    then = what_if(rig, [rig.index.failures[failure]])  # type: ignore[index]
    return {name: fate.kind for name, fate in then.fates}


def test_an_end_held_by_an_arrester_alone_drops_first() -> None:
    """Without it the deck tips; with it the end drops until the arrester locks, and who stands there with it."""
    tips = kinds(rig_of(PLATFORM.format(more="")), "west-beam fails")
    assert tips == {"deck": Kind.TIPS, "lou": Kind.SLACKENS}
    sinks = kinds(rig_of(PLATFORM.format(more=ARRESTERS)), "west-beam fails")
    assert sinks == {"deck": Kind.SLACKENS, "lou": Kind.SLACKENS}


def test_the_verdict_says_who_drops_first_with_nothing_failed() -> None:
    text = """
        anchor left, right
        person sam: points waist, chest
        attach left - absorber one - sam.waist
        attach right - absorber two - sam.chest
    """
    assert "with nothing failed sam drops, then held" in verdict_line(checked(text))


GROUND = """
    anchor left: at (0, 0, 12)
    anchor right: at (1, 0, 12)
    anchor floor: at (0, 0, {floor}), below
    person sam: 90 kg, points waist, chest, at (0.5, 0, 1.5)
    rope red: stretch 3 % at 150 kg
        tied to left with figure-eight
        tied to sam.waist with figure-eight
    rope blue: stretch 3 % at 150 kg
        tied to right with figure-eight
        slack 2 m
        tied to sam.chest with figure-eight
    require everyone held after any 1 failure
"""


@pytest.mark.parametrize(("floor", "kind"), [(0, Kind.TO_THE_GROUND), (-9, Kind.DROPS)])
def test_who_comes_to_rest_on_the_ground_is_not_held(floor: int, kind: Kind) -> None:
    """The second line, 2 m too long, catches half a metre under the floor; with the floor further down it holds."""
    result = checked(GROUND.format(floor=floor))
    state = result.states[0]
    lost = next(one for one in state.outcome.failures if one.id == "left fails")
    assert lost.fate("sam").kind is kind
    assert result.met is (kind is Kind.DROPS)
    assert state.outcome.body("sam").independent == (1 if kind is Kind.TO_THE_GROUND else 2)
    then = after_failures(At(state.rig), [state.rig.index.failures[lost.id]])
    assert then.outcome.body("sam").fate == lost.fate("sam")
    assert bool(then.falls) is (kind is Kind.TO_THE_GROUND)


def test_a_bag_that_a_loose_track_lets_down_to_the_ground_is_not_held() -> None:
    """Written at 8 m over ground at 7 m, on a track that hangs 4 m under its anchors at 10 m: it lies at 7 m."""
    text = """
        anchor near: at (0, 0, 10)
        anchor far: at (30, 0, 10)
        anchor floor: at (15, 0, {floor}), below
        load bag: 100 kg, at (15, 0, 8)
        attach bag - pulley carriage
        rope track: stretch 3 % at 150 kg, sag 4 m
            tied to near with figure-eight
            through carriage
            tied to far with figure-eight
    """
    lies, hangs = (checked(text.format(floor=floor)) for floor in (7, 2))
    assert lies.states[0].outcome.body("bag").fate.kind is Kind.TO_THE_GROUND
    assert [one.rule for one in lies.states[0].findings if one.rule == "reaches-ground"]
    assert hangs.states[0].outcome.body("bag").fate.kind is Kind.DROPS  # it hangs 2 m lower than written
    assert assess(lies.rig.alone).body("bag").held  # by the connections alone


def test_a_stopper_that_holds_is_said_to_lie_against_what_it_holds_at() -> None:
    """Abseiling on one strand: held by a block at the ring, and not by a stopper at the far end of the rope, which
    the file writes alike. Under a device a stopper holds nobody, and nothing is said."""
    text = """
        anchor left, right
        ring master
        attach left - sling one - master
        attach right - sling two - master
        person ann: points waist
        attach ann.waist - descender ann-descender
        ann-descender: operated by ann, self-locking
        rope red
            stopper
            gripped by ann-descender, load from master
            through master
            stopper as block
    """
    assert [(one.stopper, one.against) for one in checked(text).jammed] == [("block", ("master",))]
    assert not checked(text.replace("stopper as block", "tied to left")).jammed


def test_a_frame_guyed_by_bare_hands_is_a_danger() -> None:
    """Both ropes hold without the frame; that it goes over when the hands open is told all the same."""
    text = """
        footing left-foot, right-foot: below
        anchor main-bolt, other-bolt
        person kim: standing
        person vic: points waist, chest
        a-frame head: feet left-foot, right-foot, guyed by guy-knot
        rope guy
            {held}
            tied to head with clove-hitch as guy-knot
        attach head - pulley wheel
        rope red
            tied to main-bolt
            through wheel
            tied to vic.waist
        attach other-bolt - strap vic-strap - vic.chest
    """
    rules = {finding.rule for finding in checked(text.format(held="held by kim")).states[0].findings}
    tied_off = text.format(held="tied to other-bolt with round-turn")
    tied = {finding.rule for finding in checked(tied_off).states[0].findings}
    assert "frame-not-held" in rules - tied


def test_what_hangs_from_the_lost_end_of_a_bar_drops_first() -> None:
    """The bar goes over, held by its other wire: who hangs from the lost end drops with it, and the other does not."""
    rig = rig_of("""
        anchor left, right
        bar spreader: ends west | east
        attach left - wire left-wire - spreader.west
        attach right - wire right-wire - spreader.east
        person ann: points back
        person ben: points back
        attach spreader.west - lanyard ann-lanyard - ann.back
        attach spreader.east - lanyard ben-lanyard - ben.back
    """)
    assert kinds(rig, "left fails") == {"ann": Kind.SLACKENS, "ben": Kind.HELD}


def test_a_bar_that_a_step_has_left_on_one_end_tips() -> None:
    """It is asked for the support that it had as first attached, not only for what it has in this state."""
    rig = rig_of(
        """
        anchor left, right
        bar beam: points one, two, ends one | two
        load crate: points eye
        attach left - strap a - beam.one
        attach right - strap b - beam.two
        attach beam.one - strap c - crate.eye
        stage "Later"
            detach b from right
        """
    )
    before, after = analyse(rig).states
    tips = [{one.id: "beam" in one.tips for one in state.outcome.failures} for state in (before, after)]
    assert not tips[0]["c fails"] and tips[1]["c fails"]
