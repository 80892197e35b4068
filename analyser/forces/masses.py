"""Masses, points without mass and lines that pull: what is followed in time, many starts at once.

The equations are in `statics.md` (what happens in time). Every array of a state begins with the starts
that are followed side by side, `b` of them: `h` points with mass, `l` points without, `k` rigid bodies
that carry `c` points, `f` fixed points, in this order; `s` segments of `m` lines; `q` one-way grips.
Newtons, metres, kilograms, seconds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from analyser.forces.compiled import inner
from analyser.forces.network import EYE, Array, Ints
from analyser.forces.stiffness import GRAVITY

SMOOTH = 0.005
"""Metres: a segment at a point without mass counts as √(d² + this²) long, so that it always has a direction."""

SHORTEST = 0.05
"""Metres of rope that a line keeps, however much of it is hauled in."""

PROXIMAL = 0.05
"""Newtons a metre that hold a point without mass where it was: what hangs loose stays where it is."""

Flags = np.typing.NDArray[np.bool_]


@dataclass(slots=True)
class Masses:
    """`weights` of the points with and without mass; `body_mass`, `inertia` (about the centre of mass, as
    drawn) and `arms` (from there) of the bodies. Line `m` is at rest at `rest`, stretches by `compliance` metres
    a newton, slips at `slips` newtons (infinite: never) with rope of `slip_ea` newtons coming into it, and
    doesn't give back the share `loss` of what stretching it took. `gives[m, o]`: rope that slips into line `m`
    comes out of line `o`. `passing` as in `Network`."""

    mass: Array
    weights: Array
    light: int
    body_mass: Array
    inertia: Array
    carrier: Ints
    arms: Array
    fixed: Array
    start: Ints
    end: Ints
    line: Ints
    rest: Array
    compliance: Array
    slips: Array
    slip_ea: Array
    loss: Array
    gives: Array
    passing: Array
    first: Ints = field(init=False, repr=False)
    soft: Array = field(init=False, repr=False)
    inverse: Array = field(init=False, repr=False)
    ends: Array = field(init=False, repr=False)
    """How often each line pulls at each point that a mass moves with; `gives_way`: what a newton does there."""
    gives_way: Array = field(init=False, repr=False)
    giving: bool = field(init=False)
    losing: bool = field(init=False)
    slipping: bool = field(init=False)
    _table: Table | None = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        changes = np.flatnonzero(np.diff(self.line, prepend=-1))
        self.first = changes.astype(np.intp)
        lights = range(self.points, self.points + self.light)
        loose = np.isin(self.start, lights) != np.isin(self.end, lights)
        loose |= np.isin(self.start, lights) & (self.start != self.end)
        self.soft = np.where(loose, SMOOTH**2, 1e-18)
        self.inverse = np.linalg.inv(self.inertia).astype(float) if len(self.inertia) else self.inertia
        self._quickness()
        self.giving = bool(self.gives.any())
        self.losing = bool(self.loss.any())
        self.slipping = bool(np.isfinite(self.slips).any())

    def _quickness(self) -> None:
        moved = [*range(self.points), *range(self.points + self.light, self.moving)]
        self.ends = np.zeros((len(moved), self.lines))
        for k, n in enumerate(moved):
            np.add.at(self.ends[k], self.line[(self.start == n) | (self.end == n)], 1.0)
        turning = []
        for body, arm in zip(self.carrier, self.arms, strict=True):
            across = np.cross(arm, EYE)  # what a push there turns, by its direction
            turning.append(float(np.linalg.eigvalsh(across @ self.inverse[body] @ across.T)[-1]))
        self.gives_way = np.concatenate([1 / self.mass, 1 / self.body_mass[self.carrier] + np.array(turning)])

    @property
    def points(self) -> int:
        return len(self.mass)

    @property
    def bodies(self) -> int:
        return len(self.body_mass)

    @property
    def moving(self) -> int:
        return self.points + self.light + len(self.carrier)

    @property
    def lines(self) -> int:
        return len(self.rest)

    @property
    def grips(self) -> int:
        return int(self.passing.shape[1])

    def table(self) -> Table:
        """What the compiled functions read; made once, after which nothing of it may change."""
        if self._table is None:
            self._table = Table(*(_firm(getattr(self, name)) for name in Table._fields))
        return self._table

    @property
    def load(self) -> float:
        """The largest weight, in newtons: what forces are measured by."""
        on_bodies = self.body_mass * GRAVITY
        return max(float(self.weights.max(initial=0.0)), float(on_bodies.max(initial=0.0)), 1.0)


def _firm(value: Any) -> Any:
    """An array in one piece, of one kind of number; what is no array stays."""
    if not isinstance(value, np.ndarray):
        return value
    return np.ascontiguousarray(value, dtype=np.intp if value.dtype.kind == "i" else float)


class Held(NamedTuple):
    """What a line or a grip keeps of the way so far: points without mass, rope passed at grips and slipped
    into lines, and the farthest each line that loses was stretched. `longer`: metres by which each line of
    this start is longer at rest than that of the others. Of one start, or of all."""

    light: Array
    passed: Array
    slipped: Array
    farthest: Array
    longer: Array

    def of(self, which: Ints | Flags) -> Held:
        return Held(*(one[which] for one in self))

    def put(self, which: Ints | Flags, other: Held) -> None:
        for mine, new in zip(self, other, strict=True):
            mine[which] = new


class Lines(NamedTuple):
    """The lines of one start, or of all: segments from end to end and their lengths, how far each line is longer than
    at rest (less what slipped), what it pulls, and by how much more for a metre more."""

    apart: Array
    lengths: Array
    total: Array
    stretch: Array
    tension: Array
    stiffer: Array

    def of(self, which: Ints | Flags) -> Lines:
        return Lines(*(one[which] for one in self))

    def put(self, which: Ints | Flags, other: Lines) -> None:
        for mine, new in zip(self, other, strict=True):
            mine[which] = new


def quickest(masses: Masses, lines: Lines) -> Array:
    """A bound on how quick anything shakes (radians a second) on the lines as tight as they are, by start: of the
    matrix that lines pull each other by, the largest sum of a row."""
    at = (lines.stiffer @ masses.ends.T) * masses.gives_way
    found: Array = np.sqrt((at @ masses.ends).max(axis=1, initial=0.0))
    return found


class Table(NamedTuple):
    """What of `Masses` the compiled functions read."""

    light: int
    mass: Array
    weights: Array
    body_mass: Array
    inverse: Array
    carrier: Ints
    arms: Array
    fixed: Array
    start: Ints
    end: Ints
    line: Ints
    soft: Array
    rest: Array
    compliance: Array
    slips: Array
    slip_ea: Array
    loss: Array
    gives: Array
    passing: Array
    load: float
    giving: bool
    losing: bool
    slipping: bool


@inner
def pull(t: Table, at: Array, held: Held, passed: Array, out: Lines) -> None:
    """The lines where everything is at `at`; what slipped and was stretched before is in `held`."""
    lines, grips = t.rest.shape[0], t.passing.shape[1]
    for m in range(lines):
        out.total[m] = 0.0
    for s in range(t.start.shape[0]):
        a, b = t.start[s], t.end[s]
        x, y, z = at[b, 0] - at[a, 0], at[b, 1] - at[a, 1], at[b, 2] - at[a, 2]
        out.apart[s, 0], out.apart[s, 1], out.apart[s, 2] = x, y, z
        length = np.sqrt(x * x + y * y + z * z + t.soft[s])
        out.lengths[s] = length
        out.total[t.line[s]] += length
    for m in range(lines):
        stretch = out.total[m] - t.rest[m] - held.longer[m]
        for q in range(grips):
            stretch -= passed[q] * t.passing[m, q]
        compliance = t.compliance[m]
        if t.slipping:
            stretch -= held.slipped[m]
            if t.giving:
                for k in range(lines):
                    stretch += held.slipped[k] * t.gives[k, m]
            compliance += held.slipped[m] / t.slip_ea[m]
        tension = max(stretch, 0.0) / compliance
        stiffer = 1.0 / compliance if stretch > 0 else 0.0
        if t.losing and stretch < held.farthest[m]:
            soft = compliance * (1.0 - t.loss[m])
            tension = max(stretch - t.loss[m] * held.farthest[m], 0.0) / soft
            stiffer = 1.0 / soft if tension > 0 else 0.0
        if t.slipping and tension > t.slips[m]:
            tension, stiffer = t.slips[m], 0.0
        out.stretch[m], out.tension[m], out.stiffer[m] = stretch, tension, stiffer


@inner
def joules(t: Table, held: Held, lines: Lines) -> float:
    """What all lines hold, as a function of their stretch alone (what slips on counts as stored until the step is
    done): its slope is the tension."""
    total = 0.0
    for m in range(t.rest.shape[0]):
        compliance = t.compliance[m]
        if t.slipping:
            compliance += held.slipped[m] / t.slip_ea[m]
        stretch = max(lines.stretch[m], 0.0)
        energy = 0.5 * stretch**2 / compliance
        if t.losing:
            most = max(held.farthest[m], 0.0)
            if lines.stretch[m] < held.farthest[m]:
                again = max(lines.stretch[m] - t.loss[m] * held.farthest[m], 0.0)
                energy = 0.5 * again**2 / (compliance * (1.0 - t.loss[m]))
            else:
                energy -= 0.5 * t.loss[m] * most**2 / compliance
        if t.slipping and lines.tension[m] >= t.slips[m]:
            until = t.slips[m] * compliance
            energy = t.slips[m] * (stretch - until) + 0.5 * t.slips[m] * until
        total += energy
    return total


@inner
def pushed(t: Table, lines: Lines, out: Array) -> None:
    """Newtons on every moving point by its lines and its weight (bodies' weights not: they act on the whole)."""
    moving, weighted = out.shape[0], t.weights.shape[0]
    for n in range(moving):
        out[n, 0] = out[n, 1] = 0.0
        out[n, 2] = -t.weights[n] if n < weighted else 0.0
    for s in range(t.start.shape[0]):
        sized = lines.tension[t.line[s]] / lines.lengths[s]
        a, b = t.start[s], t.end[s]
        for i in range(3):
            along = sized * lines.apart[s, i]
            if a < moving:
                out[a, i] += along
            if b < moving:
                out[b, i] -= along
