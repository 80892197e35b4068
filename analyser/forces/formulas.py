"""Pairs of explicit formulas that lead from one moment to the next, compiled; each start has a step of its own.

Point masses: the Runge-Kutta-Nyström pair 4(3) of J. R. Dormand, M. E. A. El-Mikkawy and P. J. Prince, IMA
Journal of Numerical Analysis 7 (1987), 235-250 (from memory; the tests check its order). Rigid bodies, whose
turning depends on their speed: the Runge-Kutta pair 5(4) of J. R. Dormand and P. J. Prince, Journal of
Computational and Applied Mathematics 6 (1980), 19-26 (from memory; likewise).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from analyser.forces.compiled import compiled, inner
from analyser.forces.instant import Seen, held_of, look, made_unit, one_of, spun_by, turned
from analyser.forces.masses import Held, Table
from analyser.forces.network import Array
from analyser.forces.weightless import copied

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


def _square(rows: Sequence[Sequence[float]]) -> Array:
    """Rows of unlike length as a table."""
    found = np.zeros((len(rows), max(map(len, rows))))
    for k, row in enumerate(rows):
        found[k, : len(row)] = row
    return found


NYSTROM_TABLE, NYSTROM_NODES, NYSTROM_SPEEDS = _square(NYSTROM), np.array(NYSTROM_AT), np.array(NYSTROM_SPEED)
NYSTROM_OFF = np.array([*NYSTROM[3], 0.0]) - np.array(NYSTROM_LOW)
NYSTROM_OFF_SPEED = np.array(NYSTROM_SPEED) - np.array(NYSTROM_LOW_SPEED)
NYSTROM_GUESSES = _square([(), *_through(NYSTROM_AT)])
PRINCE_TABLE = _square(PRINCE)
PRINCE_OFF = np.array([*PRINCE[6], 0.0]) - np.array(PRINCE_LOW)
PRINCE_GUESSES = _square([(), *_through((0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0)), (0.0, 0.0, 0.0, 0.0, 0.0, 1.0)])


class Rows(NamedTuple):
    """Where everything is and how it moves, in the order in which the numbers stand in a row."""

    points: Array
    centres: Array
    turns: Array
    speeds: Array
    going: Array
    spin: Array


@inner
def _guessed(t: Table, lights: Array, rows: Array, stage: int, at: Array) -> None:
    """Where points without mass are looked for at a stage, by where they were at those before it."""
    points = t.mass.shape[0]
    for n in range(t.light):
        for i in range(3):
            value = 0.0
            for k in range(stage):
                value += rows[stage, k] * lights[k, n, i]
            at[points + n, i] = value


@inner
def _wrong_pull(t: Table, seen: Seen, other: Seen) -> float:
    """By how much the lines' tensions differ where the less exact formula comes to, over what they may."""
    wrong = 0.0
    for m in range(t.rest.shape[0]):
        off = abs(other.lines.tension[m] - seen.lines.tension[m])
        wrong = max(wrong, off / (FINE_PULL * (t.load + seen.lines.tension[m])))
    return wrong


@inner
def _farthest(rows: Array) -> float:
    """The longest of some vectors."""
    most = 0.0
    for k in range(rows.shape[0]):
        size = 0.0
        for i in range(rows.shape[1]):
            size += rows[k, i] ** 2
        most = max(most, size)
    return np.sqrt(most)  # type: ignore[no-any-return]


@compiled
def nystrom(
    t: Table, by: Array, now: Rows, first: Seen, held: Held, after: Rows, seen: Seen, spare: Seen, wrong: Array
) -> None:  # fmt: skip
    """Points with mass alone, each start moved on by its own time."""
    count = t.mass.shape[0]
    lights, slopes = np.empty((4, t.light, 3)), np.empty((4, count, 3))
    off, off_speed, lower = np.empty((count, 3)), np.empty((count, 3)), np.empty((count, 3))
    from_passed = np.empty(first.passed.shape[1])
    for b in range(by.shape[0]):
        h, one, mine = by[b], one_of(seen, b), held_of(held, b)
        copied(first.light[b], lights[0], 0)
        points, speeds = after.points[b], after.speeds[b]
        for q in range(from_passed.shape[0]):
            from_passed[q] = first.passed[b, q]
        for n in range(count):
            for i in range(3):
                slopes[0, n, i] = first.pushes[b, n, i] / t.mass[n]
        for stage in range(1, 4):
            for n in range(count):
                for i in range(3):
                    turn = 0.0
                    for k in range(stage):
                        turn += NYSTROM_TABLE[stage, k] * slopes[k, n, i]
                    points[n, i] = now.points[b, n, i] + NYSTROM_NODES[stage] * h * now.speeds[b, n, i] + h * h * turn
            _guessed(t, lights, NYSTROM_GUESSES, stage, one.at)
            look(t, points, now.centres[b], now.turns[b], mine, lights[stage - 1], from_passed, one)
            copied(one.light, lights[stage], 0)
            for q in range(from_passed.shape[0]):
                from_passed[q] = one.passed[q]
            for n in range(count):
                for i in range(3):
                    slopes[stage, n, i] = one.pushes[n, i] / t.mass[n]
        for n in range(count):
            for i in range(3):
                quicker, far, fast = 0.0, 0.0, 0.0
                for k in range(4):
                    quicker += NYSTROM_SPEEDS[k] * slopes[k, n, i]
                    far += NYSTROM_OFF[k] * slopes[k, n, i]
                    fast += NYSTROM_OFF_SPEED[k] * slopes[k, n, i]
                speeds[n, i] = now.speeds[b, n, i] + h * quicker
                off[n, i], off_speed[n, i] = h * h * far, h * h * fast
                lower[n, i] = points[n, i] - off[n, i]
        other = one_of(spare, 0)
        copied(lights[3], other.at, count)
        look(t, lower, now.centres[b], now.turns[b], mine, lights[3], one.passed, other)
        far = max(_farthest(off), _farthest(off_speed))
        wrong[b] = max(far / FINE, _wrong_pull(t, one, other))


@inner
def _slope(t: Table, y: Array, seen: Seen, out: Array) -> None:
    """How fast everything changes: places, turns, speeds, and turning."""
    h, k = t.mass.shape[0], t.body_mass.shape[0]
    turns, speeds, going, spin = 3 * h + 3 * k, 3 * h + 7 * k, 6 * h + 7 * k, 6 * h + 10 * k
    for n in range(3 * h):
        out[n] = y[speeds + n]
    for n in range(3 * k):
        out[3 * h + n] = y[going + n]
    matrix, inner, rate, unit = np.empty((3, 3)), np.empty(3), np.empty(3), np.empty(4)
    for body in range(k):
        q = y[turns + 4 * body : turns + 4 * body + 4]
        made_unit(q, unit)
        turned(unit, matrix)
        spun_by(matrix, t.inverse[body], y[spin + 3 * body : spin + 3 * body + 3], inner, rate)
        at = turns + 4 * body
        out[at] = -0.5 * (rate[0] * q[1] + rate[1] * q[2] + rate[2] * q[3])
        out[at + 1] = 0.5 * (q[0] * rate[0] + rate[1] * q[3] - rate[2] * q[2])
        out[at + 2] = 0.5 * (q[0] * rate[1] + rate[2] * q[1] - rate[0] * q[3])
        out[at + 3] = 0.5 * (q[0] * rate[2] + rate[0] * q[2] - rate[1] * q[1])
    for n in range(h):
        for i in range(3):
            out[speeds + 3 * n + i] = seen.pushes[n, i] / t.mass[n]
    for body in range(k):
        for i in range(3):
            out[going + 3 * body + i] = seen.on_bodies[body, i] / t.body_mass[body]
            out[spin + 3 * body + i] = seen.twists[body, i]


@inner
def _unpacked(t: Table, y: Array, after: Rows, b: int) -> None:
    """Places, speeds and turns (made unit) out of one row of numbers."""
    h, k = t.mass.shape[0], t.body_mass.shape[0]
    turns, speeds, going, spin = 3 * h + 3 * k, 3 * h + 7 * k, 6 * h + 7 * k, 6 * h + 10 * k
    for i in range(3):
        for n in range(h):
            after.points[b, n, i] = y[3 * n + i]
            after.speeds[b, n, i] = y[speeds + 3 * n + i]
        for n in range(k):
            after.centres[b, n, i] = y[3 * h + 3 * n + i]
            after.going[b, n, i] = y[going + 3 * n + i]
            after.spin[b, n, i] = y[spin + 3 * n + i]
    for n in range(k):
        made_unit(y[turns + 4 * n : turns + 4 * n + 4], after.turns[b, n])


@compiled
def prince(
    t: Table, by: Array, begin: Array, reach: Array, first: Seen, held: Held, after: Rows, lower: Rows,
    seen: Seen, spare: Seen, wrong: Array,
) -> None:  # fmt: skip
    """Points with mass and rigid bodies, each start moved on by its own time."""
    h_, k_ = t.mass.shape[0], t.body_mass.shape[0]
    size = begin.shape[1]
    lights, slopes, y = np.empty((7, t.light, 3)), np.empty((7, size)), np.empty(size)
    off, turns = np.empty(size), 3 * h_ + 3 * k_
    from_passed = np.empty(first.passed.shape[1])
    for b in range(by.shape[0]):
        h, one, mine = by[b], one_of(seen, b), held_of(held, b)
        copied(first.light[b], lights[0], 0)
        for q in range(from_passed.shape[0]):
            from_passed[q] = first.passed[b, q]
        _slope(t, begin[b], one_of(first, b), slopes[0])
        for stage in range(1, 7):
            for n in range(size):
                value = 0.0
                for k in range(stage):
                    value += PRINCE_TABLE[stage, k] * slopes[k, n]
                y[n] = begin[b, n] + h * value
            _unpacked(t, y, after, b)
            _guessed(t, lights, PRINCE_GUESSES, stage, one.at)
            look(t, after.points[b], after.centres[b], after.turns[b], mine, lights[stage - 1], from_passed, one)
            copied(one.light, lights[stage], 0)
            for q in range(from_passed.shape[0]):
                from_passed[q] = one.passed[q]
            _slope(t, y, one, slopes[stage])
        for n in range(size):
            value = 0.0
            for k in range(7):
                value += PRINCE_OFF[k] * slopes[k, n]
            off[n] = h * value
            y[n] -= off[n]
        wrong[b] = _wrong(t, off, reach, h) / FINE
        _unpacked(t, y, lower, b)
        for n in range(k_):  # as far off as the turn that was made unit
            for i in range(4):
                lower.turns[b, n, i] = after.turns[b, n, i] - off[turns + 4 * n + i]
            made_unit(lower.turns[b, n], lower.turns[b, n])
        other = one_of(spare, 0)
        copied(lights[6], other.at, h_)
        look(t, lower.points[b], lower.centres[b], lower.turns[b], mine, lights[6], one.passed, other)
        wrong[b] = max(wrong[b], _wrong_pull(t, one, other))


@inner
def _wrong(t: Table, off: Array, reach: Array, h: float) -> float:
    """Metres by which the two formulas are apart at most; turning counts by how far a body reaches."""
    points, bodies = t.mass.shape[0], t.body_mass.shape[0]
    turns, speeds, spin = 3 * points + 3 * bodies, 3 * points + 7 * bodies, 6 * points + 10 * bodies
    far = 0.0
    for n in range(0, turns, 3):
        far = max(far, off[n] ** 2 + off[n + 1] ** 2 + off[n + 2] ** 2)
    for n in range(speeds, spin, 3):
        far = max(far, h * h * (off[n] ** 2 + off[n + 1] ** 2 + off[n + 2] ** 2))
    far = np.sqrt(far)
    for k in range(bodies):
        turn, twist = 0.0, 0.0
        for i in range(4):
            turn += off[turns + 4 * k + i] ** 2
        for i in range(3):
            rate = 0.0
            for j in range(3):
                rate += t.inverse[k, i, j] * off[spin + 3 * k + j]
            twist += rate**2
        far = max(far, 2 * np.sqrt(turn) * reach[k], h * np.sqrt(twist) * reach[k])
    return far  # type: ignore[no-any-return]
