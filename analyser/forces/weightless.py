"""Points without mass, and rope at one-way grips, brought to rest while the masses stand where they are.

They have no inertia, so at every moment the energy is least in them: Newton's method from where they were
before, with a line search. The energy is convex in them (`statics.md`). Rope passes at a grip one way only:
what has passed by the last step that counted is the least.
"""

from __future__ import annotations

import numpy as np

from analyser.forces.compiled import inner
from analyser.forces.masses import PROXIMAL, SHORTEST, Held, Lines, Table, joules, pull, pushed
from analyser.forces.network import Array

BALANCED = 1e-5
"""Share of what pulls there that may be left over at a point without mass."""

MOST = 60
"""Steps after which the best that was found is taken."""

HALVINGS = 30


@inner
def copied(rows: Array, to: Array, first: int) -> None:
    """Rows of three put in at a place."""
    for n in range(rows.shape[0]):
        for i in range(3):
            to[first + n, i] = rows[n, i]


@inner
def _room(t: Table, q: int) -> float:
    """Metres that may pass at a grip until the line it comes out of is hauled in to nothing."""
    room = np.inf
    for m in range(t.rest.shape[0]):
        if t.passing[m, q] < 0:
            room = min(room, max(t.rest[m] - SHORTEST, 0.0))
    return room


@inner
def settle(t: Table, at: Array, held: Held, begin: Array, from_passed: Array, passed: Array, out: Lines) -> None:
    """Points without mass of one start brought to rest in `at`, from where they are there; `begin` and `from_passed`:
    where they were. Rope passed into `passed`, the lines into `out`."""
    points, grips = t.mass.shape[0], t.passing.shape[1]
    wide = 3 * t.light
    most = np.empty(grips)
    for q in range(grips):
        most[q] = max(held.passed[q], _room(t, q))
        passed[q] = min(max(from_passed[q], held.passed[q]), most[q])
    pull(t, at, held, passed, out)
    size = wide + grips
    if size == 0:
        return
    total = np.empty((points + t.light + t.carrier.shape[0], 3))
    slope, new_slope, step, free = np.empty(size), np.empty(size), np.empty(size), np.ones(size, np.bool_)
    matrix = np.empty((size, size))
    begin_at, begin_passed = np.empty((t.light, 3)), np.empty(grips)
    left = _slope(t, at, held, begin, from_passed, passed, most, out, total, slope, free)
    for _ in range(MOST):
        hardest = 0.0
        for m in range(t.rest.shape[0]):
            hardest = max(hardest, out.tension[m])
        if left <= BALANCED * (t.load + hardest):
            return
        _curvature(t, out, matrix)
        _solved(matrix, slope, free, step)
        for n in range(t.light):
            for i in range(3):
                begin_at[n, i] = at[points + n, i]
        for q in range(grips):
            begin_passed[q] = passed[q]
        promised, before = 0.0, _energy(t, at, held, begin, from_passed, passed, out)
        for k in range(size):
            promised += slope[k] * step[k]
        noise = 1e-12 * (abs(before) + t.load)
        share, found = 1.0, False
        for halving in range(HALVINGS):
            for n in range(t.light):
                for i in range(3):
                    at[points + n, i] = begin_at[n, i] + share * step[3 * n + i]
            for q in range(grips):
                passed[q] = min(max(begin_passed[q] + share * step[wide + q], held.passed[q]), most[q])
            pull(t, at, held, passed, out)
            if halving == 0:  # as good as sure: Newton's method converges
                now = _slope(t, at, held, begin, from_passed, passed, most, out, total, new_slope, free)
                if now <= 0.5 * left:
                    found = True
                    break
            if _energy(t, at, held, begin, from_passed, passed, out) <= before + 1e-4 * share * promised + noise:
                found = True
                break
            share *= 0.5
        if not found:
            copied(begin_at, at, points)
            for q in range(grips):
                passed[q] = begin_passed[q]
            pull(t, at, held, passed, out)
            return
        left = _slope(t, at, held, begin, from_passed, passed, most, out, total, slope, free)


@inner
def _slope(
    t: Table,
    at: Array,
    held: Held,
    begin: Array,
    from_passed: Array,
    passed: Array,
    most: Array,
    lines: Lines,
    total: Array,
    slope: Array,
    free: Array,
) -> float:
    """The energy's slope into `slope`, which unknowns may move into `free` (a grip at its bound that would go back
    may not); what is left over."""
    points, wide = t.mass.shape[0], 3 * t.light
    pushed(t, lines, total)
    left = 0.0
    for n in range(t.light):
        for i in range(3):
            value = PROXIMAL * (at[points + n, i] - begin[n, i]) - total[points + n, i]
            slope[3 * n + i] = value
            left = max(left, abs(value))
    for q in range(t.passing.shape[1]):
        value = PROXIMAL * (passed[q] - from_passed[q])
        for m in range(t.rest.shape[0]):
            value -= lines.tension[m] * t.passing[m, q]
        least = passed[q] <= held.passed[q] and value > 0
        full = passed[q] >= most[q] and value < 0
        slope[wide + q] = value
        free[wide + q] = not (least or full)
        if free[wide + q]:
            left = max(left, abs(value))
    return left


@inner
def _energy(t: Table, at: Array, held: Held, begin: Array, from_passed: Array, passed: Array, lines: Lines) -> float:
    points = t.mass.shape[0]
    total = joules(t, held, lines)
    for n in range(t.light):
        total += at[points + n, 2] * t.weights[points + n]
        for i in range(3):
            total += 0.5 * PROXIMAL * (at[points + n, i] - begin[n, i]) ** 2
    for q in range(t.passing.shape[1]):
        total += 0.5 * PROXIMAL * (passed[q] - from_passed[q]) ** 2
    return total


@inner
def _curvature(t: Table, lines: Lines, matrix: Array) -> None:
    """The energy's second derivatives in the points without mass and the grips, into `matrix`."""
    points, wide, grips = t.mass.shape[0], 3 * t.light, t.passing.shape[1]
    longer = np.zeros((t.rest.shape[0], wide + grips))
    for i in range(wide + grips):
        for j in range(wide + grips):
            matrix[i, j] = 0.0
    unit = np.empty(3)
    for s in range(t.start.shape[0]):
        a, b, m = t.start[s] - points, t.end[s] - points, t.line[s]
        first, second = 0 <= a < t.light, 0 <= b < t.light
        if not first and not second:
            continue
        sized = lines.tension[m] / lines.lengths[s]
        for i in range(3):
            unit[i] = lines.apart[s, i] / lines.lengths[s]
            if first:
                longer[m, 3 * a + i] -= unit[i]
            if second:
                longer[m, 3 * b + i] += unit[i]
        for i in range(3):
            for j in range(3):
                block = sized * ((1.0 if i == j else 0.0) - unit[i] * unit[j])
                if first:
                    matrix[3 * a + i, 3 * a + j] += block
                if second:
                    matrix[3 * b + i, 3 * b + j] += block
                if first and second:
                    matrix[3 * a + i, 3 * b + j] -= block
                    matrix[3 * b + i, 3 * a + j] -= block
    for m in range(t.rest.shape[0]):
        for q in range(grips):
            longer[m, wide + q] = -t.passing[m, q]
        stiffer = lines.stiffer[m]
        if stiffer > 0:
            for i in range(wide + grips):
                if longer[m, i] != 0.0:
                    sized = stiffer * longer[m, i]
                    for j in range(wide + grips):
                        matrix[i, j] += sized * longer[m, j]


@inner
def _solved(matrix: Array, slope: Array, free: Array, step: Array) -> None:
    """The step at which the slope is nought, by Cholesky's factors of the matrix, which is positive: it gets
    `PROXIMAL` on its diagonal. What isn't free stays."""
    size = slope.shape[0]
    for i in range(size):
        matrix[i, i] += PROXIMAL
        step[i] = -slope[i] if free[i] else 0.0
        if not free[i]:
            for j in range(size):
                matrix[i, j] = matrix[j, i] = 0.0
            matrix[i, i] = 1.0
    for j in range(size):
        for i in range(j, size):
            value = matrix[i, j]
            for k in range(j):
                value -= matrix[i, k] * matrix[j, k]
            matrix[i, j] = np.sqrt(max(value, 1e-12)) if i == j else value / matrix[j, j]
    for i in range(size):
        for k in range(i):
            step[i] -= matrix[i, k] * step[k]
        step[i] /= matrix[i, i]
    for i in range(size - 1, -1, -1):
        for k in range(i + 1, size):
            step[i] -= matrix[k, i] * step[k]
        step[i] /= matrix[i, i]


@inner
def gone_along(
    t: Table, at: Array, speeds: Array, moment: float, held: Held, passed: Array, lines: Lines, passing: Array
) -> None:
    """How fast points without mass (put into `speeds`), and rope at grips (into `passing`), go along when all else
    moves at `speeds` for a `moment` from where they are at rest."""
    points, wide, grips = t.mass.shape[0], 3 * t.light, t.passing.shape[1]
    size, moving = wide + grips, points + t.light + t.carrier.shape[0]
    segments, count = t.start.shape[0], t.rest.shape[0]
    new = Lines(
        np.empty((segments, 3)), np.empty(segments), np.empty(count), np.empty(count), np.empty(count), np.empty(count)
    )
    there = np.empty((at.shape[0], 3))
    for n in range(at.shape[0]):
        for i in range(3):
            there[n, i] = at[n, i] + moment * speeds[n, i]
    pull(t, there, held, passed, new)
    now, then = np.empty((moving, 3)), np.empty((moving, 3))
    pushed(t, lines, now)
    pushed(t, new, then)
    change, free, step = np.empty(size), np.ones(size, np.bool_), np.empty(size)
    for n in range(t.light):
        for i in range(3):
            change[3 * n + i] = now[points + n, i] - then[points + n, i]
    for q in range(grips):
        more, pulls = 0.0, 0.0
        for m in range(count):
            more += (new.tension[m] - lines.tension[m]) * t.passing[m, q]
            pulls += lines.tension[m] * t.passing[m, q]
        change[wide + q] = -more
        free[wide + q] = not (passed[q] <= held.passed[q] and pulls <= 0)
    matrix = np.empty((size, size))
    _curvature(t, lines, matrix)
    _solved(matrix, change, free, step)
    for n in range(t.light):
        for i in range(3):
            speeds[points + n, i] = step[3 * n + i] / moment
    for q in range(grips):
        passing[q] = step[wide + q] / moment
