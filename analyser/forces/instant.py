"""What is seen at one moment: where everything is, what the lines pull there, and what that does to the masses."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from analyser.forces.compiled import compiled, inner
from analyser.forces.masses import Drawn, Kept, Masses, Table, pushed
from analyser.forces.network import Array
from analyser.forces.stiffness import GRAVITY
from analyser.forces.weightless import copied, settle


@inner
def turned(q: Array, matrix: Array) -> None:
    """The rotation matrix of a unit quaternion."""
    w, x, y, z = q[0], q[1], q[2], q[3]
    matrix[0, 0], matrix[1, 1], matrix[2, 2] = 1 - 2 * (y * y + z * z), 1 - 2 * (x * x + z * z), 1 - 2 * (x * x + y * y)
    matrix[0, 1], matrix[1, 0] = 2 * (x * y - w * z), 2 * (x * y + w * z)
    matrix[0, 2], matrix[2, 0] = 2 * (x * z + w * y), 2 * (x * z - w * y)
    matrix[1, 2], matrix[2, 1] = 2 * (y * z - w * x), 2 * (y * z + w * x)


@inner
def made_unit(q: Array, unit: Array) -> None:
    size = np.sqrt(q[0] ** 2 + q[1] ** 2 + q[2] ** 2 + q[3] ** 2)
    for i in range(4):
        unit[i] = q[i] / size


@inner
def spun_by(matrix: Array, inverse: Array, spin: Array, inner: Array, rate: Array) -> None:
    """Radians a second in space (`rate`) of a body turned by `matrix`, by its turning; `inner`: room for three."""
    for i in range(3):
        inner[i] = matrix[0, i] * spin[0] + matrix[1, i] * spin[1] + matrix[2, i] * spin[2]
    x, y, z = inner[0], inner[1], inner[2]
    for i in range(3):
        inner[i] = inverse[i, 0] * x + inverse[i, 1] * y + inverse[i, 2] * z
    for i in range(3):
        rate[i] = matrix[i, 0] * inner[0] + matrix[i, 1] * inner[1] + matrix[i, 2] * inner[2]


class Seen(NamedTuple):
    """What is worked out at one moment of one start, to be filled: all places (points without mass where they are
    looked for first), what passed, the lines, and newtons on points with mass, on bodies, and about their centres."""

    at: Array
    passed: Array
    lines: Drawn
    pushes: Array
    on_bodies: Array
    twists: Array


@inner
def look(
    t: Table, points: Array, centres: Array, turns: Array, kept: Kept, begin: Array, from_passed: Array, seen: Seen
) -> float:
    """What is pulled by what, where everything is; newtons left over at points without mass."""
    count, bodies, riding = t.mass.shape[0], t.body_mass.shape[0], t.carrier.shape[0]
    moving = count + t.light + riding
    arms, matrices = np.empty((riding, 3)), np.empty((bodies, 3, 3))
    for k in range(bodies):
        turned(turns[k], matrices[k])
    copied(points, seen.at, 0)
    for c in range(riding):
        body = t.carrier[c]
        for i in range(3):
            arm = 0.0
            for j in range(3):
                arm += matrices[body, i, j] * t.arms[c, j]
            arms[c, i] = arm
            seen.at[count + t.light + c, i] = centres[body, i] + arm
    copied(t.fixed, seen.at, moving)
    left = settle(t, seen.at, kept, begin, from_passed, seen.passed, seen.lines)
    total = np.empty((moving, 3))
    pushed(t, seen.lines, total)
    for n in range(count):
        for i in range(3):
            seen.pushes[n, i] = total[n, i]
    for k in range(bodies):
        for i in range(3):
            seen.on_bodies[k, i] = -GRAVITY * t.body_mass[k] if i == 2 else 0.0
            seen.twists[k, i] = 0.0
    for c in range(riding):
        body, n = t.carrier[c], count + t.light + c
        for i in range(3):
            seen.on_bodies[body, i] += total[n, i]
            j, k = (i + 1) % 3, (i + 2) % 3
            seen.twists[body, i] += arms[c, j] * total[n, k] - arms[c, k] * total[n, j]
    return left


def room_for(masses: Masses, count: int) -> Seen:
    """Room for what is seen of `count` starts."""
    segments, lines = len(masses.start), masses.lines
    drawn = Drawn(
        np.empty((count, segments, 3)),
        np.empty((count, segments)),
        *(np.empty((count, lines)) for _ in range(4)),
    )
    return Seen(
        np.empty((count, masses.moving + len(masses.fixed), 3)),
        np.empty((count, masses.grips)),
        drawn,
        np.empty((count, masses.points, 3)),
        np.empty((count, masses.bodies, 3)),
        np.empty((count, masses.bodies, 3)),
    )


@inner
def one_of(seen: Seen, b: int) -> Seen:
    """What is seen of one start, out of that of all."""
    lines = seen.lines
    drawn = Drawn(
        lines.apart[b], lines.lengths[b], lines.total[b], lines.stretch[b], lines.tension[b], lines.stiffer[b]
    )
    return Seen(seen.at[b], seen.passed[b], drawn, seen.pushes[b], seen.on_bodies[b], seen.twists[b])


@inner
def kept_of(kept: Kept, b: int) -> Kept:
    return Kept(kept.passed[b], kept.slipped[b], kept.farthest[b], kept.longer[b])


@compiled
def looks(
    t: Table, points: Array, centres: Array, turns: Array, kept: Kept, light: Array, passed: Array, seen: Seen,
    left: Array,
) -> None:  # fmt: skip
    count = t.mass.shape[0]
    for b in range(points.shape[0]):
        one = one_of(seen, b)
        copied(light[b], one.at, count)
        left[b] = look(t, points[b], centres[b], turns[b], kept_of(kept, b), light[b], passed[b], one)
