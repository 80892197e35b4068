"""Lengths and places that hardly can all be: lines too short for the two fixed places that they join, and
ropes that have no length.

How far apart two places can be follows from the lines between: the shortest way over them, each as long
as it is at rest and a tenth more. Two places on the ground, or two points of one rigid body, that are
further apart would stretch their lines by more than a tenth: forces come out, and are enormous. Where
something free is drawn is not asked after: it is found.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from analyser.forces.lumps import Lumps
from analyser.forces.missing import Wanted
from analyser.forces.points import Point
from analyser.forces.rope_lines import RopeLine
from analyser.rig.figures import as_length, units, value
from analyser.rig.model import Nature, Part, Rig

STRETCHED = 1.1
"""How much longer than at rest a line is taken to get at most."""
NO_LENGTH = 1e-3
"""Metres of rope under which there is none."""
Way = tuple[tuple[str, float], ...]
Reach = dict[int, list[tuple[int, float, str]]]


def too_short(
    rig: Rig,
    lumps: Lumps,
    lines: Sequence[RopeLine],
    place: Sequence[Point | None],
    fixed: Iterable[int],
    rest: Mapping[str, float],
    spans: Mapping[str, tuple[float, float]],
    offsets: Mapping[str, Mapping[str, Point]],
) -> list[Wanted]:
    """Each pair that its lines don't reach between, told on the first part of the shortest way.

    `place` are the lumps' places, `fixed` the lumps on the ground, `rest` metres of soft parts and `spans` of
    ropes (their metres as drawn, and slack), `offsets` of each rigid body's points from its centre.
    """
    near: Reach = {}

    def join(a: int, b: int, length: float, name: str) -> None:
        if a != b and length < math.inf:
            near.setdefault(a, []).append((b, length, name))
            near.setdefault(b, []).append((a, length, name))

    for soft in lumps.soft:
        join(*soft.ends, rest.get(soft.part, math.inf), soft.part)
    for line in lines:
        length = sum(sum(spans[line.rope.spans[k]]) for k in range(line.first, line.last))
        nodes = [k for k in line.path if isinstance(k, int)]
        if not line.passed and not line.to_stopper:
            for one, two in [*pairwise(nodes), (nodes[0], nodes[-1])]:
                join(one, two, length, line.rope.name)
    groups: list[tuple[str | None, dict[int, Point]]] = [(None, {})]
    for k in fixed:
        if (at := place[k]) is not None:
            groups[0][1][k] = at
    for own, points in offsets.items():
        inside = {
            k: at
            for k, lump in enumerate(lumps.lumps)
            if lump.body == own and (at := next((points[one] for one in lump.parts if one in points), None))
        }
        groups.append((own, inside))
    told: list[Wanted] = []
    for body, places in groups:
        for k, here in places.items():
            for other, (far, way) in _reached(near, k).items():
                if other <= k or other not in places:
                    continue
                apart = math.dist(here, places[other])
                if apart > far * STRETCHED + 0.01:
                    told.append(_told(rig, lumps, (k, other), way, far, apart, body))
    return told


def without_length(
    rig: Rig, lumps: Lumps, lines: Iterable[RopeLine], spans: Mapping[str, tuple[float, float]]
) -> list[Wanted]:
    """Each line of rope between two points that are written at one place: told on its rope."""
    told: list[Wanted] = []
    for line in lines:
        ends = [k for k in line.path if isinstance(k, int)]
        if len({*ends}) < 2 or line.to_stopper:
            continue
        if sum(sum(spans[line.rope.spans[k]]) for k in range(line.first, line.last)) > NO_LENGTH:
            continue
        names = " and ".join(_name(rig, lumps, k) for k in (ends[0], ends[-1]))
        why = f"{line.name} has no length: {names} are at one place"
        told.append(Wanted(f"rope {line.rope.name}: {as_length(5, '.2g')}", why, line.rope.place))
    return told


def _reached(near: Reach, start: int) -> dict[int, tuple[float, Way]]:
    """How far each lump may be from `start` at most, over lines at rest, and by which (Dijkstra 1959)."""
    found: dict[int, tuple[float, Way]] = {}
    todo: list[tuple[float, int, Way]] = [(0.0, start, ())]
    while todo:
        far, here, way = heapq.heappop(todo)
        if here in found:
            continue
        found[here] = (far, way)
        for there, length, name in near.get(here, ()):
            if there not in found:
                heapq.heappush(todo, (far + length, there, (*way, (name, length))))
    return found


def _told(
    rig: Rig, lumps: Lumps, pair: tuple[int, int], way: Way, far: float, apart: float, inside: str | None
) -> Wanted:
    names = [_name(rig, lumps, k) for k in pair]
    lines = list(dict.fromkeys(name for name, _ in way))
    reach = f"{' and '.join(lines)} {'is' if len(lines) == 1 else 'are together'} {as_length(far)} long"
    where = f", points of {inside}," if inside else ""
    why = f"{reach}, and {names[0]} and {names[1]}{where} are {as_length(apart)} apart"
    first, length = way[0]
    rope = next((rope for rope in rig.ropes if rope.name == first), None)
    enough = f"{math.ceil(10 * value(length + apart - far, units().length)) / 10:g} {units().length}"
    if rope is not None:
        return Wanted(f"rope {first}: {enough}", why, rope.place)
    return Wanted(f"{first}: length {enough}", why, rig.parts[first].place)


def _name(rig: Rig, lumps: Lumps, k: int) -> str:
    """What one would measure to, in a lump: the ground, a point of a body, else what has a place."""
    parts = [rig.parts[name] for name in lumps.lumps[k].parts if name in rig.parts]

    def firm(part: Part) -> bool:
        return part.nature in (Nature.GROUND, Nature.FRAME, Nature.POINT) or part.standing

    return min(parts, key=lambda part: (not firm(part), part.at is None, part.name)).name
