"""What is seen at one moment: where everything is, what the lines pull there, and what that does to the masses."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from analyser.forces.compiled import compiled, inner
from analyser.forces.masses import Flags, Held, Lines, Masses, Table, pushed
from analyser.forces.network import Array, Ints
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
    """What is worked out at one moment of one start, or of all, to be filled: all places (points without mass where
    they are looked for first) and those of the points without mass, what passed, the lines, and newtons on points with
    mass, on bodies, and about their centres."""

    at: Array
    light: Array
    passed: Array
    lines: Lines
    pushes: Array
    on_bodies: Array
    twists: Array

    def of(self, which: Ints | Flags) -> Seen:
        return Seen(
            self.at[which],
            self.light[which],
            self.passed[which],
            self.lines.of(which),
            self.pushes[which],
            self.on_bodies[which],
            self.twists[which],
        )

    def put(self, which: Ints | Flags, other: Seen) -> None:
        self.lines.put(which, other.lines)
        for name in ("at", "light", "passed", "pushes", "on_bodies", "twists"):
            getattr(self, name)[which] = getattr(other, name)


@inner
def look(
    t: Table, points: Array, centres: Array, turns: Array, held: Held, begin: Array, from_passed: Array, seen: Seen
) -> None:
    """What is pulled by what, where everything is."""
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
    settle(t, seen.at, held, begin, from_passed, seen.passed, seen.lines)
    for n in range(t.light):
        for i in range(3):
            seen.light[n, i] = seen.at[count + n, i]
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


def room_for(masses: Masses, count: int) -> Seen:
    """Room for what is seen of `count` starts."""
    segments, lines = len(masses.start), masses.lines
    return Seen(
        np.empty((count, masses.moving + len(masses.fixed), 3)),
        np.empty((count, masses.light, 3)),
        np.empty((count, masses.grips)),
        Lines(
            np.empty((count, segments, 3)),
            np.empty((count, segments)),
            *(np.empty((count, lines)) for _ in range(4)),
        ),
        np.empty((count, masses.points, 3)),
        np.empty((count, masses.bodies, 3)),
        np.empty((count, masses.bodies, 3)),
    )


@inner
def one_of(seen: Seen, b: int) -> Seen:
    """What is seen of one start, out of that of all."""
    lines = seen.lines
    mine = Lines(lines.apart[b], lines.lengths[b], lines.total[b], lines.stretch[b], lines.tension[b], lines.stiffer[b])
    return Seen(seen.at[b], seen.light[b], seen.passed[b], mine, seen.pushes[b], seen.on_bodies[b], seen.twists[b])


@inner
def held_of(held: Held, b: int) -> Held:
    """What one start keeps, out of that of all."""
    return Held(held.light[b], held.passed[b], held.slipped[b], held.farthest[b], held.longer[b])


@compiled
def looks(t: Table, points: Array, centres: Array, turns: Array, held: Held, seen: Seen) -> None:
    """`look` for all starts, from what each of them keeps."""
    count = t.mass.shape[0]
    for b in range(points.shape[0]):
        one, mine = one_of(seen, b), held_of(held, b)
        copied(mine.light, one.at, count)
        look(t, points[b], centres[b], turns[b], mine, mine.light, mine.passed, one)
