"""The rig as numbers: nodes, bodies, lines; its energy, the forces on it, and how they change.

The equations are in `statics.md`. Arrays: `n` nodes, of which the first `free` move by themselves,
the next ones are carried by rigid bodies, the last ones are fixed; `s` segments; `m` lines. Units
are newtons, metres and kilograms.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

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
    force = np.zeros((network.nodes, 3))
    along = formed.tension[network.line][:, None] * formed.directions
    np.add.at(force, network.start, along)
    np.add.at(force, network.end, -along)
    force[: len(network.weights), 2] -= network.weights
    return force


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
    count, moving = network.lines, network.moving
    nodes = network.nodes
    # how each line's length changes with the nodes
    rows = np.zeros((count, nodes, 3))
    np.add.at(rows, (network.line, network.start), -formed.directions)
    np.add.at(rows, (network.line, network.end), formed.directions)
    across = (formed.tension[network.line] / np.maximum(formed.lengths, KINK))[:, None, None] * (
        np.eye(3) - formed.directions[:, :, None] * formed.directions[:, None, :]
    )
    stiff = np.zeros((nodes, nodes, 3, 3))
    np.add.at(stiff, (network.start, network.start), across)
    np.add.at(stiff, (network.end, network.end), across)
    np.add.at(stiff, (network.start, network.end), -across)
    np.add.at(stiff, (network.end, network.start), -across)
    matrix = stiff[:moving, :moving].transpose(0, 2, 1, 3).reshape(3 * moving, 3 * moving)
    lengthen = rows[:, :moving].reshape(count, 3 * moving)
    size = 3 * network.free + 6 * network.bodies
    if network.bodies:
        carry = _carry(network, formed)
        matrix = carry.T @ matrix @ carry
        lengthen = lengthen @ carry
        for k, body in enumerate(network.carrier):
            f, r = force[network.free + k], formed.arms[k]
            turn = slice(3 * network.free + 6 * body + 3, 3 * network.free + 6 * body + 6)
            matrix[turn, turn] += float(f @ r) * np.eye(3) - 0.5 * (np.outer(f, r) + np.outer(r, f))
    if network.grips:
        lengthen = np.concatenate([lengthen, -network.passing], axis=1)
        bigger = np.zeros((size + network.grips, size + network.grips))
        bigger[:size, :size] = matrix
        matrix = bigger
    taut = np.where(formed.stretch > 0, network.rate, 0.0)
    result: Array = matrix + (lengthen.T * taut) @ lengthen
    return result


def _carry(network: Network, formed: Shape) -> Array:
    """How the moving nodes move (rows) with free nodes and with bodies' moves and turns (columns)."""
    free = 3 * network.free
    carry = np.zeros((3 * network.moving, free + 6 * network.bodies))
    carry[:free, :free] = np.eye(free)
    for k, body in enumerate(network.carrier):
        x, y, z = formed.arms[k]
        at, to = free + 3 * k, free + 6 * body
        carry[at : at + 3, to : to + 3] = np.eye(3)
        carry[at : at + 3, to + 3 : to + 6] = [[0, z, -y], [-z, 0, x], [y, -x, 0]]
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
    angle = float(np.linalg.norm(by))
    x, y, z = by
    skew = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    first, second = (np.sin(angle) / angle, (1 - np.cos(angle)) / angle**2) if angle > 1e-8 else (1.0, 0.5)
    result: Array = np.eye(3) + first * skew + second * skew @ skew
    return result
