"""Bringing one network to rest: the cone programme, then Newton's method, with what presses on what."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analyser.forces import convex, newton
from analyser.forces.assembling import Assembly, joined_up
from analyser.forces.network import KINK, Array, State, places, pulls, shape


@dataclass(slots=True)
class Answer:
    state: State
    tension: Array
    residual: float
    jams: list[tuple[int, int]]


def solve(assembly: Assembly, state: State, near: bool) -> Answer | Array:
    """The state of rest from `state` (that of a neighbour: `near`), or the nodes that fall for ever."""
    network = assembly.network
    if not len(network.weights):
        return Answer(state, np.zeros(network.lines), 0.0, [])
    if near:
        found = newton.settle(network, state, 40)
        if found.residual < 1e-9 and not newton.kinks(network, found.formed):
            return Answer(found.state, found.formed.tension, found.residual, [])
    best: Answer | None = None
    turns = state.turns
    for _ in range(6):
        solution = convex.solve(network, turns)
        if solution.falling is not None:
            return solution.falling
        assert solution.state is not None
        answer = _polished(assembly, solution.state)
        if best is None or answer.residual < best.residual:
            best = answer
        if best.residual < 1e-9 or not network.bodies:
            break
        turns = answer.state.turns
    assert best is not None
    return best


def _polished(assembly: Assembly, state: State) -> Answer:
    """Newton's method from the programme's answer; where something has run up to something else,
    the two are one node for it, and whether they press on each other is looked at afterwards."""
    network = assembly.network
    formed = shape(network, state)
    short = [k for k in range(len(formed.lengths)) if formed.lengths[k] < 1e-4]
    tight = formed.tension[network.line] > 1e-5 * newton.scale(network)
    jams = [(int(network.start[k]), int(network.end[k])) for k in short if tight[k]]
    if not jams:
        found = newton.settle(network, state)
        return Answer(found.state, found.formed.tension, found.residual, [])
    merged, new = joined_up(network, jams)
    first: dict[int, int] = {}
    for k, n in enumerate(new):
        first.setdefault(n, k)
    begin = replace(state, free=np.array([state.free[first[n]] for n in range(merged.free)]).reshape(-1, 3))
    found = newton.settle(merged, begin)
    at, _ = places(merged, found.state)
    whole = replace(found.state, free=np.array([at[new[k]] for k in range(network.free)]).reshape(-1, 3))
    formed = shape(network, whole)
    pressing = max((_pressed(assembly, whole, pair) for pair in jams), default=0.0)
    return Answer(whole, formed.tension, max(found.residual, pressing), jams)


def _pressed(assembly: Assembly, state: State, pair: tuple[int, int]) -> float:
    """By how much (share of the load) the free one of a pair is pulled off harder than the rope that
    draws it up to the other: nothing, where it really jams."""
    network = assembly.network
    formed = shape(network, state)
    node = min(pair)
    if node >= network.free:
        return 0.0
    force = pulls(network, formed)[node]
    inner = (formed.lengths < KINK) & ((network.start == node) | (network.end == node))
    for k in np.flatnonzero(inner):  # the inner segment has no direction: what `pulls` took it for is undone
        sign = 1.0 if network.start[k] == node else -1.0
        force = force - sign * formed.tension[network.line[k]] * formed.directions[k]
    drawn_up = float(formed.tension[network.line[inner]].sum())
    return max(float(np.linalg.norm(force)) - drawn_up, 0.0) / newton.scale(network)
