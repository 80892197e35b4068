"""What a haul gains: from the statics, with a hand's pull against the load, not from names.

The hand is held still and the load's equilibrium found; then, with every line as long as it is and next to stiff,
the hand takes in a little rope, and what moves tells which way rope runs over each wheel and how far the load comes
up. With the efficiency of each wheel (and each edge's friction) the pull on its far side follows, raising and
lowering: tension is higher, by 1/efficiency, on the side that the rope runs to. Places are those without friction.

Beside that the advantage is counted as one does by hand, unit by unit with all strands parallel (T-method): strands
that stand at an angle to each other are what parts the two.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from analyser.forces.assembling import Case, is_fixed
from analyser.forces.equilibrium import SLACK, Equilibrium, Statics
from analyser.forces.frames import FrameForce, frame_forces, frame_under
from analyser.forces.lumps import lumps_of
from analyser.forces.network import Array, Shape, shape
from analyser.forces.newton import settle
from analyser.forces.stiffness import GRAVITY
from analyser.forces.threads import one_thread
from analyser.rig.model import Effects, Nature, Quantity, Rig, Role, Rope

TAKEN = 1e-3
"""Metres of rope taken in and given out to see what moves."""

STILL = 1e-4
"""Metres per metre taken in under which a load, or rope on a wheel, counts as standing still."""

STIFFER = 1000.0
"""How much stiffer lines are taken where they are not to stretch."""

OFF = 0.02
"""Share of the load by which friction may unbalance places found without it."""


@dataclass(frozen=True, slots=True)
class Pull:
    """One way of working the haul: newtons at the hand, and what each anchor is pulled with."""

    hand: float
    anchors: dict[str, float]
    """Newtons on each anchor, frame's head and edge."""
    frames: tuple[FrameForce, ...] = ()
    """How the frames stand then."""


@dataclass(frozen=True, slots=True)
class Advantage:
    """What hauling on a rope gains.

    `ideal` = the load's weight over the hand's pull without friction; `counted` = the same with all strands parallel
    (None where that can't be counted); `travel` = metres of rope taken in per metre of rise, stretch left out.
    `hold` is without friction; `raising` and `lowering` bound the pull at rest (None where the statics can't tell:
    `why_not`). `wheels` are the turning points that rope runs over, `without` those with no efficiency given (taken
    as 1). `holds_at_rest` are the devices that carry the load when every hand lets go, `falls` who falls then.
    `opened` are the one-way devices on the ground that were taken as letting rope through: to lower, somebody must
    keep them open.
    """

    rope: str
    person: str
    lifted: tuple[str, ...]
    weight: float
    ideal: float
    counted: float | None
    travel: float
    hold: Pull
    raising: Pull | None
    lowering: Pull | None
    why_not: str | None
    wheels: tuple[tuple[str, float], ...]
    angles: tuple[tuple[str, float], ...]
    """Degrees between the strands at each of them: 0 where they are parallel, 180 where rope runs straight past."""
    without: tuple[str, ...]
    holds_at_rest: tuple[str, ...]
    tied_to: tuple[str, ...]
    """Where no device carries it: the anchors that lines tied to them lead to."""
    falls: tuple[str, ...]
    opened: tuple[str, ...]
    residual: float

    @property
    def practical(self) -> float | None:
        """The load's weight over the pull that raises it."""
        return self.weight / self.raising.hand if self.raising else None


@dataclass(frozen=True, slots=True)
class NoHaul:
    """There is nothing to tell of this rope, and why."""

    why: str


def advantage(statics: Statics, rope: str, already: Effects | None = None) -> Advantage | NoHaul:
    """What a pull of the hand on `rope` gains. `statics` must have been read with `hands=True`.

    One-way devices on the ground are kept open meanwhile, as they are when one hauls.
    """
    rig = statics.rig
    laid = next((one for one in rig.ropes if one.name == rope), None)
    if laid is None:
        return NoHaul(f"there is no rope called {rope}")
    hands = [station for station in laid.stations if station.role is Role.HAND]
    if not hands:
        return NoHaul(f"nobody holds {rope}: write `held by` where it is hauled")
    hand, already = hands[-1], already or Effects()
    at_rest = statics.equilibrium(Case(already))
    captures = _captures(statics, already)
    case = Case(already, hands=True, open=captures)
    found = statics.equilibrium(case)
    mine = [line for line in found.lines if line.rope == rope and hand.label in (line.labels[0], line.labels[-1])]
    pulled = next((line for line in mine if not line.slack), None)
    if pulled is None:
        return NoHaul(f"{rope} is slack in the hands of {hand.part}")
    taken, given = (_firm(found, pulled.name, out) for out in (-TAKEN, TAKEN))
    if taken is None or given is None:
        return NoHaul(f"no rest is found with a little of {rope} taken in")
    lifted = _lifted(rig, found, taken, given)
    if not lifted:
        return NoHaul(f"nothing comes up when {rope} is taken in")
    weight = GRAVITY * sum(mass for _, mass in lifted.values())
    rise = GRAVITY * sum(move * mass for move, mass in lifted.values()) / weight
    wheels = _wheels(rig, found, taken, given, pulled.name, hand.label)
    if against := sorted({wheel.part for wheel in wheels if _grips_what_comes(laid, wheel, captures)}):
        does = "grips" if len(against) == 1 else "grip"
        return NoHaul(f"{' and '.join(against)} {does} rope that is hauled in, so nothing comes up: turn it round")
    raised, why = _worked(rig, found, wheels, pulled.name, hand.label, 1)
    lowered, why_down = _worked(rig, found, wheels, pulled.name, hand.label, -1)
    still = {name: math.hypot(*force) for name, force in found.reactions.items()}
    held = _holding(rig, at_rest)
    loaded = sorted(name for name, force in at_rest.reactions.items() if math.hypot(*force) > SLACK * at_rest.load)
    return Advantage(
        rope=rope,
        person=hand.part,
        lifted=tuple(sorted(lifted)),
        weight=weight,
        ideal=weight / pulled.tension,
        counted=_counted(found, taken, given, pulled.name, {*lifted}),
        travel=1 / rise,
        hold=Pull(pulled.tension, still, frame_forces(rig, found)),
        raising=raised,
        lowering=lowered,
        why_not=why or why_down,
        wheels=tuple((wheel.part, wheel.efficiency) for wheel in wheels if wheel.flow),
        angles=tuple((wheel.part, wheel.between) for wheel in wheels if wheel.flow),
        without=tuple(sorted({wheel.part for wheel in wheels if wheel.flow and not wheel.given})),
        holds_at_rest=held,
        tied_to=() if held else tuple(loaded),
        falls=at_rest.falls,
        opened=tuple(sorted(captures & {station.part for station in laid.stations})),
        residual=max(found.residual, at_rest.residual),
    )


def _lifted(rig: Rig, found: Equilibrium, taken: _Moved, given: _Moved) -> dict[str, tuple[float, float]]:
    """The bodies that come up as rope is taken in: metres a metre of rope, and kilograms."""
    moves = {}
    for part in rig.bodies:
        mass = dict(part.quantities).get("mass")
        up, down = (one.height(found, part.name) for one in (taken, given))
        if mass and part.name not in found.falls and up is not None and down is not None:
            moves[part.name] = ((up - down) / (2 * TAKEN), mass.si)
    return {name: both for name, both in moves.items() if both[0] > STILL}


def _grips_what_comes(rope: Rope, wheel: _Wheel, captures: Collection[str]) -> bool:
    """Does a one-way device on the ground grip the rope the way it runs as the hand takes in?"""
    mine = (one for one in rope.stations if one.part == wheel.part and one.role is Role.GRIP)
    ways = [one.to_end if wheel.flow > 0 else one.to_start for one in mine]
    return wheel.part in captures and wheel.flow != 0 and any(ways)


def _captures(statics: Statics, already: Effects) -> frozenset[str]:
    """One-way devices that stand on the ground: they let rope through while one hauls."""
    lumps = lumps_of(statics.rig, already, hands=True)
    return frozenset(
        station.part
        for rope in statics.rig.ropes
        for station in rope.stations
        if station.role is Role.GRIP
        and station.to_start != station.to_end
        and station.part in lumps.of
        and is_fixed(statics.rig, lumps, lumps.of[station.part], already)
    )


@dataclass(frozen=True, slots=True)
class _Wheel:
    """A place where a line runs over something: `flow` is 1 when rope runs towards the line's end as
    the hand takes in, -1 the other way, 0 when it stands still."""

    line: int
    at: int
    part: str
    efficiency: float
    given: bool
    flow: int
    between: float
    """Degrees between the two strands."""


@dataclass(frozen=True, slots=True)
class _Moved:
    """The rig with a little rope taken in or given out, next to stiff."""

    formed: Shape
    centres: Array

    def height(self, found: Equilibrium, name: str) -> float | None:
        """How high a body is then."""
        assembly = found.solved.assembly
        if name in assembly.body_names:
            return float(self.centres[assembly.body_names.index(name)][2])
        node = assembly.node_of.get(assembly.lumps.of.get(name, -1))
        return None if node is None else float(self.formed.places[node][2])


def _firm(found: Equilibrium, pulled: str, out: float) -> _Moved | None:
    """Where all is with the hauled line `out` metres longer, and no line to stretch further."""
    assembly = found.solved.assembly
    firm = copy.copy(assembly.network)
    lengths = np.array([line.length for line in found.lines])
    firm.rate = STIFFER * assembly.network.rate
    firm.rest = np.maximum(assembly.network.rest, lengths - found.solved.tension / firm.rate)
    at = next(k for k, line in enumerate(assembly.lines) if line.name == pulled)
    firm.rest = firm.rest + out * (np.arange(len(firm.rest)) == at)
    with one_thread():
        rest = settle(firm, found.solved.state, 100, load=found.load)
    return _Moved(rest.formed, rest.state.centres) if rest.residual < OFF else None


def _wheels(rig: Rig, found: Equilibrium, taken: _Moved, given: _Moved, pulled: str, hand: str) -> list[_Wheel]:
    before = _material(found, given)
    after = _material(found, taken)
    ropes = {rope.name: {str(s.label): s.part for s in rope.stations} for rope in rig.ropes}
    made = []
    formed = shape(found.solved.assembly.network, found.solved.state)
    for number, line in enumerate(found.solved.assembly.lines):
        if line.rope is None or len(line.path) < 3 or line.name not in before or line.name not in after:
            continue
        spans = after[line.name] - before[line.name]
        from_end = line.name == pulled and line.labels[0] == hand  # material leaves at the start
        for at in range(1, len(line.path) - 1):
            ran = float(spans[at:].sum()) if from_end else -float(spans[:at].sum())
            flow = 0 if abs(ran) < STILL * 2 * TAKEN else 1 if ran > 0 else -1
            part = rig.parts[ropes[line.rope][line.labels[at]]]
            turned = _turned(formed, number, at, found)
            efficiency, told = _efficiency(dict(part.quantities), turned)
            made.append(_Wheel(number, at, part.name, efficiency, told, flow, 180 - math.degrees(turned)))
    return made


def _material(found: Equilibrium, moved: _Moved) -> dict[str, Array]:
    """Metres of rope in each segment of each line."""
    assembly = found.solved.assembly
    return {
        line.name: moved.formed.lengths[assembly.network.line == number] for number, line in enumerate(assembly.lines)
    }


def _turned(formed: Shape, number: int, at: int, found: Equilibrium) -> float:
    """Radians by which a line turns at one of its places."""
    mine = np.flatnonzero(found.solved.assembly.network.line == number)
    a, b = formed.directions[mine[at - 1]], formed.directions[mine[at]]
    return math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))


def _efficiency(quantities: dict[str, Quantity], turned: float) -> tuple[float, bool]:
    """The share of tension that gets past a turning point, and whether the file gives it: as an
    `efficiency`, or from a `friction` and the angle that the rope turns by (capstan law, facts 3.12)."""
    efficiency = quantities.get("efficiency")
    if efficiency is not None:
        return efficiency.si, True
    friction = quantities.get("friction")
    if friction is None:
        return 1.0, False
    return math.exp(-friction.si * turned), True


def _worked(
    rig: Rig, found: Equilibrium, wheels: list[_Wheel], pulled: str, hand: str, way: int
) -> tuple[Pull | None, str | None]:
    """The hand's pull with friction, rope running in (`way` 1) or out (-1).

    One unknown a line, its tension at its start; the share of it in each segment follows from the
    wheels before it. Solved by least squares over the balance of all that moves.
    """
    assembly = found.solved.assembly
    network = assembly.network
    formed = shape(network, found.solved.state)
    share = np.ones(len(network.line))
    for number in range(network.lines):
        mine = np.flatnonzero(network.line == number)
        now = 1.0
        turning = {wheel.at: wheel for wheel in wheels if wheel.line == number}
        for at, segment in enumerate(mine):
            wheel = turning.get(at)
            if wheel and wheel.flow:
                now = now / wheel.efficiency if wheel.flow * way > 0 else now * wheel.efficiency
            share[segment] = now
    tight = np.flatnonzero(found.solved.tension > SLACK * found.load)
    force = np.zeros((network.nodes, 3, network.lines))
    along = share[:, None] * formed.directions
    axes = np.arange(3)
    np.add.at(force, (network.start[:, None], axes, network.line[:, None]), along)
    np.add.at(force, (network.end[:, None], axes, network.line[:, None]), -along)
    weights = np.zeros((network.moving, 3))
    weights[:, 2] = network.weights
    rows, sides = [force[: network.free].reshape(-1, network.lines)], [weights[: network.free].ravel()]
    for body in range(network.bodies):
        on = network.free + np.flatnonzero(network.carrier == body)
        arms = formed.arms[network.carrier == body]
        rows += [force[on].sum(axis=0), np.cross(arms[:, :, None], force[on], axis=1).sum(axis=0)]
        sides += [weights[on].sum(axis=0), np.cross(arms, weights[on]).sum(axis=0)]
    matrix, side = np.concatenate(rows)[:, tight], np.concatenate(sides)
    tension, _, rank, _ = np.linalg.lstsq(matrix, side, rcond=1e-9)
    if rank < len(tight):
        return None, "more lines share the load than balance alone can part"
    if float(np.abs(matrix @ tension - side).max(initial=0.0)) > OFF * found.load:
        return None, "friction would move the rig to other places"
    if float(tension.min(initial=0.0)) < -OFF * found.load:
        return None, "with friction a line goes slack"
    every = np.zeros(network.lines)
    every[tight] = tension
    at_hand = next(k for k, line in enumerate(assembly.lines) if line.name == pulled)
    mine = np.flatnonzero(network.line == at_hand)
    last = mine[0] if assembly.lines[at_hand].labels[0] == hand else mine[-1]
    anchors: dict[str, float] = {}
    frames: list[FrameForce] = []
    for node in range(network.moving, network.nodes):
        k = assembly.nodes[node]
        names = (k,) if isinstance(k, str) else assembly.lumps.lumps[k].parts
        ground = next((name for name in names if name in found.reactions), None)
        if ground is not None:
            pull = force[node] @ every - np.array([0.0, 0.0, assembly.resting.get(node, 0.0)])
            anchors[ground] = float(np.linalg.norm(pull))
            if rig.parts[ground].nature is Nature.FRAME:
                frames += frame_under(rig, found, ground, pull)
    return Pull(float(every[at_hand] * share[last]), anchors, tuple(frames)), None


def _counted(found: Equilibrium, taken: _Moved, given: _Moved, pulled: str, lifted: set[str]) -> float | None:
    """The advantage by counting units with all strands parallel: at each thing that moves, the strands that draw it
    one way along its own motion carry together what those carry that draw it the other way."""
    assembly = found.solved.assembly
    network = assembly.network
    if network.bodies:
        return None
    formed = shape(network, found.solved.state)
    tight = np.flatnonzero(found.solved.tension > SLACK * found.load)
    rows, sides = [], []
    for node in range(network.free):
        motion = (taken.formed.places[node] - given.formed.places[node]) / (2 * TAKEN)
        size = float(np.linalg.norm(motion))
        if size < STILL:
            continue
        row = np.zeros(network.lines)
        along = formed.directions @ (motion / size)
        np.add.at(row, network.line[network.start == node], np.sign(along[network.start == node]))
        np.add.at(row, network.line[network.end == node], -np.sign(along[network.end == node]))
        rows.append(row[tight])
        sides.append(float(network.weights[node]) * (1.0 if motion[2] > 0 else -1.0))
    if not rows:
        return None
    tension, _, rank, _ = np.linalg.lstsq(np.array(rows), np.array(sides), rcond=1e-9)
    if rank < len(tight) or float(np.abs(np.array(rows) @ tension - sides).max()) > 1e-6 * found.load:
        return None
    at = next(k for k, line in enumerate(assembly.lines) if line.name == pulled)
    weight = sum(
        float(network.weights[node])
        for node in range(network.free)
        if isinstance(k := assembly.nodes[node], int) and lifted & {*assembly.lumps.lumps[k].parts}
    )
    mine = float(tension[tight == at].sum())
    return weight / mine if mine > 0 else None


def _holding(rig: Rig, found: Equilibrium) -> tuple[str, ...]:
    """Devices with more tension on one side than on the other: they carry the load."""
    held = set()
    for rope in rig.ropes:
        for station in rope.stations:
            if station.role is not Role.GRIP:
                continue
            before = sum(
                line.tension for line in found.lines if line.rope == rope.name and line.labels[-1] == station.label
            )
            after = sum(
                line.tension for line in found.lines if line.rope == rope.name and line.labels[0] == station.label
            )
            if abs(before - after) > 1e-3 * max(found.load, 1e-9):
                held.add(station.part)
    return tuple(sorted(held))
