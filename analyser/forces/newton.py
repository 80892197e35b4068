"""Newton's method on the energy: steps that never go up, until every force balances.

The curvature is made positive by a shift where it isn't (bodies that stand on their heads, lines
that hang loose), steps are no longer than a radius, and each is shortened until the energy goes
down as the slope promises (Armijo). Rope passed at one-way grips stays at nought while the grip
holds. Where it ends on a saddle of a rigid body's energy, it goes down the other side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analyser.forces.network import (
    KINK,
    Array,
    Network,
    Shape,
    State,
    curvature,
    energy,
    gradient,
    moved,
    pulls,
    shape,
)

BALANCED = 1e-6
"""Share of the largest load that may be left over at a node: more is no answer."""

AIM = 1e-11
"""Where Newton's method stops; reached in one or two more steps once it converges."""


@dataclass(slots=True)
class Found:
    state: State
    formed: Shape
    residual: float
    """The largest force (or moment over the body's size) left over, over the largest load."""
    steps: int


def scale(network: Network) -> float:
    """The largest load, in newtons: what residuals are measured by."""
    return max(float(network.weights.max(initial=0.0)), 1e-9)


def reach(network: Network) -> Array:
    """The size of each body (metres): moments over it are compared with forces."""
    return network.scatter.reach


def left_over(network: Network, state: State, slope: Array) -> float:
    """The largest unbalanced force, in newtons (moments over the size of the body)."""
    free = 3 * network.free
    worst = 0.0
    if network.free:
        worst = _largest(slope[:free].reshape(-1, 3))
    if network.bodies:
        both = slope[free : free + 6 * network.bodies].reshape(-1, 6)
        worst = max(worst, _largest(both[:, :3]), _largest(both[:, 3:] / reach(network)[:, None]))
    if network.grips:
        at_grips = slope[free + 6 * network.bodies :]
        held = np.where(state.passed > 0, np.abs(at_grips), np.maximum(-at_grips, 0.0))
        worst = max(worst, float(held.max()))
    return worst


def _largest(rows: Array) -> float:
    """The size of the largest of some vectors."""
    return math.sqrt(float(np.einsum("ij,ij->i", rows, rows).max()))


def settle(network: Network, state: State, most: int = 100, load: float | None = None) -> Found:
    """Go down in energy from `state` until balanced (to `AIM`), or for `most` steps.

    `load` is what residuals are measured by, where it isn't the network's own largest weight.
    """
    load = load or scale(network)
    formed = shape(network, state)
    height = energy(network, formed)
    radius = 1.0
    lifted = 0
    best: Found | None = None
    for count in range(most + 1):
        force = pulls(network, formed)
        slope = gradient(network, formed, force)
        rest = left_over(network, state, slope) / load
        if best is None or rest <= best.residual:
            best = Found(state, formed, rest, count)
        if count == most or (rest < AIM and not (network.bodies and lifted < 3)):
            break
        matrix = curvature(network, formed, force)
        active = np.ones(len(slope), dtype=bool)
        if network.grips:
            active[-network.grips :] = (state.passed > 0) | (slope[-network.grips :] < 0)
        if rest < AIM:
            step = _off_saddle(matrix[np.ix_(active, active)], network)
            if step is None:
                break
            lifted += 1
            wide = np.zeros(len(slope))
            wide[active] = step
            state = moved(network, state, wide)
            formed = shape(network, state)
            height = energy(network, formed)
            best = None
            continue
        step = np.zeros(len(slope))
        step[active] = _step(matrix[np.ix_(active, active)], slope[active], load)
        longest = float(np.abs(step).max(initial=0.0))
        if longest > radius:
            step *= radius / longest
        found = _search(network, state, step, slope, height, rest * load)
        if found is None:
            break
        state, formed, height, whole = found
        radius = min(max(2 * radius, 1.0), 1e3) if whole else max(radius / 2, 1e-3)
    assert best is not None
    return best


def _step(matrix: Array, slope: Array, load: float) -> Array:
    """Downhill: the Newton step, with the curvature shifted until it is positive."""
    diagonal = np.arange(len(slope))
    shift = 1e-9 * load
    bare = matrix.copy()
    top = float(np.abs(np.diagonal(matrix)).max(initial=1.0))
    for _ in range(40):
        bare[diagonal, diagonal] = matrix[diagonal, diagonal] + shift
        try:
            np.linalg.cholesky(bare)
            step: Array = np.asarray(np.linalg.solve(bare, -slope), dtype=float)
        except np.linalg.LinAlgError:  # the first may just pass, and the second just not
            shift = max(10 * shift, 1e-13 * top)
            continue
        if np.isfinite(step).all():
            return step
        shift *= 10
    return -slope / top


def _off_saddle(matrix: Array, network: Network) -> Array | None:
    """A small step in a direction in which the energy falls, where there is one."""
    if not len(matrix):
        return None
    values, vectors = np.linalg.eigh(matrix)
    if values[0] > -1e-7 * max(scale(network), 1.0):
        return None
    vector: Array = vectors[:, 0]
    sign = 1.0 if vector[int(np.argmax(np.abs(vector)))] > 0 else -1.0
    return sign * 0.05 * vector / float(np.abs(vector).max())


def _search(
    network: Network, state: State, step: Array, slope: Array, height: float, rest: float
) -> tuple[State, Shape, float, bool] | None:
    """Shorten the step until the energy falls; near the end, where the energy can't be told apart
    any more, until the forces left over do."""
    promised = float(slope @ step)
    noise = 1e-13 * (abs(height) + 1.0)
    share = 1.0
    for _ in range(40):
        tried = moved(network, state, share * step)
        formed = shape(network, tried)
        now = energy(network, formed)
        if now <= height + 1e-4 * share * promised and promised < 0 and -share * promised > 10 * noise:
            return tried, formed, now, share == 1.0
        if now <= height + 10 * noise:
            after = gradient(network, formed, pulls(network, formed))
            if left_over(network, tried, after) < rest:
                return tried, formed, now, share == 1.0
        share /= 2 if share > 1e-3 else 8
    return None


def kinks(network: Network, formed: Shape) -> list[int]:
    """Tight segments that have shrunk to nothing: a knot or a wheel that has run up to another."""
    tight = formed.tension[network.line] > 0
    return [int(k) for k in np.flatnonzero(tight & (formed.lengths < max(1e-5, KINK)))]
