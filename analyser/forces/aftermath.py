"""What follows a failure: the new equilibrium, the drop to it, and what happens on the way, where that was followed.

Peaks come from following the motion (`motion.py`). Beside them stands a *quick* figure, out of the energy alone:
every mass moves on along the line from where it was to where it comes to rest, weightless parts follow, nothing is
lost to friction, until the energy is back at what it was. For one mass that drops plumb on to one line this is the
standard equation of arrest; where several masses move, or one swings, it is neither the peak nor a bound (it was
1.7 to 30 times too high, and up to 12 times too low): it ranks failures, and decides nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from analyser.forces.assembling import Assembly, Case
from analyser.forces.breaking import TOGETHER, Broken, breaks, effects_of
from analyser.forces.equilibrium import Equilibrium, Statics, brought
from analyser.forces.grounds import Ground
from analyser.forces.motion import Motion
from analyser.forces.network import Array, Network, State, energy, places, pulls, shape
from analyser.forces.newton import settle
from analyser.forces.points import Point
from analyser.forces.remembered import asked
from analyser.forces.retained import Retained
from analyser.forces.strength import factors
from analyser.forces.striking import Struck
from analyser.forces.threads import one_thread
from analyser.rig.model import Effects, Failure, Nature

NOTICED = 1e-6
"""Metres under which nothing has moved."""

NEAR = 0.5
"""Metres from an edge's place within which a line may come to lie on it."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A body that came to rest elsewhere. `drop` and `swing` are metres down and across; `lowest` is
    the height it may reach on the way."""

    name: str
    before: Point
    after: Point
    drop: float
    swing: float
    lowest: float


@dataclass(frozen=True, slots=True)
class Band:
    """Newtons in a line: before, at rest afterwards, and out of the energy alone (`quick`: no peak, and no bound).

    `peak` by following the motion, `when` in seconds, `low` and `high` over starts a centimetre aside: None where
    it was not followed, or isn't told."""

    name: str
    before: float
    static: float
    quick: float
    peak: float | None = None
    when: float | None = None
    low: float | None = None
    high: float | None = None

    @property
    def most(self) -> float:
        """The peak where it is told, else at rest."""
        return self.static if self.peak is None else self.peak


@dataclass(frozen=True, slots=True)
class Arrest:
    """One mass that drops plumb on to one line: what the standard equation takes and gives."""

    line: str
    free_fall: float
    rope: float
    fall_factor: float
    peak: float


@dataclass(frozen=True, slots=True)
class Aftermath:
    """What follows some failures together. `arrest` is told where the case is exactly that of the
    standard equation. `reaches_ground`: bodies that come as low as the ground that was named, at rest or on the way
    (by the quick figure where it wasn't followed); `near_edges`: lines that come to lie within half a metre of an
    edge with a place that they weren't near before (line, edge, metres). `quick` are the tensions out of the energy
    alone, in the order of the equilibrium's lines. `motion`: what happens in time, where it was followed."""

    failures: tuple[str, ...]
    equilibrium: Equilibrium
    falls: tuple[str, ...]
    moved: tuple[Moved, ...]
    lines: tuple[Band, ...]
    arrest: Arrest | None
    reaches_ground: tuple[str, ...]
    on_ground: tuple[str, ...]
    """Of those, who comes to rest there."""
    near_edges: tuple[tuple[str, str, float], ...]
    quick: Array = field(repr=False, compare=False)
    motion: Motion | None = field(default=None, repr=False, compare=False)

    @property
    def accepted(self) -> bool:
        return self.equilibrium.accepted

    @property
    def followed(self) -> bool:
        """Is it told what happens in time?"""
        return self.motion is not None and self.motion.told

    def moving(self, motion: Motion) -> Aftermath:
        """The same with what happens in time."""
        told = {one.name: one for one in motion.lines}

        def band(one: Band) -> Band:
            line = told.get(one.name)
            if line is None and motion.told:  # it hangs loose, or stayed as it was
                most = max(one.before, one.static)
                return replace(one, peak=most, when=0.0, low=most, high=most)
            if line is None or line.most is None:
                return one
            return replace(one, peak=line.most, when=line.when, low=line.low, high=line.high)

        struck = tuple(one.body for one in motion.strikes if one.struck is Struck.GROUND)
        resting = tuple(name for name in self.reaches_ground if name in self.on_ground)
        return replace(
            self,
            lines=tuple(band(one) for one in self.lines),
            reaches_ground=tuple(dict.fromkeys((*resting, *struck))) if motion.told else self.reaches_ground,
            motion=motion,
        )

    def struck_ground(self, name: str) -> float | None:
        """How fast a body strikes the ground, in metres a second; None where it doesn't, or that isn't told."""
        hits = self.motion.strikes if self.motion else ()
        return next((one.speed for one in hits if one.body == name and one.struck is Struck.GROUND), None)

    def body(self, name: str) -> Moved:
        return next(one for one in self.moved if one.name == name)

    def line(self, name: str) -> Band:
        return next(one for one in self.lines if one.name == name)


@dataclass(frozen=True, slots=True)
class Cascade:
    """Overloads in the order in which they happen, the weakest first, and what is left in the end."""

    broken: tuple[Broken, ...]
    final: Aftermath


def after(
    statics: Statics,
    failures: Iterable[str | Failure],
    base: Equilibrium | None = None,
    ground: Ground | None = None,
    already: Effects | None = None,
    rest: Equilibrium | None = None,
) -> Aftermath:
    """What follows when `failures` happen together to the rig at rest.

    `base` is that rest where it is known, `ground` the ground below, `already` what has befallen the rig before,
    `rest` how it comes to rest afterwards, where that is known.
    """
    names, effects = effects_of(statics, failures)
    before = already or Effects()
    base = base or statics.equilibrium(Case(before))
    return after_effects(statics, names, before | effects, base, ground, rest)


def after_effects(
    statics: Statics,
    names: tuple[str, ...],
    effects: Effects,
    base: Equilibrium,
    ground: Ground | None = None,
    rest: Equilibrium | None = None,
) -> Aftermath:
    """As `after`, of effects: `names` are what they are called."""
    found = rest or statics.equilibrium(Case(effects), base)
    path = _Path(found, base)
    with one_thread():
        question = asked("peak", path.network, path.start, path.to, load=found.load)
        peaks, top, path.guess = statics.remembered.once(question, path.peak)
    moved, lands, lie = [], [], []
    for body in statics.rig.bodies:
        if body.name not in found.at or body.name not in base.at or body.name in {*found.falls, *effects.gone}:
            continue
        a, b = base.at[body.name], found.at[body.name]
        if math.dist(a, b) < NOTICED:
            continue
        lowest = min(b[2], a[2] + top * (b[2] - a[2]))
        moved.append(Moved(body.name, a, b, a[2] - b[2], math.hypot(b[0] - a[0], b[1] - a[1]), lowest))
        if ground is not None and lowest - ground.feet(body) <= ground.height < a[2] - ground.feet(body):
            lands.append(body.name)
            lie += [body.name] if ground.stops(body, a[2], b[2]) else []
    before, now = _near_edges(statics, base), _near_edges(statics, found)
    edges = tuple((line, edge, now[line, edge]) for line, edge in sorted(now.keys() - before.keys()))
    was = {line.name: line.tension for line in base.lines}
    rows = tuple(
        Band(line.name, was.get(line.name, 0.0), line.tension, float(most))
        for line, most in zip(found.lines, peaks, strict=True)
    )
    return Aftermath(
        names, found, found.falls, tuple(moved), rows, path.arrest(peaks), tuple(lands), tuple(lie), edges, peaks
    )


def every_single(statics: Statics, ground: Ground | None = None, already: Effects | None = None) -> list[Aftermath]:
    """The aftermath of every single failure of the rig, in order of id, each from the rig at rest."""
    base = statics.equilibrium(Case(already or Effects()))
    return [after(statics, [failure], base, ground, already) for failure in statics.rig.failures]


def cascade(
    statics: Statics,
    failures: Iterable[str | Failure] = (),
    *,
    knots: Mapping[str, Retained] | None = None,
    ground: Ground | None = None,
    already: Effects | None = None,
    base: Equilibrium | None = None,
    seen: dict[Effects, Aftermath] | None = None,
) -> Cascade:
    """What breaks under the load that is left at rest after what has failed, one by one, until nothing more does.

    In time: `motion.py`. `base` is the rig as it first stood, where it is known; `seen` keeps what was worked out
    from one and the same base, for further calls. Parts and ropes without a strength never break here: `factors`
    lists them.
    """
    names, effects = effects_of(statics, failures)
    before = already or Effects()
    base = base or statics.equilibrium(Case(before))
    effects |= before
    broken: list[Broken] = []
    seen = {} if seen is None else seen
    while True:
        if effects not in seen:
            seen[effects] = after_effects(statics, names, effects, base, ground)
        now = replace(seen[effects], failures=names)
        short = [(row, breaks(statics, row)) for row in factors(statics.rig, now.equilibrium, None, knots).rows
                 if row.factor < 1]  # fmt: skip
        over = [(row, lost) for row, lost in short if (effects | lost) != effects]
        if not over:
            return Cascade(tuple(broken), now)
        for row, lost in over:  # what is as weak as the weakest breaks with it
            if row.factor <= over[0][0].factor * (1 + TOGETHER):
                broken.append(Broken(row.name, row, lost))
                effects |= lost
                names = (*names, f"{row.name} breaks")


def _near_edges(statics: Statics, found: Equilibrium) -> dict[tuple[str, str], float]:
    """Tight lines that pass close by an edge with a place: line, edge and metres."""
    edges = {p.name: np.array(p.at) for p in statics.rig.parts.values() if p.nature is Nature.EDGE and p.at}
    near: dict[tuple[str, str], float] = {}
    for line in found.lines if edges else ():
        spots = np.array(line.places)
        for edge, at in edges.items():
            start, along = spots[:-1], np.diff(spots, axis=0)
            share = np.einsum("ij,ij->i", at - start, along) / np.maximum(np.einsum("ij,ij->i", along, along), 1e-12)
            away = float(np.linalg.norm(start + np.clip(share, 0, 1)[:, None] * along - at, axis=1).min())
            if away < NEAR and not line.slack:
                near[line.name, edge] = away
    return near


class _Path:
    """The straight way of every mass from where it was to where it comes to rest, and beyond."""

    def __init__(self, found: Equilibrium, base: Equilibrium) -> None:
        self.found = found
        assembly: Assembly = found.solved.assembly
        self.assembly = assembly
        self.network = assembly.network
        network = self.network
        self.to = found.solved.state
        self.start = brought(assembly, base)
        self.heavy = np.flatnonzero(network.weights[: network.free] > 0)
        self.light = np.flatnonzero(network.weights[: network.free] <= 0)
        self.off = self.to.free[self.heavy] - self.start.free[self.heavy]
        self.off_bodies = self.to.centres - self.start.centres
        self.guess = self.to
        self.order = np.concatenate([self.light, self.heavy, np.arange(network.free, network.nodes)])
        self.held = self._holding_masses()

    def length(self) -> float:
        moves = [float(np.abs(one).max(initial=0.0)) for one in (self.off, self.off_bodies)]
        return max(moves)

    def at(self, way: float) -> State:
        """Masses at a share `way` of the path; light nodes at rest between them, from the last guess."""
        state = self.to.copy()
        state.free[self.heavy] = self.start.free[self.heavy] + way * self.off
        state.centres = self.start.centres + way * self.off_bodies
        if way == 0:
            state.turns = self.start.turns.copy()
        state.free[self.light] = self.guess.free[self.light]
        state.passed = self.guess.passed.copy()
        if len(self.light) or self.network.grips:
            state = self._followed(state)
            self.guess = state
        return state

    def _followed(self, state: State) -> State:
        """Light nodes and rope at grips brought to rest, masses held where they are."""
        network, light = self.network, self.light
        at, _ = places(network, state)
        self.held.fixed = at[self.order[len(light) :]]
        begin = State(state.free[light], np.zeros((0, 3)), np.zeros((0, 3, 3)), state.passed)
        rest = settle(self.held, begin, 60, load=max(self.found.load, 1.0))
        free = state.free.copy()
        free[light] = rest.state.free
        return replace(state, free=free, passed=rest.state.passed)

    def _holding_masses(self) -> Network:
        """The network with every mass fixed; where they are is put in each time (`order`: its nodes)."""
        network, light = self.network, self.light
        number = np.empty(network.nodes, dtype=np.intp)
        number[self.order] = np.arange(network.nodes)
        return Network(
            len(light),
            np.zeros(0, dtype=np.intp),
            np.zeros((0, 3)),
            0,
            np.zeros((network.nodes - len(light), 3)),
            np.zeros(len(light)),
            number[network.start],
            number[network.end],
            network.line,
            network.rest,
            network.rate,
            network.passing,
        )

    def peak(self) -> tuple[Array, float, State]:
        """The tensions where the energy of the start is used up, how far along the path that is, and where
        all is then."""
        static = self.found.solved.tension
        if not self.network.lines or self.length() < NOTICED:
            return static.copy(), 1.0, self.guess
        first = energy(self.network, shape(self.network, self.at(0.0)))
        least = energy(self.network, shape(self.network, self.to))
        if first <= least:
            return static.copy(), 1.0, self.guess
        self.guess = self.to
        way = 2.0
        formed = shape(self.network, self.at(way))
        for _ in range(60):
            force = pulls(self.network, formed)
            over = energy(self.network, formed) - first
            on_bodies = np.zeros((self.network.bodies, 3))
            np.add.at(on_bodies, self.network.carrier, force[self.network.free : self.network.moving])
            climb = -float((force[self.heavy] * self.off).sum() + (on_bodies * self.off_bodies).sum())
            if climb <= 0:
                way = 1 + 2 * (way - 1)
            else:
                step = over / climb
                way = max(way - step, 1.0 + 0.1 * (way - 1.0))
                if abs(step) < 1e-10 * way:  # squared by the next step, were it taken
                    break
            formed = shape(self.network, self.at(way))
            if way > 1e6:
                break
        return np.maximum(static, formed.tension), way, self.guess

    def arrest(self, peaks: Array) -> Arrest | None:
        """The one-mass case: one mass moves, plumb, on to one line that goes straight to what is fixed."""
        network = self.network
        if network.bodies or len(self.heavy) == 0 or len(self.light):
            return None
        moves = np.linalg.norm(self.off, axis=1)
        if (moves > NOTICED).sum() != 1:
            return None
        mover = int(np.argmax(moves))
        if np.abs(self.off[mover, :2]).max() > NOTICED or self.off[mover, 2] > 0:
            return None
        node = int(self.heavy[mover])
        tight = [k for k in range(network.lines) if peaks[k] > 1e-9 * self.found.load]
        mine = [k for k in tight if node in self.assembly.lines[k].path]
        if len(mine) != 1 or self.assembly.lines[mine[0]].path.count(node) != 1:
            return None
        line = self.assembly.lines[mine[0]]
        if any(k < network.moving for k in line.path if k != node) or node not in (line.path[0], line.path[-1]):
            return None
        rested = shape(network, self.to)
        slack = -float(self.off[mover, 2]) - float(rested.stretch[mine[0]])  # also from above what the line hangs from
        if slack < 0 or line.rest <= 0:
            return None
        return Arrest(line.name, slack, line.rest, slack / line.rest, float(peaks[mine[0]]))
