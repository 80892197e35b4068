"""Where everything is at some moments of a motion: what a film of it, or a strip of stills, is drawn from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyser.forces.equilibrium import Statics
from analyser.forces.followed import Path
from analyser.forces.motion import Motion
from analyser.forces.network import Array, places
from analyser.forces.phases import Phase, names_at
from analyser.forces.points import Point, as_point
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Nature

FALLING = 0.6
"""Seconds for which somebody whom nothing holds any more is drawn."""


LEAST_WAY, LEAST_PULL = 0.005, 5.0
"""Metres and newtons under which nothing has moved."""


@dataclass(frozen=True, slots=True)
class Still:
    """One moment: each line's places and pull in newtons, and where each body is: its middle, and of a litter its
    points (name and place). What isn't there any more is left out."""

    time: float
    lines: dict[str, tuple[Point, ...]]
    pulls: dict[str, float]
    bodies: dict[str, Point]
    points: dict[str, tuple[tuple[str, Point], ...]]


def moments(motion: Motion, count: int) -> list[float]:
    """Times even apart, from the failure to the end; and on, where somebody falls then."""
    end = motion.until + (FALLING if motion.falls and motion.way.pieces else 0.0)
    return [end * k / max(count - 1, 1) for k in range(count)]


def telling(motion: Motion, most: int = 6) -> list[float]:
    """Times that tell the story: before, what breaks, what is struck, the greatest pulls, the end."""
    end = motion.until + (FALLING / 2 if motion.falls and motion.way.pieces else 0.0)
    weighty = [broke.when for broke in motion.broken] + [hit.when for hit in motion.strikes if hit.when <= end]
    pulled = sorted((one for one in motion.lines if one.most and one.most > one.before * 1.05 + 1),
                    key=lambda one: -(one.most or 0.0))  # fmt: skip
    weighty += [one.when for one in pulled]
    weighty += [body.when for body in motion.bodies]
    found = [0.0, end]
    for time in weighty:
        if len(found) < most and all(abs(time - other) > 0.06 * max(end, 0.1) for other in found):
            found.append(time)
    for k in range(1, most):
        time = end * k / most
        if len(found) < most and all(abs(time - other) > 0.1 * max(end, 0.1) for other in found):
            found.append(time)
    return sorted(found)


def stills(statics: Statics, motion: Motion, times: Sequence[float]) -> list[Still]:
    """Where everything is at these times (a motion that was followed with its way kept)."""
    pieces = [_Piece(statics, phase, path) for phase, path in motion.way.pieces]
    found = []
    for time in times:
        piece = next((one for one in pieces if time <= one.times[-1]), pieces[-1])
        found.append(piece.at(time, motion.falls))
    return _moving(found)


def _moving(found: list[Still]) -> list[Still]:
    """Only what moves, or pulls otherwise than before: the rest hangs as it hung."""
    first = found[0]
    lines = {
        name
        for still in found
        for name, places in still.lines.items()
        if name not in first.lines
        or abs(still.pulls[name] - first.pulls[name]) > LEAST_PULL
        or any(math.dist(a, b) > LEAST_WAY for a, b in zip(places, first.lines[name], strict=False))
    }
    lines |= {name for name in first.lines if any(name not in still.lines for still in found)}
    bodies = {
        name
        for still in found
        for name, at in still.bodies.items()
        if math.dist(at, first.bodies.get(name, at)) > LEAST_WAY
    }
    return [
        Still(
            still.time,
            {name: places for name, places in still.lines.items() if name in lines},
            {name: pull for name, pull in still.pulls.items() if name in lines},
            {name: at for name, at in still.bodies.items() if name in bodies},
            {name: points for name, points in still.points.items() if name in bodies},
        )
        for still in found
    ]


class _Piece:
    """One phase: all places at each of its looks."""

    def __init__(self, statics: Statics, phase: Phase, path: Path) -> None:
        self.statics = statics
        self.phase = phase
        self.times = np.array(path.times)
        states = [phase.state(path, k) for k in range(len(path.times))]
        self.places: Array = np.array([places(phase.assembly.network, state)[0] for state in states])
        self.turns = np.array([state.turns for state in states])
        self.centres = np.array([state.centres for state in states])
        self.pulls = np.array([phase.tension(path, k) for k in range(len(path.times))])

    def at(self, time: float, falls: tuple[str, ...]) -> Still:
        k = min(max(int(np.searchsorted(self.times, time)), 1), len(self.times) - 1)
        wide = float(self.times[k] - self.times[k - 1])
        share = (time - float(self.times[k - 1])) / wide if wide > 0 else 1.0
        over = max(time - float(self.times[-1]), 0.0)
        share = min(max(share, 0.0), 1.0)

        def between(rows: Array) -> Array:
            found: Array = (1 - share) * rows[k - 1] + share * rows[k]
            return found

        spots, assembly = between(self.places), self.phase.assembly
        lines, pulls = {}, {}
        tension = between(self.pulls)
        for n, line in enumerate(assembly.lines):
            if over and any(name in falls for node in line.path for name in names_at(assembly, node)):
                continue
            lines[line.name] = tuple(as_point(spots[node]) for node in line.path)
            pulls[line.name] = float(tension[n])
        bodies: dict[str, Point] = {}
        points: dict[str, tuple[tuple[str, Point], ...]] = {}
        rig = self.statics.rig
        for node, _ in enumerate(assembly.nodes):
            for name in names_at(assembly, node):
                part = rig.parts.get(name)
                if part is not None and part.is_body:
                    down = np.zeros(3)
                    if over and name in falls:
                        speed = (self.places[-1, node] - self.places[-2, node]) / max(float(wide), 1e-6)
                        down = speed * over - np.array([0.0, 0.0, 0.5 * GRAVITY * over**2])
                    bodies[name] = as_point(spots[node] + down)
        for k_body, name in enumerate(assembly.body_names):
            centre, turn = between(self.centres)[k_body], between(self.turns)[k_body]
            bodies.setdefault(name, as_point(centre))
            if rig.parts[name].nature is Nature.LITTER:
                offsets = self.statics.said.shapes[name].offsets
                mine = [point for point in rig.parts[name].points if point in offsets]
                points[name] = tuple((one, as_point(centre + turn @ np.array(offsets[one]))) for one in mine)
        return Still(time, lines, pulls, bodies, points)
