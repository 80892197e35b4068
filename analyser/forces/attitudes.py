"""How a rigid body lies: head over feet, roll, turned over or not, and how little would turn it.

A body lies as its rotation from the way it is drawn says. The side that lies up as drawn is square to its head and
its left side where it has them, else upwards. How steady it lies follows from the energy's curvature at rest: a
centre of mass that is higher by *h* (square to the body) takes *W h* off the curvature of every turn about a level
axis, all else at rest (the Schur complement of what can turn); so the least of those curvatures over the weight is
how much higher the centre may lie before the body turns away.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from analyser.forces.network import Array, Network, State, curvature, pulls, shape
from analyser.forces.points import Point

OVER = 105.0
"""Degrees of the drawn upper side from plumb beyond which a body has turned over: 15 past standing on edge."""
LEVEL = 15.0
"""Degrees off level up to which a litter is called level, where a file gives no limit: ours, no source."""
NEUTRAL = 0.01
"""Metres of height of the centre of mass within which a balance is called neutral: nobody knows it better."""
IDLE = 1e-4
"""Share of the load under which a line holds no attitude."""


@dataclass(frozen=True, slots=True)
class Lie:
    """How a body lies, in degrees: head over feet, left side over right (beyond 90 either way when it lies on
    what was its upper side; None where it has no such ends), and its upper side from plumb."""

    head_up: float | None
    roll: float | None
    tilt: float

    @property
    def over(self) -> bool:
        return self.tilt > OVER

    @property
    def off_level(self) -> float:
        """Degrees off level, the most of both ways."""
        return max([abs(one) for one in (self.head_up, self.roll) if one is not None] or [self.tilt])


def lie_of(
    turn: Array, offsets: Mapping[str, Point], body: str, ends: tuple[Sequence[str], Sequence[str]] | None
) -> Lie:
    """How a body lies that is turned by the rotation `turn`; `offsets` of its points from its centre as drawn,
    `ends` the points at its head and its foot where their names don't tell them."""
    along, aside = _axes(offsets, body, ends)
    high = float((turn @ upwards(offsets, body, ends))[2])
    tilt = math.degrees(math.acos(min(max(high, -1.0), 1.0)))
    roll = _rise(turn, aside)
    if roll is not None and high < 0:
        roll = math.copysign(180 - abs(roll), roll)
    return Lie(_rise(turn, along), roll, tilt)


def upwards(offsets: Mapping[str, Point], body: str, ends: tuple[Sequence[str], Sequence[str]] | None) -> Array:
    """The side of a body that lies up as drawn (a unit vector)."""
    along, aside = _axes(offsets, body, ends)
    up = np.array([0.0, 0.0, 1.0])
    if along is not None and aside is not None:
        square = np.cross(along, aside)
        size = float(np.linalg.norm(square))
        up = square / size if size > 0.1 else up
    return up


def _axes(
    offsets: Mapping[str, Point], body: str, ends: tuple[Sequence[str], Sequence[str]] | None
) -> tuple[Array | None, Array | None]:
    """From foot to head, and from right to left, as drawn."""
    along = _axis(offsets, body, "head", "foot")
    if along is None and ends:
        along = _between(*([offsets[name] for name in side if name in offsets] for side in ends))
    return along, _axis(offsets, body, "left", "right")


def _axis(offsets: Mapping[str, Point], body: str, high: str, low: str) -> Array | None:
    """The direction from the points with one word in their names to those with the other, as drawn."""
    mine = {name.split(".", 1)[1]: at for name, at in offsets.items() if name.startswith(f"{body}.")}
    up = [at for word, at in mine.items() if high in word.split("-")]
    down = [at for word, at in mine.items() if low in word.split("-")]
    return _between(up, down)


def _between(up: Sequence[Point], down: Sequence[Point]) -> Array | None:
    if not up or not down:
        return None
    axis = np.mean(up, axis=0) - np.mean(down, axis=0)
    size = float(np.linalg.norm(axis))
    return np.asarray(axis / size, dtype=float) if size > 0 else None


def _rise(turn: Array, axis: Array | None) -> float | None:
    if axis is None:
        return None
    return math.degrees(math.asin(min(max(float((turn @ axis)[2]), -1.0), 1.0)))


def steadiness(network: Network, state: State, load: float) -> list[float]:
    """For each body at rest, metres by which its centre of mass could lie higher before it turns away: nought is
    neutral, less than nought no rest at all. Lines that carry next to nothing are taken as slack."""
    loose = copy.copy(network)
    formed = shape(network, state)
    loose.rate = np.where(formed.tension < IDLE * load, 0.0, network.rate)
    formed = shape(loose, state)
    whole = curvature(loose, formed, pulls(loose, formed))
    free = 3 * network.free
    active = np.ones(len(whole), dtype=bool)
    if network.grips:
        active[-network.grips :] = state.passed > 0
    told = []
    for body in range(network.bodies):
        turns = [free + 6 * body + 3, free + 6 * body + 4]
        rest = active.copy()
        rest[turns] = False
        others = whole[np.ix_(rest, rest)]
        others[np.arange(len(others)), np.arange(len(others))] += 1e-6 * load
        cross = whole[rest][:, turns]
        left = whole[turns][:, turns] - cross.T @ np.linalg.solve(others, cross)
        mine = network.free + np.flatnonzero(network.carrier == body)
        weight = float(network.weights[mine].sum())
        told.append(float(np.linalg.eigvalsh(0.5 * (left + left.T))[0]) / max(weight, 1e-9))
    return told


def with_centre(network: Network, body: int, up: Array, higher: float) -> Network:
    """The same network with the centre of mass of a body `higher` metres along `up` (as drawn): its points that
    carry no weight are lower by as much."""
    changed = copy.copy(network)
    bare = (network.carrier == body) & (network.weights[network.free : network.moving] == 0)
    changed.offsets = network.offsets - higher * bare[:, None] * up
    return changed
