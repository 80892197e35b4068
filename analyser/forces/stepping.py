"""From one moment to the next: each start with a step and a clock of its own (the formulas: `formulas.py`)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyser.forces.compiled import compiled
from analyser.forces.formulas import Rows, nystrom, prince
from analyser.forces.instant import Seen, held_of, looks, one_of, room_for, spun_by, turned
from analyser.forces.masses import Flags, Held, Masses, Table, joules
from analyser.forces.network import Array, Ints
from analyser.forces.stiffness import GRAVITY
from analyser.forces.turning import matrices
from analyser.forces.weightless import copied, gone_along


@dataclass(slots=True)
class Moment:
    """Some starts, each at its own time. Bodies: where their centres of mass are and how fast they go, how they
    are turned (quaternions), and their turning (angular momentum, in space). `seen` is worked out there."""

    time: Array
    points: Array
    speeds: Array
    centres: Array
    going: Array
    turns: Array
    spin: Array
    held: Held
    seen: Seen

    def of(self, which: Ints | Flags) -> Moment:
        return Moment(
            self.time[which],
            self.points[which],
            self.speeds[which],
            self.centres[which],
            self.going[which],
            self.turns[which],
            self.spin[which],
            self.held.of(which),
            self.seen.of(which),
        )

    def put(self, which: Ints, other: Moment) -> None:
        for name in ("time", "points", "speeds", "centres", "going", "turns", "spin"):
            getattr(self, name)[which] = getattr(other, name)
        self.held.put(which, other.held)
        self.seen.put(which, other.seen)

    @property
    def tension(self) -> Array:
        return self.seen.lines.tension


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
    seen = room_for(masses, len(points))
    looks(masses.table(), points, centres, turns, held, seen)
    return Moment(time, points, speeds, centres, going, turns, spin, held, seen)


def step(masses: Masses, now: Moment, by: Array) -> tuple[Moment, Array]:
    """Each start moved on by its own time, and how wrong that is (1: as wrong as it may be)."""
    count, t, rows, seen = len(by), masses.table(), _rows_of(now), now.seen
    after = Rows(*(one.copy() for one in rows))
    new, spare, wrong = room_for(masses, count), room_for(masses, 1), np.zeros(count)
    if masses.bodies:
        reach = np.ones(masses.bodies)
        np.maximum.at(reach, masses.carrier, np.sqrt((masses.arms**2).sum(axis=1)))
        lower = Rows(*(np.empty_like(one) for one in rows))
        begin = np.concatenate([one.reshape(count, -1) for one in rows], axis=1)
        prince(t, by, begin, reach, seen, now.held, after, lower, new, spare, wrong)
    else:
        nystrom(t, by, rows, seen, now.held, after, new, spare, wrong)
    told = Moment(
        now.time + by, after.points, after.speeds, after.centres, after.going, after.turns, after.spin, now.held, new
    )
    return told, wrong


def order(masses: Masses) -> float:
    """The order of the local error that `step` tells."""
    return 5.0 if masses.bodies else 4.0


def spinning(masses: Masses, turns: Array, spin: Array) -> Array:
    """Radians a second about each axis in space, from angular momentum."""
    turn = matrices(turns)
    found: Array = np.einsum("bkij,kjl,bkml,bkm->bki", turn, masses.inverse, turn, spin, optimize=False)
    return found


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
        lines.stretch[:] -= more
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


@compiled
def _rates(t: Table, rows: Rows, seen: Seen, held: Held, found: Array) -> None:
    count, riding, bodies = t.mass.shape[0], t.carrier.shape[0], t.body_mass.shape[0]
    matrix, inner, rate, arm = np.empty((3, 3)), np.empty(3), np.empty((bodies, 3)), np.empty(3)
    passing = np.zeros(t.passing.shape[1])
    for b in range(found.shape[0]):
        one = one_of(seen, b)
        speeds = np.zeros((one.at.shape[0], 3))
        copied(rows.speeds[b], speeds, 0)
        for k in range(bodies):
            turned(rows.turns[b, k], matrix)
            spun_by(matrix, t.inverse[k], rows.spin[b, k], inner, rate[k])
        for c in range(riding):
            body, n = t.carrier[c], count + t.light + c
            turned(rows.turns[b, body], matrix)
            for i in range(3):
                arm[i] = matrix[i, 0] * t.arms[c, 0] + matrix[i, 1] * t.arms[c, 1] + matrix[i, 2] * t.arms[c, 2]
            for i in range(3):
                j, k = (i + 1) % 3, (i + 2) % 3
                speeds[n, i] = rows.going[b, body, i] + rate[body, j] * arm[k] - rate[body, k] * arm[j]
        if t.light or passing.shape[0]:
            gone_along(t, one.at, speeds, A_MOMENT, held_of(held, b), one.passed, one.lines, passing)
        for m in range(t.rest.shape[0]):
            found[b, m] = 0.0
            for q in range(passing.shape[0]):
                found[b, m] -= passing[q] * t.passing[m, q]
        for s in range(t.start.shape[0]):
            along = 0.0
            for i in range(3):
                along += one.lines.apart[s, i] * (speeds[t.end[s], i] - speeds[t.start[s], i])
            found[b, t.line[s]] += along / one.lines.lengths[s]


def _rows_of(now: Moment) -> Rows:
    return Rows(*(getattr(now, name) for name in Rows._fields))


def rates(masses: Masses, now: Moment) -> Array:
    """How fast each line gets longer (metres a second), with the points without mass as they follow."""
    found = np.empty((len(now.time), masses.lines))
    _rates(masses.table(), _rows_of(now), now.seen, now.held, found)
    return found


@compiled
def _stored(t: Table, seen: Seen, held: Held, found: Array) -> None:
    for b in range(found.shape[0]):
        found[b] = joules(t, held_of(held, b), one_of(seen, b).lines)


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
    in_lines = np.empty(len(now.time))
    _stored(masses.table(), now.seen, now.held, in_lines)
    return moving, moving + height + in_lines
