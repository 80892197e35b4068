"""What each part carries: forces through the parts of a lump, from the lines that pull on it.

A lump is rigid and weightless but for what is said to have a mass. Where its parts form a chain (or
any tree), what passes from one to the next follows: the sum of all that pulls beyond. A part carries the
largest sum that crosses it (`crossing.py`). Where two parts lie side by side in one lump, their shares can't be
told, and each is given all of it (`at_most`). Knots whose loops pass through one another on one ring carry what
their own rope brings.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from analyser.forces.crossing import crossing
from analyser.forces.equilibrium import Equilibrium
from analyser.forces.frames import frame_pulls
from analyser.forces.lumps import Joined
from analyser.forces.network import Array, shape
from analyser.forces.points import Point, as_point
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class PartForce:
    """What a part carries, in newtons: the largest force that crosses it, over every split of its lines in two.

    For a pulley that is the sum of both strands, for an anchor all that it holds, for a chain link what passes
    through it, for a ring with people below it all of them. `direction` is where that force pulls (a unit vector),
    `included` the angle in degrees between the strands of a rope that runs through it, or the widest between two
    lines that pull on an anchor, or that hold up what hangs from a ring. `at_most`: it shares its load with a part
    beside it, in a way that can't be told.
    """

    name: str
    force: float
    direction: Point
    included: float | None = None
    at_most: bool = False


@dataclass(slots=True)
class _Pull:
    """One pull on an element of a lump: its force, the line it comes from (None: what presses on it), and
    whether that line runs through there."""

    force: Array
    line: str | None
    strand: bool
    rope: str | None = None
    with_line: str | None = None
    """The line with which something presses."""


def part_forces(
    rig: Rig, found: Equilibrium, tension: Array | None = None, *, angles: bool = True
) -> tuple[PartForce, ...]:
    """The force on every loaded part, by name. `tension` in place of the equilibrium's own (a peak),
    with the same directions; without `angles` none is told, which is quicker."""
    assembly = found.solved.assembly
    network = assembly.network
    formed = shape(network, found.solved.state)
    tension = found.solved.tension if tension is None else tension
    ropes = {rope.name: rope for rope in rig.ropes}
    pulls: dict[int, dict[str, list[_Pull]]] = defaultdict(lambda: defaultdict(list))
    segments: dict[int, list[int]] = defaultdict(list)
    meeting: dict[tuple[int, int], tuple[str, str, str]] = {}
    for at, of in enumerate(network.line):
        segments[int(of)].append(at)
    for number, line in enumerate(assembly.lines):
        parts: list[str]
        if line.rope is None:
            parts = [f"{line.part}|0", f"{line.part}|1"]
        else:
            station = {str(s.label): s.part for s in ropes[line.rope].stations}
            parts = [station[label] for label in line.labels]
        elements: list[str] = []
        for at, (node, part) in enumerate(zip(line.path, parts, strict=True)):
            element = part if part in assembly.lumps.of or "|" in part else f"{part}|1"
            elements.append(element)
            if at > 0:
                back = -formed.directions[segments[number][at - 1]] * tension[number]
                pulls[node][element].append(_Pull(back, line.name, 0 < at < len(line.path) - 1, line.rope))
            if at < len(line.path) - 1:
                on = formed.directions[segments[number][at]] * tension[number]
                pulls[node][element].append(_Pull(on, line.name, 0 < at < len(line.path) - 1, line.rope))
        for (a, b), (here, there) in zip(pairwise(line.path), pairwise(elements), strict=True):
            meeting[a, b], meeting[b, a] = (here, there, line.name), (there, here, line.name)
    _press(found, tension, pulls, meeting)
    told: dict[str, PartForce] = {}
    outside = _through_frames(rig, found, pulls, told)
    for node, k in enumerate(assembly.nodes):
        if isinstance(k, str) and node < assembly.network.moving:
            continue  # somebody's feet
        if isinstance(k, str):
            mine = pulls[node][k]
            told[k] = _part_force(k, sum((p.force for p in mine), np.zeros(3)), _strands(mine), False)
            continue
        for one in _lump_forces(rig, found, k, node, pulls[node], angles):
            if one.name not in told or told[one.name].force < one.force:
                told[one.name] = one
    for k, mine_there in outside.items():
        told |= {one.name: one for one in _lump_forces(rig, found, k, None, mine_there, angles)}
    for number, line in enumerate(assembly.lines):
        if line.part is not None:
            where = as_point(formed.directions[segments[number][0]])
            told[line.part] = PartForce(line.part, float(tension[number]), where)
    return tuple(told[name] for name in sorted(told))


def _press(
    found: Equilibrium,
    tension: Array,
    pulls: dict[int, dict[str, list[_Pull]]],
    meeting: Mapping[tuple[int, int], tuple[str, str, str]],
) -> None:
    """Where something has run up to something else: the rope between, of no length, draws it up with its
    tension, and the two press on each other with what that is more than all else that pulls it off."""
    assembly = found.solved.assembly
    network = assembly.network
    number = {line.name: k for k, line in enumerate(assembly.lines)}
    for a, b in found.solved.jams:
        if (a, b) not in meeting or a >= network.moving:
            continue
        one, other, line = meeting[a, b]
        off = sum((pull.force for many in pulls[a].values() for pull in many), np.zeros(3))
        off[2] -= assembly.weight_at(a)
        size = float(np.linalg.norm(off))
        away = off / size if size > 0 else np.array([0.0, 0.0, -1.0])
        drawn = float(tension[number[line]])
        for node, element, sign in ((a, one, -1.0), (b, other, 1.0)):
            runs = any(pull.strand and pull.line == line for pull in pulls[node][element])
            pulls[node][element].append(_Pull(sign * drawn * away, line, runs))
            pulls[node][element].append(
                _Pull(sign * (size - drawn) * away, None, False, with_line=line if runs else None)
            )


def _through_frames(
    rig: Rig, found: Equilibrium, pulls: dict[int, dict[str, list[_Pull]]], told: dict[str, PartForce]
) -> dict[int, dict[str, list[_Pull]]]:
    """What frames put on their feet and guys, with the pulls where those are; for lumps that carry nothing
    else, by lump. A sling that holds a guy is told at once."""
    assembly = found.solved.assembly
    heads = {}
    for part in rig.parts.values():
        node = assembly.node_of.get(assembly.lumps.of.get(part.name, -1)) if part.nature is Nature.FRAME else None
        if node is not None and node >= assembly.network.moving:
            down = np.array([0.0, 0.0, -assembly.resting.get(node, 0.0)])
            heads[part.name] = sum((p.force for many in pulls[node].values() for p in many), down)
    outside: dict[int, dict[str, list[_Pull]]] = defaultdict(lambda: defaultdict(list))
    for one in frame_pulls(rig, found, heads):
        alone = one.sling or (one.element if one.lump < 0 else None)
        if alone:
            size = float(np.linalg.norm(one.force))
            told[alone] = PartForce(alone, size, as_point(one.force / max(size, 1e-9)))
        if one.lump >= 0:
            place = assembly.node_of.get(one.lump)
            there = outside[one.lump] if place is None else pulls[place]
            there[one.element].append(_Pull(one.force, one.line, False))
    return outside


def _lump_forces(
    rig: Rig, found: Equilibrium, k: int, node: int | None, pulls: dict[str, list[_Pull]], angles: bool
) -> list[PartForce]:
    """The parts of lump `k`, which is that node (None: one that is fixed, and no line's)."""
    assembly = found.solved.assembly
    lump = assembly.lumps.lumps[k]
    network = assembly.network
    outer: dict[str, Array] = {name: np.zeros(3) for name in lump.parts}
    for name, mine in pulls.items():
        outer[name] = sum((p.force for p in mine), outer[name])
    weight = assembly.weight_at(node) if node is not None else 0.0
    masses = {n: dict(rig.parts[n].quantities)["mass"].si for n in lump.parts if _weighs(rig, n)}
    total = sum(masses.values())
    for n, mass in masses.items():
        outer[n] = outer[n] + np.array([0.0, 0.0, -mass / total * weight])
    held = -sum(outer.values(), np.zeros(3))
    own: dict[str, Array] = {}
    free = node is not None and node < network.free
    if free:  # followed in time, what is left over stops or flings its mass; at rest nothing is left over
        for n, mass in masses.items():
            outer[n] = outer[n] + mass / total * held
    else:  # the ground, or the body that carries the point
        holder = min(lump.parts, key=lambda n: (n not in rig.parts or _holding(rig, n), n))
        if node is None or node >= network.moving:
            own[holder] = outer[holder]  # what pulls on the ground itself: rope run through an anchor, a leg
        outer[holder] = outer[holder] + held
    near: dict[str, list[str]] = defaultdict(list)
    for a, b in _contacts(rig, lump.contacts):
        near[a].append(b)
        near[b].append(a)
    made = []
    lines = [p for many in pulls.values() for p in many] if angles else []
    for name in lump.parts:
        if name not in rig.parts:
            continue
        exact, bounds = _sides(name, near, outer)
        mine = pulls.get(name, [])
        nature = rig.parts[name].nature
        angle = _angle(nature, free, mine, lines) if angles else None
        if nature in (Nature.GROUND, Nature.FRAME):  # it bears the sum
            groups = [*exact, outer[name], *([own[name]] if name in own else [])]
            one = _part_force(name, max(groups, key=lambda force: float(force @ force)), angle, False)
        else:
            through = _by_line(mine, nature is Nature.GRIP)
            rest = outer[name] - sum(through, np.zeros(3))  # its weight, or what bears the lump
            ends = [*through, rest] if float(rest @ rest) > 1e-12 else through
            beside = [sum(bounds, np.zeros(3))] if bounds else []
            one = _part_force(name, crossing([*exact, *ends, *beside]), angle, False)
            if nature is Nature.KNOT:
                each = [_part_force(name, pull.force, angle, False) for pull in mine]
                one = max([one, *each], key=lambda told: told.force)
            if bounds:
                bound = _part_force(name, crossing([*exact, *ends, *bounds]), angle, True)
                one = bound if bound.force > one.force * (1 + 1e-9) else one
        made.append(one)
    return made


def _by_line(mine: Sequence[_Pull], grips: bool) -> list[Array]:
    """What pulls on a part, the two strands of a rope that runs through it as one: they bend round it. So do those
    on the two sides of a grip, which holds no more than their sum."""
    strands: dict[str, Array] = {}
    told = []
    for pull in mine:
        whole = pull.with_line or (pull.rope if grips else pull.line if pull.strand else None)
        if whole is not None:
            strands[whole] = strands.get(whole, np.zeros(3)) + pull.force
        else:
            told.append(pull.force)
    return [*told, *strands.values()]


def _contacts(rig: Rig, contacts: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """The contacts that carry: not that of two knots whose loops pass through one another, where both hang on
    something else beside (it carries once one of them has gone)."""
    laced = [pair for pair in contacts if all(n in rig.parts and rig.parts[n].nature is Nature.KNOT for n in pair)]
    if not laced:
        return list(contacts)
    joined = Joined()
    kept = [pair for pair in contacts if pair not in laced]
    for a, b in kept:
        joined.join(a, b)
    return kept + [(a, b) for a, b in laced if joined.find(a) != joined.find(b)]


def _weighs(rig: Rig, name: str) -> bool:
    return name in rig.parts and "mass" in dict(rig.parts[name].quantities)


def _holding(rig: Rig, name: str) -> int:
    """Which part of a lump the ground (0) or the body that carries it (1) holds."""
    part = rig.parts[name]
    if part.nature in (Nature.GROUND, Nature.FRAME) or part.standing:
        return 0
    return 1 if part.nature in (Nature.POINT, Nature.LITTER) else 2


def _sides(name: str, near: dict[str, list[str]], outer: dict[str, Array]) -> tuple[list[Array], list[Array]]:
    """What acts on a part from each neighbour: all that pulls on the parts nearer to that neighbour.
    First where that is exact, then where some of it may come by another neighbour: there it is a bound."""
    owner: dict[str, str] = {name: name}
    todo = []
    for one in near[name]:
        if one not in owner:
            owner[one] = one
            todo.append(one)
    shared: set[str] = set()
    while todo:
        after = []
        for one in todo:
            for other in near[one]:
                if other not in owner:
                    owner[other] = owner[one]
                    after.append(other)
                elif owner[other] != owner[one] and other != name:
                    shared |= {owner[one], owner[other]}
        todo = after
    sums: dict[str, Array] = defaultdict(lambda: np.zeros(3))
    for one, side in owner.items():
        if one != name:
            sums[side] = sums[side] + outer.get(one, np.zeros(3))
    sides = dict.fromkeys(near[name])
    return [sums[side] for side in sides if side not in shared], [sums[side] for side in sides if side in shared]


def _part_force(name: str, largest: Array, included: float | None, shared: bool) -> PartForce:
    size = float(np.linalg.norm(largest))
    direction = as_point(largest / size) if size > 0 else (0.0, 0.0, 0.0)
    return PartForce(name, size, direction, included, shared)


def _angle(nature: Nature, free: bool, mine: list[_Pull], lines: list[_Pull]) -> float | None:
    through = _strands([p for p in mine if p.strand])
    if through is not None:
        return through
    if nature in (Nature.POINT, Nature.HARNESS, Nature.KNOT) or nature is Nature.PERSON:
        return None
    return _strands([p for p in lines if p.line is not None and (not free or p.force[2] > 0)])


def _strands(pulls: list[_Pull]) -> float | None:
    """The widest angle between two pulls, in degrees; None for fewer than two."""
    units = [p.force / size for p in pulls if (size := float(np.linalg.norm(p.force))) > 0]
    if len(units) < 2:
        return None
    widest = max(float(np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b)) for a, b in combinations(units, 2))
    return math.degrees(widest)
