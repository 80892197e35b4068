"""Feet push and never pull: what a deck would hang on by somebody's feet falls, or tips, without them."""

from __future__ import annotations

import math

import pytest
from rigs import rig_of

import analyser
from analyser.forces.assembling import Case
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Effects

STIFF = "stretch 1 % at 2000 kg"
DECK = f"""
    anchor left: at (-1.5, 0, 10)
    anchor right: at (1.5, 0, 10)
    anchor eye: at (0.5, 0, 8)
    load deck: 120 kg, points n, s, ends n | s, length 3 m, width 1 m, at (0, 0, 5)
    deck.n: at (-1.5, 0, 6)
    deck.s: at (1.5, 0, 6)
    attach left - strap a - deck.n
    attach right - strap b - deck.s
    a, b: length 4 m, {STIFF}
    person lou: stands on deck, 80 kg, at (0.5, 0, 5.9), points waist
    attach eye - lanyard up - lou.waist
    up: length 2.15 m, {STIFF}
"""


def after(text: str, *failed: str) -> Equilibrium:
    rig = rig_of(text)
    statics = Statics.of(rig)
    assert isinstance(statics, Statics)
    known = rig.index.failures
    found = statics.equilibrium(Case(Effects.joint(known[one].effects for one in failed)))
    assert found.accepted
    return found


def test_with_nothing_failed_the_feet_rest_on_the_deck() -> None:
    """By moments about the other hanger: the deck's weight in the middle, Lou's at a third."""
    found = after(DECK)
    assert found.tension("a") == pytest.approx((60 + 80 / 3) * GRAVITY, rel=0.01)
    assert found.tension("up") == 0


def test_a_deck_that_lost_one_hanger_does_not_hang_on_the_feet_of_who_is_clipped_above() -> None:
    """It hangs plumb under the hanger that is left, and carries its own weight alone; Lou hangs on the lanyard."""
    found = after(DECK, "b fails")
    assert found.tension("a") == pytest.approx(120 * GRAVITY, rel=1e-3)
    assert found.tension("up") == pytest.approx(80 * GRAVITY, rel=1e-3)
    assert found.pose("deck").turn[2][2] == pytest.approx(1 / math.hypot(1.5, 1), rel=1e-3)  # its middle plumb under n
    assert found.lifted_feet == ("lou",)


def test_a_deck_without_hangers_falls_past_the_feet() -> None:
    found = after(DECK, "a fails", "b fails")
    assert found.falls == ("deck",)
    assert found.tension("up") == pytest.approx(80 * GRAVITY, rel=1e-3)


def test_a_deck_that_is_one_point_falls_too() -> None:
    found = after(
        f"""
        anchor bolt: at (0, 0, 10)
        anchor eye: at (0, 0, 8)
        load deck: 120 kg, at (0, 0, 5)
        attach bolt - sling hanger - deck
        person lou: stands on deck, 80 kg, at (0, 0, 5), points waist
        attach eye - lanyard up - carabiner lou-crab - lou.waist
        hanger: length 5 m, {STIFF}
        up: length 3.05 m, {STIFF}
        """,
        "hanger fails",
    )
    assert found.falls == ("deck",)
    assert found.tension("up") == pytest.approx(80 * GRAVITY, rel=1e-3)


def test_a_lanyard_that_takes_some_of_the_weight_leaves_the_feet_where_they_are() -> None:
    """Pulled up by a counterweight of 30 kg, Lou's feet still push with what is left of 80."""
    text = DECK.replace("attach eye - lanyard up - lou.waist", "load bag: 30 kg\n    pulley wheel")
    text = text.replace(f"    up: length 2.15 m, {STIFF}\n", "")
    text += """
    attach eye - wheel
    rope over: like low-stretch-a, stretch 3 % at 150 kg, 20 m
        tied to lou.waist with bowline
        slack 0 m
        through wheel
        tied to bag with bowline
    bag: at (0.5, 0, 6.5)
"""
    found = after(text)
    assert found.lifted_feet == ()
    both = found.tension("a") + found.tension("b")
    assert both == pytest.approx((120 + 80 - 30) * GRAVITY, rel=1e-3)
    heavy = after(text.replace("load bag: 30 kg", "load bag: 100 kg"))
    assert heavy.lifted_feet == ("lou",)
    assert heavy.tension("a") + heavy.tension("b") == pytest.approx(120 * GRAVITY, rel=1e-3)


def test_feet_come_back_where_another_persons_were_all_that_pulled() -> None:
    """Two on one deck, one hanger goes: Lou is clipped above, May stands at the hanger that is left."""
    text = (
        DECK.replace("stands on deck, 80 kg", "stands on deck, 30 kg")
        + f"""
    anchor second: at (-1.4, 0, 8)
    person may: stands on deck, 80 kg, at (-1.4, 0, 5.9), points waist
    attach second - lanyard up-may - may.waist
    up-may: length 2.3 m, {STIFF}
"""
    )
    found = after(text, "b fails")
    pushed = 120 * GRAVITY + (80 * GRAVITY - found.tension("up-may"))
    assert found.tension("a") == pytest.approx(pushed, rel=1e-3)
    assert math.isclose(found.tension("up"), 30 * GRAVITY, rel_tol=1e-3)


def test_it_is_said_of_who_is_off_the_deck_with_nothing_failed() -> None:
    """A lanyard so short that the deck's slack slings would have to hang on Lou's feet."""
    short = DECK.replace("up: length 2.15 m", "up: length 1.9 m")
    told = [one for one in analyser.check(rig_of(short)).states[0].findings if one.rule == "sloping-underfoot"]
    assert [one.text for one in told] == [
        "lou stands on deck, and by the forces is off it with nothing failed: it would have to hang on the feet, "
        "or they to cling to it"
    ]
    same = analyser.check(rig_of(DECK)).states[0].findings
    assert not any(one.rule == "sloping-underfoot" for one in same)
