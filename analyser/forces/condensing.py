"""What moves after a failure, made small: the masses, the points that still need a place, and lines in one.

A point without mass that joins exactly two line ends is taken out, and the two lines are one: lengths at rest
and compliances add, spans join (exact: it lies straight between them, and both pull alike). So is what ends
nowhere, and a wheel on a rope that nothing else touches. Parts with a small mass keep their weight and have
no inertia. Only pieces of the rig that a failure touches are followed; the others hang as they hung.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from analyser.forces.assembling import Assembly
from analyser.forces.inertia import Inertia
from analyser.forces.masses import Held, Masses
from analyser.forces.network import Array, Network, State, places
from analyser.forces.slipping import Slip
from analyser.forces.stiffness import GRAVITY
from analyser.forces.turning import quaternion

SMALL = 3.0
"""Kilograms below which a part keeps its weight and has no inertia, if it is small beside what moves."""
SMALL_SHARE = 0.05
"""Of the largest mass that moves with it: what is more than that has inertia."""


@dataclass(slots=True)
class Strand:
    """One line that is followed: nodes of the network along it, and the network's lines that are in it, each
    with whether it runs the other way there."""

    path: list[int]
    lines: list[tuple[int, bool]]
    rest: float
    compliance: float
    slip: Slip | None
    loss: float
    """Metres a newton that aren't given back."""


@dataclass(slots=True)
class Condensed:
    """`masses` to follow; `points`, `light` and `carried` are their nodes in the network, `bodies` its bodies;
    `strands[line]` tells for each line of the network which of those it is in (-1: it carries nothing, -2: it
    hangs as it hung). `small`: nodes that keep their weight alone."""

    masses: Masses
    points: list[int]
    light: list[int]
    carried: list[int]
    bodies: list[int]
    fixed: list[int]
    strands: list[Strand]
    of_line: list[int]
    small: tuple[int, ...]
    off: Array
    """From each body's own centre to its centre of mass, as drawn."""
    network: Network = field(repr=False)


def condensed(
    assembly: Assembly,
    begin: State,
    inertia: Mapping[str, Inertia],
    slips: Mapping[int, Slip],
    losses: Mapping[int, float],
    touched: frozenset[int] | None = None,
    small: float = SMALL,
) -> Condensed | None:
    """What follows from `begin` on; `touched` are the nodes at which something has changed (default: all); None
    where nothing moves."""
    network = assembly.network
    strands = [
        Strand(
            list(line.path),
            [(k, False)],
            float(network.rest[k]),
            1.0 / float(network.rate[k]),
            slips.get(k),
            losses.get(k, 0.0) / float(network.rate[k]),
        )
        for k, line in enumerate(assembly.lines)
    ]
    pieces = _pieces(network, strands)
    awake = {pieces[n] for n in (range(network.moving) if touched is None else touched) if n < network.moving}
    nodes = [n for n in range(network.moving) if pieces[n] in awake]
    of_line = [-2] * network.lines
    mine = [one for one in strands if any(n < network.moving and pieces[n] in awake for n in one.path)]
    if not mine or not nodes:
        return None
    for one in mine:
        of_line[one.lines[0][0]] = -1
    heavy, light_weight = _heavy(network, nodes, pieces, small)
    loose = {n for n in nodes if n < network.free and n not in heavy and network.weights[n] <= 0}
    kept = _joined(mine, loose, network)
    used = {n for one in kept for n in one.path}
    light = sorted(n for n in used if n < network.free and n not in heavy)
    points = sorted(n for n in heavy if n in used or network.weights[n] > 0)
    bodies = sorted({int(network.carrier[n - network.free]) for n in nodes if n >= network.free})
    carried = [n for n in nodes if n >= network.free and n in used]
    fixed = sorted(n for n in used if n >= network.moving)
    if not points and not bodies:
        return None
    for number, one in enumerate(kept):
        for line, _ in one.lines:
            of_line[line] = number
    masses, off = _masses(assembly, kept, points, light, carried, bodies, fixed, inertia, of_line)
    _straightened(masses, assembly, begin, (points, light, carried, fixed))
    smalls = tuple(n for n in light_weight if n in used)
    return Condensed(masses, points, light, carried, bodies, fixed, kept, of_line, smalls, off, network)


def _pieces(network: Network, strands: list[Strand]) -> list[int]:
    """For each moving node the piece of the rig that it is in: what hangs together without the ground."""
    parent = list(range(network.moving))

    def find(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    groups = [[n for n in one.path if n < network.moving] for one in strands]
    by_body: dict[int, list[int]] = defaultdict(list)
    for k, body in enumerate(network.carrier):
        by_body[int(body)].append(network.free + k)
    by_grip = [[n for k in np.flatnonzero(network.passing[:, q]) for n in groups[int(k)]] for q in range(network.grips)]
    for group in [*groups, *by_body.values(), *by_grip]:
        for n in group[1:]:
            parent[find(n)] = find(group[0])
    return [find(n) for n in range(network.moving)]


def _heavy(network: Network, nodes: list[int], pieces: list[int], small: float) -> tuple[set[int], list[int]]:
    """Nodes with inertia, and those with a small mass that have none."""
    share = SMALL_SHARE if small else 0.0
    largest: dict[int, float] = defaultdict(float)
    for n in nodes:
        largest[pieces[n]] = max(largest[pieces[n]], float(network.weights[n]))
    free = [n for n in nodes if n < network.free and network.weights[n] > 0]
    heavy = {
        n for n in free if network.weights[n] >= small * GRAVITY or network.weights[n] >= share * largest[pieces[n]]
    }
    return heavy, [n for n in free if n not in heavy]


def _joined(strands: list[Strand], loose: set[int], network: Network) -> list[Strand]:
    """Loose points taken out of the lines, until none is left that can be."""
    strands = list(strands)
    todo = set(loose)
    while todo:
        n = min(todo)
        todo.discard(n)
        ends = [(one, side) for one in strands for side in (0, -1) if one.path[side] == n]
        inside = sum(k == n for one in strands for k in one.path[1:-1])
        touching = [one for one in strands if n in one.path]
        if not ends and inside == 1:
            touching[0].path.remove(n)
        elif len(ends) == 1 and not inside:
            strands.remove(ends[0][0])
            todo |= loose & {*ends[0][0].path} - {n}
        elif len(ends) == 2 and not inside and ends[0][0] is not ends[1][0]:
            (a, side_a), (b, side_b) = ends
            if _apart(a, b, network):
                continue
            first = a.path if side_a == -1 else a.path[::-1]
            second = b.path if side_b == 0 else b.path[::-1]
            slip = min((s for s in (a.slip, b.slip) if s), key=lambda s: s.force, default=None)
            one = Strand(
                [*first[:-1], *second[1:]],
                [*_run(a, side_a == -1), *_run(b, side_b == 0)],
                a.rest + b.rest,
                a.compliance + b.compliance,
                slip,
                a.loss + b.loss,
            )
            at = strands.index(a)
            strands[at] = one
            strands.remove(b)
        strands = [one for one in strands if len(one.path) > 1]
    return [one for one in strands if any(n < network.moving for n in one.path)]


def _run(strand: Strand, forward: bool) -> list[tuple[int, bool]]:
    """A strand's lines in the way it is run through."""
    return strand.lines if forward else [(line, not turned) for line, turned in reversed(strand.lines)]


def _apart(a: Strand, b: Strand, network: Network) -> bool:
    """Would the line run from a point straight back to it? Then the one between keeps its place."""
    ends = {a.path[0], a.path[-1]} & {b.path[0], b.path[-1]}
    return len(ends) > 1


def _masses(
    assembly: Assembly,
    strands: list[Strand],
    points: list[int],
    light: list[int],
    carried: list[int],
    bodies: list[int],
    fixed: list[int],
    inertia: Mapping[str, Inertia],
    of_line: list[int],
) -> tuple[Masses, Array]:
    network = assembly.network
    number = {n: k for k, n in enumerate([*points, *light, *carried, *fixed])}
    start, end, line = [], [], []
    for k, one in enumerate(strands):
        for a, b in pairwise(one.path):
            start.append(number[a])
            end.append(number[b])
            line.append(k)
    solid = [inertia[assembly.body_names[body]] for body in bodies]
    off = np.array([one.centre for one in solid], dtype=float).reshape(-1, 3)
    at = {body: k for k, body in enumerate(bodies)}
    carrier = np.array([at[int(network.carrier[n - network.free])] for n in carried], dtype=np.intp)
    arms = np.array([network.offsets[n - network.free] - off[at[int(network.carrier[n - network.free])]]
                     for n in carried], dtype=float).reshape(-1, 3)  # fmt: skip
    count = len(strands)
    gives = np.zeros((count, count))
    for k, one in enumerate(strands):
        if one.slip and one.slip.from_ is not None and (other := of_line[one.slip.from_]) >= 0 and other != k:
            gives[k, other] = 1.0
    grips = _grips(network, of_line)
    passing = np.array([[sum(network.passing[k, q] for k, _ in one.lines) for q in grips] for one in strands])
    compliance = np.array([one.compliance for one in strands])
    masses = Masses(
        mass=network.weights[points] / GRAVITY,
        weights=network.weights[[*points, *light]],
        light=len(light),
        body_mass=np.array([one.mass for one in solid], dtype=float),
        inertia=np.array([one.about for one in solid], dtype=float).reshape(-1, 3, 3),
        carrier=carrier,
        arms=arms,
        fixed=network.fixed[[n - network.moving for n in fixed]],
        start=np.array(start, dtype=np.intp),
        end=np.array(end, dtype=np.intp),
        line=np.array(line, dtype=np.intp),
        rest=np.array([one.rest for one in strands]),
        compliance=compliance,
        slips=np.array([one.slip.force if one.slip else np.inf for one in strands]),
        slip_ea=np.array([one.slip.ea if one.slip else np.inf for one in strands]),
        loss=np.array([min(one.loss / one.compliance, 0.95) for one in strands]),
        gives=gives,
        passing=passing.reshape(count, len(grips)),
    )
    return masses, off


def _straightened(masses: Masses, assembly: Assembly, begin: State, groups: tuple[list[int], ...]) -> None:
    """What smoothing makes lines longer at the start is taken off: each pulls as it did."""
    at, _ = places(assembly.network, begin)
    spots = at[[n for group in groups for n in group]]
    apart = spots[masses.end] - spots[masses.start]
    exact = np.sqrt((apart**2).sum(axis=1))
    more = np.sqrt(exact**2 + masses.soft) - exact
    masses.rest = masses.rest + np.add.reduceat(more, masses.first)


def grips_of(found: Condensed) -> list[int]:
    """The network's one-way grips that are followed, in order."""
    return _grips(found.network, found.of_line)


def _grips(network: Network, of_line: list[int]) -> list[int]:
    lines = [np.flatnonzero(network.passing[:, q]) for q in range(network.grips)]
    return [q for q, those in enumerate(lines) if any(of_line[int(k)] >= 0 for k in those)]


def held_at(found: Condensed, begin: State) -> tuple[Array, Array, Array, Held]:
    """Where all is in the state to begin from: points, bodies' centres of mass and turns, and what is held."""
    count = found.masses.lines
    bodies = found.bodies
    turns = begin.turns[bodies]
    centres = begin.centres[bodies] + np.einsum("kij,kj->ki", turns, found.off)
    quaternions = np.array([quaternion(turn) for turn in turns]).reshape(-1, 4)
    passed = begin.passed[grips_of(found)]
    nothing = np.zeros((1, count))
    held = Held(begin.free[found.light][None], passed[None], nothing, nothing.copy(), nothing.copy())
    return begin.free[found.points][None], centres[None], quaternions[None], held
