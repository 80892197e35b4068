"""Frames stand when the ground can carry what they bring: three-leg statics, guyed A-frames by moments, guys with and
without a lever arm, bands where balance alone doesn't part the legs. All [computed] here, apart from the code."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rigs import checked
from statics import statics_of

from analyser.forces.aftermath import after
from analyser.forces.faring import Faring, faring
from analyser.forces.frames import FrameForce, Stand, frame_forces
from analyser.forces.stiffness import GRAVITY
from analyser.forces.upright import footprint, shares

W = 100 * GRAVITY


def frame(text: str) -> FrameForce:
    statics = statics_of(text)
    return frame_forces(statics.rig, statics.equilibrium())[0]


def faring_of(text: str) -> Faring:
    statics = statics_of(text)
    return faring(statics, statics.equilibrium())


def three_legs(head: np.ndarray, feet: np.ndarray, load: np.ndarray) -> np.ndarray:
    """Pushes of three legs by Cramer's rule: each is a ratio of two triple products (textbook statics of three forces
    at a point)."""
    ways = [(head - foot) / np.linalg.norm(head - foot) for foot in feet]

    def triple(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
        return float(np.dot(a, np.cross(b, c)))

    whole = triple(*ways)
    return np.array([triple(*[-load if n == k else ways[n] for n in range(3)]) / whole for k in range(3)])


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.floats(0.6, 2.0), min_size=3, max_size=3),
    st.floats(1.5, 4.0),
    st.floats(-0.5, 0.5),
    st.floats(-0.5, 0.5),
    st.floats(-1.5, 1.5),
    st.floats(-1.5, 1.5),
)
def test_three_legs_by_triple_products(
    far: list[float], high: float, x: float, y: float, pull_x: float, pull_y: float
) -> None:
    """It stands exactly where no leg would have to pull, and that is where the load's line meets the ground inside."""
    feet = np.array([[f * math.cos(t), f * math.sin(t), 0.0] for f, t in zip(far, (0.0, 2.1, 4.2), strict=True)])
    head, load = np.array([x, y, high]), np.array([pull_x, pull_y, -2.0]) * 1000
    pushes = three_legs(head, feet, load)
    if np.abs(pushes).min() < 1e-6 * 2000:
        return  # on the edge of standing
    ways = np.array([(head - foot) / np.linalg.norm(head - foot) for foot in feet]).T
    told = shares(ways, load)
    stands = bool((pushes >= 0).all())
    assert (told.unbalanced < 1e-6 * 2000) is stands
    if stands:
        assert told.told == pytest.approx(pushes, rel=1e-6)
    where = footprint(tuple(head), {f"f{k}": tuple(foot) for k, foot in enumerate(feet)}, load)
    assert where.meets is not None and where.margin is not None
    spot = head - load * (high / load[2])
    assert where.meets == pytest.approx(spot, abs=1e-9)
    assert (where.margin > 0) is stands
    if stands:  # the least distance to a side, by areas
        away = []
        for a, b in ((0, 1), (1, 2), (2, 0)):
            side = feet[b] - feet[a]
            to = spot - feet[a]
            away.append(abs(float(side[0] * to[1] - side[1] * to[0])) / float(np.linalg.norm(side)))
        assert where.margin == pytest.approx(min(away), rel=1e-6)


def test_a_tripod_whose_haul_line_is_turned_to_a_wall_tips() -> None:
    """The line leaves the head 5 m to the side: two legs would have to pull. Told at rest, a danger, not met."""
    text = """
        footing a: at (1, 0, 0)
        footing b: at (-0.5, 0.8660254, 0)
        footing c: at (-0.5, -0.8660254, 0)
        anchor wall: at (5, 0, 0), strength 20 kN
        tripod head: feet a, b, c, at (0, 0, 2.4), strength 22 kN
        person vic: 80 kg, points waist, chest, at (0, 0, -3)
        attach head - pulley wheel
        attach wall - strap tail - vic.chest
        tail: length 7 m
        rope main: strength 30 kN
            tied to vic.waist with figure-eight
            through wheel
            tied to wall with round-turn
        require strength factor at least 1 on head
        require everyone held after any 1 failure
    """
    told = frame(text.split("        require")[0])
    w = 80 * GRAVITY
    far = math.hypot(5, 2.4)
    load = np.array([w * 5 / far, 0, -w - w * 2.4 / far])
    assert told.load == pytest.approx(load, rel=1e-3)
    feet = np.array([(1, 0, 0), (-0.5, 0.8660254, 0), (-0.5, -0.8660254, 0)])
    pushes = three_legs(np.array([0, 0, 2.4]), feet, load)
    assert (pushes < 0).sum() == 2
    assert told.stand is Stand.TIPS and told.footprint.over == ("a",)
    assert told.footprint.margin == pytest.approx(-(2.4 * load[0] / -load[2] - 1), rel=1e-3)
    result = checked(text)
    assert [one.met for one in result.requirements] == [False, False]
    assert "no balance: head tips: pulled with 1.33 kN" in result.requirements[0].because[0]
    assert any("head tips, and vic hangs on it" in why for why in result.requirements[1].because)
    (danger,) = [one for one in result.findings if one.rule == "frame-tips"]
    assert danger.severity == "danger" and danger.bodies == ("vic",)
    assert result.exit_status == 1


TURNED = """
    footing a: at (1, 0, 0)
    footing b: at (-0.5, 0.8660254, 0)
    footing c: at (-0.5, -0.8660254, 0)
    anchor wall: at (5, 0, 0)
    tripod head: feet a, b, c, at (0, 0, 2.4)
    load crate: 80 kg, points eye, at (0, 0, -3)
    attach head - pulley wheel
    rope main
        tied to crate.eye with figure-eight
        through wheel
        tied to wall with round-turn
"""


def test_the_same_line_turned_down_between_the_feet_stands() -> None:
    told = frame(TURNED.replace("wall: at (5, 0, 0)", "wall: at (0.3, 0, 0)"))
    assert told.stand is Stand.STANDS
    assert told.footprint.margin is not None and 0.2 < told.footprint.margin < 0.5


A_FRAME = """
    footing left: at (0, 1, 0)
    footing right: at (0, -1, 0)
    anchor back-stake: at (-4, 0, 0)
    {fore}
    a-frame head: feet left, right, guyed by back{guyed}, at ({x}, 0, 3)
    load pump: 100 kg, points eye
    attach head - sling low - pump.eye
    low: length 1 m
    rope back
        tied to back-stake with round-turn
        tied to head with clove-hitch
    {rope}
"""


def a_frame(x: float, fore: float | None = None) -> FrameForce:
    front = f"anchor fore-stake: at ({fore}, 0, 0)" if fore is not None else ""
    rope = (
        "rope front\n        tied to fore-stake with round-turn\n        tied to head with clove-hitch"
        if fore is not None
        else ""
    )
    guyed = ", guyed by front" if fore is not None else ""
    return frame(A_FRAME.format(x=x, fore=front, guyed=guyed, rope=rope))


@pytest.mark.parametrize("x", [0.2, 0.5, 1.0, 1.5])
def test_a_guyed_a_frame_by_moments_about_its_feet(x: float) -> None:
    """Moments about the line of the feet: weight times its arm = guy times the arm of the guy."""
    told = a_frame(x)
    arm = 4 * 3 / math.hypot(4 + x, 3)  # of the guy's line from the feet: twice the triangle's area over its base
    guy = W * x / arm
    assert told.stand is Stand.STANDS
    assert [*told.guys.values()] == pytest.approx([guy], rel=1e-6)
    # the two legs carry the rest alike; along the plumb line of the frame's plane
    down = W + guy * 3 / math.hypot(4 + x, 3)
    leg = math.sqrt(1 + x**2 + 9)
    assert [*told.legs.values()] == pytest.approx([down / 2 / (3 / leg)] * 2, rel=1e-6)


def test_leaning_back_a_back_guy_holds_nothing() -> None:
    assert a_frame(-0.3).stand is Stand.TIPS


def test_a_front_guy_without_a_lever_arm_holds_nothing() -> None:
    """Its line from the head passes through the line of the feet: whatever it pulls with, it turns nothing."""
    told = frame(A_FRAME.format(
        x=-0.5, fore="anchor fore-stake: at (0.5, 0, -3)", guyed=", guyed by front",
        rope="rope front\n        tied to fore-stake with round-turn\n        tied to head with clove-hitch",
    ))  # fmt: skip
    assert told.stand is Stand.TIPS
    assert a_frame(-0.5, fore=3.0).stand is Stand.STANDS


def test_two_guys_against_each_other_leave_a_band_without_an_upper_end() -> None:
    told = a_frame(0.5, fore=4.0)
    arm = 4 * 3 / math.hypot(4.5, 3)
    low, high = told.bands["back-clove-hitch"]
    assert low == pytest.approx(W * 0.5 / arm, rel=1e-6) and math.isinf(high)
    assert told.bands["front-clove-hitch"] == (pytest.approx(0, abs=1e-6), math.inf)
    assert told.shared


def test_a_quadpod_leaves_a_band_that_ends() -> None:
    """Four legs alike, the load in the middle: a diagonal pair may carry all of it, or none."""
    told = frame("""
        footing a: at (1, 1, 0)
        footing b: at (-1, 1, 0)
        footing c: at (-1, -1, 0)
        footing d: at (1, -1, 0)
        tripod head: feet a, b, c, d, at (0, 0, 3)
        load pump: 100 kg, points eye
        attach head - sling low - pump.eye
        low: length 1 m
    """)
    most = W / 2 / (3 / math.sqrt(11))
    for low, high in told.bands.values():
        assert (low, high) == (pytest.approx(0, abs=1e-6), pytest.approx(most, rel=1e-6))
    assert [*told.legs.values()] == pytest.approx([most / 2] * 4, rel=1e-6)


def test_a_gin_pole_with_one_guy_stands_by_exact_balance_only() -> None:
    """In its plane the guy and the pole carry the load; against a push across there is nothing. Told, and asked."""
    text = """
        footing foot: at (0, 0, 0)
        anchor stake: at (-2, 0, 0)
        gin-pole pole: feet foot, guyed by back, at (1, 0, 3)
        load pump: 60 kg, points eye
        attach pole - sling low - pump.eye
        low: length 1 m
        rope back
            tied to stake with round-turn
            tied to pole with clove-hitch
    """
    told = frame(text)
    assert told.stand is Stand.ON_EDGE
    text = text.rstrip() + "\n"
    (ask,) = faring_of(text).asks
    assert "nothing holds it against a push across" in ask.wanted.why
    sides = text.replace("guyed by back", "guyed by back, guyed by left, guyed by right")
    for name, y in (("left", 2), ("right", -2)):
        sides += f"        anchor {name}-stake: at (0, {y}, 0)\n        rope {name}\n            tied to {name}-stake "
        sides += "with round-turn\n            tied to pole with clove-hitch\n"
    assert frame(sides).stand is Stand.STANDS
    assert not faring_of(sides).asks and not faring_of(sides).tipping


def test_a_foot_without_a_place_is_asked_for() -> None:
    text = TURNED.replace("footing c: at (-0.5, -0.8660254, 0)", "footing c")
    told = frame(text)
    assert told.stand is Stand.UNTOLD and [one.line for one in told.wanted] == ["c: at (x, y, z)"]
    assert [ask.wanted.line for ask in faring_of(text).asks] == ["c: at (x, y, z)"]


def test_a_frame_that_tips_after_a_failure_takes_who_hangs_on_it() -> None:
    """A line back to the anchor holds against the haul line's pull; gone, the head goes over the front foot."""
    text = """
        footing a: at (1, 0, 0)
        footing b: at (-0.5, 0.8660254, 0)
        footing c: at (-0.5, -0.8660254, 0)
        anchor wall: at (5, 0, 0)
        anchor rear: at (-5, 0, 0)
        tripod head: feet a, b, c, guyed by tie, at (0, 0, 2.4)
        person vic: 80 kg, at (0, 0, -3)
        attach head - pulley wheel
        rope tie
            tied to rear with round-turn
            tied to head with clove-hitch
        rope main
            tied to vic with figure-eight
            through wheel
            tied to wall with round-turn
    """
    statics = statics_of(text)
    now = statics.equilibrium()
    assert not faring(statics, now).tipping
    guy = frame_forces(statics.rig, now)[0].bands["tie-clove-hitch"]
    assert guy[0] > 100  # it takes some pull to keep the load's line between the feet
    # a guy counts as needed: with it gone the frame isn't ground any more, and vic hangs from the wall alone
    then = after(statics, ["rear fails"], now)
    assert not faring(statics, then.equilibrium, then.failures).frames


def test_pickets_laced_together_have_no_legs_to_judge() -> None:
    statics = statics_of("""
        anchor picket-1: at (0, 0, 0)
        anchor picket-2: at (0.5, 0, 0)
        holdfast pickets: needs picket-1, picket-2, at (0, 0, 0.2)
        load crate: 50 kg, points eye
        attach pickets - strap s - crate.eye
        s: length 2 m
    """)
    assert frame_forces(statics.rig, statics.equilibrium()) == ()
