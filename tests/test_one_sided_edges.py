"""Edges push and never pull: what hangs clear of one isn't touched by it. Closed forms, each with its derivation."""

from __future__ import annotations

import math

import pytest

import analyser
from analyser.checking.analysing import analyse
from analyser.forces import Statics
from analyser.forces.equilibrium import Equilibrium
from analyser.rig.quantities import GRAVITY

W = 80 * GRAVITY
TRIPOD = """
rig "A tripod over a lip"
footing a: at (0.6, 1, 0)
footing b: at (0.6, -1, 0)
footing c: at (3, 0, 0)
anchor back: at (-3, 0, 0)
tripod head: feet a, b, c, at (1.5, 0, 2)
edge lip: at ({x}, 0, 0)
person sam: 80 kg, at (1.5, 0, -6)
attach head - pulley wheel
rope main: stretch 3 % at 150 kg
    tied to back with round-turn
    through wheel
    over lip
    tied to sam with figure-eight
"""
LIP = """
rig "Over a lip"
anchor back: at (-4, 0, 0)
edge lip: at (0, 0, 0)
person sam: 80 kg, at ({x}, 0, -5)
rope main: stretch 3 % at 150 kg
    tied to back with round-turn
    over lip
    tied to sam with figure-eight
"""


def rest(text: str) -> Equilibrium:
    statics = Statics.of(analyser.read_text(text))
    assert isinstance(statics, Statics)
    found = statics.equilibrium()
    assert found.accepted
    return found


def test_a_rope_over_a_lip_presses_it() -> None:
    """Level from behind, plumb below: the lip carries the weight down and as much inwards."""
    found = rest(LIP.format(x=0))
    assert found.tension("main") == pytest.approx(W, rel=1e-6)
    assert found.reactions["lip"] == pytest.approx((-W, 0, -W), rel=1e-6)
    assert not found.lifted


def test_a_rope_that_hangs_clear_of_a_lip_is_not_drawn_in_by_it() -> None:
    """From the head plumb down, half a metre outside the lip: it carries nothing, the rope the weight, the head the
    weight and the pull from behind (plumb and along (-4.5, 0, -2))."""
    found = rest(TRIPOD.format(x=1.0))
    assert found.lifted == (("main", "lip"),)
    assert "lip" not in found.reactions
    assert found.at["sam"][0] == pytest.approx(1.5, abs=1e-6)
    assert found.tension("main") == pytest.approx(W, rel=1e-6)
    far = math.hypot(4.5, 2)
    assert found.reactions["head"] == pytest.approx((-W * 4.5 / far, 0, -W - W * 2 / far), rel=1e-6)


def test_the_same_lip_a_metre_further_out_carries_the_rope() -> None:
    """The head 1 m behind the lip and 2 m above: the rope leans on it (by hand: the legs' directions)."""
    found = rest(TRIPOD.format(x=2.5))
    assert not found.lifted
    far = math.hypot(1, 2)
    assert found.reactions["lip"] == pytest.approx((-W / far, 0, W * 2 / far - W), rel=1e-6)


def test_how_long_a_rope_is_that_hangs_clear_as_drawn() -> None:
    """Straight past the lip, as it hangs: from behind to the wheel, and plumb down from there."""
    statics = Statics.of(analyser.read_text(TRIPOD.format(x=1.0)))
    assert isinstance(statics, Statics)
    drawn = sum(sum(span) for span in statics.said.spans.values())
    assert drawn == pytest.approx(math.hypot(4.5, 2) + 8, rel=1e-9)


SWING = """
rig "A second line past a lip without a place"
anchor above: at (0, 0, 10), strength 20 kN
anchor aside: at (6, 0, 10), strength 20 kN
edge lip{lip}
{ground}person sam: 80 kg, at (0, 0, 2)
rope main: stretch 3 % at 150 kg
    tied to above with figure-eight
    tied to sam with figure-eight
rope second: stretch 3 % at 150 kg
    tied to aside with figure-eight
    over lip
    tied to sam with figure-eight, slack 0.5 m
require drop at most 9 m
"""


def test_the_place_of_an_edge_that_decides_is_asked_for() -> None:
    """After `above fails` sam swings to below `aside`, 2 m deeper: the second line lies otherwise then, and the ground
    isn't told either."""
    result = analyse(analyser.read_text(SWING.format(lip="", ground="")))
    loads = result.states[0].loads
    assert loads is not None and not loads.faring[0].asks
    then = next(one for one in loads.faring if one.failures == ("above fails",))
    assert [ask.wanted.line for ask in then.asks] == ["lip: at (x, y, z)", "footing ground-below: at (x, y, z), below"]
    (judged,) = result.requirements
    assert any("second comes to lie otherwise over lip" in why for why in judged.because)
    placed = SWING.format(lip=": at (3, 0, 6)", ground="footing yard: at (0, 0, -9), below\n")
    loads = analyse(analyser.read_text(placed)).states[0].loads
    assert loads is not None and not any(one.asks for one in loads.faring)
