"""From one moment to the next: pairs of explicit formulas, each start with a step and a clock of its own.

Point masses: the Runge-Kutta-Nyström pair 4(3) of J. R. Dormand, M. E. A. El-Mikkawy and P. J. Prince, IMA
Journal of Numerical Analysis 7 (1987), 235-250 (from memory; the tests check its order). Rigid bodies, whose
turning depends on their speed: the Runge-Kutta pair 5(4) of J. R. Dormand and P. J. Prince, Journal of
Computational and Applied Mathematics 6 (1980), 19-26 (from memory; likewise).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyser.forces.masses import Flags, Held, Masses, carried, forces, of, stored
from analyser.forces.network import Array, Ints
from analyser.forces.stiffness import GRAVITY
from analyser.forces.turning import crossed, matrices, spun
from analyser.forces.weightless import Weightless, gone_along, settled

FINE = 2e-5
"""Metres by which one step may be wrong at most: all of them together by some 1e-4."""
FINE_PULL = 2e-4
"""Share of weight and tension by which a line's tension may be wrong in one step: in all by some 0.1 %."""

NYSTROM_AT = (0.0, 1 / 4, 7 / 10, 1.0)
NYSTROM = ((), (1 / 32,), (7 / 1000, 119 / 500), (1 / 14, 8 / 27, 25 / 189))
NYSTROM_SPEED = (1 / 14, 32 / 81, 250 / 567, 5 / 54)
NYSTROM_LOW = (-7 / 150, 67 / 150, 3 / 20, -1 / 20)
NYSTROM_LOW_SPEED = (13 / 21, -20 / 27, 275 / 189, -1 / 3)

PRINCE = (
    (),
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
    (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
)
PRINCE_LOW = (5179 / 57600, 0.0, 7571 / 16695, 393 / 640, -92097 / 339200, 187 / 2100, 1 / 40)


def _through(at: tuple[float, ...]) -> list[tuple[float, ...]]:
    """For each stage but the first, how the stages before it (three at most) tell where it will be: the
    polynomial through them, continued."""
    found = []
    for k in range(1, len(at)):
        points = at[max(0, k - 3) : k]
        row = [0.0] * k
        for i, a in enumerate(points):
            share = 1.0
            for j, b in enumerate(points):
                if i != j:
                    share *= (at[k] - b) / (a - b)
            row[k - len(points) + i] = share
        found.append(tuple(row))
    return found


NYSTROM_GUESS = _through(NYSTROM_AT)
PRINCE_GUESS = [*_through((0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0)), (0.0, 0.0, 0.0, 0.0, 0.0, 1.0)]


def _guessed(lights: list[Array], row: tuple[float, ...]) -> Array | None:
    if not lights[0].shape[1] or len(lights) == 1:
        return None
    return sum((share * light for share, light in zip(row[1:], lights[1:], strict=True) if share), row[0] * lights[0])


@dataclass(slots=True)
class Moment:
    """Some starts, each at its own time. Bodies: where their centres of mass are and how fast they go, how they
    are turned (quaternions), and their turning (angular momentum, in space). `seen`, `pushes` and `moments` are
    worked out there: newtons on every point with mass and on every body, and about its centre."""

    time: Array
    points: Array
    speeds: Array
    centres: Array
    going: Array
    turns: Array
    spin: Array
    held: Held
    seen: Weightless
    pushes: Array
    on_bodies: Array
    twists: Array

    def of(self, which: Ints | Flags) -> Moment:
        seen = self.seen
        part = of(seen.lines, which)
        return Moment(
            self.time[which],
            self.points[which],
            self.speeds[which],
            self.centres[which],
            self.going[which],
            self.turns[which],
            self.spin[which],
            self.held.of(which),
            Weightless(seen.at[which], seen.light[which], seen.passed[which], part, seen.left[which]),
            self.pushes[which],
            self.on_bodies[which],
            self.twists[which],
        )

    @property
    def tension(self) -> Array:
        return self.seen.lines.tension


def looked_at(
    masses: Masses,
    points: Array,
    centres: Array,
    turns: Array,
    held: Held,
    light: Array,
    passed: Array,
    guess: Array | None = None,
) -> tuple[Weightless, Array, Array, Array]:
    """What is pulled by what, where everything is."""
    if masses.bodies:
        on_bodies, arms = carried(masses, centres, matrices(turns))
    else:
        on_bodies = np.zeros((len(points), 0, 3))
    seen = settled(masses, points, on_bodies, held, light, passed, guess)
    total = forces(masses, seen.lines)
    pushes = total[:, : masses.points]
    if not masses.bodies:
        nothing = np.zeros((len(points), 0, 3))
        return seen, pushes, nothing, nothing
    mine = total[:, masses.points + masses.light :]
    wholes = np.zeros((len(points), masses.bodies, 3))
    wholes[:, :, 2] = -GRAVITY * masses.body_mass
    twists = np.zeros_like(wholes)
    moments = crossed(arms, mine)
    for c, body in enumerate(masses.carrier):
        wholes[:, body] += mine[:, c]
        twists[:, body] += moments[:, c]
    return seen, pushes, wholes, twists


def begun(
    masses: Masses,
    time: Array,
    points: Array,
    speeds: Array,
    centres: Array,
    going: Array,
    turns: Array,
    spin: Array,
    held: Held,
) -> Moment:
    """A moment to begin from."""
    seen, pushes, wholes, twists = looked_at(masses, points, centres, turns, held, held.light, held.passed)
    return Moment(time, points, speeds, centres, going, turns, spin, held, seen, pushes, wholes, twists)


def step(masses: Masses, now: Moment, by: Array) -> tuple[Moment, Array]:
    """Each start moved on by its own time, and how wrong that is (1: as wrong as it may be)."""
    return _prince(masses, now, by) if masses.bodies else _nystrom(masses, now, by)


def order(masses: Masses) -> float:
    """The order of the local error that `step` tells."""
    return 5.0 if masses.bodies else 4.0


def _nystrom(masses: Masses, now: Moment, by: Array) -> tuple[Moment, Array]:
    h = by[:, None, None]
    weight = masses.mass[:, None]
    slopes = [now.pushes / weight]
    light, passed = now.seen.light, now.seen.passed
    points = now.points
    seen, pushes = now.seen, now.pushes
    lights = [light]
    for at, row, guess in zip(NYSTROM_AT[1:], NYSTROM[1:], NYSTROM_GUESS, strict=True):
        turn = slopes[0] * row[0]
        for a, k in zip(row[1:], slopes[1:], strict=True):
            turn = turn + a * k
        points = now.points + (at * h) * now.speeds + h * h * turn
        guessed = _guessed(lights, guess)
        seen, pushes, _, _ = looked_at(masses, points, now.centres, now.turns, now.held, light, passed, guessed)
        light, passed = seen.light, seen.passed
        lights.append(light)
        slopes.append(pushes / weight)
    quicker = sum((b * k for b, k in zip(NYSTROM_SPEED[1:], slopes[1:], strict=True)), NYSTROM_SPEED[0] * slopes[0])
    speeds = now.speeds + h * quicker
    off = [a - b for a, b in zip((*NYSTROM[3], 0.0), NYSTROM_LOW, strict=True)]
    off_speed = [a - b for a, b in zip(NYSTROM_SPEED, NYSTROM_LOW_SPEED, strict=True)]
    wrong = h * h * sum((b * k for b, k in zip(off[1:], slopes[1:], strict=True)), off[0] * slopes[0])
    wrong_speed = h * h * sum((b * k for b, k in zip(off_speed[1:], slopes[1:], strict=True)), off_speed[0] * slopes[0])
    after = Moment(
        now.time + by, points, speeds, now.centres, now.going, now.turns, now.spin, now.held,
        seen, pushes, now.on_bodies, now.twists,
    )  # fmt: skip
    far = np.maximum(np.sqrt((wrong**2).sum(axis=2)), np.sqrt((wrong_speed**2).sum(axis=2))).max(axis=1, initial=0.0)
    return after, np.maximum(far / FINE, _wrong_pull(masses, after, points - wrong, after.centres, after.turns))


def _prince(masses: Masses, now: Moment, by: Array) -> tuple[Moment, Array]:
    h = by[:, None]
    begin = _packed(masses, now)
    slopes = [_slope(masses, now.speeds, now.going, now.turns, now.spin, now.pushes, now.on_bodies, now.twists)]
    light, passed = now.seen.light, now.seen.passed
    y = begin
    looked = (now.seen, now.pushes, now.on_bodies, now.twists)
    lights = [light]
    for row, guess in zip(PRINCE[1:], PRINCE_GUESS, strict=True):
        turn = sum((a * k for a, k in zip(row[1:], slopes[1:], strict=True) if a), row[0] * slopes[0])
        y = begin + h * turn
        points, centres, turns, speeds, going, spin = _unpacked(masses, y)
        size = np.sqrt((turns**2).sum(axis=2, keepdims=True))
        looked = looked_at(masses, points, centres, turns / size, now.held, light, passed, _guessed(lights, guess))
        light, passed = looked[0].light, looked[0].passed
        lights.append(light)
        slopes.append(_slope(masses, speeds, going, turns, spin, *looked[1:]))
    off = [a - b for a, b in zip((*PRINCE[6], 0.0), PRINCE_LOW, strict=True)]
    wrong = h * sum((b * k for b, k in zip(off[1:], slopes[1:], strict=True) if b), off[0] * slopes[0])
    points, centres, turns, speeds, going, spin = _unpacked(masses, y)
    turns = turns / np.sqrt((turns**2).sum(axis=2, keepdims=True))
    seen, pushes, wholes, twists = looked
    after = Moment(now.time + by, points, speeds, centres, going, turns, spin, now.held, seen, pushes, wholes, twists)
    e_points, e_centres, e_turns, e_speeds, e_going, e_spin = _unpacked(masses, wrong)
    reach = np.ones(masses.bodies)
    np.maximum.at(reach, masses.carrier, np.sqrt((masses.arms**2).sum(axis=1)))
    slow = by[:, None]
    far = np.concatenate(
        [
            np.sqrt((e_points**2).sum(axis=2)),
            np.sqrt((e_centres**2).sum(axis=2)),
            2 * np.sqrt((e_turns**2).sum(axis=2)) * reach,
            slow * np.sqrt((e_speeds**2).sum(axis=2)),
            slow * np.sqrt((e_going**2).sum(axis=2)),
            slow * np.sqrt((np.einsum("kij,bkj->bki", masses.inverse, e_spin) ** 2).sum(axis=2)) * reach,
        ],
        axis=1,
    ).max(axis=1, initial=0.0)
    lower = turns - e_turns
    lower = lower / np.sqrt((lower**2).sum(axis=2, keepdims=True))
    return after, np.maximum(far / FINE, _wrong_pull(masses, after, points - e_points, centres - e_centres, lower))


def _packed(masses: Masses, now: Moment) -> Array:
    count = len(now.time)
    parts = (now.points, now.centres, now.turns, now.speeds, now.going, now.spin)
    return np.concatenate([part.reshape(count, -1) for part in parts], axis=1)


def _unpacked(masses: Masses, y: Array) -> tuple[Array, Array, Array, Array, Array, Array]:
    """Points, centres, turns, and how fast they change: speeds, going, spin."""
    h, k = masses.points, masses.bodies
    sizes = np.cumsum([3 * h, 3 * k, 4 * k, 3 * h, 3 * k])
    a, b, c, d, e, f = np.split(y, sizes, axis=1)
    count = len(y)
    return (
        a.reshape(count, h, 3),
        b.reshape(count, k, 3),
        c.reshape(count, k, 4),
        d.reshape(count, h, 3),
        e.reshape(count, k, 3),
        f.reshape(count, k, 3),
    )


def spinning(masses: Masses, turns: Array, spin: Array) -> Array:
    """Radians a second about each axis in space, from angular momentum."""
    turn = matrices(turns)
    found: Array = np.einsum("bkij,kjl,bkml,bkm->bki", turn, masses.inverse, turn, spin, optimize=False)
    return found


def _slope(
    masses: Masses,
    speeds: Array,
    going: Array,
    turns: Array,
    spin: Array,
    pushes: Array,
    wholes: Array,
    twists: Array,
) -> Array:
    size = np.sqrt((turns**2).sum(axis=2, keepdims=True))
    unit = turns / size
    turn = matrices(unit)
    inner = (np.swapaxes(turn, 2, 3) @ spin[..., None])[..., 0]
    rate = (turn @ (masses.inverse @ inner[..., None]))[..., 0]
    count = len(speeds)
    parts = (
        speeds,
        going,
        spun(turns, rate),
        pushes / masses.mass[:, None],
        wholes / masses.body_mass[:, None],
        twists,
    )
    return np.concatenate([part.reshape(count, -1) for part in parts], axis=1)


def _wrong_pull(masses: Masses, after: Moment, points: Array, centres: Array, turns: Array) -> Array:
    """By how much the lines' tensions differ where the less exact formula comes to, over what they may."""
    if masses.bodies:
        on_bodies, _ = carried(masses, centres, matrices(turns))
    else:
        on_bodies = np.zeros((len(points), 0, 3))
    other = settled(masses, points, on_bodies, after.held, after.seen.light, after.seen.passed)
    allowed = FINE_PULL * (masses.load + after.tension)
    wrong: Array = (np.abs(other.lines.tension - after.tension) / allowed).max(axis=1, initial=0.0)
    return wrong


def kept(masses: Masses, after: Moment) -> tuple[Moment, Array]:
    """The step counts: rope that passed or slipped stays so. With it the joules that were lost in each start."""
    held = after.held
    lines = after.seen.lines
    lost = np.zeros(len(after.time))
    slipped, farthest = held.slipped, held.farthest
    compliance = masses.compliance
    if masses.slipping:
        compliance = compliance + held.slipped / masses.slip_ea
        still = np.isfinite(masses.slips)
        force = np.where(still, masses.slips, 0.0)
        more = np.maximum(lines.stretch - force * compliance, 0.0) / (1 + force / masses.slip_ea)
        more = np.where(still, more, 0.0)
        slipped = slipped + more
        lost = lost + (force * (1 + 0.5 * force / masses.slip_ea) * more).sum(axis=1)
        lines.stretch -= more
    if masses.losing:
        farthest = np.maximum(farthest, lines.stretch)
        worth = 0.5 * masses.loss / compliance
        lost = lost + (worth * (farthest**2 - held.farthest**2)).sum(axis=1)
        farthest = np.where(lines.stretch < 0, 0.0, farthest)  # loose, it recovers
    after.held = Held(after.seen.light, after.seen.passed, slipped, farthest, held.longer)
    if masses.giving:
        again = begun(
            masses, after.time, after.points, after.speeds, after.centres, after.going, after.turns, after.spin,
            after.held,
        )  # fmt: skip
        return again, lost
    return after, lost


A_MOMENT = 1e-6
"""Seconds over which it is looked at how lines change."""


def rates(masses: Masses, now: Moment) -> Array:
    """How fast each line gets longer (metres a second), with the points without mass as they follow."""
    at = now.seen.at
    speeds = np.zeros_like(at)
    speeds[:, : masses.points] = now.speeds
    if masses.bodies:
        rate = spinning(masses, now.turns, now.spin)[:, masses.carrier]
        arms = np.einsum("bcij,cj->bci", matrices(now.turns)[:, masses.carrier], masses.arms)
        speeds[:, masses.points + masses.light : masses.moving] = now.going[:, masses.carrier] + crossed(rate, arms)
    passing = np.zeros((len(at), masses.grips))
    if masses.light or masses.grips:
        light, passing = gone_along(masses, at, speeds * A_MOMENT, now.held, now.seen.passed)
        speeds[:, masses.points : masses.points + masses.light] = light / A_MOMENT
        passing = passing / A_MOMENT
    apart = speeds[:, masses.end] - speeds[:, masses.start]
    lines = now.seen.lines
    along = np.einsum("bsi,bsi->bs", lines.apart, apart) / lines.lengths
    found: Array = np.add.reduceat(along, masses.first, axis=1) - passing @ masses.passing.T
    return found


def energy(masses: Masses, now: Moment) -> tuple[Array, Array]:
    """Joules of what moves, and all of them (that is: with height, and with what the lines hold)."""
    moving = 0.5 * (masses.mass * (now.speeds**2).sum(axis=2)).sum(axis=1)
    height = now.points[:, :, 2] @ masses.weights[: masses.points]
    height = height + now.seen.light[:, :, 2] @ masses.weights[masses.points :]
    if masses.bodies:
        moving = moving + 0.5 * (masses.body_mass * (now.going**2).sum(axis=2)).sum(axis=1)
        rate = spinning(masses, now.turns, now.spin)
        moving = moving + 0.5 * (rate * now.spin).sum(axis=(1, 2))
        height = height + GRAVITY * (now.centres[:, :, 2] @ masses.body_mass)
    return moving, moving + height + stored(masses, now.seen.lines, now.held).sum(axis=1)
