"""Rigid bodies as they lie: their points turned with them, a litter's rail, the basket under it and the head above."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyser.rig.model import Nature, Part

if TYPE_CHECKING:
    from analyser.forces.equilibrium import BodyPose, Equilibrium

Point = tuple[float, float, float]
DEEP = 0.22
"""Metres of a litter's basket under its rail, as drawn."""
HEAD = 0.14
"""Metres of a patient's head over the rail, as drawn."""


@dataclass(frozen=True, slots=True)
class Litter:
    """`rail` from foot to head; `floor` the same on the side that lies below as drawn; `head` where a head would be."""

    rail: tuple[Point, ...]
    floor: tuple[Point, ...]
    head: Point | None

    def hull(self, across: int) -> list[Point]:
        """The outline on the page."""
        points = sorted({*self.rail, *self.floor}, key=lambda p: (p[across], p[2]))

        def half(order: list[Point]) -> list[Point]:
            chain: list[Point] = []
            for p in order:
                while len(chain) > 1:
                    ax, az = chain[-1][across] - chain[-2][across], chain[-1][2] - chain[-2][2]
                    bx, bz = p[across] - chain[-2][across], p[2] - chain[-2][2]
                    if ax * bz - az * bx > 1e-12:
                        break
                    chain.pop()
                chain.append(p)
            return chain[:-1]

        return half(points) + half(points[::-1])


def whole_body(one: Equilibrium, before: Equilibrium | None, body: Part) -> list[tuple[str, Point]]:
    """Where a body's points are: as told, else turned with the body from where they were before."""
    pose = _pose(one, body)
    was = _pose(before, body) if before else None
    found = []
    for point in body.points:
        if point in one.at:
            found.append((point, one.at[point]))
        elif pose and was and before and point in before.at:
            arm = [a - b for a, b in zip(before.at[point], was.centre, strict=True)]
            own = [sum(was.turn[i][k] * arm[i] for i in range(3)) for k in range(3)]
            found.append((point, _placed(pose, own)))
    return found


def litter(one: Equilibrium, before: Equilibrium | None, body: Part) -> Litter | None:
    """A litter, or a load with an attitude, as it lies; None where it has none."""
    pose = _pose(one, body)
    points = whole_body(one, before, body)
    if pose is None or len(points) < 2:
        return None
    lies_up = [row[2] for row in pose.turn]
    down = [-DEEP * x for x in lies_up]
    rail = tuple(at for _, at in points)
    floor = tuple((p[0] + down[0], p[1] + down[1], p[2] + down[2]) for p in rail)
    heads = [at for point, at in points if point.split(".", 1)[1].startswith("head")]
    feet = [at for point, at in points if point.split(".", 1)[1].startswith("foot")]
    head = None
    if body.nature is Nature.LITTER and heads and feet:
        top = [sum(p[i] for p in heads) / len(heads) for i in range(3)]
        low = [sum(p[i] for p in feet) / len(feet) for i in range(3)]
        x, y, z = (t + 0.12 * (f - t) + HEAD * u for t, f, u in zip(top, low, lies_up, strict=True))
        head = (x, y, z)
    return Litter(rail, floor, head)


def _pose(one: Equilibrium, body: Part) -> BodyPose | None:
    return next((pose for pose in one.poses if pose.name == body.name), None)


def _placed(pose: BodyPose, own: list[float]) -> Point:
    x, y, z = (c + sum(row[k] * own[k] for k in range(3)) for c, row in zip(pose.centre, pose.turn, strict=True))
    return (x, y, z)
