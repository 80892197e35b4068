"""When a frame stands: the ground must be able to carry what its legs and guys bring.

The head is a point that a load pulls on. A leg can only push it away from its foot, a guy can only draw it towards
its far end. The head stands when the load lies in the cone of what these can take. Any point of a cone is a sum of
at most three of its sides (Carathéodory 1907), and the extremes of each share lie at such sums: so the linear
programs of the bands are solved by trying every three, which for the few legs and guys of a frame is quickest, and
exact. All is in metres and newtons.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from analyser.forces.network import Array
from analyser.forces.points import Point, as_point

CLOSE = 1e-9
"""Share of the load within which forces are the same."""
MOST_MEMBERS = 10
"""Legs and guys up to which the smallest sum of squares is sought: every set that may be slack is tried."""


@dataclass(frozen=True, slots=True)
class Shares:
    """What each member takes: `told`, and the band from `least` to `most` in which balance alone leaves it (`most`
    is infinite where two pull against each other, as tight as one likes). `unbalanced` is what no share can take;
    `rank` 3 unless the head can move some way in which nothing holds it."""

    told: Array
    least: Array
    most: Array
    unbalanced: float
    rank: int

    @property
    def shared(self) -> bool:
        """Is there more than one way to share the load?"""
        size = max(float(np.abs(self.told).max(initial=0.0)), 1e-9)
        return bool((self.most - self.least > 1e-6 * size).any())


def shares(directions: Array, load: Array) -> Shares:
    """How members share a load on their head: `directions` are unit columns, the way in which each acts on it. Told
    is the smallest sum of squares."""
    count = directions.shape[1]
    size = max(float(np.linalg.norm(load)), 1e-9)
    rank = int(np.linalg.matrix_rank(directions, tol=1e-9)) if count else 0
    solutions, near, off = _corners(directions, -load / size, rank)
    if not len(solutions):
        return Shares(near * size, near * size, near * size, off * size, rank)
    least, most = solutions.min(axis=0), solutions.max(axis=0)
    for k in range(count) if count > rank else ():
        if _against(directions, directions[:, k], rank):
            most[k] = math.inf
    told = solutions[0] if len(solutions) == 1 else _nearest(directions, -load / size, solutions.mean(axis=0))
    return Shares(told * size, least * size, most * size, 0.0, rank)


def _corners(columns: Array, wanted: Array, rank: int) -> tuple[Array, Array, float]:
    """Every share by `rank` members at most that adds up to `wanted` (rows; none where no share does), and the share
    that comes nearest, with what it leaves over."""
    count = columns.shape[1]
    found: list[Array] = []
    best, best_off = np.zeros(count), float(np.linalg.norm(wanted))
    for many in range(1, rank + 1):
        for chosen in combinations(range(count), many):
            part, _, independent, _ = np.linalg.lstsq(columns[:, chosen], wanted, rcond=1e-10)
            if independent < many or (part < -CLOSE).any():
                continue
            off = float(np.linalg.norm(columns[:, chosen] @ part - wanted))
            if off > CLOSE and off >= best_off - CLOSE:
                continue
            whole = np.zeros(count)
            whole[list(chosen)] = np.maximum(part, 0.0)
            if off <= CLOSE:
                found.append(whole)
            best, best_off = (whole, off) if off < best_off else (best, best_off)
    return np.array(found).reshape(len(found), count), best, best_off


def _against(columns: Array, one: Array, rank: int) -> bool:
    """Can the members hold against more and more of `one` with nothing else to carry?"""
    solutions, _, _ = _corners(columns, -one, rank)
    return len(solutions) > 0


def _nearest(columns: Array, wanted: Array, start: Array) -> Array:
    """The share with the least sum of squares, nought or more each: every set that may carry is tried, and of those
    the best is taken."""
    count = columns.shape[1]
    if count > MOST_MEMBERS:
        return start
    best, least = start, math.inf
    for bits in range(1, 2**count):
        chosen = [k for k in range(count) if bits >> k & 1]
        side = columns[:, chosen]
        part = np.linalg.lstsq(side, wanted, rcond=1e-12)[0]
        if (part < -CLOSE).any() or float(np.linalg.norm(side @ part - wanted)) > CLOSE:
            continue
        whole = np.zeros(count)
        whole[chosen] = np.maximum(part, 0.0)
        cost = float(np.square(whole).sum())
        if cost < least - 1e-15:
            best, least = whole, cost
    return best


@dataclass(frozen=True, slots=True)
class Footprint:
    """Where the line of a load on the head meets the ground between the feet.

    `margin` in metres: how far inside the feet (below nought: outside); `over` are the feet on the side that is
    nearest, over which it would tip. `meets` is None where the line never comes down to the feet."""

    meets: Point | None
    margin: float | None
    over: tuple[str, ...]


def footprint(head: Point, feet: Mapping[str, Point], load: Array) -> Footprint:
    """Where the line through the head along `load` meets the level of the feet, and how far inside them that is.

    Feet at different heights: the plane through them (of two: the plane through both that is level across)."""
    names = list(feet)
    spots = np.array([feet[name] for name in names], dtype=float).reshape(-1, 3)
    if not names or not float(np.linalg.norm(load)):
        return Footprint(None, None, ())
    normal = _up(spots)
    middle = spots.mean(axis=0)
    fall = float(load @ normal)
    high = float((np.array(head) - middle) @ normal)
    if fall >= 0 or high <= 0:
        return Footprint(None, None, ())
    meets = np.array(head) - load * (high / fall)
    across = _across(normal)
    flat = (spots - middle) @ across.T
    x, y = (meets - middle) @ across.T
    hull = _hull(flat)
    if len(hull) < 3:
        ends = (hull[0], hull[-1])
        away, share = _from_segment((x, y), flat[ends[0]], flat[ends[1]])
        near = _nearer(names, ends, share)
        return Footprint(as_point(meets), -away if away > CLOSE * max(high, 1.0) else 0.0, near)
    sides = list(pairwise([*hull, hull[0]]))
    inside = []
    for a, b in sides:
        edge = flat[b] - flat[a]
        inside.append(float(edge[0] * (y - flat[a][1]) - edge[1] * (x - flat[a][0])) / float(np.hypot(*edge)))
    least = min(inside)
    if least >= 0:
        nearest = inside.index(least)
        return Footprint(as_point(meets), least, tuple(names[k] for k in sides[nearest]))
    (away, share), nearest = min((_from_segment((x, y), flat[a], flat[b]), at) for at, (a, b) in enumerate(sides))
    return Footprint(as_point(meets), -away, _nearer(names, sides[nearest], share))


def _nearer(names: Sequence[str], ends: tuple[int, int], share: float) -> tuple[str, ...]:
    """The foot that is nearest, or both on whose side it is."""
    feet = ends[:1] if share <= 0 else ends[1:] if share >= 1 else ends
    return tuple(dict.fromkeys(names[k] for k in feet))


def _up(spots: Array) -> Array:
    """Square to the plane of the feet, upwards."""
    level = np.array([0.0, 0.0, 1.0])
    if len(spots) < 2:
        return level
    along = np.linalg.svd(spots - spots.mean(axis=0))[2]
    normal = along[2] if len(spots) > 2 else level - along[0] * along[0][2]
    size = float(np.linalg.norm(normal))
    normal = normal / size if size > 0.2 else level
    normal = normal if normal[2] >= 0 else -normal
    return normal if normal[2] > 0.2 else level


def _across(normal: Array) -> Array:
    """Two unit vectors square to `normal` and to each other (rows), the first as level as can be."""
    first = np.cross(normal, [0.0, 1.0, 0.0] if abs(normal[1]) < 0.9 else [1.0, 0.0, 0.0])
    first = first / float(np.linalg.norm(first))
    return np.array([first, np.cross(normal, first)])


def _hull(flat: Array) -> list[int]:
    """The corners of the feet in order round, anticlockwise (Andrew's monotone chain, 1979)."""
    order = sorted(range(len(flat)), key=lambda k: (flat[k][0], flat[k][1]))
    if len(order) < 3:
        return order

    def half(points: Sequence[int]) -> list[int]:
        chain: list[int] = []
        for k in points:
            while len(chain) > 1:
                a, b = flat[chain[-1]] - flat[chain[-2]], flat[k] - flat[chain[-2]]
                if a[0] * b[1] - a[1] * b[0] > 1e-12:
                    break
                chain.pop()
            chain.append(k)
        return chain[:-1]

    corners = half(order) + half(order[::-1])
    return corners if len(corners) > 2 else [order[0], order[-1]]


def _from_segment(at: tuple[float, float], a: Array, b: Array) -> tuple[float, float]:
    """How far a spot is from a stretch, and at which share of it the nearest place is."""
    along = b - a
    square = float(along @ along)
    share = min(max(float((np.array(at) - a) @ along) / square, 0.0), 1.0) if square else 0.0
    return float(np.linalg.norm(a + share * along - np.array(at))), share
