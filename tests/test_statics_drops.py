"""Peaks after a failure of one mass, against MuJoCo with nothing damped (see `mujoco_world.py`).

Several masses: `test_motion_mujoco.py`, and all of them `python -m tests.bench --only drops`.
"""

from __future__ import annotations

import pytest
from mujoco_world import EA, SOFT, World, anchored
from statics import statics_of

from analyser.forces.arrest import peak
from analyser.forces.motion import motion
from analyser.forces.stiffness import GRAVITY


@pytest.mark.parametrize(("mass", "slack"), [(80, 0.1), (100, 0.5), (100, 2.0), (200, 1.0), (280, 1.0)])
def test_one_mass_on_one_line(mass: float, slack: float) -> None:
    """200 and 280 kg falling 1 m: the masses of the rescue belay test [from memory; facts 6.11]."""
    world = World(masses={"sam": (mass, (0, 0, 7))})
    text = anchored(world, main=(0.0, 0.0, 10.0), second=(0.001, 0.0, 10.0))
    world.line("first", "main", "sam", rest=3.0, ea=1e8)
    world.line("backup", "second", "sam", rest=3.0 + slack, ea=EA)
    told = motion(
        statics_of(f"""{text}
person sam: {mass} kg, points waist, chest, at (0, 0, 7)
attach main - strap first - sam.waist
attach second - strap backup - sam.chest
first: length 3 m, stretch 0 % at 100 kg
backup: length {3 + slack} m, {SOFT}
"""),
        ["first fails"],
    )
    begin = world.at_rest()
    fallen = world.drop(["first"], begin, 3)["backup"]
    assert fallen == pytest.approx(peak(mass, EA, slack / (3 + slack)), rel=2e-3)
    assert told.line("backup").most == pytest.approx(fallen, rel=2e-3)


def test_a_shared_line_overshoots_to_one_and_a_half() -> None:
    # facts 6.10 [computed]: settles at W, peaks at 1.5 W
    world = World(masses={"sam": (100, (0, 0, 6))})
    text = anchored(world, one=(0.0, 0.0, 10.0), two=(0.0, 0.0, 10.0))
    world.line("a", "one", "sam", rest=4.0, ea=EA)
    world.line("b", "two", "sam", rest=4.0, ea=EA)
    told = motion(
        statics_of(f"""{text}
person sam: 100 kg, points waist
attach one - strap a - sam.waist
attach two - strap b - sam.waist
a, b: length 4 m, {SOFT}
"""),
        ["a fails"],
    )
    fallen = world.drop(["a"], world.at_rest(), 2)["b"]
    assert fallen == pytest.approx(1.5 * 100 * GRAVITY, rel=1e-3)
    assert told.line("b").most == pytest.approx(fallen, rel=1e-3)


def test_a_swing_is_told_as_it_is() -> None:
    """Let go at 45 degrees, a mass swings: W (3 - 2 cos 45) at the bottom, and what the line was pulled
    the more before, W (1 / cos 45 - cos 45), shakes on in it undamped [computed: energy; the pull to the
    middle]. A stiff line in MuJoCo comes to that; an energy bound was some fifteen times as much."""
    world = World(masses={"sam": (100, (0, 0, 6))})
    text = anchored(world, plumb=(0.0, 0.0, 10.0), aside=(-6.0, 0.0, 7.171573))
    world.line("swing", "plumb", "sam", rest=4.0, ea=1e6)
    world.line("stay", "aside", "sam", rest=3.171573, ea=1e6)
    told = motion(
        statics_of(f"""{text}
person sam: 100 kg, points waist, at (-2.828427, 0, 7.171573)
attach plumb - strap swing - sam.waist
attach aside - strap stay - sam.waist
swing: length 4 m, stretch 0.098066500 % at 100 kg
stay: length 3.171573 m, stretch 0.0980665 % at 100 kg
"""),
        ["stay fails"],
    )
    fallen = world.drop(["stay"], world.at_rest(), 3)["swing"]
    assert fallen == pytest.approx(100 * GRAVITY * (3 - 2 * 0.70711 + 0.70711), rel=0.02)
    assert told.line("swing").most == pytest.approx(fallen, rel=5e-3)
