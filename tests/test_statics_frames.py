"""Frames: legs push, guys pull, and a load outside the feet topples."""

from __future__ import annotations

import math
from textwrap import dedent

import numpy as np
import pytest
from statics import statics_of

from analyser.forces.aftermath import after
from analyser.forces.carried import part_forces
from analyser.forces.frames import FrameForce, frame_forces, on_the_ground
from analyser.forces.stiffness import GRAVITY
from analyser.forces.strength import factors

W = 100 * GRAVITY


def frame(text: str) -> FrameForce:
    statics = statics_of(text)
    return frame_forces(statics.rig, statics.equilibrium())[0]


TRIPOD = """
    footing a: at (1, 0, 0)
    footing b: at (-0.5, 0.8660254, 0)
    footing c: at (-0.5, -0.8660254, 0)
    tripod head: feet a, b, c, at (0, 0, 2.4)
"""


def test_three_equal_legs_share_a_plumb_load() -> None:
    # balance along the plumb line: each leg takes W / (3 cos a), a its angle from the plumb line [computed]
    told = frame(
        TRIPOD
        + """
    load pump: 100 kg, points eye
    attach head - sling low - pump.eye
    low: length 1 m
    """
    )
    expected = W / 3 / (2.4 / math.hypot(1, 2.4))
    assert [*told.legs.values()] == pytest.approx([expected] * 3, rel=1e-6)
    assert told.stands and not told.shared and told.unbalanced < 1e-6 * W


def test_a_pull_that_points_outside_the_feet_topples() -> None:
    text = (
        TRIPOD
        + """
    anchor wall: at (-{out}, 0, {high})
    load pump: 100 kg, points eye, at (0, 0, 0.5)
    rope haul
        tied to pump.eye with bowline
        through pulley wheel - head
        tied to wall with bowline
    """
    )
    steep = frame(text.format(out=0.9, high=0))
    assert steep.stands
    flat = frame(text.format(out=12, high=2.4))
    assert not flat.stands and flat.unbalanced > 0.3 * W


def test_a_gin_pole_and_its_back_guy_are_a_triangle_of_forces() -> None:
    # pole leaning 30 degrees over, guy at 45 behind: by the sines of the angles between them [computed]
    lean, back = math.radians(30), math.radians(45)
    x, z = 3 * math.sin(lean), 3 * math.cos(lean)
    told = frame(f"""
    footing foot: at (0, 0, 0)
    anchor stake: at ({x - z / math.tan(back):.9f}, 0, 0)
    gin-pole pole: feet foot, guyed by back, at ({x:.9f}, 0, {z:.9f})
    load pump: 100 kg, points eye
    attach pole - sling low - pump.eye
    low: length 1 m
    rope back
        tied to stake with round-turn
        tied to pole with clove-hitch
    """)
    between = math.pi / 2 - back - lean  # of pole and guy
    guy = W * math.sin(lean) / math.sin(between)
    pole = W * math.sin(math.pi / 2 - back) / math.sin(between)
    assert [*told.guys.values()] == pytest.approx([guy], rel=1e-6)
    assert [*told.legs.values()] == pytest.approx([pole], rel=1e-6)
    assert told.stands


GIN_POLE = """
    footing foot: at (0, 0, 0)
    anchor stake: at (-1.098076211, 0, 0), strength 4 kN
    gin-pole pole: feet foot, guyed by back, at (1.5, 0, 2.598076211)
    load pump: 100 kg, points eye
    attach pole - sling low - pump.eye
    low: length 1 m
    rope back: strength 20 kN
        tied to {} with round-turn as far
        tied to pole with clove-hitch as near
"""


@pytest.mark.parametrize(
    ("held", "between"),
    [
        ("stake", ["stake"]),
        ("carabiner crab - stake", ["crab", "stake"]),
        ("sling tail", ["tail", "stake"]),
    ],
)
def test_guys_and_feet_are_told_with_what_they_carry(held: str, between: list[str]) -> None:
    """The pole leans 30 degrees, its guy 45 behind: the triangle of forces of the test above."""
    more = "attach tail - stake\ntail: length 0.4 m\n" if "tail" in held else ""
    statics = statics_of(dedent(GIN_POLE.format(held)) + more)
    found = statics.equilibrium()
    carried = {one.name: one.force for one in part_forces(statics.rig, found)}
    guy = W * math.sin(math.radians(30)) / math.sin(math.radians(15))
    pole = W * math.sin(math.radians(45)) / math.sin(math.radians(15))
    for name in ("near", "far", *between):
        assert carried[name] == pytest.approx(guy, rel=1e-6), name
    assert carried["foot"] == pytest.approx(pole, rel=1e-6)
    told = factors(statics.rig, found)
    rows = {row.name: row.factor for row in told.rows}
    assert rows["stake"] == pytest.approx(4000 / guy)
    assert rows["back[far..near]"] < 20_000 / guy  # its knots take some
    assert {"foot", "pole", *between} - {"stake"} <= {*told.without}
    # the ground carries the weight: what the guy pulls up, the foot pushes down more
    on = on_the_ground(statics.rig, found)
    assert np.sum([*on.values()], axis=0) == pytest.approx((0, 0, -W), abs=1e-6 * W)


def test_a_frame_whose_guy_has_lost_its_stake_stands_no_more() -> None:
    statics = statics_of(GIN_POLE.format("stake"))
    for lost in ("stake fails", "far slips", "near slips", "back[far..near] is cut"):
        assert "pump" in after(statics, [lost]).falls, lost


def test_a_rope_run_through_an_anchor_itself_pulls_on_it() -> None:
    statics = statics_of("""
        anchor eye: at (0, 0, 9), strength 10 kN
        person sam: 100 kg, points waist, chest, at (0, 0, 1)
        rope red
            tied to sam.waist with figure-eight
            through eye
            gripped by friction-hitch hitch - sam.chest
    """)
    found = statics.equilibrium()
    carried = {one.name: one.force for one in part_forces(statics.rig, found)}
    assert carried["eye"] == pytest.approx(W)
    assert [row.name for row in factors(statics.rig, found).rows] == ["eye"]
