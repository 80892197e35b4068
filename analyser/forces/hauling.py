"""What a haul gains: from the statics, with a hand's pull against the load, not from names.

The hand is held still and the load's equilibrium found; then the hand takes in a little rope, and what
moves tells which way rope runs over each wheel and how far the load comes up. With the efficiency of
each wheel the pull on its far side follows, raising and lowering: tension is higher, by 1/efficiency,
on the side that the rope runs to. Places are those without friction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from analyser.forces.assembling import Case, is_fixed
from analyser.forces.equilibrium import SLACK, Equilibrium, Statics
from analyser.forces.lumps import lumps_of
from analyser.forces.network import Array, Shape, shape
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Effects, Quantity, Rig, Role

TAKEN = 1e-3
"""Metres of rope taken in and given out to see what moves."""

STILL = 1e-4
"""Metres per metre taken in under which a load, or rope on a wheel, counts as standing still."""

OFF = 0.02
"""Share of the load by which friction may unbalance places found without it."""


@dataclass(frozen=True, slots=True)
class Pull:
    """One way of working the haul: newtons at the hand, and what each anchor is pulled with."""

    hand: float
    anchors: dict[str, float]


@dataclass(frozen=True, slots=True)
class Advantage:
    """What hauling on a rope gains.

    `ideal` = the load's weight over the hand's pull without friction; `travel` = metres of rope taken
    in per metre of rise. `hold` is without friction; `raising` and `lowering` bound the pull at rest
    (None where the statics can't tell: `why_not`). `wheels` are the turning points that rope runs
    over, `without` those with no efficiency given (taken as 1). `holds_at_rest` are the devices that
    carry the load when every hand lets go, `falls` who falls then. `opened` are the one-way devices on
    the ground that were taken as letting rope through: to lower, somebody must keep them open.
    """

    rope: str
    person: str
    lifted: tuple[str, ...]
    weight: float
    ideal: float
    travel: float
    hold: Pull
    raising: Pull | None
    lowering: Pull | None
    why_not: str | None
    wheels: tuple[tuple[str, float], ...]
    without: tuple[str, ...]
    holds_at_rest: tuple[str, ...]
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
    taken = statics.equilibrium(replace(case, extra={pulled.name: -TAKEN}), found)
    given = statics.equilibrium(replace(case, extra={pulled.name: TAKEN}), found)
    moves = {}
    for part in rig.bodies:
        mass = dict(part.quantities).get("mass")
        if mass and part.name not in found.falls and all(part.name in one.at for one in (taken, given)):
            moves[part.name] = ((taken.at[part.name][2] - given.at[part.name][2]) / (2 * TAKEN), mass.si)
    lifted = {name: both for name, both in moves.items() if both[0] > STILL}
    if not lifted:
        return NoHaul(f"nothing comes up when {rope} is taken in")
    weight = GRAVITY * sum(mass for _, mass in lifted.values())
    rise = GRAVITY * sum(move * mass for move, mass in lifted.values()) / weight
    wheels = _wheels(rig, found, taken, given, pulled.name, hand.label)
    up, why = _worked(rig, found, wheels, pulled.name, hand.label, 1)
    down, why_down = _worked(rig, found, wheels, pulled.name, hand.label, -1)
    still = {name: math.hypot(*force) for name, force in found.reactions.items()}
    return Advantage(
        rope=rope,
        person=hand.part,
        lifted=tuple(sorted(lifted)),
        weight=weight,
        ideal=weight / pulled.tension,
        travel=1 / rise,
        hold=Pull(pulled.tension, still),
        raising=up,
        lowering=down,
        why_not=why or why_down,
        wheels=tuple((wheel.part, wheel.efficiency) for wheel in wheels if wheel.flow),
        without=tuple(sorted({wheel.part for wheel in wheels if wheel.flow and not wheel.given})),
        holds_at_rest=_holding(rig, at_rest),
        falls=at_rest.falls,
        opened=tuple(sorted(captures & {station.part for station in laid.stations})),
        residual=max(one.residual for one in (found, taken, given, at_rest)),
    )


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


def _wheels(
    rig: Rig, found: Equilibrium, taken: Equilibrium, given: Equilibrium, pulled: str, hand: str
) -> list[_Wheel]:
    before = _material(given)
    after = _material(taken)
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
            efficiency, told = _efficiency(dict(part.quantities), formed, number, at, found)
            made.append(_Wheel(number, at, part.name, efficiency, told, flow))
    return made


def _material(found: Equilibrium) -> dict[str, Array]:
    """Metres of unstretched rope in each segment of each line."""
    network = found.solved.assembly.network
    formed = shape(network, found.solved.state)
    told = {}
    for number, line in enumerate(found.solved.assembly.lines):
        lengths = formed.lengths[network.line == number]
        told[line.name] = lengths * (line.rest / max(float(lengths.sum()), line.rest, 1e-9))
    return told


def _efficiency(
    quantities: dict[str, Quantity], formed: Shape, number: int, at: int, found: Equilibrium
) -> tuple[float, bool]:
    """The share of tension that gets past a turning point, and whether the file gives it: as an
    `efficiency`, or from a `friction` and the angle that the rope turns by (capstan law, facts 3.12)."""
    efficiency = quantities.get("efficiency")
    if efficiency is not None:
        return efficiency.si, True
    friction = quantities.get("friction")
    if friction is None:
        return 1.0, False
    mine = np.flatnonzero(found.solved.assembly.network.line == number)
    a, b = formed.directions[mine[at - 1]], formed.directions[mine[at]]
    turned = math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))
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
    anchors = {}
    for node in range(network.moving, network.nodes):
        k = assembly.nodes[node]
        if not isinstance(k, int):
            continue
        ground = [n for n in assembly.lumps.lumps[k].parts if n in found.reactions]
        if ground:
            anchors[ground[0]] = float(np.linalg.norm(force[node] @ every))
    return Pull(float(every[at_hand] * share[last]), anchors), None


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
