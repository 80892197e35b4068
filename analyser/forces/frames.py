"""Frames carry pushes: what the legs of a tripod or gin pole take, and what its guys must.

The head of a frame is a fixed point for the rest of the rig. What pulls on it is shared out here: each leg can only
push, from its foot to the head; each guy can only pull, from the head to where its rope goes next. Where there are
more of them than balance alone can part, the bands between the extremes are told, and the smallest sum of squares
(`shared`). What no share can balance tips the frame (`upright.py`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import dist

import numpy as np

from analyser.forces.equilibrium import Equilibrium
from analyser.forces.lumps import Lumps, on_ground
from analyser.forces.missing import Wanted
from analyser.forces.network import Array
from analyser.forces.points import Point
from analyser.forces.rope_lines import RopeLine
from analyser.forces.upright import Footprint, footprint, shares
from analyser.rig.model import Nature, Part, Rig

LOADED = 1e-3
"""Share of the largest load under which nothing to speak of pulls on a frame."""
TOPPLES = 1e-6
"""Share of the head's load that may be left unbalanced."""


class Stand(StrEnum):
    """Does a frame stand under its load? `ON_EDGE`: only by exact balance, some push across would tip it;
    `UNTOLD`: a place is missing."""

    STANDS = "stands"
    ON_EDGE = "on edge"
    TIPS = "tips"
    UNTOLD = "untold"


@dataclass(frozen=True, slots=True)
class FrameForce:
    """Newtons in a frame: `legs` pushed on by foot, `guys` pulling by knot, and for each the `bands` that balance
    alone leaves it. `unbalanced` is what neither can take: the load
    then falls outside the feet, and the frame tips. `wanted` is what the file must say of feet and
    guys that have no place, and were left out. `footprint`: where the load's line meets the ground."""

    name: str
    load: Point
    legs: dict[str, float]
    guys: dict[str, float]
    bands: dict[str, tuple[float, float]]
    unbalanced: float
    stand: Stand
    shared: bool
    footprint: Footprint
    wanted: tuple[Wanted, ...] = ()

    @property
    def stands(self) -> bool:
        return self.stand is not Stand.TIPS


@dataclass(frozen=True, slots=True)
class FramePull:
    """One pull (newtons) that a frame puts on what it stands on or is guyed by: on the element of that
    name in that lump (-1: it touches nothing else); `line` is the rope it comes by (None: a leg's push)."""

    lump: int
    element: str
    force: Array
    line: str | None
    sling: str | None = None
    """The sling by which the ground holds that rope, where it isn't on the ground itself."""


def frame_forces(rig: Rig, found: Equilibrium) -> tuple[FrameForce, ...]:
    """What each loaded frame with a place carries, by name; none of those that only `need` what they are laced to
    (pickets), whose shares no leg tells."""
    told = []
    for part in rig.parts.values():
        pull = found.reactions.get(part.name)
        if part.nature is not Nature.FRAME or pull is None or part.name not in found.at or not _members(part):
            continue
        if float(np.linalg.norm(pull)) > LOADED * found.load:
            told.append(_frame(rig, found, part, np.array(pull)))
    return tuple(sorted(told, key=lambda one: one.name))


def frame_under(rig: Rig, found: Equilibrium, name: str, load: Array) -> tuple[FrameForce, ...]:
    """How a frame stands under another pull on its head (newtons); none where no leg or guy tells."""
    part = rig.parts[name]
    return (_frame(rig, found, part, load),) if name in found.at and _members(part) else ()


def hanging_on(found: Equilibrium, frame: str) -> frozenset[str]:
    """The bodies and other parts whose weight comes on a frame's head, over lines that are not slack."""
    assembly = found.solved.assembly
    network, lumps = assembly.network, assembly.lumps
    first = assembly.node_of.get(lumps.of.get(frame, -1))
    if first is None:
        return frozenset()
    near: dict[int, set[int]] = {}
    slack = {line.name for line in found.lines if line.slack}
    for line in assembly.lines:
        for node in line.path if line.name not in slack else ():
            near.setdefault(node, set()).update(line.path)
    for k, body in enumerate(network.carrier):
        mates = {network.free + n for n, other in enumerate(network.carrier) if other == body}
        near.setdefault(network.free + k, set()).update(mates)
    seen, todo = {first}, [first]
    while todo:
        node = todo.pop()
        for other in near.get(node, set()) - seen if node == first or node < network.moving else ():
            seen.add(other)
            todo.append(other)
    held = [lump for node in seen if isinstance(lump := assembly.nodes[node], int)]
    names = {name for lump in held for name in lumps.lumps[lump].parts}
    names |= {found_body for name in names if (found_body := _carrying(lumps, name))}
    return frozenset(names)


def _carrying(lumps: Lumps, name: str) -> str | None:
    k = lumps.of.get(name)
    return lumps.lumps[k].body if k is not None else None


def _members(part: Part) -> tuple[str, ...]:
    """The feet and guys of a frame by name."""
    return tuple(dict.fromkeys(name for need in part.needs if not need.laced for name in need.parts))


def frame_pulls(rig: Rig, found: Equilibrium, heads: Mapping[str, Array]) -> list[FramePull]:
    """What frames put on their feet and on what their guys run over and are tied to, `heads` being what
    pulls on each frame that stands (newtons). What a frame can't balance is left out: it topples."""
    lumps = found.solved.assembly.lumps
    told: list[FramePull] = []
    for name, load in heads.items():
        if name not in found.at:
            continue
        if not _members(rig.parts[name]):
            continue
        one = _frame(rig, found, rig.parts[name], load)
        for foot, push in one.legs.items():
            away = np.subtract(rig.parts[foot].at or found.at[foot], found.at[name])
            told.append(FramePull(lumps.of.get(foot, -1), foot, push * away / float(np.linalg.norm(away)), None))
        for knot, pull in one.guys.items():
            strap = _far_end(found, name, knot)
            if strap is not None:
                to = next(found.at[n] for n in lumps.lumps[strap].parts if n in found.at)
                along = np.subtract(found.at[name], to)
                along = pull * along / max(float(np.linalg.norm(along)), 1e-9)
                side = 1 if any(soft.part == knot and soft.ends[1] == strap for soft in lumps.soft) else 0
                told.append(FramePull(strap, f"{knot}|{side}", along, None, knot))
                continue
            line = found.solved.assembly.guys[knot]
            spots = _along(rig, found, line)
            for (here, a), (there, b) in pairwise(spots):
                along = np.subtract(b, a)
                along = pull * along / max(float(np.linalg.norm(along)), 1e-9)
                told += _pull(rig, lumps, here, along, line.name) + _pull(rig, lumps, there, -along, line.name)
    return told


def on_the_ground(rig: Rig, found: Equilibrium) -> dict[str, Point]:
    """What each anchor, footing, edge or standing person is pulled with, frames' feet and guys included."""
    heads = {n: np.array(pull) for n, pull in found.reactions.items() if rig.parts[n].nature is Nature.FRAME}
    told = {name: np.array(pull) for name, pull in found.reactions.items() if name not in heads}
    lumps = found.solved.assembly.lumps
    for one in frame_pulls(rig, found, heads):
        parts = [
            rig.parts[n] for n in ((one.element,) if one.lump < 0 else lumps.lumps[one.lump].parts) if n in rig.parts
        ]
        ground = next((part.name for part in parts if part.nature is Nature.GROUND or part.standing), None)
        if ground is not None:
            told[ground] = told.get(ground, np.zeros(3)) + one.force
    return {name: (float(pull[0]), float(pull[1]), float(pull[2])) for name, pull in sorted(told.items())}


def _pull(rig: Rig, lumps: Lumps, part: str, force: Array, line: str) -> list[FramePull]:
    """A pull at a station of a guy; where a sling holds that, the same at the sling's other end."""
    lump = lumps.soft_station.get(part, lumps.of.get(part, -1))
    told = [FramePull(lump, part if part in lumps.of else f"{part}|1", force, line)]
    if not on_ground(rig, lumps, lump):
        for soft in lumps.soft:
            if lump in soft.ends:
                mine, other = (0, 1) if soft.ends[0] == lump else (1, 0)
                if on_ground(rig, lumps, soft.ends[other]):
                    told.append(FramePull(lump, f"{soft.part}|{mine}", -force, line))
                    told.append(FramePull(soft.ends[other], f"{soft.part}|{other}", force, line, soft.part))
                    break
    return told


def _along(rig: Rig, found: Equilibrium, line: RopeLine) -> list[tuple[str, Point]]:
    """The parts that a guy's rope goes over, with their places, each once where they are together. What a
    sling holds on the ground has no place of its own: the guy pulls straight to that ground."""
    lumps = found.solved.assembly.lumps
    spots: list[tuple[str, Point]] = []
    for k in range(line.first, line.last + 1):
        part = line.rope.stations[k].part
        place = found.at.get(part)
        lump = lumps.of.get(part, -1)
        for soft in lumps.soft if place is None else ():
            other = soft.ends[1] if soft.ends[0] == lump else soft.ends[0]
            if lump in soft.ends and on_ground(rig, lumps, other):
                place = next((found.at[n] for n in lumps.lumps[other].parts if n in found.at), place)
        if place is not None and (not spots or place != spots[-1][1]):
            spots.append((part, place))
    return spots


def _frame(rig: Rig, found: Equilibrium, part: Part, load: Array) -> FrameForce:
    head = np.array(found.at[part.name])
    guys_there = found.solved.assembly.guys
    names: list[str] = []
    directions: list[Array] = []
    guys: set[str] = set()
    without: list[Wanted] = []
    feet: dict[str, Point] = {}
    for name in _members(part):
        strap = _far_end(found, part.name, name)
        guy = rig.parts[name].rope is not None or strap is not None
        if guy and strap is None and name not in guys_there:
            continue  # gone or cut, or a rope that carries already: it is in the load
        if strap is not None:
            to = next(
                (found.at[one] for one in found.solved.assembly.lumps.lumps[strap].parts if one in found.at), None
            )
        else:
            to = _beyond(rig, found, guys_there[name], name) if guy else rig.parts[name].at
        if to is None or dist(to, head) == 0:
            asked = rig.parts[name]
            why = f"where {'the guy' if guy else 'the foot'} of {part.name} {'leads to' if guy else 'stands'}"
            without.append(Wanted(f"{name}: at (x, y, z)", why, asked.place))
            continue
        away = np.array(to) - head
        size = float(np.linalg.norm(away))
        names.append(name)
        directions.append(away / size if guy else -away / size)
        if guy:
            guys.add(name)
        else:
            feet[name] = to
    columns = np.array(directions).reshape(-1, 3).T
    told = shares(columns, load)
    size = float(np.linalg.norm(load))
    if without:
        stand = Stand.UNTOLD
    elif told.unbalanced > TOPPLES * max(size, 1e-9):
        stand = Stand.TIPS
    else:
        stand = Stand.STANDS if told.rank == 3 else Stand.ON_EDGE
    forces = {name: float(value) for name, value in zip(names, told.told, strict=True)}
    bands = {name: (float(low), float(high)) for name, low, high in zip(names, told.least, told.most, strict=True)}
    return FrameForce(
        part.name,
        (float(load[0]), float(load[1]), float(load[2])),
        {name: force for name, force in forces.items() if name not in guys},
        {name: force for name, force in forces.items() if name in guys},
        bands,
        told.unbalanced,
        stand,
        told.shared,
        footprint(found.at[part.name], feet, load),
        tuple(without),
    )


def _far_end(found: Equilibrium, frame: str, name: str) -> int | None:
    """The lump that a strap leads to from a frame's head; None for anything else."""
    lumps = found.solved.assembly.lumps
    head = lumps.of.get(frame)
    ends = next((soft.ends for soft in lumps.soft if soft.part == name and head in soft.ends), None)
    return None if ends is None else ends[1] if ends[0] == head else ends[0]


def _beyond(rig: Rig, found: Equilibrium, line: RopeLine, knot: str) -> Point | None:
    """Where a guy's rope goes from its knot on the frame: the next station with a place."""
    spots = _along(rig, found, line)
    if line.rope.stations[line.first].part != knot:
        spots.reverse()
    return next((place for _, place in spots if place != found.at.get(knot)), None)
