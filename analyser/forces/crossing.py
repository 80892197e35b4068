"""The largest pull that crosses a part: over every way to split what pulls on it into two sides.

Several lines meet in a ring; whatever side of them one looks at, their sum passes through the ring to the other
side. So the load on the ring is the largest of those sums, not the largest line. Up to `FEW` lines every split is
tried (2^(k-1)). Beyond: the sum of a side is largest for a side that is all on one side of some plane, and such a
plane can be turned until two of the pulls lie in it; within it the rest is sorted by angle. That is every side
that can be largest, n^2 planes of n log n steps each (of pulls in one plane: one plane).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np

from analyser.forces.network import Array

FEW = 10
"""Pulls up to which every split is tried."""
FLAT = 1e-9
"""Share of the largest pull under which a pull lies in a plane."""


def crossing(pulls: Sequence[Array], *, balanced: bool = True) -> Array:
    """The largest sum of a side of `pulls` (newtons each) against the rest of them.

    `balanced`: they stand for all that acts on the part, so that the two sides of a split are alike; where they are
    not (peaks that come at different times), no more crosses than the lesser of the two.

    >>> up, out = np.array([0.0, 0.0, 2.0]), np.array([3.0, 0.0, 0.0])
    >>> float(np.linalg.norm(crossing([up, up, -up, -up])))
    4.0
    >>> float(np.linalg.norm(crossing([out, -out])))
    3.0
    """
    all_pulls = np.array(pulls, dtype=float).reshape(-1, 3)
    if not len(all_pulls):
        return np.zeros(3)
    if len(all_pulls) == 1:
        alone: Array = all_pulls[0]
        return alone
    chosen = _every(len(all_pulls)) if len(all_pulls) <= FEW else _parted(all_pulls)
    sides = chosen @ all_pulls
    sizes = np.einsum("ij,ij->i", sides, sides)
    if balanced:
        others = all_pulls.sum(axis=0) - sides
        sizes = np.minimum(sizes, np.einsum("ij,ij->i", others, others))
    best: Array = sides[int(np.argmax(sizes))]
    return best


@lru_cache(maxsize=FEW)
def _every(count: int) -> Array:
    """Every side of a split, as rows of nought and one; the first pull always on the other."""
    bits = np.arange(1, 2 ** (count - 1))
    rows = np.zeros((len(bits), count))
    rows[:, 1:] = bits[:, None] >> np.arange(count - 1) & 1
    return rows


def _parted(pulls: Array) -> Array:
    """The sides that can be largest: all on one side of a plane through two of the pulls, and of those within it
    all on one side of a line."""
    size = float(np.abs(pulls).max(initial=0.0)) or 1.0
    units = pulls / size
    normals = [np.cross(units[a], units[b]) for a, b in combinations(range(len(units)), 2)]
    kept = [one / length for one in normals if (length := float(np.linalg.norm(one))) > FLAT]
    if not kept:  # all along one line
        axis = units[int(np.argmax(np.linalg.norm(units, axis=1)))]
        return np.array([units @ axis > 0], dtype=float)
    if float(np.abs(units @ kept[0]).max()) <= FLAT:
        kept = kept[:1]
    found: set[bytes] = set()
    for normal in kept:
        high = units @ normal
        inside = np.flatnonzero(np.abs(high) <= FLAT)
        across = units[inside[np.argmax(np.linalg.norm(units[inside], axis=1))]]
        first = across / float(np.linalg.norm(across))
        second = np.cross(normal, first)
        angles = np.arctan2(units[inside] @ second, units[inside] @ first)
        turns = np.unique(np.concatenate([angles + np.pi / 2, angles - np.pi / 2]) % (2 * np.pi))
        middles = turns + np.diff(np.append(turns, turns[0] + 2 * np.pi)) / 2
        for sign in (1.0, -1.0):
            above = sign * high > FLAT
            for one in middles:
                side = above.copy()
                side[inside] = np.cos(angles - one) > 0
                found.add(side.tobytes())
    return np.array([np.frombuffer(one, dtype=bool) for one in sorted(found)], dtype=float)
