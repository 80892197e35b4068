"""Edges push and never pull: a rope that hangs clear of one isn't touched by it.

An edge is a point here, and the rock lies below it and to that side to which the rope's own ground lies. A rope
over it presses it down and towards the rock. One that would have to draw it up, or away from the rock, lies clear.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from analyser.forces.points import Point
from analyser.rig.model import Nature, Part, Rig, Role, Rope

NO_SIDE = 0.1
"""Metres across within which ground is straight above or below an edge, and tells no side."""


def pulled(rig: Rig, rope: Rope, k: int, pull: Sequence[float], least: float) -> bool:
    """Would the edge at station `k` have to pull on the rope? `pull` is what the rope pulls the edge with."""
    inward = _inward(rig, rope, k, rig.parts[rope.stations[k].part])
    outwards = -(pull[0] * inward[0] + pull[1] * inward[1]) if inward else 0.0
    return pull[2] > least or outwards > least


def clear(rig: Rig, rope: Rope, k: int, before: Point, after: Point) -> bool:
    """Does the rope as drawn, straight from one place to the next, lie clear of the edge between them?"""
    at = rig.parts[rope.stations[k].part].at
    if at is None or before == at or after == at:
        return False
    ways = [[(x - y) / math.dist(end, at) for x, y in zip(end, at, strict=True)] for end in (before, after)]
    return pulled(rig, rope, k, [a + b for a, b in zip(*ways, strict=True)], 1e-6)


def inwards(rig: Rig, rope: Rope, edge: Part) -> tuple[float, float] | None:
    """The level direction from an edge to its rock, by the ground of a rope that lies over it; None by others."""
    k = next((k for k, station in enumerate(rope.stations) if station.part == edge.name), None)
    return None if k is None else _inward(rig, rope, k, edge)


def _inward(rig: Rig, rope: Rope, k: int, edge: Part) -> tuple[float, float] | None:
    """The level direction from an edge to the rock: to the ground of the rope's own, the nearest along it that
    tells a side; None where none does."""
    if edge.at is None:
        return None
    order = sorted(range(len(rope.stations)), key=lambda n: (abs(n - k), n))
    for n in order:
        if rope.stations[n].role in (Role.OVER, Role.STOPPER):
            continue
        for at in _ground_at(rig, rope.stations[n].part):
            x, y = at[0] - edge.at[0], at[1] - edge.at[1]
            size = math.hypot(x, y)
            if size > NO_SIDE:
                return x / size, y / size
    return None


def _ground_at(rig: Rig, name: str) -> list[Point]:
    """The places of the ground that a station is on, directly or over what touches it."""
    seen, todo, found = {name}, [name], []
    while todo:
        part = rig.parts[todo.pop()]
        if part.nature is Nature.GROUND or part.standing:
            if part.at is not None and not part.below:
                found.append(part.at)
            continue
        if part.is_body or part.nature is Nature.FRAME:
            continue
        for other in rig.touching[part.name]:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return found
