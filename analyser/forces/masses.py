"""Masses, points without mass and lines that pull: what is followed in time, many starts at once.

The equations are in `statics.md` (what happens in time). Every array of a state begins with the starts
that are followed side by side, `b` of them: `h` points with mass, `l` points without, `k` rigid bodies
that carry `c` points, `f` fixed points, in this order; `s` segments of `m` lines; `q` one-way grips.
Newtons, metres, kilograms, seconds.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

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
    pulls_at: Array = field(init=False, repr=False)
    """Which segments pull at which moving point: +1 at their start, -1 at their end."""
    pairs: Array = field(init=False, repr=False)
    at_light: Array = field(init=False, repr=False)
    inverse: Array = field(init=False, repr=False)
    ends: Array = field(init=False, repr=False)
    """How often each line pulls at each point that a mass moves with; `gives_way`: what a newton does there."""
    gives_way: Array = field(init=False, repr=False)
    giving: bool = field(init=False)
    losing: bool = field(init=False)
    slipping: bool = field(init=False)

    def __post_init__(self) -> None:
        changes = np.flatnonzero(np.diff(self.line, prepend=-1))
        self.first = changes.astype(np.intp)
        moving, count = self.moving, len(self.start)
        table = np.zeros((moving, count))
        for s, (a, b) in enumerate(zip(self.start, self.end, strict=True)):
            if a < moving:
                table[a, s] += 1
            if b < moving:
                table[b, s] -= 1
        self.pulls_at = table
        lights = slice(self.points, self.points + self.light)
        self.at_light = table[lights]
        self.soft = np.where(np.abs(self.at_light).sum(axis=0) > 0, SMOOTH**2, 1e-18)
        self.pairs = (self.at_light[:, None, :] * self.at_light[None, :, :]).reshape(self.light**2, count)
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

    @property
    def load(self) -> float:
        """The largest weight, in newtons: what forces are measured by."""
        on_bodies = self.body_mass * GRAVITY
        return max(float(self.weights.max(initial=0.0)), float(on_bodies.max(initial=0.0)), 1.0)


@dataclass(slots=True)
class Held:
    """What a line or a grip keeps of the way so far: points without mass, rope passed at grips and slipped
    into lines, and the farthest each line that loses was stretched. `longer`: metres by which each line of
    this start is longer at rest than that of the others."""

    light: Array
    passed: Array
    slipped: Array
    farthest: Array
    longer: Array

    def of(self, which: Ints | Flags) -> Held:
        return Held(
            self.light[which], self.passed[which], self.slipped[which], self.farthest[which], self.longer[which]
        )

    def put(self, which: Ints | Flags, other: Held) -> None:
        self.light[which], self.passed[which] = other.light, other.passed
        self.slipped[which], self.farthest[which] = other.slipped, other.farthest
        self.longer[which] = other.longer


@dataclass(slots=True)
class Lines:
    """The lines of all starts: segments from end to end and their lengths, how far each line is longer than at
    rest (less what slipped), what it pulls, and by how much more for a metre more."""

    apart: Array
    lengths: Array
    total: Array
    stretch: Array
    tension: Array
    stiffer: Array


def carried(masses: Masses, centres: Array, turns: Array) -> tuple[Array, Array]:
    """Where the points that bodies carry are, and each one's arm."""
    arms: Array = np.einsum("bcij,cj->bci", turns[:, masses.carrier], masses.arms)
    return centres[:, masses.carrier] + arms, arms


def spots(masses: Masses, points: Array, light: Array, on_bodies: Array) -> Array:
    """All places: (b, points, 3)."""
    h, moving = masses.points, masses.moving
    at = np.empty((len(points), moving + len(masses.fixed), 3))
    at[:, :h], at[:, h : h + masses.light], at[:, h + masses.light : moving] = points, light, on_bodies
    at[:, moving:] = masses.fixed
    return at


def pulled(masses: Masses, at: Array, held: Held, passed: Array) -> Lines:
    """The lines where everything is at `at`; what slipped and was stretched before is in `held`."""
    apart = at[:, masses.end] - at[:, masses.start]
    lengths = np.sqrt(np.einsum("bsi,bsi->bs", apart, apart) + masses.soft)
    total = np.add.reduceat(lengths, masses.first, axis=1)
    stretch = total - masses.rest - held.longer
    if masses.grips:
        stretch = stretch - passed @ masses.passing.T
    compliance = masses.compliance
    if masses.slipping:
        stretch = stretch - held.slipped
        if masses.giving:
            stretch = stretch + held.slipped @ masses.gives
        compliance = compliance + held.slipped / masses.slip_ea
    tension = np.maximum(stretch, 0.0) / compliance
    stiffer = (stretch > 0) / compliance
    if masses.losing:
        back = 1.0 - masses.loss
        returning = stretch < held.farthest
        again = np.maximum(stretch - masses.loss * held.farthest, 0.0) / (compliance * back)
        tension = np.where(returning, again, tension)
        stiffer = np.where(returning, (again > 0) / (compliance * back), stiffer)
    if masses.slipping:
        free = tension > masses.slips
        tension = np.where(free, masses.slips, tension)
        stiffer = np.where(free, 0.0, stiffer)
    return Lines(apart, lengths, total, stretch, tension, stiffer)


def stored(masses: Masses, lines: Lines, held: Held) -> Array:
    """Joules in each line, as a function of its stretch alone (what slips on counts as stored until the step
    is done): its slope is the tension."""
    compliance = masses.compliance
    if masses.slipping:
        compliance = compliance + held.slipped / masses.slip_ea
    stretch = np.maximum(lines.stretch, 0.0)
    energy = 0.5 * stretch**2 / compliance
    if masses.losing:
        back = 1.0 - masses.loss
        again = np.maximum(lines.stretch - masses.loss * held.farthest, 0.0)
        most = np.maximum(held.farthest, 0.0)
        energy = np.where(lines.stretch < held.farthest, 0.5 * again**2 / (compliance * back), energy)
        energy = np.where(lines.stretch >= held.farthest, energy - 0.5 * masses.loss * most**2 / compliance, energy)
    if masses.slipping:
        until = masses.slips * compliance
        over = lines.tension >= masses.slips
        energy = np.where(over, masses.slips * (stretch - until) + 0.5 * masses.slips * until, energy)
    return energy


def forces(masses: Masses, lines: Lines) -> Array:
    """Newtons on every moving point by its lines and its weight (bodies' weights not: they act on the whole)."""
    along = (lines.tension[:, masses.line] / lines.lengths)[:, :, None] * lines.apart
    total: Array = masses.pulls_at @ along
    total[:, : len(masses.weights), 2] -= masses.weights
    return total


def of(lines: Lines, which: Ints | Flags) -> Lines:
    """The lines of some of the starts."""
    return Lines(*(getattr(lines, name)[which] for name in Lines.__slots__))


def curvature(masses: Masses, lines: Lines) -> Array:
    """The matrix of the energy's second derivatives in the points without mass and the grips, for each start."""
    count, light = len(lines.tension), masses.light
    u = lines.apart / lines.lengths[:, :, None]
    sized = (lines.tension[:, masses.line] / lines.lengths)[:, :, None, None]
    blocks = sized * (EYE - u[:, :, :, None] * u[:, :, None, :])
    across = masses.pairs @ blocks.reshape(count, -1, 9)
    matrix = across.reshape(count, light, light, 3, 3).swapaxes(2, 3).reshape(count, 3 * light, 3 * light)
    by_segment = -masses.at_light.T[None, :, :, None] * u[:, :, None, :]
    longer = np.add.reduceat(by_segment, masses.first, axis=1).reshape(count, masses.lines, 3 * light)
    if masses.grips:
        passing = np.broadcast_to(-masses.passing, (count, masses.lines, masses.grips))
        longer = np.concatenate([longer, passing], axis=2)
        wide = 3 * light + masses.grips
        bigger = np.zeros((count, wide, wide))
        bigger[:, : 3 * light, : 3 * light] = matrix
        matrix = bigger
    whole: Array = matrix + (longer * lines.stiffer[:, :, None]).swapaxes(1, 2) @ longer
    return whole


def quickest(masses: Masses, lines: Lines) -> Array:
    """A bound on how quick anything shakes (radians a second) on the lines as tight as they are, by start: of the
    matrix that lines pull each other by, the largest sum of a row."""
    at = (lines.stiffer @ masses.ends.T) * masses.gives_way
    found: Array = np.sqrt((at @ masses.ends).max(axis=1, initial=0.0))
    return found
