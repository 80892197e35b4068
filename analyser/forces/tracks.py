"""Track lines: their sag, how hard they pull level, at what angle they leave their anchors, and the worst place of
the load on them.

A track is a line of rope whose two ends lead to the ground, and on which something runs. At rest it runs to where
the rope carries it. At any other place control lines hold it there, along the straight line between the ends of the
track; square to that line the track's tension alone balances the load: with the slopes *a₁*, *a₂* of its two sides
to that line and the load *W* square to it, *T* (sin *a₁* + sin *a₂*) = *W*. One unknown, the sag, by halving.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyser.forces.equilibrium import Equilibrium
from analyser.forces.network import Array, shape
from analyser.forces.points import Point, as_point
from analyser.forces.sagging import under_chord
from analyser.rig.figures import as_length
from analyser.rig.model import Rig

PLACES = 48
"""Places along a track at which the load is tried."""
IDLE = 1e-4
"""Share of the load under which a line carries nothing."""
NEAREST = 0.01
"""Share of the span within which the load is not brought to an end."""


@dataclass(frozen=True, slots=True)
class TrackEnd:
    """One end of a track: the ground it leads to, newtons pulled level, degrees below level (above: less than 0)."""

    at: str
    level: float
    below_level: float


@dataclass(frozen=True, slots=True)
class Track:
    """One track with its load at one place: `runs` is what runs on it; metres of span, of the load along the
    straight line between its ends from the first, and of sag under that line; newtons of tension."""

    name: str
    rope: str
    runs: tuple[str, ...]
    span: float
    along: float
    sag: float
    tension: float
    ends: tuple[TrackEnd, TrackEnd]
    load: float
    """Newtons that all tracks together carry there, square to the line between the ends."""


NO_SPAN = 1e-6
"""Metres between its ends up to which a line is none to run along."""


def tracks(rig: Rig, found: Equilibrium) -> tuple[Track, ...]:
    """Every track that carries something at rest, by name."""
    return tuple(_told(one, np.array(one.spot), one.pull) for one in _laid(rig, found))


def tracks_at(rig: Rig, found: Equilibrium, name: str, metres: float) -> tuple[Track, ...]:
    """The tracks on which `name` runs, with it held `metres` along them from their first ends.

    Raises KeyError where it runs on none, ValueError where that is not between the ends."""
    mine = [one for one in _laid(rig, found) if name in one.runs]
    if not mine:
        raise KeyError(name)
    span = min(one.span for one in mine)
    if not 0 < metres < span:
        raise ValueError(f"{as_length(metres, 'g')} is not on the track, which is {as_length(span)} from end to end")
    return _at(mine, metres / span)


def worst_places(rig: Rig, found: Equilibrium) -> tuple[Track, ...]:
    """For each track, itself with its load where that gives it the most tension."""
    told: dict[str, Track] = {}
    laid = _laid(rig, found)
    for group in {one.node: [other for other in laid if other.node == one.node] for one in laid}.values():
        for k in range(len(group)):
            told[group[k].name] = _worst(group, k)
    return tuple(told[one.name] for one in laid)


@dataclass(frozen=True, slots=True)
class _Laid:
    """A track as solved: its ends, its node that carries, what it is at rest, its stretch."""

    name: str
    rope: str
    runs: tuple[str, ...]
    node: int
    ends: tuple[Point, Point]
    grounds: tuple[str, str]
    rest: float
    ea: float
    load: float
    spot: Point
    pull: float
    """Where its load is, and newtons, as the rig comes to rest."""

    @property
    def span(self) -> float:
        return math.dist(*self.ends)


def _laid(rig: Rig, found: Equilibrium) -> list[_Laid]:
    assembly = found.solved.assembly
    network = assembly.network
    formed = shape(network, found.solved.state)
    rows = []
    for number, line in enumerate(assembly.lines):
        inner = [node for node in line.path[1:-1] if node < network.moving]
        grounds = [_ground_of(rig, found, line.path[k]) for k in (0, -1)]
        if line.rope is None or not inner or None in grounds or found.solved.tension[number] <= 1e-6 * found.load:
            continue
        first, last = (formed.places[line.path[k]] for k in (0, -1))
        if math.dist(first, last) < NO_SPAN:  # a loop is no track
            continue
        down = {node: under_chord(first, last, formed.places[node]) for node in inner}
        node = max(inner, key=lambda n: (down[n][1], -n))
        rows.append((number, line, node, first, last, (grounds[0] or "", grounds[1] or "")))
    on = {line.name for _, line, *_ in rows}
    told = []
    for number, line, node, first, last, grounds_of in rows:
        k = assembly.nodes[node]
        runs = tuple(n for n in assembly.lumps.lumps[k].parts if n in rig.parts) if isinstance(k, int) else ()
        told.append(
            _Laid(
                line.name,
                line.rope or "",
                runs,
                node,
                (as_point(first), as_point(last)),
                grounds_of,
                line.rest,
                line.ea,
                -_hanging(found, node, on) * float(_square(last - first)[2]),
                as_point(formed.places[node]),
                float(found.solved.tension[number]),
            )
        )
    return sorted(told, key=lambda one: one.name)


def _ground_of(rig: Rig, found: Equilibrium, node: int) -> str | None:
    """The ground that an end of a line is on, or is held to by one sling or other line."""
    assembly = found.solved.assembly
    network = assembly.network
    seen = [node]
    if node < network.moving:
        seen += [n for line in assembly.lines if line.rope is None and node in line.path for n in line.path]
    for one in seen:
        k = assembly.nodes[one]
        if one >= network.moving and isinstance(k, int):
            names = assembly.lumps.lumps[k].parts
            return next((name for name in names if name in found.reactions), names[0])
    return None


def _square(chord: Array) -> Array:
    """The unit vector square to a line, in its plumb plane, downwards."""
    along = chord / float(np.linalg.norm(chord))
    down = np.array([0.0, 0.0, -1.0])
    square = down - float(down @ along) * along
    return np.asarray(square / max(float(np.linalg.norm(square)), 1e-12), dtype=float)


def _hanging(found: Equilibrium, node: int, tracks_by_name: set[str]) -> float:
    """Newtons of weight that hang at a node from nothing but the tracks: not what other lines lead to the ground
    (control lines), nor what they carry."""
    assembly = found.solved.assembly
    network = assembly.network
    near: dict[int, set[int]] = {}
    for line, pull in zip(assembly.lines, found.solved.tension, strict=True):
        if line.name not in tracks_by_name and pull > IDLE * found.load:
            for one in line.path:
                near.setdefault(one, set()).update(line.path)
    for k, body in enumerate(network.carrier):
        mates = {network.free + n for n, other in enumerate(network.carrier) if other == body}
        near.setdefault(network.free + k, set()).update(mates)
    total = float(network.weights[node])
    seen = {node}
    for first in sorted(near.get(node, set()) - {node}):
        group, todo = {first}, [first]
        while todo:
            for other in near.get(todo.pop(), set()) - group - {node}:
                group.add(other)
                todo.append(other)
        if not group & seen and max(group) < network.moving:
            total += float(network.weights[sorted(group)].sum())
        seen |= group
    return total


def _at(group: Sequence[_Laid], share: float) -> tuple[Track, ...]:
    """All tracks under one load, with it at a share of the way along them."""
    low, high = 0.0, 1.0
    wanted = group[0].load

    def carried(sag: float) -> float:
        return sum(pull * slopes for pull, slopes in (_pull(one, share, sag) for one in group))

    while carried(high) < wanted and high < 1e6:
        high *= 2
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if carried(middle) < wanted else (low, middle)
    told = []
    for one in group:
        first, last = np.array(one.ends[0]), np.array(one.ends[1])
        spot = first + share * (last - first) + high * _square(last - first)
        told.append(_told(one, spot, _pull(one, share, high)[0]))
    return tuple(told)


def _pull(one: _Laid, share: float, sag: float) -> tuple[float, float]:
    """A track's tension with its load at a share of its span and so far off it, and the sines of its two sides."""
    sides = [math.hypot(part * one.span, sag) for part in (share, 1 - share)]
    pull = one.ea / max(one.rest, 0.05) * max(sum(sides) - one.rest, 0.0)
    return pull, sum(sag / side for side in sides if side > 0)


def _worst(group: Sequence[_Laid], k: int) -> Track:
    """One of the tracks under a load, with the load where it pulls hardest: the best of many places, then between
    its neighbours by thirds."""
    steps = [NEAREST + (1 - 2 * NEAREST) * n / PLACES for n in range(PLACES + 1)]
    pulls = [_at(group, share)[k].tension for share in steps]
    best = max(range(len(steps)), key=lambda n: (pulls[n], -n))
    low, high = steps[max(best - 1, 0)], steps[min(best + 1, PLACES)]
    for _ in range(40):
        a, b = low + (high - low) / 3, high - (high - low) / 3
        if _at(group, a)[k].tension < _at(group, b)[k].tension:
            low = a
        else:
            high = b
    return _at(group, 0.5 * (low + high))[k]


def _told(one: _Laid, spot: Array, pull: float) -> Track:
    first, last = np.array(one.ends[0]), np.array(one.ends[1])
    along, sag = under_chord(first, last, spot)
    ends = []
    for at, ground in zip((first, last), one.grounds, strict=True):
        way = spot - at
        level = float(np.hypot(way[0], way[1]))
        size = float(np.linalg.norm(way)) or 1.0
        ends.append(TrackEnd(ground, pull * level / size, math.degrees(math.atan2(-way[2], level))))
    return Track(one.name, one.rope, one.runs, one.span, along, sag, pull, (ends[0], ends[1]), one.load)
