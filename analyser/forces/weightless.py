"""Points without mass, and rope at one-way grips, brought to rest while the masses stand where they are.

They have no inertia, so at every moment the energy is least in them: Newton's method from where they were
before, for many starts at once, each with a line search of its own. The energy is convex in them (`statics.md`).
Rope passes at a grip one way only: what has passed by the last step that counted is the least.
"""

from __future__ import annotations

import numpy as np

from analyser.forces.masses import (
    PROXIMAL,
    SHORTEST,
    Flags,
    Held,
    Lines,
    Masses,
    curvature,
    forces,
    of,
    pulled,
    spots,
    stored,
)
from analyser.forces.network import Array, Ints

BALANCED = 1e-5
"""Share of what pulls there that may be left over at a point without mass."""

MOST = 60
"""Steps after which the best that was found is taken."""


class Weightless:
    """What is found at one moment: everything in its place, and what the lines pull."""

    __slots__ = ("at", "left", "light", "lines", "passed")

    def __init__(self, at: Array, light: Array, passed: Array, lines: Lines, left: Array) -> None:
        self.at = at
        self.light = light
        self.passed = passed
        self.lines = lines
        self.left = left
        """Newtons left over at the worst point without mass, by start."""


def settled(
    masses: Masses,
    points: Array,
    on_bodies: Array,
    held: Held,
    light: Array,
    passed: Array,
    guess: Array | None = None,
) -> Weightless:
    """Points without mass at rest between masses at `points` and `on_bodies`; `light` and `passed` are where
    they were, `guess` where they may be by now; `held.passed` the least that has passed at each grip."""
    at = spots(masses, points, light if guess is None else guess, on_bodies)
    lines = pulled(masses, at, held, passed)
    if not masses.light and not masses.grips:
        return Weightless(at, light, passed, lines, np.zeros(len(points)))
    search = _Search(masses, at, held, light, passed, lines, light if guess is None else guess)
    search.run()
    return Weightless(search.at, search.light, search.passed, search.lines, search.left)


def gone_along(masses: Masses, at: Array, moved: Array, held: Held, passed: Array) -> tuple[Array, Array]:
    """How far points without mass, and rope at grips, go along when all else moves a little from a moment at
    which they are at rest."""
    mine = slice(masses.points, masses.points + masses.light)
    lines = pulled(masses, at, held, passed)
    new = pulled(masses, at + moved, held, passed)
    change = (forces(masses, new) - forces(masses, lines))[:, mine].reshape(len(at), -1)
    matrix = curvature(masses, lines)
    if masses.grips:
        grips = (new.tension - lines.tension) @ masses.passing
        still = (passed <= held.passed) & (lines.tension @ masses.passing <= 0)
        change = np.concatenate([change, np.where(still, 0.0, grips)], axis=1)
        wide = change.shape[1] - masses.grips
        for k in range(masses.grips):
            matrix[still[:, k], wide + k] = matrix[still[:, k], :, wide + k] = 0.0
    size = change.shape[1]
    matrix[:, np.arange(size), np.arange(size)] += PROXIMAL
    step: Array = np.linalg.solve(matrix, change[:, :, None])[:, :, 0].astype(float)
    light = 3 * masses.light
    return step[:, :light].reshape(len(at), masses.light, 3), step[:, light:]


class _Search:
    def __init__(
        self, masses: Masses, at: Array, held: Held, light: Array, passed: Array, lines: Lines, guess: Array
    ) -> None:
        self.masses = masses
        self.held = held
        self.at = at
        self.begin = light
        self.light = guess.copy()
        self.from_passed = passed
        self.passed = np.clip(passed, held.passed, self._most(held))
        self.lines = lines if np.array_equal(self.passed, passed) else pulled(masses, at, held, self.passed)
        self.left = np.zeros(len(at))
        self.mine = slice(masses.points, masses.points + masses.light)

    def _most(self, held: Held) -> Array:
        """How much may pass at each grip until the line it comes out of is hauled in to nothing."""
        masses = self.masses
        room = np.full((masses.lines, masses.grips), np.inf)
        out = masses.passing < 0
        room[out] = np.broadcast_to(np.maximum(masses.rest - SHORTEST, 0.0)[:, None], out.shape)[out]
        return np.maximum(held.passed, room.min(axis=0)) if masses.grips else held.passed

    def run(self) -> None:
        masses = self.masses
        todo: Ints = np.arange(len(self.at))
        at, lines, held, light, passed = self.at, self.lines, self.held, self.light, self.passed
        slope = self._slope(at, lines, light, passed, todo)
        for _ in range(MOST):
            free, left = self._free(slope, passed, held)
            self.left[todo] = left
            going = left > BALANCED * (masses.load + lines.tension.max(axis=1, initial=0.0))
            if not going.any():
                return
            if not going.all():
                todo, at, lines, held = todo[going], at[going], of(lines, going), held.of(going)
                light, passed, slope, left = light[going], passed[going], slope[going], left[going]
                free = free if free is None else free[going]
            step = self._step(curvature(masses, lines), slope, free)
            tried = self._moved(at, light, passed, held, step)
            new = pulled(masses, tried[0], held, tried[2])
            new_slope = self._slope(tried[0], new, tried[1], tried[2], todo)
            better = self._free(new_slope, tried[2], held)[1] <= 0.5 * left
            if better.all():  # as good as sure: Newton's method converges
                (at, light, passed), lines, slope = tried, new, new_slope
                self._keep(todo, at, light, passed, lines)
                continue
            found = self._search(todo, at, lines, held, light, passed, slope, step)
            if not len(found):
                return
            todo = found
            at, lines, held = self.at[todo], of(self.lines, todo), self.held.of(todo)
            light, passed = self.light[todo], self.passed[todo]
            slope = self._slope(at, lines, light, passed, todo)

    def _moved(self, at: Array, light: Array, passed: Array, held: Held, step: Array) -> tuple[Array, Array, Array]:
        wide = 3 * self.masses.light
        new_light = light + step[:, :wide].reshape(light.shape)
        if self.masses.grips:
            passed = np.clip(passed + step[:, wide:], held.passed, self._most(held))
        new_at = at.copy()
        new_at[:, self.mine] = new_light
        return new_at, new_light, passed

    def _keep(self, which: Ints, at: Array, light: Array, passed: Array, lines: Lines) -> None:
        if len(which) == len(self.at):
            self.at, self.light, self.passed, self.lines = at, light, passed, lines
            return
        self.at[which], self.light[which], self.passed[which] = at, light, passed
        for name in type(lines).__slots__:
            getattr(self.lines, name)[which] = getattr(lines, name)

    def _slope(self, at: Array, lines: Lines, light: Array, passed: Array, which: Ints) -> Array:
        pull = forces(self.masses, lines)[:, self.mine]
        slope: Array = (PROXIMAL * (light - self.begin[which]) - pull).reshape(len(at), -1)
        if self.masses.grips:
            grips = PROXIMAL * (passed - self.from_passed[which]) - lines.tension @ self.masses.passing
            slope = np.concatenate([slope, grips], axis=1)
        return slope

    def _free(self, slope: Array, passed: Array, held: Held) -> tuple[Flags | None, Array]:
        """Which unknowns may move (None: all; a grip at its bound that would go back may not), and what is left
        over."""
        if not self.masses.grips:
            return None, np.abs(slope).max(axis=1, initial=0.0)
        free = np.ones(slope.shape, dtype=bool)
        wide = slope.shape[1] - self.masses.grips
        at_grips = slope[:, wide:]
        least = (passed <= held.passed) & (at_grips > 0)
        most = (passed >= self._most(held)) & (at_grips < 0)
        free[:, wide:] = ~(least | most)
        return free, np.abs(np.where(free, slope, 0.0)).max(axis=1, initial=0.0)

    def _step(self, matrix: Array, slope: Array, free: Flags | None) -> Array:
        size = slope.shape[1]
        matrix[:, np.arange(size), np.arange(size)] += PROXIMAL
        if free is not None and not free.all():
            both = free[:, :, None] & free[:, None, :]
            matrix = np.where(both, matrix, np.where(np.eye(size, dtype=bool), 1.0, 0.0))
            slope = np.where(free, slope, 0.0)
        step: Array = np.linalg.solve(matrix, -slope[:, :, None])[:, :, 0].astype(float)
        return step

    def _search(
        self,
        todo: Ints,
        at: Array,
        lines: Lines,
        held: Held,
        light: Array,
        passed: Array,
        slope: Array,
        step: Array,
    ) -> Ints:
        """Shorten each step until the energy falls; the starts for which one was found."""
        promised = np.einsum("bi,bi->b", slope, step)
        before = self._energy(at, lines, held, light, passed, todo)
        noise = 1e-12 * (np.abs(before) + self.masses.load)
        share = 1.0
        left = np.arange(len(todo))
        for _ in range(30):
            some = held.of(left)
            tried = self._moved(at[left], light[left], passed[left], some, share * step[left])
            new = pulled(self.masses, tried[0], some, tried[2])
            now = self._energy(tried[0], new, some, tried[1], tried[2], todo[left])
            good = now <= before[left] + 1e-4 * share * promised[left] + noise[left]
            new_at, new_light, new_passed = (one[good] for one in tried)
            self._keep(todo[left[good]], new_at, new_light, new_passed, of(new, good))
            left = left[~good]
            if not len(left):
                break
            share *= 0.5
        done: Ints = np.setdiff1d(todo, todo[left])
        return done

    def _energy(self, at: Array, lines: Lines, held: Held, light: Array, passed: Array, which: Ints) -> Array:
        masses = self.masses
        total: Array = stored(masses, lines, held).sum(axis=1)
        total = total + light[:, :, 2] @ masses.weights[self.mine]
        off = light - self.begin[which]
        total = total + 0.5 * PROXIMAL * np.einsum("bli,bli->b", off, off)
        if masses.grips:
            total = total + 0.5 * PROXIMAL * np.square(passed - self.from_passed[which]).sum(axis=1)
        return total
