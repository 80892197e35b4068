"""How a litter hangs as its legs get longer or shorter, and how long they must be for a wished attitude."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyser.forces.assembling import Case
from analyser.forces.drawn import Drawn, towards_head
from analyser.forces.equilibrium import BodyPose, Equilibrium, Statics
from analyser.forces.newton import BALANCED
from analyser.forces.points import Point
from analyser.rig.model import Rig

STEP = 0.05
"""Metres by which lines are let out or taken in at a time."""

ANGLE = 1e-6
"""Degrees within which a wished attitude is met."""


SAME = 1e-4
"""Share of the load within which two lines carry the same."""


@dataclass(frozen=True, slots=True)
class Hung:
    """A body's attitude with some lines let out by `out` metres; tensions in newtons by line."""

    out: float
    pose: BodyPose
    tensions: dict[str, float]
    slack: tuple[str, ...]
    residual: float
    equilibrium: Equilibrium

    @property
    def head_up(self) -> float:
        assert self.pose.head_up is not None
        return self.pose.head_up


@dataclass(frozen=True, slots=True)
class Wished:
    """Lines let out (or taken in, when negative) by `out` metres give the attitude that was asked for.

    `lengths` are the metres of those lines at rest then.
    """

    out: float
    lengths: dict[str, float]
    hung: Hung


@dataclass(frozen=True, slots=True)
class OutOfReach:
    """No length that was tried gives the attitude: what those tried did give, in degrees."""

    wished: float
    lowest: float
    highest: float


def ends_of(rig: Rig, body: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The points at the head and at the foot of a body, by name; empty where it has none."""
    part = rig.parts[body]
    if part.ends is not None:
        return part.ends
    head, foot = (
        tuple(point for point in part.points if point.split(".", 1)[1].startswith(word)) for word in ("head", "foot")
    )
    return head, foot


def adjusted(statics: Statics, body: str, case: Case | None = None) -> tuple[str, ...]:
    """What one lets out to lower the foot of a body: the rope of the tackle that its foot legs hang from,
    where there is exactly one, else the legs at its foot end; lines by name."""
    assembly = statics.equilibrium(case).solved.assembly
    sides = ends_of(statics.rig, body)
    of, node_of = assembly.lumps.of, assembly.node_of
    nodes = [{node_of[of[point]] for point in side if of.get(point) in node_of} for side in sides]
    carried = {at for at, k in enumerate(assembly.nodes) if isinstance(k, int) and assembly.lumps.lumps[k].body == body}
    legs: tuple[list[str], list[str]] = ([], [])
    beyond: tuple[set[int], set[int]] = (set(), set())
    for line in assembly.lines:
        for here, there in ((line.path[0], line.path[-1]), (line.path[-1], line.path[0])):
            for side in (0, 1):
                if here in nodes[side] and there not in carried:
                    legs[side].append(line.name)
                    beyond[side].add(there)
    of_feet = {node for node in beyond[1] - beyond[0] if node < assembly.network.free}
    ropes = [line.name for line in assembly.lines if line.rope and of_feet & {*line.path} and line.name not in legs[1]]
    return tuple(ropes) if len(ropes) == 1 else tuple(sorted(legs[1]))


def from_foot(rig: Rig, said: Drawn, person: str, metres: float) -> tuple[str, float, float] | None:
    """Where `metres` from the foot end of the litter that a person lies in is: the litter, how far the person
    is moved for that from where they are drawn, towards the head, and the length between its two ends.

    None where the person lies in no litter with a head and a foot.
    """
    for body, shape in sorted(said.shapes.items()):
        sides = ends_of(rig, body)
        if person not in shape.offsets or rig.parts[body].points.count(person) or not all(sides):
            continue
        axis = towards_head(shape.offsets)

        def along(at: Point, axis: Point = axis) -> float:
            return sum(a * b for a, b in zip(at, axis, strict=True))

        head, foot = (
            sum(along(shape.offsets[point]) for point in side if point in shape.offsets)
            / max(1, sum(point in shape.offsets for point in side))
            for side in sides
        )
        return body, foot + metres - along(shape.offsets[person]), head - foot
    return None


def hung(
    statics: Statics,
    body: str,
    lines: Sequence[str],
    out: float,
    case: Case | None = None,
    near: Equilibrium | None = None,
) -> Hung:
    """A body with `lines` (soft parts, ropes of one line, lines by name) let out by `out` metres."""
    case = case or Case()
    extra = {**case.extra} | {name: case.extra.get(name, 0.0) + out for name in lines}
    found = statics.equilibrium(replace(case, extra=extra), near)
    tensions = {line.name: line.tension for line in found.lines}
    return Hung(out, found.pose(body), tensions, found.slack, found.residual, found)


def sweep(
    statics: Statics, body: str, lines: Sequence[str], outs: Sequence[float], case: Case | None = None
) -> tuple[Hung, ...]:
    """The body at each of `outs`, each found from the one before it: attitude and every tension
    against rope let out (the small tackle that takes the place of the foot legs, for one)."""
    told: list[Hung] = []
    for out in outs:
        told.append(hung(statics, body, lines, out, case, told[-1].equilibrium if told else None))
    return tuple(told)


def wished(
    statics: Statics,
    body: str,
    lines: Sequence[str],
    head_up: float,
    case: Case | None = None,
    bounds: tuple[float, float] = (-1.0, 1.0),
) -> Wished | OutOfReach:
    """How far `lines` must be let out for the body to hang with `head_up` degrees of head over feet.

    Looked for from the rig as it is, in steps of 5 cm up to `bounds` (metres), first the way that brings
    it nearer; each is found from the one before, so that the body gets there without a jump; then
    between the two that it lies between.
    """
    start = hung(statics, body, lines, 0.0, case)
    rests = {name: start.equilibrium.line(name).rest for name in lines}
    least = max(bounds[0], 0.05 - min(rests.values()))
    seen = [start.head_up]
    ways = [(STEP, bounds[1]), (-STEP, least)]
    if bounds[1] > STEP and head_up < start.head_up < hung(statics, body, lines, STEP, case, start.equilibrium).head_up:
        ways.reverse()
    for way, bound in ways:
        a = start
        while abs(a.head_up - head_up) > ANGLE and abs(a.out + way) <= abs(bound):
            b = hung(statics, body, lines, a.out + way, case, a.equilibrium)
            if b.residual > BALANCED:
                break
            seen.append(b.head_up)
            if (a.head_up - head_up) * (b.head_up - head_up) <= 0:
                a = _between(statics, body, lines, head_up, case, a, b)
                break
            a = b
        if abs(a.head_up - head_up) <= ANGLE:
            return Wished(a.out, {name: a.equilibrium.line(name).rest for name in lines}, a)
    return OutOfReach(head_up, min(seen), max(seen))


def _between(
    statics: Statics, body: str, lines: Sequence[str], head_up: float, case: Case | None, a: Hung, b: Hung
) -> Hung:
    """The body at the wished attitude, which lies between two lengths; where it jumps there, the side
    that it jumps from. By false position, and by halving where that hasn't halved the stretch in two steps (a leg
    that goes slack bends the curve); each found from the side that it comes from: a body that hangs plumb may turn
    to either side."""
    wide = abs(b.out - a.out)
    for count in range(200):
        fa, fb = a.head_up - head_up, b.head_up - head_up
        if min(abs(fa), abs(fb)) <= ANGLE or abs(b.out - a.out) < 1e-10:
            break
        out = (a.out * fb - b.out * fa) / (fb - fa)
        if count % 3 == 2:
            out = 0.5 * (a.out + b.out) if abs(b.out - a.out) > 0.25 * wide else out
            wide = abs(b.out - a.out)
        now = hung(statics, body, lines, out, case, a.equilibrium)
        a, b = (now, b) if (now.head_up - head_up) * fa > 0 else (a, now)
    return a if abs(a.head_up - head_up) <= abs(b.head_up - head_up) else b


def alike(told: Sequence[Hung]) -> tuple[tuple[str, ...], ...]:
    """The lines by name, those together that carry the same in every case (the two head legs, say)."""
    load = max(one.equilibrium.load for one in told)
    groups: list[tuple[list[str], list[float]]] = []
    for line in told[0].equilibrium.lines:
        row = [one.tensions[line.name] for one in told]
        for names, same in groups:
            if all(abs(a - b) <= SAME * load for a, b in zip(row, same, strict=True)):
                names.append(line.name)
                break
        else:
            groups.append(([line.name], row))
    return tuple(tuple(names) for names, _ in groups)
