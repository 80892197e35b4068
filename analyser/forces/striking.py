"""What a body strikes on its way: the ground, an edge, another body; and how fast."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum

import numpy as np

from analyser.forces.followed import Path
from analyser.forces.grounds import Ground
from analyser.forces.network import Array
from analyser.forces.phases import Phase, names_at
from analyser.forces.points import Point
from analyser.forces.stiffness import GRAVITY
from analyser.forces.turning import matrices
from analyser.rig.model import Nature, Rig

CLOSE = 0.5
"""Metres from an edge's place, or another body's, within which a body strikes it."""


class Struck(Enum):
    GROUND = "ground"
    EDGE = "edge"
    BODY = "body"


@dataclass(frozen=True, slots=True)
class Strike:
    """`speed` in metres a second: towards what is struck; `what` names it (of the ground: who tells its height)."""

    body: str
    struck: Struck
    what: str
    speed: float
    when: float


@dataclass(slots=True)
class Way:
    """How one start went, phase by phase."""

    pieces: tuple[tuple[Phase, Path], ...]
    known: dict[str, Array | None] = field(default_factory=dict)

    @property
    def times(self) -> Array:
        return np.concatenate([path.times for _, path in self.pieces]) if self.pieces else np.zeros(0)

    def of(self, name: str) -> Array | None:
        """Where a body is at each look; None where it does not move. After it fell out of all lines: where it was."""
        if name not in self.known:
            self.known[name] = self._of(name)
        return self.known[name]

    def _of(self, name: str) -> Array | None:
        told: list[Array | None] = []
        for phase, path in self.pieces:
            small = phase.small
            found: Array | None = None
            if small is not None:
                assembly = phase.assembly
                for k, n in enumerate(small.points):
                    if name in names_at(assembly, n):
                        found = np.array([row[k] for row in path.points])
                for k, body in enumerate(small.bodies):
                    riders = [
                        assembly.network.free + c
                        for c, carrier in enumerate(assembly.network.carrier)
                        if carrier == body and name in names_at(assembly, assembly.network.free + c)
                    ]
                    if riders or assembly.body_names[body] == name:
                        offset = assembly.network.offsets[riders[0] - assembly.network.free] if riders else np.zeros(3)
                        turns = matrices(np.array([row[k] for row in path.turns]))
                        found = np.array([row[k] for row in path.centres]) + turns @ (offset - small.off[k])
            told.append(found)
        if all(one is None for one in told):
            return None
        first = next(one for one in told if one is not None)
        last = first[0]
        whole = []
        for one, (_, path) in zip(told, self.pieces, strict=True):
            whole.append(np.repeat(last[None], len(path.times), axis=0) if one is None else one)
            last = whole[-1][-1]
        return np.concatenate(whole)


def strikes(rig: Rig, way: Way, ground: Ground | None) -> tuple[Strike, ...]:
    """Everything that any body strikes for the first time, in order of time."""
    if len(way.times) < 2:
        return ()
    times, looks = _finer(way.times)
    tracks = {body.name: looks(track) for body in rig.bodies if (track := way.of(body.name)) is not None}
    still = {
        body.name: np.array(way.pieces[0][0].found.at[body.name])
        for body in rig.bodies
        if body.name not in tracks and body.name in way.pieces[0][0].found.at
    }
    edges = {p.name: np.array(p.at) for p in rig.parts.values() if p.nature is Nature.EDGE and p.at}
    found: list[Strike] = []
    bodies = {body.name: body for body in rig.bodies}
    for name, track in tracks.items():
        if ground is not None:
            above = track[:, 2] - ground.feet(bodies[name]) - ground.height
            hit = _first(times, above)
            if hit is not None:
                found.append(Strike(name, Struck.GROUND, ground.by, hit[0], hit[1]))
        for edge, at in edges.items():
            hit = _first(times, np.sqrt(((track - at) ** 2).sum(axis=1)) - CLOSE)
            if hit is not None:
                found.append(Strike(name, Struck.EDGE, edge, hit[0], hit[1]))
        for other in (*(o for o in tracks if o > name), *still):
            if _joined(rig, name, other):
                continue
            away = track - (tracks[other] if other in tracks else still[other])
            hit = _first(times, np.sqrt((away**2).sum(axis=1)) - CLOSE)
            if hit is not None:
                found.append(Strike(name, Struck.BODY, other, hit[0], hit[1]))
    return tuple(sorted(found, key=lambda one: (one.when, one.body, one.what)))


def landings(
    rig: Rig, way: Way, ground: Ground | None, falls: tuple[str, ...], begin: Mapping[str, Point]
) -> tuple[Strike, ...]:
    """How fast who falls with nothing left to hold them strikes the ground, from where and how fast they were."""
    found = []
    for body in rig.bodies:
        if ground is None or body.name not in falls or body.name not in begin:
            continue
        when, height, fast = 0.0, float(begin[body.name][2]), 0.0
        track = way.of(body.name)
        if track is not None and len(track) > 1:
            times = way.times
            when, height = float(times[-1]), float(track[-1, 2])
            before = int(np.searchsorted(times, times[-1] - 1e-9)) - 1
            if before >= 0:
                fast = float((track[-1, 2] - track[before, 2]) / (times[-1] - times[before]))
        room = height - ground.feet(body) - ground.height
        if room > 0:
            speed = math.sqrt(fast * fast + 2 * GRAVITY * room)
            found.append(Strike(body.name, Struck.GROUND, ground.by, speed, when + (fast + speed) / GRAVITY))
    return tuple(found)


FINER = 16
"""Parts that the time between two looks is cut into."""


def _finer(times: Array) -> tuple[Array, Callable[[Array], Array]]:
    """Times between the looks, and what gives places then: cubics with the slopes of their neighbours."""
    apart = np.flatnonzero(np.diff(times, prepend=times[0] - 1) > 1e-9)
    at = times[apart]
    share = np.arange(FINER) / FINER
    wide = np.diff(at)
    between = np.append((at[:-1, None] + wide[:, None] * share).ravel(), at[-1])

    def looks(track: Array) -> Array:
        y = track[apart]
        if len(at) < 2:
            return y
        if len(at) < 3:
            return np.concatenate([((1 - s) * y[0] + s * y[1])[None] for s in share] + [y[-1:]])
        slope = np.gradient(y, at, axis=0)
        s = share[None, :, None]
        a, b, h = y[:-1, None], y[1:, None], wide[:, None, None]
        inner = (
            (1 + 2 * s) * (1 - s) ** 2 * a
            + s * (1 - s) ** 2 * h * slope[:-1, None]
            + s * s * (3 - 2 * s) * b
            - s * s * (1 - s) * h * slope[1:, None]
        )
        return np.concatenate([inner.reshape(-1, 3), y[-1:]])

    return between, looks


def _joined(rig: Rig, a: str, b: str) -> bool:
    """Does one lie in the other (a patient in a litter)?"""
    lashed = [{c.a, c.b} for c in rig.contacts if c.given]
    via = [next(iter(pair - {a})) for pair in lashed if a in pair and len(pair) == 2]
    return any({one, b} in lashed or one == b for one in via)


def _first(times: Array, room: Array) -> tuple[float, float] | None:
    """How fast and when what is left of the room first comes to nothing; None where it never does, or where
    there was none to begin with."""
    if room[0] <= 0:
        return None
    under = np.flatnonzero(room <= 0)
    if not len(under):
        return None
    k = int(under[0])
    wide = times[k] - times[k - 1]
    if wide <= 0:
        return None
    speed = (room[k - 1] - room[k]) / wide
    share = room[k - 1] / (room[k - 1] - room[k])
    return float(speed), float(times[k - 1] + share * wide)
