"""Frames carry pushes: what the legs of a tripod or gin pole take, and what its guys must.

The head of a frame is a fixed point for the rest of the rig. What pulls on it is shared out here: each
leg can only push, from its foot to the head; each guy can only pull, from the head to where its rope
goes next. Where there are more of them than balance alone can part, the smallest sum of squares is
told (`shared`). What no share can balance would topple the frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from analyser.forces.drawn import Point
from analyser.forces.equilibrium import Equilibrium
from analyser.forces.network import Array
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


def frame_forces(rig: Rig, found: Equilibrium) -> tuple[FrameForce, ...]:
    """What each loaded frame with a place carries, by name."""
    told = []
    for part in rig.parts.values():
        if part.nature is Nature.FRAME and part.name in found.reactions and part.name in found.at:
            told.append(_frame(rig, found, part))
    return tuple(sorted(told, key=lambda one: one.name))


def _frame(rig: Rig, found: Equilibrium, part: Part) -> FrameForce:
    head = np.array(found.at[part.name])
    load = np.array(found.reactions[part.name])
    names: list[str] = []
    directions: list[Array] = []
    guys: set[str] = set()
    without: list[str] = []
    for need in part.needs:
        for name in need.parts:
            if need.words.startswith("needs"):
                continue
            guy = rig.parts[name].rope is not None
            to = _beyond(rig, found, name) if guy else rig.parts[name].at
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
        found.reactions[part.name],
        {name: force for name, force in forces.items() if name not in guys},
        {name: force for name, force in forces.items() if name in guys},
        unbalanced,
        unbalanced <= TOPPLES * max(size, 1e-9),
        shared,
        tuple(without),
    )


def _beyond(rig: Rig, found: Equilibrium, knot: str) -> Point | None:
    """Where a guy's rope goes from its knot on the frame: the next station with a place."""
    rope = next(one for one in rig.ropes if one.name == rig.parts[knot].rope)
    at = next(k for k, station in enumerate(rope.stations) if station.part == knot)
    for k in (*range(at + 1, len(rope.stations)), *range(at - 1, -1, -1)):
        place = found.at.get(rope.stations[k].part)
        if place is not None and place != found.at.get(knot):
            return place
    return None


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
