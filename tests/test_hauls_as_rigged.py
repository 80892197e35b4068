"""Hauls as they are rigged: over edges, with strands at angles, on stretchy rope, in later states; attitudes beside a
plumb litter. By hand, each with its derivation."""

from __future__ import annotations

import json
import math

import pytest

import analyser
from analyser.checking.calling import At
from analyser.checking.hanging import attitude
from analyser.doors.commands.main import main
from analyser.forces import Missing, Statics
from analyser.forces.hauling import Advantage, advantage
from analyser.forces.levelling import Wished, adjusted, wished
from analyser.rig.quantities import GRAVITY

W = 100 * GRAVITY
OVER_A_LIP = """
rig "Hauled over a lip"
edge lip: friction {friction}, at (0, 0, 10)
load block: 100 kg, points eye, at (0, 0, 2)
person jo: standing, at (8, 0, 10)
rope main: stretch 3 % at 150 kg
    tied to block.eye with figure-eight
    over lip
    held by jo
"""


def told(text: str, rope: str = "main") -> Advantage:
    statics = Statics.of(analyser.read_text(text), hands=True)
    assert not isinstance(statics, Missing), statics.text
    found = advantage(statics, rope)
    assert isinstance(found, Advantage), found
    return found


@pytest.mark.parametrize("friction", [0.0, 0.2, 0.5])
def test_an_edge_carries_what_turns_over_it(friction: float) -> None:
    """A quarter turn: the hand pulls W e^(mu pi/2) to raise (capstan law), level; the load hangs plumb on the other
    side; the edge carries the two at right angles."""
    found = told(OVER_A_LIP.format(friction=friction))
    assert found.raising is not None and found.lowering is not None
    for pull, way in ((found.raising, 1), (found.lowering, -1)):
        hand = W * math.exp(way * friction * math.pi / 2)
        assert pull.hand == pytest.approx(hand, rel=1e-4)
        assert pull.anchors["lip"] == pytest.approx(math.hypot(W, hand), rel=1e-4)


BETWEEN = """
rig "A wheel between two strands at an angle"
anchor left: at (-3, 0, 10), strength 20 kN
person jo: standing, at (3, 0, 10)
load block: 100 kg, points eye, at (0, 0, 6)
attach block.eye - pulley wheel
rope main: stretch {stretch} % at 150 kg
    tied to left with figure-eight
    through wheel
    held by jo
"""


def test_strands_at_an_angle_are_told_beside_what_one_counts() -> None:
    """Two strands carry the load, each W/2 if parallel: counted 2. As rigged W/(2 cos a) with `a` from plumb."""
    found = told(BETWEEN.format(stretch=0.01))
    half = math.atan2(3, 4)
    assert found.counted == pytest.approx(2, rel=1e-6)
    assert found.ideal == pytest.approx(2 * math.cos(half), rel=1e-3)
    assert found.angles == (("wheel", pytest.approx(math.degrees(2 * half), abs=0.05)),)


def test_no_device_holds_it_and_what_does_is_told() -> None:
    """Tied to an anchor at the end where a hand was: with hands off it hangs from what is tied."""
    text = (
        BETWEEN.format(stretch=3) + "rope safety\n    tied to left with bowline\n    tied to block.eye with bowline\n"
    )
    found = told(text)
    assert not found.holds_at_rest and found.tied_to == ("left",) and not found.falls


@pytest.mark.parametrize("stretch", [0.5, 8])
def test_travel_has_no_stretch_in_it(stretch: float) -> None:
    """1:1 over a lip: a metre in, a metre up, whatever the rope."""
    found = told(OVER_A_LIP.format(friction=0).replace("stretch 3 %", f"stretch {stretch} %"))
    assert found.travel == pytest.approx(1, rel=1e-3)


STAGED = """
rig "A haul that a stage brings in"
anchor top: at (0, 0, 10), strength 20 kN
person jo: standing, at (0.2, 0, 10)
load block: 100 kg, points eye, at (0, 0, 4)
attach top - strap sling - block.eye
sling: length 5.5 m

stage "haul"
    rope haul-rope: stretch 3 % at 150 kg
        tied to block.eye with figure-eight
        held by jo
    detach sling
"""
BASKET = """litter basket: 95 kg, at (0, 0, 6.85), points head-left, head-right, foot-left, foot-right
basket.head-left: at (1, 0.25, 7)
basket.head-right: at (1, -0.25, 7)
basket.foot-left: at (-1, 0.25, 7)
basket.foot-right: at (-1, -0.25, 7)
"""
TILTED = f"""
rig "A litter let down at its foot"
anchor bolt: at (0, 0, 10)
{BASKET}ring master
attach bolt - strap main - master
attach master - strap leg-1 - basket.head-left
attach master - strap leg-2 - basket.head-right
attach master - strap leg-3 - basket.foot-left
attach master - strap leg-4 - basket.foot-right
main: length 2 m
leg-1, leg-2, leg-3, leg-4: length 1.4 m
"""


@pytest.mark.parametrize("angle", [10, 45, 70, 75, 78, 79, 80, 81])
def test_no_attitude_is_out_of_reach_between_two_that_are_not(angle: float) -> None:
    statics = Statics.of(analyser.read_text(TILTED))
    assert isinstance(statics, Statics)
    found = wished(statics, "basket", adjusted(statics, "basket"), angle, bounds=(-3, 10))
    assert isinstance(found, Wished), found
    assert found.hung.head_up == pytest.approx(angle, abs=1e-4)


TACKLE = f"""
rig "A litter, its feet on a tackle in somebody's hands"
anchor bolt: at (0, 0, 10)
{BASKET}ring master: at (0, 0, 8)
ring foot-ring: at (-0.7, 0, 7.3)
person jo: standing, at (0.5, 0, 10)
attach bolt - strap main - master
attach master - strap leg-1 - basket.head-left
attach master - strap leg-2 - basket.head-right
attach foot-ring - strap leg-3 - basket.foot-left
attach foot-ring - strap leg-4 - basket.foot-right
attach master - pulley high
attach foot-ring - pulley low
rope tackle: 8 mm, stretch 3 % at 150 kg
    tied to master with bowline
    through low
    through high
    held by jo
main: length 2 m
leg-1, leg-2: length 1.4 m
leg-3, leg-4: length 0.5 m
"""


def test_the_tackle_is_let_out_also_where_hands_hold_it() -> None:
    told = attitude(At(analyser.read_text(TACKLE)), "basket", reach=(0.0, 1.0))
    assert [one.split("[")[0] for one in told.let_out] == ["tackle"]
    assert any("jo" in one for one in told.taken)
    rising = [one.head_up for one in told.sweep]
    assert rising == sorted(rising) and rising[-1] > rising[0] + 10


def test_what_a_stage_brings_in_is_hauled_on(tmp_path, capsys) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "staged.rig"
    file.write_text(STAGED.lstrip())
    assert main(["haul", str(file), "--json"]) == 2
    capsys.readouterr()
    assert main(["haul", str(file), "--json", "--stage", "haul"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["state"] == 2 and data["ropes"][0]["advantage"]["ideal_advantage"] == pytest.approx(1, abs=1e-3)
