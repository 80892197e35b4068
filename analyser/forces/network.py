"""The rig as numbers: nodes, bodies, lines; its energy, the forces on it, and how they change.

The equations are in `statics.md`. Arrays: `n` nodes, of which the first `free` move by themselves,
the next ones are carried by rigid bodies, the last ones are fixed; `s` segments; `m` lines. Units
are newtons, metres and kilograms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

EYE = np.eye(3)
KINK = 1e-9
"""Metres under which a segment has no direction."""


@dataclass(slots=True)
class Network:
    """`weights` in newtons by node; body b carries nodes `free + k` where `carrier[k]` is b, at
    `offsets[k]` from its centre. Line l is at rest at `rest[l]` and has the spring rate `rate[l]`
    (N/m); `passing[l, q]` is what the rope passed at one-way grip q adds to its length."""

    free: int
    carrier: Ints
    offsets: Array
    bodies: int
    fixed: Array
    weights: Array
    start: Ints
    end: Ints
    line: Ints
    rest: Array
    rate: Array
    passing: Array
    scatter: Scatter = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self.scatter = Scatter(self)

    @property
    def nodes(self) -> int:
        return self.free + len(self.carrier) + len(self.fixed)

    @property
    def moving(self) -> int:
        """Nodes that are not fixed."""
        return self.free + len(self.carrier)

    @property
    def lines(self) -> int:
        return len(self.rest)

    @property
    def grips(self) -> int:
        return int(self.passing.shape[1])


class Scatter:
    """Where each segment's terms go in the sums over nodes: worked out once for a network, as flat
    indices for `numpy.bincount` (the quickest sum by index there is for arrays this small)."""

    def __init__(self, network: Network) -> None:
        axes = np.arange(3)
        nodes, moving = network.nodes, network.moving
        start, end = network.start, network.end
        ends = np.concatenate([start, end])
        self.forces: Ints = (3 * ends[:, None] + axes).ravel()
        line = np.concatenate([network.line, network.line])
        self.lengthen: Ints = (3 * nodes * line[:, None] + 3 * ends[:, None] + axes).ravel()
        rows = np.concatenate([start, end, start, end])
        columns = np.concatenate([start, end, end, start])
        number = len(start)
        sign = np.repeat([1.0, 1.0, -1.0, -1.0], number)
        kept = np.flatnonzero((rows < moving) & (columns < moving))
        self.segment: Ints = (kept % max(number, 1)).astype(np.intp)
        self.sign = sign[kept]
        row = 3 * rows[kept, None, None] + axes[:, None]
        self.blocks: Ints = (3 * moving * row + 3 * columns[kept, None, None] + axes).ravel()
        self.carry: Array | None = None
        if network.bodies:
            free = 3 * network.free
            self.carry = np.zeros((3 * moving, free + 6 * network.bodies))
            self.carry[:free, :free] = np.eye(free)
            for k, body in enumerate(network.carrier):
                at, to = free + 3 * k, free + 6 * int(body)
                self.carry[at : at + 3, to : to + 3] = np.eye(3)
        self.reach = np.full(network.bodies, 1e-3)
        np.maximum.at(self.reach, network.carrier, np.sqrt(np.square(network.offsets).sum(axis=1)))
        self.arm_rows = 3 * (network.free + np.arange(len(network.carrier)))
        self.arm_columns = 3 * network.free + 6 * network.carrier + 3


@dataclass(slots=True)
class State:
    """Where everything is: free nodes, centres and attitudes of bodies, rope passed at grips."""

    free: Array
    centres: Array
    turns: Array
    """Rotation matrices, one a body, from the body as drawn."""
    passed: Array

    def copy(self) -> State:
        return State(self.free.copy(), self.centres.copy(), self.turns.copy(), self.passed.copy())


@dataclass(slots=True)
class Shape:
    """The lines of a network in one state."""

    places: Array
    arms: Array
    """From the centre of its body to each carried node."""
    directions: Array
    lengths: Array
    stretch: Array
    """Metres by which each line is longer than at rest (negative: slack)."""
    tension: Array


def places(network: Network, state: State) -> tuple[Array, Array]:
    """Where each node is, and each carried node's arm."""
    if not network.bodies:
        return np.concatenate([state.free, network.fixed]), network.offsets
    arms: Array = np.einsum("kij,kj->ki", state.turns[network.carrier], network.offsets)
    return np.concatenate([state.free, state.centres[network.carrier] + arms, network.fixed]), arms


def shape(network: Network, state: State) -> Shape:
    at, arms = places(network, state)
    apart = at[network.end] - at[network.start]
    lengths = np.sqrt(np.einsum("ij,ij->i", apart, apart))
    directions = apart / np.maximum(lengths, KINK)[:, None]
    total = np.bincount(network.line, lengths, network.lines)
    stretch = total - network.rest + network.passing @ -state.passed
    tension = network.rate * np.maximum(stretch, 0.0)
    return Shape(at, arms, directions, lengths, stretch, tension)


def energy(network: Network, formed: Shape) -> float:
    """Joules: what the lines store, and height times weight."""
    stored = 0.5 * float(network.rate @ np.square(np.maximum(formed.stretch, 0.0)))
    return stored + float(network.weights @ formed.places[: len(network.weights), 2])


def pulls(network: Network, formed: Shape) -> Array:
    """For each node, the sum of what its lines pull on it and its weight (newtons)."""
    along = formed.tension[network.line][:, None] * formed.directions
    terms = np.concatenate([along, -along]).ravel()
    force = _summed(network.scatter.forces, terms, 3 * network.nodes).reshape(-1, 3)
    force[: len(network.weights), 2] -= network.weights
    return force


def _summed(at: Ints, terms: Array, size: int) -> Array:
    """Terms summed by index (floats even where there are none)."""
    return np.bincount(at, terms, size).astype(float, copy=False)


def gradient(network: Network, formed: Shape, force: Array) -> Array:
    """The energy's slope in each way of moving: free nodes, then each body's move and turn, then grips."""
    parts = [-force[: network.free].ravel()]
    if network.bodies:
        on_bodies = force[network.free : network.moving]
        both = np.zeros((network.bodies, 6))
        np.add.at(both[:, :3], network.carrier, -on_bodies)
        np.add.at(both[:, 3:], network.carrier, -np.cross(formed.arms, on_bodies))
        parts.append(both.ravel())
    if network.grips:
        parts.append(-(network.passing.T @ formed.tension))
    return np.concatenate(parts)


def curvature(network: Network, formed: Shape, force: Array) -> Array:
    """The matrix of the energy's second derivatives, in the same order as `gradient`."""
    count, wide = network.lines, 3 * network.moving
    scatter = network.scatter
    u = formed.directions
    # how each line's length changes with the nodes
    terms = np.concatenate([-u, u]).ravel()
    lengthen = _summed(scatter.lengthen, terms, count * 3 * network.nodes).reshape(count, -1)[:, :wide]
    tight = formed.stretch > 0
    across = (formed.tension[network.line] / np.maximum(formed.lengths, KINK))[:, None, None] * (
        EYE - u[:, :, None] * u[:, None, :]
    )
    blocks = across[scatter.segment] * scatter.sign[:, None, None]
    matrix = _summed(scatter.blocks, blocks.ravel(), wide * wide).reshape(wide, wide)
    lengthen = lengthen[tight]
    if network.bodies:
        carry = _carry(network, formed)
        matrix = carry.T @ matrix @ carry
        lengthen = lengthen @ carry
        f, r = force[network.free : network.moving], formed.arms
        both = f[:, :, None] * r[:, None, :]
        turns = np.einsum("ki,ki->k", f, r)[:, None, None] * EYE - 0.5 * (both + both.transpose(0, 2, 1))
        for k, at in enumerate(scatter.arm_columns):
            matrix[at : at + 3, at : at + 3] += turns[k]
    if network.grips:
        lengthen = np.concatenate([lengthen, -network.passing[tight]], axis=1)
        size = len(matrix)
        bigger = np.zeros((size + network.grips, size + network.grips))
        bigger[:size, :size] = matrix
        matrix = bigger
    result: Array = matrix + (lengthen.T * network.rate[tight]) @ lengthen
    return result


def _carry(network: Network, formed: Shape) -> Array:
    """How the moving nodes move (rows) with free nodes and with bodies' moves and turns (columns)."""
    carry = network.scatter.carry
    assert carry is not None
    rows, columns = network.scatter.arm_rows, network.scatter.arm_columns
    x, y, z = formed.arms.T
    for i, j, values in ((0, 1, z), (0, 2, -y), (1, 0, -z), (1, 2, x), (2, 0, y), (2, 1, -x)):
        carry[rows + i, columns + j] = values
    return carry


def moved(network: Network, state: State, step: Array) -> State:
    """The state after a step (in the order of `gradient`); rope passed never gets negative."""
    free = 3 * network.free
    new = State(state.free + step[:free].reshape(-1, 3), state.centres, state.turns, state.passed)
    if network.bodies:
        both = step[free : free + 6 * network.bodies].reshape(-1, 6)
        new.centres = state.centres + both[:, :3]
        new.turns = np.stack([turned(w) @ turn for w, turn in zip(both[:, 3:], state.turns, strict=True)])
    if network.grips:
        new.passed = np.maximum(state.passed + step[free + 6 * network.bodies :], 0.0)
    return new


def turned(by: Array) -> Array:
    """The rotation by a vector (radians about its direction), by Rodrigues' formula."""
    x, y, z = (float(value) for value in by)
    angle = math.sqrt(x * x + y * y + z * z)
    first, second = (math.sin(angle) / angle, (1 - math.cos(angle)) / angle**2) if angle > 1e-8 else (1.0, 0.5)
    cosine = 1 - second * angle * angle
    return np.array(
        [
            [cosine + second * x * x, second * x * y - first * z, second * x * z + first * y],
            [second * x * y + first * z, cosine + second * y * y, second * y * z - first * x],
            [second * x * z - first * y, second * y * z + first * x, cosine + second * z * z],
        ]
    )
