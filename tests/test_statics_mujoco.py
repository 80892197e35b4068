"""Statics against MuJoCo (see `mujoco_world.py`): the same rigs written twice, in the rig language and
as its bodies and tendons, left to come to rest there. Tensions within a ten-thousandth of the heaviest
load, places within a tenth of a millimetre, attitudes within a hundredth of a degree.

Peaks after a failure, with nothing damped: `test_statics_drops.py`.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from mujoco_world import EA, SOFT, Rest, World, anchored, random_net
from statics import statics_of

from analyser.forces import Equilibrium, Statics
from analyser.forces.aftermath import after


def compare(found: Equilibrium, other: Rest, called: dict[str, str] | None = None) -> None:
    """`called`: our name of a line, where it isn't the one it has there."""
    assert found.accepted and other.speed < 1e-6
    for name, tension in other.tension.items():
        ours = found.tension((called or {}).get(name, name))
        assert ours == pytest.approx(tension, abs=1e-4 * found.load), name
    for name, place in other.at.items():
        if name in found.at and name not in other.turn:
            assert found.at[name] == pytest.approx(place, abs=1e-4), name
    for pose in found.poses:
        if pose.name in other.turn:
            # hung from one ring it may turn about the plumb line: which way is up, as the body sees it
            off = np.linalg.norm(np.array(pose.turn)[2] - other.turn[pose.name][2])
            assert math.degrees(off) < 0.01
            assert pose.centre[2] == pytest.approx(other.at[pose.name][2], abs=1e-4)


@pytest.mark.parametrize(("left", "right"), [(2.0, 2.0), (1.7, 2.6), (1.2, 3.0)])
def test_two_legs_equal_and_unequal(left: float, right: float) -> None:
    world = World(masses={"block": (100, (0.1, 0, 0))})
    text = anchored(world, west=(-1.0, 0.0, 2.0), east=(1.0, 0.0, 2.5))
    world.line("a", "west", "block", rest=left, ea=EA)
    world.line("b", "east", "block", rest=right, ea=EA)
    statics = statics_of(f"""{text}
load block: 100 kg, points eye
attach west - strap a - block.eye
attach east - strap b - block.eye
a: length {left} m, {SOFT}
b: length {right} m, {SOFT}
""")
    compare(statics.equilibrium(), world.at_rest())


def test_a_redirect() -> None:
    """A rope from a load over a fixed block to an anchor aside."""
    world = World(masses={"block": (100, (0, 0, 4))})
    text = anchored(world, head=(0.0, 0.0, 10.0), stay=(2.0, 1.0, 5.0))
    long = 6 + math.dist((0, 0, 10), (2, 1, 5))
    world.line("line", "block", "head", "stay", rest=long, ea=EA)
    statics = statics_of(f"""{text}
load block: 100 kg, points eye, at (0, 0, 4)
rope line: {SOFT}
    tied to block.eye with bowline
    through pulley turn - head
    tied to stay with bowline
""")
    found, other = statics.equilibrium(), world.at_rest()
    compare(found, other)
    toward = np.subtract((2, 1, 5), (0, 0, 10)) / math.dist((2, 1, 5), (0, 0, 10))
    assert found.reactions["head"] == pytest.approx(other.tension["line"] * (toward - (0, 0, 1)), abs=0.1)


def test_a_sagging_line_with_a_load_that_runs_on_it() -> None:
    world = World(masses={"max": (90, (9, 0.2, 18))})
    text = anchored(world, near=(0.0, 0.0, 20.0), far=(30.0, 1.0, 22.0))
    drawn = math.dist((0, 0, 20), (9, 0.2, 18)) + math.dist((9, 0.2, 18), (30, 1, 22))
    world.line("track", "near", "max", "far", rest=drawn + 0.2, ea=EA)
    statics = statics_of(f"""{text}
load max: 90 kg, points waist, at (9, 0.2, 18)
rope track: {SOFT}
    tied to near with bowline
    through pulley wheel - max.waist
    tied to far with bowline, slack 0.2 m
""")
    compare(statics.equilibrium(), world.at_rest())


def test_a_track_line_with_a_tag_line_holds_its_load_off_the_middle() -> None:
    world = World(masses={"max": (90, (9, 0, 18))})
    text = anchored(world, near=(0.0, 0.0, 20.0), far=(30.0, 0.0, 20.0))
    drawn = math.dist((0, 0, 20), (9, 0, 18)) + math.dist((9, 0, 18), (30, 0, 20))
    world.line("track", "near", "max", "far", rest=drawn, ea=EA)
    world.line("tag", "near", "max", rest=math.dist((0, 0, 20), (9, 0, 18)), ea=EA)
    statics = statics_of(f"""{text}
load max: 90 kg, points waist, at (9, 0, 18)
rope track: {SOFT}
    tied to near with bowline
    through pulley wheel - max.waist
    tied to far with bowline
rope tag: {SOFT}
    tied to near with bowline
    tied to max.waist with bowline
""")
    compare(statics.equilibrium(), world.at_rest())
    told = after(statics, ["tag[tag-bowline..tag-bowline-2] is cut"])
    compare(told.equilibrium, world.at_rest(["tag"], world.at_rest()))


def test_three_to_one_held_by_its_capture() -> None:
    """The rope of a 3:1 with the hauling hitch on its standing part, held at rest by a capture at the
    anchor: the wheel at the hitch (1 kg, so that it is something that moves there) hangs in the bight."""
    world = World(masses={"block": (120, (0.0, 0.0, 4.0)), "tractor": (1.0, (0.0, 0.0, 6.0))})
    text = anchored(world, head=(0.0, 0.0, 10.0), hand=(0.3, 0.0, 10.0))
    # from the load up to the hitch; on to the fixed block; down to the wheel at the hitch; up to the hand
    world.line("low", "block", "tractor", rest=2.0, ea=EA)
    world.line("high", "tractor", "head", "tractor-wheel", "hand", rest=8 + math.dist((0.3, 0, 10), (0, 0, 6)), ea=EA)
    world.lines["high"].stations = ("tractor", "head", "tractor", "hand")
    statics = statics_of(f"""{text}
load block: 120 kg, points eye, at (0, 0, 4)
friction-hitch hitch: at (0, 0, 6)
pulley tractor: 1 kg
attach hitch - tractor
rope main: {SOFT}
    tied to block.eye with bowline as knot
    gripped by hitch
    through pulley fixed - head
    through tractor
    tied to hand with bowline as end
""")
    found = statics.equilibrium()
    other = world.at_rest()
    compare(found, other, {"low": "main[knot..hitch]", "high": "main[hitch..end]"})
    # facts 3.3: the load, and the wheel's own weight on top, on three strands
    assert found.tension("main[hitch..end]") == pytest.approx((120 + 1) * 9.80665 / 3, rel=3e-3)


CORNERS = {
    "head-left": (0.95, 0.25, 0.0),
    "head-right": (0.95, -0.25, 0.0),
    "foot-left": (-0.95, 0.25, 0.0),
    "foot-right": (-0.95, -0.25, 0.0),
}


def litter(long: tuple[float, float, float, float], along: float) -> tuple[Statics, World]:
    """A litter on four legs from a ring on two ropes, its patient's mass so far towards the head."""
    world = World(masses={"master": (1.0, (0, 0, 4))})
    text = anchored(world, west=(-0.7, 0.2, 10.0), east=(0.7, 0.0, 10.0))
    world.bodies["basket"] = ((0, 0, 3), [(15, (0, 0, 0)), (80, (along, 0, 0))], dict(CORNERS))
    text += "ring master: 1 kg, at (0, 0, 4)\nperson vic: 80 kg\nattach basket - strap lashing - vic\n"
    text += f"litter basket: 15 kg, at (0, 0, 3), points {', '.join(CORNERS)}\n"
    for name, at in CORNERS.items():
        text += f"basket.{name}: at ({at[0]}, {at[1]}, {at[2] + 3})\n"
    for name in ("west", "east"):
        world.line(f"from-{name}", name, "master", rest=6.1, ea=EA)
        text += f"attach {name} - strap from-{name} - master\nfrom-{name}: length 6.1 m, {SOFT}\n"
    for k, (point, rest) in enumerate(zip(CORNERS, long, strict=True), 1):
        world.line(f"leg-{k}", "master", point, rest=rest, ea=EA)
        text += f"attach master - strap leg-{k} - basket.{point}\nleg-{k}: length {rest} m, {SOFT}\n"
    return statics_of(text, {"vic": along}), world


@pytest.mark.parametrize(
    ("long", "along"),
    [
        ((1.4, 1.4, 1.4, 1.4), 0.12),
        ((1.3, 1.3, 1.5, 1.5), -0.1),
        ((1.4, 1.35, 1.45, 1.4), 0.1),  # and rolled, on legs of four lengths
        ((1.1, 1.1, 1.9, 1.9), 0.0),  # head well up
    ],
)
def test_a_litter_on_four_legs_with_its_patient_off_the_middle(
    long: tuple[float, float, float, float], along: float
) -> None:
    statics, world = litter(long, along)
    found, other = statics.equilibrium(), world.at_rest()
    compare(found, other)
    head_up = math.degrees(math.asin((other.turn["basket"] @ (1.0, 0, 0))[2]))
    assert found.pose("basket").head_up == pytest.approx(head_up, abs=0.01)


@pytest.mark.parametrize("lost", ["leg-1", "leg-4", "from-west"])
def test_a_litter_that_loses_a_line_comes_to_the_same_rest(lost: str) -> None:
    statics, world = litter((1.4, 1.4, 1.45, 1.45), 0.1)
    compare(after(statics, [f"{lost} fails"]).equilibrium, world.at_rest([lost], world.at_rest()))


@pytest.mark.parametrize("seed", range(12))
def test_random_nets_and_what_follows_when_a_line_goes(seed: int) -> None:
    text, world = random_net(seed)
    statics = statics_of(text)
    found, other = statics.equilibrium(), world.at_rest()
    compare(found, other)
    lost = max((name for name in world.lines if name != "runs"), key=lambda name: other.tension[name])
    told = after(statics, [f"{lost} fails"], found)
    if not told.falls:
        compare(told.equilibrium, world.at_rest([lost], other))
