"""Frames carry pushes: what the legs of a tripod or gin pole take, and what its guys must.

The head of a frame is a fixed point for the rest of the rig. What pulls on it is shared out here: each
leg can only push, from its foot to the head; each guy can only pull, from the head to where its rope
goes next. Where there are more of them than balance alone can part, the smallest sum of squares is
told (`shared`). What no share can balance would topple the frame.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from analyser.forces.drawn import Point
from analyser.forces.equilibrium import Equilibrium
from analyser.forces.lumps import Lumps, on_ground
from analyser.forces.network import Array
from analyser.forces.rope_lines import RopeLine
from analyser.rig.model import Nature, Part, Rig

TOPPLES = 1e-6
"""Share of the head's load that may be left unbalanced."""


@dataclass(frozen=True, slots=True)
class FrameForce:
    """Newtons in a frame: `legs` pushed on by foot, `guys` pulling by knot. `unbalanced` is what
    neither can take: the load then falls outside the feet, and the frame topples. `without` are feet
    and guys that have no place, and were left out."""

    name: str
    load: Point
    legs: dict[str, float]
    guys: dict[str, float]
    unbalanced: float
    stands: bool
    shared: bool
    without: tuple[str, ...]


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
    """What each loaded frame with a place carries, by name."""
    told = []
    for part in rig.parts.values():
        if part.nature is Nature.FRAME and part.name in found.reactions and part.name in found.at:
            told.append(_frame(rig, found, part, np.array(found.reactions[part.name])))
    return tuple(sorted(told, key=lambda one: one.name))


def frame_pulls(rig: Rig, found: Equilibrium, heads: Mapping[str, Array]) -> list[FramePull]:
    """What frames put on their feet and on what their guys run over and are tied to, `heads` being what
    pulls on each frame that stands (newtons). What a frame can't balance is left out: it topples."""
    lumps = found.solved.assembly.lumps
    told: list[FramePull] = []
    for name, load in heads.items():
        if name not in found.at:
            continue
        one = _frame(rig, found, rig.parts[name], load)
        for foot, push in one.legs.items():
            away = np.subtract(rig.parts[foot].at or found.at[foot], found.at[name])
            told.append(FramePull(lumps.of.get(foot, -1), foot, push * away / float(np.linalg.norm(away)), None))
        for knot, pull in one.guys.items():
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
    without: list[str] = []
    for need in part.needs:
        for name in need.parts:
            if need.words.startswith("needs") or name in names:
                continue
            guy = rig.parts[name].rope is not None
            if guy and name not in guys_there:
                continue  # gone or cut, or a rope that carries already: it is in the load
            to = _beyond(rig, found, guys_there[name], name) if guy else rig.parts[name].at
            if to is None:
                without.append(name)
                continue
            away = np.array(to) - head
            size = float(np.linalg.norm(away))
            if size == 0:
                without.append(name)
                continue
            names.append(name)
            directions.append(away / size if guy else -away / size)
            if guy:
                guys.add(name)
    share, shared = _shares(np.array(directions).reshape(-1, 3).T, -load)
    left = load + np.array(directions).reshape(-1, 3).T @ share
    unbalanced = float(np.linalg.norm(left))
    size = float(np.linalg.norm(load))
    forces = {name: float(value) for name, value in zip(names, share, strict=True)}
    return FrameForce(
        part.name,
        (float(load[0]), float(load[1]), float(load[2])),
        {name: force for name, force in forces.items() if name not in guys},
        {name: force for name, force in forces.items() if name in guys},
        unbalanced,
        unbalanced <= TOPPLES * max(size, 1e-9),
        shared,
        tuple(without),
    )


def _beyond(rig: Rig, found: Equilibrium, line: RopeLine, knot: str) -> Point | None:
    """Where a guy's rope goes from its knot on the frame: the next station with a place."""
    spots = _along(rig, found, line)
    if line.rope.stations[line.first].part != knot:
        spots.reverse()
    return next((place for _, place in spots if place != found.at.get(knot)), None)


def _shares(directions: Array, wanted: Array) -> tuple[Array, bool]:
    """Forces of nought or more along `directions` (columns) that add up to `wanted`, as nearly as they
    can, the smallest by sum of squares; and whether another share would do as well.

    Every set of legs and guys that might carry is tried: frames have few.
    """
    count = directions.shape[1]
    best, best_off = np.zeros(count), float(np.linalg.norm(wanted))
    shared = False
    for size in range(1, count + 1):
        for chosen in combinations(range(count), size):
            columns = directions[:, chosen]
            part = np.linalg.lstsq(columns, wanted, rcond=1e-10)[0]
            if (part < -1e-9 * max(float(np.linalg.norm(wanted)), 1.0)).any():
                continue
            off = float(np.linalg.norm(columns @ part - wanted))
            whole = np.zeros(count)
            whole[list(chosen)] = np.maximum(part, 0.0)
            close = 1e-9 * max(float(np.linalg.norm(wanted)), 1.0)
            if off < best_off - close:
                best, best_off, shared = whole, off, False
            elif off <= best_off + close and float(np.abs(whole - best).max()) > 1e3 * close:
                shared = True
                if float(whole @ whole) < float(best @ best):
                    best = whole
    return best, shared
