"""From a rig with its places and lengths to the numbers of `network.py`, and back by name."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from analyser.forces.drawn import Drawn
from analyser.forces.lumps import Lumps, lumps_of, on_ground
from analyser.forces.network import Network, State
from analyser.forces.points import Point
from analyser.forces.rope_lines import RopeLine, rope_lines, station_lump
from analyser.forces.soles import Sole, soles_of
from analyser.forces.stiffness import GRAVITY, stiffness
from analyser.rig.model import Effects, Nature, Rig

SHORTEST = 0.05
"""Metres at rest that the spring rate of a line is reckoned with at least."""


@dataclass(frozen=True, slots=True)
class Case:
    """What is asked of a rig: `already` has befallen it; `hands`: bare hands hold rope; rope runs
    both ways through the devices in `open`; `extra` lengthens lines (soft parts, ropes of one
    line, or lines by name) by metres."""

    already: Effects = field(default_factory=Effects)
    hands: bool = False
    open: frozenset[str] = frozenset()
    extra: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Line:
    """One line by name: a soft part, or a stretch of rope (`red[left-brake..master]`).

    `path` are the nodes, `labels` the stations there (of a soft part: nothing); `rest` in metres,
    `ea` in newtons per unit of strain.
    """

    name: str
    part: str | None
    rope: str | None
    labels: tuple[str, ...]
    path: tuple[int, ...]
    rest: float
    ea: float
    default: bool
    spans: tuple[str, ...] = ()


@dataclass(slots=True)
class Assembly:
    """A network and the names of its pieces."""

    network: Network
    lines: tuple[Line, ...]
    nodes: tuple[str | int, ...]
    """For each node the lump it is, or the edge; of who stands on a rigid body, also the feet."""
    node_of: dict[str | int, int]
    lumps: Lumps
    body_names: tuple[str, ...]
    grips: tuple[str, ...]
    start: State
    falls: frozenset[int]
    """Lumps that nothing holds."""
    idle: frozenset[int]
    """Lumps that no weight can come on."""
    edges: tuple[tuple[str, int], ...]
    """The stations at which a rope lies over an edge with a place: rope and station."""
    resting: dict[int, float]
    """Newtons of weight that rest on fixed nodes by hardware alone (a person clipped to an anchor)."""
    guys: dict[str, RopeLine]
    """By knot on its frame, the rope that guys it, as long as it is there."""
    untold: tuple[str, ...]
    """Ropes that run to a stopper, how far isn't told: they hold nothing here."""
    feet: dict[int, int]
    """By the nodes of who stands on a rigid body, those of their feet, on which their weight comes."""

    def weight_at(self, node: int) -> float:
        """Newtons of weight of what is at a node; of somebody who stands there, theirs too."""
        if node >= self.network.moving:
            return self.resting.get(node, 0.0)
        more = self.network.weights[self.feet[node]] if node in self.feet else 0.0
        return float(self.network.weights[node] + more)


def is_fixed(rig: Rig, lumps: Lumps, k: int, already: Effects) -> bool:
    """Does this lump stand by itself?"""
    for name in lumps.lumps[k].parts:
        part = rig.parts.get(name)
        if part is None:
            continue
        if part.nature is Nature.GROUND or (part.standing and name not in already.unfooted):
            return True
        if part.nature is Nature.FRAME and all(
            sum(_stands(rig, lumps, one, already) for one in need.bearing) >= need.count for need in part.needs
        ):
            return True
    return False


def _stands(rig: Rig, lumps: Lumps, name: str, already: Effects) -> bool:
    """Is a foot still there, or does the rope of a guy still lead to the ground, by a sling or without?"""
    if name in already.gone:
        return False
    rope = next((one for one in rig.ropes if one.name == rig.parts[name].rope), None)
    if rope is None:
        return True
    if already.cut & {*rope.spans}:
        return False
    ends = {station_lump(one, lumps) for one in rope.stations if one.part != name} - {lumps.of.get(name)}
    ends |= {k for soft in lumps.soft for k in soft.ends if ends & {*soft.ends}}
    return any(k is not None and on_ground(rig, lumps, k, already) for k in ends)


def assemble(
    rig: Rig,
    said: Drawn,
    case: Case,
    dropped: frozenset[int] = frozenset(),
    lifted: frozenset[tuple[str, int]] = frozenset(),
) -> Assembly:
    """The network of a case, without lumps already known to fall and without edges that a rope has
    lifted off (by rope and station)."""
    lumps = lumps_of(rig, case.already, case.hands)
    laid = rope_lines(rig, case.already, lumps, case.hands, case.open)
    fixed = [is_fixed(rig, lumps, k, case.already) for k in range(len(lumps.lumps))]
    rows = _soft_rows(rig, said, case, lumps) + _rope_rows(said, case, laid, lifted)
    rows = [row for row in rows if not any(k in dropped for k in row.path if isinstance(k, int))]
    knots = {name for name in rig.stood_on if rig.parts[name].rope}
    strung = {line.name for line in laid if line.rope.name in said.strung and not knots & {*_knots(line)}}
    rows = [row for row in rows if row.name in strung or not all(isinstance(k, str) or fixed[k] for k in row.path)]
    nowhere = {k for k, lump in enumerate(lumps.lumps) if fixed[k] and not any(name in said.at for name in lump.parts)}
    rows = [row for row in rows if nowhere.isdisjoint(row.path)]  # what hangs on no place is not held
    weight = _weights(rig, case, lumps)
    falls, idle = _parted(lumps, fixed, rows, weight, dropped, said, strung)
    out = falls | idle
    rows = [row for row in rows if not any(k in out for k in row.path if isinstance(k, int))]
    used = {k for row in rows for k in row.path if isinstance(k, int)} | {k for k, w in enumerate(weight) if w}
    untold = {line.rope.name for line in laid if reserve(said, line) is None}
    soles = soles_of(rig, said, case.already, lumps)
    numbered = _numbered(said, lumps, fixed, rows, weight, soles, used - out, falls, idle, laid, tuple(sorted(untold)))
    numbered.guys |= _guys(knots, laid, {row.name for row in rows})
    return numbered


def _knots(line: RopeLine) -> tuple[str, str]:
    """The parts at the two ends of a line."""
    return line.rope.stations[line.first].part, line.rope.stations[line.last].part


def _guys(knots: set[str], laid: list[RopeLine], loaded: set[str]) -> dict[str, RopeLine]:
    """The guys of frames by their knots there: ropes that nothing but their frame pulls on."""
    found: dict[str, RopeLine] = {}
    for line in laid if knots else ():
        for knot in _knots(line):
            if knot in knots and line.name not in loaded:
                found.setdefault(knot, line)
    return found


@dataclass(slots=True)
class _Row:
    name: str
    part: str | None
    rope: str | None
    labels: tuple[str, ...]
    path: tuple[int | str, ...]
    rest: float
    ea: float
    default: bool
    passed: tuple[tuple[str, int], ...] = ()
    spans: tuple[str, ...] = ()
    edges: tuple[tuple[str, int], ...] = ()


def reserve(said: Drawn, line: RopeLine) -> float | None:
    """Metres of rope in reserve that are in a line because a stopper ends it; None where that isn't told."""
    ends = said.tails.get(line.rope.name, (None, None))
    more = [end for end, jams in zip(ends, line.stoppers, strict=True) if jams]
    return None if None in more else sum(end for end in more if end is not None)


def _soft_rows(rig: Rig, said: Drawn, case: Case, lumps: Lumps) -> list[_Row]:
    rows = []
    for soft in lumps.soft:
        rest = said.rest.get(soft.part, math.inf) + case.extra.get(soft.part, 0.0)
        if math.isfinite(rest) and soft.ends[0] != soft.ends[1]:
            ea, default = stiffness(rig.parts[soft.part])
            rows.append(_Row(soft.part, soft.part, None, (), soft.ends, max(rest, 0.0), ea, default))
    return rows


def _rope_rows(said: Drawn, case: Case, laid: list[RopeLine], lifted: frozenset[tuple[str, int]]) -> list[_Row]:
    rows = []
    for line in laid:
        rope = line.rope
        labels = [station.label for station in rope.stations]
        name = line.name
        spans = rope.spans[line.first : line.last]
        rest = sum(sum(said.spans[span]) for span in spans)
        rest += case.extra.get(name, case.extra.get(rope.name, 0.0))
        more = reserve(said, line)
        if more is None:
            continue
        rest += more
        path: list[int | str] = []
        told: list[str] = []
        edges = []
        for k, where in zip(line.at, line.path, strict=True):
            if isinstance(where, str):
                if where not in said.at or (rope.name, k) in lifted:
                    continue
                edges.append((rope.name, k))
            if path and path[-1] == where:
                continue
            path.append(where)
            told.append(labels[k])
        if len(path) > 1:
            ea, default = stiffness(rope)
            rows.append(
                _Row(
                    name,
                    None,
                    rope.name,
                    tuple(told),
                    tuple(path),
                    max(rest, 0.0),
                    ea,
                    default,
                    tuple(line.passed),
                    spans,
                    tuple(edges),
                )
            )
    return rows


def _weights(rig: Rig, case: Case, lumps: Lumps) -> list[float]:
    """Newtons of weight by lump."""
    weight = [0.0] * len(lumps.lumps)
    for name, k in lumps.of.items():
        mass = dict(rig.parts[name].quantities).get("mass")
        stands = rig.parts[name].standing and name not in case.already.unfooted
        weight[k] += mass.si * GRAVITY if mass and not stands else 0.0
    for soft in lumps.soft:  # a sling's own mass, half at each end
        mass = dict(rig.parts[soft.part].quantities).get("mass")
        for k in soft.ends:
            weight[k] += 0.5 * mass.si * GRAVITY if mass else 0.0
    return weight


def _parted(
    lumps: Lumps, fixed: list[bool], rows: list[_Row], weight: list[float], dropped: frozenset[int], said: Drawn,
    strung: set[str],
) -> tuple[frozenset[int], frozenset[int]]:  # fmt: skip
    """Lumps in pieces that have weight and touch nothing fixed, and lumps in pieces without weight, and without a
    rope that was pulled tight."""
    parent = list(range(len(lumps.lumps)))

    def find(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    moored: set[int] = set()
    groups = [[k for k in row.path if isinstance(k, int) and not fixed[k]] for row in rows]
    bodies: dict[str, list[int]] = defaultdict(list)
    for k, lump in enumerate(lumps.lumps):
        if lump.body in said.shapes:
            bodies[lump.body or ""].append(k)
    for group in [*groups, *bodies.values()]:
        for k in group[1:]:
            parent[find(k)] = find(group[0])
    for row, group in zip(rows, groups, strict=True):
        if group and len(group) < len(row.path):
            moored.add(group[0])
    roots = {find(k) for k in moored}
    heavy: dict[int, float] = defaultdict(float)
    for k, w in enumerate(weight):
        heavy[find(k)] += 0.0 if fixed[k] else w
    falls = {
        k for k in range(len(parent)) if not fixed[k] and heavy[find(k)] > 0 and (find(k) not in roots or k in dropped)
    }
    tight = {find(k) for row, group in zip(rows, groups, strict=True) for k in group if row.name in strung}
    idle = {k for k in range(len(parent)) if not fixed[k] and heavy[find(k)] == 0 and find(k) not in tight}
    return frozenset(falls), frozenset(idle)


def _numbered(
    said: Drawn,
    lumps: Lumps,
    fixed: list[bool],
    rows: list[_Row],
    weight: list[float],
    soles: Mapping[str, Sole],
    used: set[int],
    falls: frozenset[int],
    idle: frozenset[int],
    laid: list[RopeLine],
    untold: tuple[str, ...],
) -> Assembly:
    rigid = {
        k: lump.body for k, lump in enumerate(lumps.lumps) if lump.body in said.shapes and not fixed[k] and lump.body
    }
    body_names = tuple(sorted({body for k, body in rigid.items() if k in used}))
    free = [k for k in sorted(used) if not fixed[k] and k not in rigid]
    lying = [k for k in sorted(rigid) if rigid[k] in body_names and (k in used or weight[k])]
    soles = {feet: sole for feet, sole in soles.items() if sole.lump in lying}
    on: list[int | str] = [*lying, *sorted(soles)]
    weighs: dict[int | str, float] = {**dict(enumerate(weight)), **{feet: one.weight for feet, one in soles.items()}}
    for sole in soles.values():
        weighs[sole.lump] -= sole.weight
    carried: dict[int | str, str] = {feet: rigid[sole.lump] for feet, sole in soles.items()}
    carried.update(rigid.items())
    held: list[int | str] = [k for k in sorted(used) if fixed[k]]
    held += sorted({k for row in rows for k in row.path if isinstance(k, str)})
    nodes: tuple[int | str, ...] = (*free, *on, *held)
    node_of: dict[str | int, int] = {k: at for at, k in enumerate(nodes)}
    lines = tuple(
        Line(
            row.name,
            row.part,
            row.rope,
            row.labels,
            tuple(node_of[k] for k in row.path),
            row.rest,
            row.ea,
            row.default,
            row.spans,
        )
        for row in rows
    )
    start, end, line = [], [], []
    for number, one in enumerate(lines):
        for a, b in pairwise(one.path):
            start.append(a)
            end.append(b)
            line.append(number)
    grips = tuple(dict.fromkeys(name for row in rows for name, _ in row.passed))
    both = [name for name in grips if sum(name == other for row in rows for other, _ in row.passed) == 2]
    grips = tuple(both)
    passing = np.zeros((len(lines), len(grips)))
    for number, row in enumerate(rows):
        for name, sign in row.passed:
            if name in grips:
                passing[number, grips.index(name)] = sign
    rest = np.array([one.rest for one in lines])
    offset = {
        k: soles[k].offset if isinstance(k, str) else said.shapes[carried[k]].of(lumps.lumps[k].parts) for k in on
    }
    stood = {node_of[feet]: one.at for feet, one in soles.items() if one.at is not None}
    places = _places(said, lumps, nodes, lines, carried, offset, len(free) + len(on), stood)
    offsets = [offset[k] for k in on]
    network = Network(
        free=len(free),
        carrier=np.array([body_names.index(carried[k]) for k in on], dtype=np.intp),
        offsets=np.array(offsets, dtype=float).reshape(-1, 3),
        bodies=len(body_names),
        fixed=np.array([places[k] for k in range(len(free) + len(on), len(nodes))], dtype=float).reshape(-1, 3),
        weights=np.array([weighs[k] for k in (*free, *on)], dtype=float),
        start=np.array(start, dtype=np.intp),
        end=np.array(end, dtype=np.intp),
        line=np.array(line, dtype=np.intp),
        rest=rest,
        rate=np.array([one.ea for one in lines]) / np.maximum(rest, SHORTEST),
        passing=passing,
    )
    centres = []
    for body in body_names:
        mine = [at for at, k in enumerate(nodes) if k in carried and carried.get(k) == body]
        spots = np.array([np.subtract(places[at], offsets[at - len(free)]) for at in mine])
        centres.append(spots.mean(axis=0))
    state = State(
        np.array([places[k] for k in range(len(free))], dtype=float).reshape(-1, 3),
        np.array(centres, dtype=float).reshape(-1, 3),
        np.tile(np.eye(3), (len(body_names), 1, 1)),
        np.zeros(len(grips)),
    )
    over = {(name, k) for row in rows for name, k in row.edges}
    ropes = {one.rope.name: one.rope for one in laid}
    edges = tuple((name, k) for name, k in sorted(over) if ropes[name].stations[k].part in node_of)
    resting = {node_of[k]: weight[k] for k in held if isinstance(k, int) and weight[k] > 0}
    feet = {node_of[sole.lump]: node_of[name] for name, sole in soles.items()}
    return Assembly(
        network, lines, nodes, node_of, lumps, body_names, grips, state, falls, idle, edges, resting, {}, untold, feet
    )


def _places(
    said: Drawn,
    lumps: Lumps,
    nodes: tuple[int | str, ...],
    lines: tuple[Line, ...],
    carried: Mapping[int | str, str],
    offset: Mapping[int | str, Point],
    moving: int,
    stood: Mapping[int, Point],
) -> dict[int, Point]:
    """A place to start from for each node: as drawn (of feet where they `stood`), or under what it hangs from."""
    places: dict[int, Point] = dict(stood)
    for at, k in enumerate(nodes):
        names = (k,) if isinstance(k, str) else lumps.lumps[k].parts
        told = next((said.at[name] for name in names if name in said.at), None)
        if told is not None:
            places[at] = told
    for at in range(moving, len(nodes)):  # weight that stands where no line goes
        places.setdefault(at, (0.0, 0.0, 0.0))
    todo = [at for at in range(moving) if at not in places]
    while todo:
        left = []
        for at in todo:
            body = carried.get(nodes[at])
            mine = [n for n in range(moving) if body and carried.get(nodes[n]) == body] or [at]
            near = [
                (places[n], line.rest / max(len(line.path) - 1, 1))
                for line in lines
                if any(n in line.path for n in mine)
                for n in line.path
                if n in places and n not in mine
            ]
            if not near:
                left.append(at)
                continue
            count = len(near)
            drop = min(min(rest for _, rest in near), 5.0)
            x, y, z = (sum(p[i] for p, _ in near) / count for i in range(3))
            z = min(p[2] for p, _ in near)
            if body:
                dx, dy, dz = offset[nodes[at]]
                places[at] = (x + dx, y + dy, z - drop + dz)
            else:
                places[at] = (x, y, z - drop)
        if len(left) == len(todo):
            for at in left:
                places[at] = (0.0, 0.0, 0.0)
            break
        todo = left
    return places


def joined_up(network: Network, pairs: list[tuple[int, int]]) -> tuple[Network, list[int]]:
    """The network with some nodes made one (what has run up to something), and for each old node
    its new one. Fixed nodes stay fixed, carried ones carried."""
    to = list(range(network.nodes))

    def find(k: int) -> int:
        while to[k] != k:
            k = to[k]
        return k

    for a, b in pairs:
        a, b = find(a), find(b)
        if a != b:
            to[min(a, b)] = max(a, b)  # the order of nodes: free, carried, fixed
    roots = [find(k) for k in range(network.nodes)]
    kept = sorted({*roots} | set(range(network.free, network.nodes)))
    number = {k: at for at, k in enumerate(kept)}
    new = [number[root] if k < network.free else number[k] for k, root in enumerate(roots)]
    free = sum(k < network.free for k in kept)
    weights = np.zeros(free + len(network.carrier))
    for k in range(network.moving):
        if new[k] < len(weights):
            weights[new[k]] += network.weights[k]
    start = np.array([new[k] for k in network.start], dtype=np.intp)
    end = np.array([new[k] for k in network.end], dtype=np.intp)
    real = start != end
    merged = Network(
        free,
        network.carrier,
        network.offsets,
        network.bodies,
        network.fixed,
        weights,
        start[real],
        end[real],
        network.line[real],
        network.rest,
        network.rate,
        network.passing,
    )
    return merged, new
