"""How litters lie after a leg has gone, written anew apart from the code: closed formulas, and scipy's own minimisers
on an energy that is written down here."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray
from rigs import rig_of
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize
from scipy.spatial.transform import Rotation
from statics import statics_of

import analyser
from analyser.forces import Case
from analyser.forces.aftermath import after
from analyser.forces.attitudes import OVER, steadiness
from analyser.forces.faring import faring
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Effects

Array = NDArray[np.float64]

# -- litters

CORNERS = {"head-left": (1, 0.25), "head-right": (1, -0.25), "foot-left": (-1, 0.25), "foot-right": (-1, -0.25)}


def litter(legs: dict[str, float], centre: tuple[float, float, float], percent: float = 1.0) -> str:
    """A litter of 95 kg, its centre of mass at `centre` from the middle of its rail, on legs from a fixed ring."""
    x, y, z = centre
    text = (
        f"anchor bolt: at (0, 0, 10)\nlitter basket: 95 kg, at ({x!r}, {y!r}, {7 + z!r}), points {', '.join(CORNERS)}\n"
    )
    for point, (a, b) in CORNERS.items():
        text += f"basket.{point}: at ({a}, {b}, 7)\n"
    for point, long in legs.items():
        text += f"attach bolt - strap leg-{point} - basket.{point}\n"
        text += f"leg-{point}: length {long!r} m, stretch {percent!r} % at 150 kg\n"
    return text


def down_from(
    legs: dict[str, float], centre: tuple[float, float, float], start: Array, percent: float = 1.0
) -> tuple[float, Array]:
    """Where the same litter comes to rest if it gives way as slowly as one likes: the steepest way down from a start
    (scipy's integrator for stiff equations), then the least energy near there. Joules, and its rotation."""
    ea = 150 * GRAVITY / (percent / 100)
    arms = {point: np.array([a - centre[0], b - centre[1], -centre[2]]) for point, (a, b) in CORNERS.items()}
    base = Rotation.from_rotvec(start[3:])

    def energy_and_slope(q: Array) -> tuple[float, Array]:
        turned = Rotation.from_rotvec(q[3:]) * base
        total, slope = 95 * GRAVITY * q[2], np.zeros(6)
        slope[2] = 95 * GRAVITY
        angle = float(np.linalg.norm(q[3:]))
        cross = np.array([[0, -q[5], q[4]], [q[5], 0, -q[3]], [-q[4], q[3], 0]])
        a = (1 - math.cos(angle)) / angle**2 if angle > 1e-6 else 0.5
        b = (angle - math.sin(angle)) / angle**3 if angle > 1e-6 else 1 / 6
        left = np.eye(3) + a * cross + b * cross @ cross  # of a rotation vector's change to the turn in space
        for point, long in legs.items():
            arm = turned.apply(arms[point])
            apart = q[:3] + arm - (0, 0, 10)
            far = float(np.linalg.norm(apart))
            pull = ea / long * max(far - long, 0.0)
            total += 0.5 * pull * max(far - long, 0.0)
            slope[:3] += pull * apart / far
            slope[3:] += left.T @ np.cross(arm, pull * apart / far)
        return float(total), slope

    begin = np.concatenate([start[:3], np.zeros(3)])
    flow = solve_ivp(lambda _, q: -energy_and_slope(q)[1], (0, 0.3), begin, method="BDF", rtol=1e-4, atol=1e-7)
    found = minimize(energy_and_slope, flow.y[:, -1], jac=True, method="BFGS", options={"gtol": 1e-6})
    return float(found.fun), (Rotation.from_rotvec(found.x[3:]) * base).as_matrix()


@pytest.mark.parametrize("wish", [5, 10, 20, 35, 50, 65, 80, 90])
def test_litters_from_5_to_90_degrees(wish: float) -> None:
    """Foot legs as long as the hanging triangle asks for that angle, out of the plane by Pythagoras; at 90 slack."""
    side, half = math.sqrt(1.4**2 - 0.25**2), math.radians(wish)
    # the ring lies plumb over the middle; head and foot a metre up and down the slope
    high = math.cos(half)
    reach = brentq(lambda h: math.hypot(math.cos(half), h - math.sin(half)) - side, math.sin(half), 3)
    foot = math.hypot(high, reach + math.sin(half))
    legs = dict.fromkeys(("head-left", "head-right"), 1.4) | dict.fromkeys(
        ("foot-left", "foot-right"), math.hypot(foot, 0.25) + (0.2 if wish == 90 else 0.0)
    )
    stiff = statics_of(litter(legs, (0, 0, 0), 0.02)).equilibrium().pose("basket")
    assert stiff.head_up == pytest.approx(wish, abs=0.1)
    pose = statics_of(litter(legs, (0, 0, 0))).equilibrium().pose("basket")  # legs that stretch by some millimetres
    _, turn = down_from(legs, (0, 0, 0), np.array([0, 0, 9 - math.sin(half), 0, -half, 0]))
    assert pose.head_up == pytest.approx(math.degrees(math.asin(min(1.0, turn[2, 0]))), abs=0.02)


LEGS = {
    "level": dict.fromkeys(CORNERS, 1.4),
    "head up": {"head-left": 1.3, "head-right": 1.3, "foot-left": 1.5, "foot-right": 1.5},
    "askew": {"head-left": 1.35, "head-right": 1.4, "foot-left": 1.5, "foot-right": 1.45},
}
NUDGES = [(0, 0, 0, 1, 0, 0), (0, 0, 0, -1, 0, 0), (0, 0, 0, 0, 1, 0)]
CENTRES = [(0.0, 0.0, -0.15), (0.1, 0.02, -0.1), (0.05, 0.0, 0.15), (-0.1, 0.03, 0.25)]


LOST = [
    (name, centre, ("head-left", "foot-right")[(k + k // 4) % 2])
    for k, (name, centre) in enumerate(product(LEGS, CENTRES))
    if k % 5 < 2
]
"""Every way of legs with some centres, a head's and a foot's leg lost in turn."""


@pytest.mark.parametrize(("name", "centre", "lost"), LOST)
def test_the_attitude_after_a_leg_has_gone_is_the_one_it_falls_to(
    name: str, centre: tuple[float, float, float], lost: str
) -> None:
    """From the attitude before, down the steepest way. Where another rest has less energy still, it isn't on that
    way; where a nudge decides, ours is one of those that it may come to."""
    legs = LEGS[name]
    statics = statics_of(litter(legs, centre))
    now = statics.equilibrium()
    then = after(statics, [f"leg-{lost} fails"], now)
    (body,) = faring(statics, then.equilibrium, then.failures).bodies
    pose = then.equilibrium.pose("basket")
    left = {point: long for point, long in legs.items() if point != lost}
    before = np.concatenate([now.pose("basket").centre, Rotation.from_matrix(now.pose("basket").turn).as_rotvec()])
    ends = [down_from(left, centre, before + 1e-3 * np.array(n)) for n in NUDGES]
    here = down_from(left, centre, np.concatenate([pose.centre, Rotation.from_matrix(pose.turn).as_rotvec()]))
    assert here[1][2, 2] == pytest.approx(pose.turn[2][2], abs=2e-3)  # ours is a rest
    assert any(here[0] == pytest.approx(energy, abs=0.05) for energy, _ in ends)
    turned = {math.degrees(math.acos(min(1.0, max(-1.0, turn[2, 2])))) > OVER for _, turn in ends}
    assert body.over in turned


def test_a_centre_of_mass_15_cm_over_the_rail_turns_over_when_a_leg_goes() -> None:
    """Hung by a diagonal, the centre of mass above it: it can only come to rest under it, upside down [statics of a
    body hung by two points]."""
    statics = statics_of(litter(dict.fromkeys(CORNERS, 1.4), (0, 0, 0.15)))
    now = statics.equilibrium()
    assert not faring(statics, now).bodies[0].over
    for point in CORNERS:
        then = after(statics, [f"leg-{point} fails"], now)
        (body,) = faring(statics, then.equilibrium, then.failures).bodies
        assert body.over and body.level() is False
        assert abs(body.lies.roll or 0) > 150  # type: ignore[union-attr]


def test_in_the_plane_of_the_rail_it_is_free_to_turn() -> None:
    """The centre of mass on the diagonal that carries: no attitude has less energy than another. Told, and asked."""
    statics = statics_of(litter(dict.fromkeys(CORNERS, 1.4), (0, 0, 0)))
    now = statics.equilibrium()
    then = after(statics, ["leg-head-left fails"], now)
    told = faring(statics, then.equilibrium, then.failures)
    (body,) = told.bodies
    assert body.free is not None and body.may_turn_over and body.level() is None
    assert body.steady == pytest.approx(0, abs=1e-6)
    assert not [ask for ask in told.asks if ask.about == "attitude"]  # every place is given
    bare = statics_of(litter(dict.fromkeys(CORNERS, 1.4), (0, 0, 0)).replace("95 kg, at (0, 0, 7)", "95 kg"))
    without = after(bare, ["leg-head-left fails"], bare.equilibrium())
    asks = faring(bare, without.equilibrium, without.failures).asks
    assert [ask.wanted.line for ask in asks if ask.about == "attitude"] == ["basket: at (x, y, z)"]


def test_of_what_is_free_to_turn_with_every_place_given_no_place_is_asked_for() -> None:
    text = litter(dict.fromkeys(CORNERS, 1.4), (0, 0, 0)) + "require no one turns over after any 1 failure\n"
    (one,) = analyser.check(rig_of(text)).requirements
    assert one.met is None
    assert "at (x, y, z)" not in " ".join(one.because)
    assert "every place of it is given: points further above its middle settle it" in one.because[0]


@pytest.mark.parametrize("low", [0.05, 0.1, 0.3])
def test_how_much_higher_the_centre_could_lie_is_how_far_it_hangs_under_the_diagonal(low: float) -> None:
    """Hung by two points, a centre of mass `low` under their line is a pendulum: the curvature of its energy about
    that line is W times `low` [computed]."""
    legs = dict.fromkeys(CORNERS, 1.4)
    statics = statics_of(litter(legs, (0, 0, -low)))
    now = statics.equilibrium()
    gone = Effects(gone=frozenset({"leg-head-left", "leg-foot-right"}))
    found = statics.equilibrium(Case(gone), now)
    (steady,) = steadiness(found.solved.assembly.network, found.solved.state, found.load)
    # the ring is fixed, and the line of the two corners as well: the body swings about it
    assert steady == pytest.approx(low, rel=0.02)
