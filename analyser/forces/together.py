"""Many cases of one rig at once: the same points and lines with other figures, each brought to rest.

The equations are those of `network.py`, with one more axis in front: the case. Newton's method goes downhill in
each case by itself (Levenberg's shift grows where a step would go up). Cases that don't come to rest are told, and
are worked out one by one elsewhere: this is for finding which cases are worth that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analyser.forces.network import EYE, KINK, Array, Network, State

STEPS = 60
"""Newton steps at most."""
BALANCED = 1e-6
"""Share of the load left over up to which a case counts as at rest."""
TURN = 0.3
"""Radians by which a body turns in one step at most."""


@dataclass(slots=True)
class Figures:
    """What differs from case to case: by line, by moving node, by fixed node, by carried node."""

    rest: Array
    rate: Array
    weights: Array
    fixed: Array
    offsets: Array


@dataclass(slots=True)
class States:
    """Where everything is, case by case."""

    free: Array
    centres: Array
    turns: Array
    passed: Array

    def mixed(self, other: States, share: NDArray[np.bool_]) -> States:
        """This where `share` is False, the other where it is True."""

        def one(a: Array, b: Array) -> Array:
            return np.where(share.reshape(-1, *([1] * (a.ndim - 1))), b, a)

        return States(
            one(self.free, other.free),
            one(self.centres, other.centres),
            one(self.turns, other.turns),
            one(self.passed, other.passed),
        )


@dataclass(slots=True)
class Rested:
    """All cases at rest: their states, node places, line pulls, and which of them balance."""

    states: States
    places: Array
    tension: Array
    balanced: Array


class Together:
    """The points and lines that all cases share."""

    def __init__(self, network: Network, figures: Figures) -> None:
        self.network, self.figures = network, figures
        count, nodes = len(network.start), network.nodes
        self.ends = np.zeros((nodes, count))
        np.add.at(self.ends, (network.start, np.arange(count)), 1.0)
        np.add.at(self.ends, (network.end, np.arange(count)), -1.0)
        self.lines = np.zeros((network.lines, count))
        self.lines[network.line, np.arange(count)] = 1.0
        self.load = np.maximum(figures.weights.max(axis=1, initial=0.0), 1e-9)

    def rest(self, states: States) -> Rested:
        """Every case brought to rest from its state."""
        cases = len(self.load)
        shift = 1e-6 * self.load
        height = self._energy(states)
        done = np.zeros(cases, dtype=bool)
        for _ in range(STEPS):
            formed = self._shape(states)
            slope, left = self._slope(states, formed)
            done = left < 1e-9 * self.load
            if done.all():
                break
            step = self._step(states, formed, slope, shift)
            share = np.where(done, 0.0, 1.0)
            moved = self._moved(states, step, share)
            now = self._energy(moved)
            noise = 1e-12 * (np.abs(height) + 1.0)
            for _ in range(12):
                up = now > height + noise
                if not up.any():
                    break
                share = np.where(up, share / 4, share)
                moved = self._moved(states, step, share)
                now = self._energy(moved)
            up = now > height + noise
            shift = np.where(up, shift * 100, np.where(share >= 1, np.maximum(shift / 4, 1e-9 * self.load), shift * 4))
            states = states.mixed(moved, ~up)
            height = np.where(up, height, now)
        formed = self._shape(states)
        _, left = self._slope(states, formed)
        return Rested(states, formed[0], formed[4], left < BALANCED * self.load)

    def _shape(self, states: States) -> tuple[Array, Array, Array, Array, Array, Array]:
        """Places, arms, directions, lengths, pulls and stretch."""
        network, figures = self.network, self.figures
        arms = figures.offsets
        parts = [states.free, figures.fixed]
        if network.bodies:
            arms = np.einsum("ckij,ckj->cki", states.turns[:, network.carrier], figures.offsets)
            parts.insert(1, states.centres[:, network.carrier] + arms)
        at = np.concatenate(parts, axis=1)
        apart = at[:, network.end] - at[:, network.start]
        lengths = np.sqrt(np.einsum("csi,csi->cs", apart, apart))
        directions = apart / np.maximum(lengths, KINK)[..., None]
        stretch = lengths @ self.lines.T - figures.rest - states.passed @ network.passing.T
        return at, arms, directions, lengths, figures.rate * np.maximum(stretch, 0.0), stretch

    def _energy(self, states: States) -> Array:
        at, _, _, _, pull, _ = self._shape(states)
        moving = self.network.moving
        safe = np.where(self.figures.rate > 0, self.figures.rate, 1.0)
        stored: Array = 0.5 * (np.square(pull) / safe).sum(axis=1)
        lifted: Array = (self.figures.weights * at[:, :moving, 2]).sum(axis=1)
        total: Array = stored + lifted
        return total

    def _forces(self, formed: tuple[Array, ...]) -> Array:
        _, _, directions, _, pull, _ = formed
        along = (pull @ self.lines)[..., None] * directions
        force: Array = np.einsum("ns,csi->cni", self.ends, along)
        force[:, : self.network.moving, 2] -= self.figures.weights
        return force

    def _slope(self, states: States, formed: tuple[Array, ...]) -> tuple[Array, Array]:
        """The energy's slope in each way of moving, and the largest force left over (moments over the body's size)."""
        network = self.network
        cases = len(self.load)
        force = self._forces(formed)
        parts = [-force[:, : network.free].reshape(cases, -1)]
        left = np.abs(parts[0]).max(axis=1, initial=0.0)
        if network.bodies:
            both = np.zeros((cases, network.bodies, 6))
            on = force[:, network.free : network.moving]
            for k, body in enumerate(network.carrier):
                both[:, body, :3] -= on[:, k]
                both[:, body, 3:] -= np.cross(formed[1][:, k], on[:, k])
            reach = network.scatter.reach[:, None]
            sizes = np.abs(np.concatenate([both[..., :3], both[..., 3:] / reach], axis=2)).reshape(cases, -1)
            left = np.maximum(left, sizes.max(axis=1))
            parts.append(both.reshape(cases, -1))
        if network.grips:
            grips = -(formed[4] @ network.passing)
            parts.append(grips)
            held = np.where(states.passed > 0, np.abs(grips), np.maximum(-grips, 0.0))
            left = np.maximum(left, held.max(axis=1))
        return np.concatenate(parts, axis=1), left

    def _step(self, states: States, formed: tuple[Array, ...], slope: Array, shift: Array) -> Array:
        network = self.network
        cases, moving = len(self.load), network.moving
        _, arms, directions, lengths, pull, stretch = formed
        ends = self.ends[:moving]
        outer = directions[..., :, None] * directions[..., None, :]
        across = ((pull @ self.lines) / np.maximum(lengths, KINK))[..., None, None] * (EYE - outer)
        matrix = np.einsum("ps,qs,csij->cpiqj", ends, ends, across, optimize=True).reshape(cases, 3 * moving, -1)
        longer = -np.einsum("ls,ps,csi->clpi", self.lines, ends, directions, optimize=True)
        longer = longer.reshape(cases, network.lines, -1)
        if network.bodies:
            carry = self._carry(arms)
            matrix = np.swapaxes(carry, 1, 2) @ matrix @ carry
            longer = longer @ carry
            on = self._forces(formed)[:, network.free : moving]
            for k, at in enumerate(network.scatter.arm_columns):
                f, r = on[:, k], arms[:, k]
                both = f[:, :, None] * r[:, None, :]
                turned = np.einsum("ci,ci->c", f, r)[:, None, None] * EYE - 0.5 * (both + np.swapaxes(both, 1, 2))
                matrix[:, at : at + 3, at : at + 3] += turned
        size = matrix.shape[1] + network.grips
        if network.grips:
            whole = np.zeros((cases, size, size))
            whole[:, : matrix.shape[1], : matrix.shape[1]] = matrix
            matrix = whole
            passing = np.broadcast_to(-network.passing, (cases, *network.passing.shape))
            longer = np.concatenate([longer, passing], axis=2)
        tight = np.where(stretch > 0, self.figures.rate, 0.0)
        matrix = matrix + np.swapaxes(longer * tight[..., None], 1, 2) @ longer
        diagonal = np.arange(size)
        matrix[:, diagonal, diagonal] += shift[:, None]
        right = -slope
        if network.grips:
            still = (states.passed <= 0) & (slope[:, -network.grips :] >= 0)
            for g in range(network.grips):
                at = size - network.grips + g
                matrix[still[:, g], at, :] = 0.0
                matrix[still[:, g], :, at] = 0.0
                matrix[still[:, g], at, at] = 1.0
                right[still[:, g], at] = 0.0
        step: Array = np.linalg.solve(matrix, right[..., None])[..., 0]
        up = (step * slope).sum(axis=1) > 0
        top = np.abs(matrix[:, diagonal, diagonal]).max(axis=1)
        told: Array = np.where(up[:, None], right / top[:, None], step)
        return told

    def _carry(self, arms: Array) -> Array:
        network = self.network
        assert network.scatter.carry is not None
        carry = np.repeat(network.scatter.carry[None], len(arms), axis=0)
        rows, columns = network.scatter.arm_rows, network.scatter.arm_columns
        x, y, z = (arms[..., k] for k in range(3))
        for i, j, values in ((0, 1, z), (0, 2, -y), (1, 0, -z), (1, 2, x), (2, 0, y), (2, 1, -x)):
            carry[:, rows + i, columns + j] = values
        return carry

    def _moved(self, states: States, step: Array, share: Array) -> States:
        network = self.network
        cases = len(share)
        free = 3 * network.free
        longest = np.abs(step).max(axis=1, initial=0.0)
        share = share * np.minimum(1.0, 1.0 / np.maximum(longest, 1e-12))
        both = step[:, free : free + 6 * network.bodies].reshape(cases, network.bodies, 6)
        if network.bodies:
            turn = np.abs(both[..., 3:]).reshape(cases, -1).max(axis=1)
            share = np.minimum(share, TURN / np.maximum(turn, 1e-12))
        go = step * share[:, None]
        new = States(states.free + go[:, :free].reshape(cases, -1, 3), states.centres, states.turns, states.passed)
        if network.bodies:
            both = go[:, free : free + 6 * network.bodies].reshape(cases, network.bodies, 6)
            new.centres = states.centres + both[..., :3]
            new.turns = _turned(both[..., 3:]) @ states.turns
        if network.grips:
            new.passed = np.maximum(states.passed + go[:, free + 6 * network.bodies :], 0.0)
        return new


def _turned(by: Array) -> Array:
    """The rotations by vectors (radians about their directions), by Rodrigues' formula."""
    angle = np.linalg.norm(by, axis=-1)
    small = angle < 1e-8
    safe = np.where(small, 1.0, angle)
    first = np.where(small, 1.0, np.sin(safe) / safe)[..., None, None]
    second = np.where(small, 0.5, (1 - np.cos(safe)) / safe**2)[..., None, None]
    x, y, z = (by[..., k] for k in range(3))
    nought = np.zeros_like(x)
    cross = np.stack(
        [np.stack([nought, -z, y], -1), np.stack([z, nought, -x], -1), np.stack([-y, x, nought], -1)], axis=-2
    )
    told: Array = EYE + first * cross + second * (cross @ cross)
    return told


def starting(state: State, cases: int) -> States:
    """One state as the start of every case."""
    return States(
        np.repeat(state.free[None], cases, axis=0),
        np.repeat(state.centres[None], cases, axis=0),
        np.repeat(state.turns[None], cases, axis=0),
        np.repeat(state.passed[None], cases, axis=0),
    )
