"""Between two breaks: what of the rig moves, from where, and where every part is at each look.

A phase is one state of the rig (what has failed and broken so far). What ends it is carried over to the next
by name: places, speeds, how bodies turn, rope that passed and slipped.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from analyser.forces.assembling import Assembly, Case
from analyser.forces.condensing import SMALL, Condensed, condensed, grips_of, held_at
from analyser.forces.equilibrium import BodyPose, Equilibrium, Statics, brought
from analyser.forces.followed import Path
from analyser.forces.inertia import Inertia, inertias
from analyser.forces.masses import Held
from analyser.forces.network import Array, State, shape
from analyser.forces.points import Point
from analyser.forces.slipping import losses, slips
from analyser.forces.stepping import Moment, begun
from analyser.forces.turning import matrices
from analyser.rig.model import Effects

BALANCED = 1e-6
"""Share of the load that may be left over where nothing moves."""


@dataclass(slots=True)
class Going:
    """One start at one time, by name: places and speeds of parts; of bodies their centre of mass, turn (a rotation),
    speed and spin; metres that passed at grips, and of each line what slipped into it, the farthest it was
    stretched, and by how much it is longer than in the other starts."""

    time: float
    at: dict[str, Point]
    speed: dict[str, Array] = field(default_factory=dict)
    turning: dict[str, tuple[Array, Array, Array, Array]] = field(default_factory=dict)
    passed: dict[str, float] = field(default_factory=dict)
    slipped: dict[str, float] = field(default_factory=dict)
    farthest: dict[str, float] = field(default_factory=dict)
    longer: dict[str, float] = field(default_factory=dict)


@dataclass(slots=True)
class Phase:
    """`found` is the rest that the rig would come to as it is now; `small` what is followed (None: nothing
    moves); `begin` where the first start begins; `resting` the pull of each line there."""

    effects: Effects
    found: Equilibrium
    begin: State
    small: Condensed | None
    resting: Array

    @property
    def assembly(self) -> Assembly:
        return self.found.solved.assembly

    def state(self, path: Path, k: int) -> State:
        """Where everything is at one look."""
        state = self.begin.copy()
        small = self.small
        if small is None:
            return state
        state.free[small.points] = path.points[k]
        state.free[small.light] = path.light[k]
        if small.bodies:
            turns = matrices(path.turns[k])
            state.turns[small.bodies] = turns
            state.centres[small.bodies] = path.centres[k] - np.einsum("kij,kj->ki", turns, small.off)
        state.passed[grips_of(small)] = path.passed[k]
        self._between(state, path.tension[k], path.slipped[k])
        return state

    def tension(self, path: Path, k: int) -> Array:
        """What every line of the rig pulls at one look."""
        return self.by_line(path.tension[k])

    def by_line(self, values: Array, resting: Array | None = None) -> Array:
        """Figures of the lines that are followed, for all lines: those of lines at rest where they aren't."""
        told = self.resting.copy() if resting is None else resting.copy()
        for line, strand in enumerate(self.small.of_line if self.small else ()):
            if strand != -2:
                told[line] = values[strand] if strand >= 0 else 0.0
        return told

    def _between(self, state: State, tension: Array, slipped: Array) -> None:
        """Places of what was taken out between two lines: as far along as its lines are long there."""
        small = self.small
        assert small is not None
        network, lines = small.network, self.assembly.lines
        kept = {*small.points, *small.light, *small.carried, *small.fixed}
        for number, strand in enumerate(small.strands):
            full: list[int] = []
            until: list[float | None] = []
            run = 0.0
            for line, turned in strand.lines:
                path = lines[line].path[::-1] if turned else lines[line].path
                run += network.rest[line] + tension[number] / network.rate[line]
                if strand.slip and line == strand.slip.line:
                    run += slipped[number]
                full += [n for n in path if not full or n != full[-1]]
                until += [None] * (len(full) - len(until))
                until[-1] = run
            if all(n in kept for n in full):
                continue
            _laid(state, network.fixed, network.moving, full, until, run, kept, self._carried(state))

    def _carried(self, state: State) -> dict[int, Array]:
        network = self.assembly.network
        arms = np.einsum("kij,kj->ki", state.turns[network.carrier], network.offsets)
        return {network.free + k: state.centres[body] + arms[k] for k, body in enumerate(network.carrier)}


def _laid(
    state: State,
    fixed: Array,
    moving: int,
    full: list[int],
    until: list[float | None],
    total: float,
    kept: set[int],
    carried: Mapping[int, Array],
) -> None:
    """Nodes along a line that aren't kept, put on it."""

    def place(n: int) -> Array:
        found: Array = carried[n] if n in carried else state.free[n] if n < moving else fixed[n - moving]
        return found

    firm = [k for k, n in enumerate(full) if n in kept]
    gone = [float(np.linalg.norm(place(full[b]) - place(full[a]))) for a, b in pairwise(firm)]
    along = np.concatenate([[0.0], np.cumsum(gone)])
    for k, n in enumerate(full):
        if n in kept:
            continue
        left = max((at for at, f in enumerate(firm) if f < k), default=0)
        right = min(left + 1, len(firm) - 1)
        wide = along[right] - along[left]
        told = until[k]
        share = 0.5
        if told is not None and total > 0 and wide > 0:
            share = min(max((told / total * along[-1] - along[left]) / wide, 0.0), 1.0)
        state.free[n] = (1 - share) * place(full[firm[left]]) + share * place(full[firm[right]])


def names_at(assembly: Assembly, node: int) -> tuple[str, ...]:
    """The parts at a node, or the edge."""
    k = assembly.nodes[node]
    return (k,) if isinstance(k, str) else assembly.lumps.lumps[k].parts


@dataclass(frozen=True, slots=True)
class Ways:
    """How it is followed: parts under `small` kg keep their weight alone; `solid` in place of `inertia.inertias`."""

    small: float = SMALL
    solid: Mapping[str, Inertia] | None = None


def phase_of(
    statics: Statics,
    effects: Effects,
    near: Equilibrium,
    starts: Sequence[Going],
    before: Phase | None,
    everything: bool,
    ways: Ways,
) -> Phase:
    """The rig after `effects` from where `starts` are. `before`: the phase that ended there (None: the rest `near`);
    `everything`: what isn't touched may move as well (somebody was let go from above)."""
    found = statics.equilibrium(Case(effects), near)
    assembly = found.solved.assembly
    begin = brought(assembly, _near(near, starts[0]))
    resting = shape(assembly.network, begin).tension
    touched = None if everything else _touched(assembly, before.assembly if before else near.solved.assembly, starts[0])
    small = None
    if assembly.network.lines:
        solid = {**inertias(statics.rig, statics.said, assembly), **(ways.solid or {})}
        slip, loss = slips(statics.rig, statics.said, assembly), losses(statics.rig, assembly)
        small = condensed(assembly, begin, solid, slip, loss, touched, ways.small)
    return Phase(effects, found, begin, small, resting)


def _near(near: Equilibrium, start: Going) -> Equilibrium:
    poses = tuple(_posed(start, pose) if pose.name in start.turning else pose for pose in near.poses)
    return replace(near, at={**near.at, **start.at}, poses=poses, passed={**near.passed, **start.passed})


def _posed(start: Going, pose: BodyPose) -> BodyPose:
    """The same body where it is now, and as it is turned."""
    centre, turn = start.turning[pose.name][:2]
    x, y, z = (float(one) for one in centre)
    a, b, c = ((float(row[0]), float(row[1]), float(row[2])) for row in turn)
    return replace(pose, centre=(x, y, z), turn=(a, b, c))


def _touched(assembly: Assembly, was: Assembly, start: Going) -> frozenset[int]:
    """Nodes at which something isn't as it was: parts, weight, or a line; and what moves already."""

    def told(one: Assembly) -> dict[tuple[str, ...], tuple[float, frozenset[tuple[object, ...]]]]:
        names = [names_at(one, n) for n in range(len(one.nodes))]
        lines: dict[int, set[tuple[object, ...]]] = {n: set() for n in range(len(one.nodes))}
        for k, line in enumerate(one.lines):
            sign = (line.name, line.labels, one.network.rest[k], line.ea, tuple(names[n] for n in line.path))
            for n in line.path:
                lines[n].add(sign)
        weights = one.network.weights
        return {names[n]: (float(weights[n]) if n < len(weights) else 0.0, frozenset(lines[n])) for n in lines}

    before, now = told(was), told(assembly)
    found = set()
    for n in range(assembly.network.moving):
        names = names_at(assembly, n)
        moves = any(name in start.speed or name in start.turning for name in names)
        if moves or before.get(names) != now[names]:
            found.add(n)
    had, has = _ridden(was), _ridden(assembly)
    for name, nodes in has.items():  # a point of a body that nothing holds any more is no node
        if {names_at(was, n) for n in had.get(name, ())} != {names_at(assembly, n) for n in nodes}:
            found.update(nodes)
    return frozenset(found)


def _ridden(assembly: Assembly) -> dict[str, list[int]]:
    """The nodes that each body carries."""
    network = assembly.network
    found: dict[str, list[int]] = {}
    for c, body in enumerate(network.carrier):
        found.setdefault(assembly.body_names[int(body)], []).append(network.free + c)
    return found


def moment_of(phase: Phase, starts: Sequence[Going]) -> Moment:
    """All starts of a phase, ready to be followed."""
    small = phase.small
    assert small is not None
    assembly, masses = phase.assembly, small.masses
    rows = []
    for start in starts:
        begin = _placed(phase, start)
        points, centres, turns, held = held_at(small, begin)
        speeds = np.array([_first(start.speed, names_at(assembly, n)) for n in small.points]).reshape(1, -1, 3)
        going, spin = np.zeros_like(centres), np.zeros_like(centres)
        for k, body in enumerate(small.bodies):
            name = assembly.body_names[body]
            if name in start.turning:
                going[0, k], spin[0, k] = start.turning[name][2:]
        for number, strand in enumerate(small.strands):
            mine = [assembly.lines[line].name for line, _ in strand.lines]
            held.slipped[0, number] = sum(start.slipped.get(name, 0.0) for name in mine)
            held.longer[0, number] = sum(start.longer.get(name, 0.0) for name in mine)
            held.farthest[0, number] = start.farthest.get(" + ".join(mine), 0.0)
        rows.append((points, speeds, centres, going, turns, spin, held))
    joined = [np.concatenate([row[k] for row in rows]) for k in range(6)]
    parts = ("light", "passed", "slipped", "farthest", "longer")
    held = Held(*(np.concatenate([getattr(row[6], name) for row in rows]) for name in parts))
    points, speeds, centres, going, turns, spin = joined
    time = np.array([start.time for start in starts])
    return begun(masses, time, points, speeds, centres, going, turns, spin, held)


def _placed(phase: Phase, start: Going) -> State:
    """Where a start is, in the numbers of a phase; what it says nothing of is where the phase begins."""
    assembly, state = phase.assembly, phase.begin.copy()
    for n in range(assembly.network.free):
        place = next((start.at[name] for name in names_at(assembly, n) if name in start.at), None)
        if place is not None:
            state.free[n] = place
    for k, name in enumerate(assembly.body_names):
        if name in start.turning:
            state.centres[k], state.turns[k] = start.turning[name][:2]
    for q, name in enumerate(assembly.grips):
        state.passed[q] = start.passed.get(name, state.passed[q])
    return state


def _first(found: Mapping[str, Array], names: Sequence[str]) -> Array:
    return next((found[name] for name in names if name in found), np.zeros(3))


def gone_on(phase: Phase, start: Going, path: Path, end: Moment) -> Going:
    """Where a start is at the end of a phase, by name."""
    small = phase.small
    assert small is not None
    assembly = phase.assembly
    last = len(path.times) - 1
    state = phase.state(path, last)
    on = Going(float(end.time[0]), dict(start.at), dict(start.speed), dict(start.turning), dict(start.passed))
    on.longer = dict(start.longer)
    for n in range(assembly.network.free):
        place = tuple(float(x) for x in state.free[n])
        on.at |= dict.fromkeys(names_at(assembly, n), place)  # type: ignore[arg-type]
    for k, n in enumerate(small.points):
        on.speed |= dict.fromkeys(names_at(assembly, n), path.speeds[last][k])
    for k, body in enumerate(small.bodies):
        turn = matrices(path.turns[last][k])
        on.turning[assembly.body_names[body]] = (state.centres[body], turn, path.going[last][k], end.spin[0, k])
    for n, spot in phase._carried(state).items():
        on.at |= dict.fromkeys(names_at(assembly, n), tuple(float(x) for x in spot))  # type: ignore[arg-type]
    for q in grips_of(small):
        on.passed[assembly.grips[q]] = float(state.passed[q])
    for number, strand in enumerate(small.strands):
        mine = [assembly.lines[line].name for line, _ in strand.lines]
        if strand.slip:
            on.slipped[assembly.lines[strand.slip.line].name] = float(end.held.slipped[0, number])
        on.farthest[" + ".join(mine)] = float(end.held.farthest[0, number])
    return on


def start_at(base: Equilibrium) -> Going:
    """A start at rest."""
    return Going(0.0, dict(base.at), passed=dict(base.passed))
