"""Frames: legs push, guys pull, and a load outside the feet topples."""

from __future__ import annotations

import math

import pytest
from statics import statics_of

from analyser.forces.frames import FrameForce, frame_forces
from analyser.forces.stiffness import GRAVITY

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
