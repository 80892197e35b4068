"""What each part bears, as bounds that are quick to look at, and to the point where one comes near."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from analyser.forces.equilibrium import Equilibrium
from analyser.forces.followed import Bounds, Path
from analyser.forces.network import Array, State
from analyser.forces.phases import Phase, names_at
from analyser.forces.retained import Retained, held_round, retained
from analyser.forces.strength import Factors, factors
from analyser.rig.model import Nature, Rig, Role

NEAR = 0.98
"""Share of a strength from which on it is looked at exactly."""
FRAME = 0.25
"""Share of what a frame's legs, feet and guys bear that its head may be pulled with before they are looked at."""


def as_pulled(found: Equilibrium, state: State, tension: Array) -> Equilibrium:
    """The rig at one look of its motion, in the shape of an equilibrium: what each part carries then is told
    as it is at rest."""
    return replace(found, solved=replace(found.solved, state=state, tension=tension, jams=()))


def carried_then(
    rig: Rig, phase: Phase, path: Path, k: int, more: float = 1.0, knots: Mapping[str, Retained] | None = None
) -> tuple[Equilibrium, Factors]:
    """What everything carries at one look, times `more` (the top between two looks), and its strength factors."""
    tension = phase.tension(path, k) * more
    then = as_pulled(phase.found, phase.state(path, k), tension)
    return then, factors(rig, then, tension, knots)


def bounds(rig: Rig, phase: Phase, knots: Mapping[str, Retained] | None = None) -> Bounds:
    """Up to where nothing breaks: the lines that are followed, and all places that they pull at."""
    small = phase.small
    assert small is not None
    assembly = phase.assembly
    ropes = {rope.name: rope for rope in rig.ropes}
    line = np.full(small.masses.lines, np.inf)
    kept = {*small.points, *small.light, *small.carried, *small.fixed}
    for number, strand in enumerate(small.strands):
        for k, _ in strand.lines:
            one = assembly.lines[k]
            if one.part is not None:
                line[number] = min(line[number], _strength(rig, one.part))
            else:
                rope = ropes[one.rope or ""]
                given = dict(rope.quantities).get("strength")
                ties = [rig.parts[s.part].kind for s in rope.stations if s.role is Role.TIE and s.part in rig.parts]
                share = min((retained(kind, knots).share for kind in ties), default=1.0)
                line[number] = min(line[number], given.si * share if given else np.inf)
            for n in one.path:
                if n not in kept:
                    line[number] = min(line[number], _weakest(rig, names_at(assembly, n)) / 2)
    nodes = [*small.points, *small.light, *small.carried, *small.fixed]
    place = np.array([_weakest(rig, names_at(assembly, n)) for n in nodes])
    touching = np.zeros((len(nodes), small.masses.lines))
    at = {n: k for k, n in enumerate(nodes)}
    for number, strand in enumerate(small.strands):
        for k, n in enumerate(strand.path):
            touching[at[n], number] += 1 if k in (0, len(strand.path) - 1) else 2
    told = np.isfinite(place)
    return Bounds(NEAR * line, touching[told], NEAR * place[told])


def _weakest(rig: Rig, names: tuple[str, ...]) -> float:
    found = [_strength(rig, name) for name in names if name in rig.parts]
    for name in names:
        part = rig.parts.get(name)
        if part is not None and part.nature is Nature.FRAME:
            legs = [one for need in part.needs for one in need.parts]
            ropes = {rig.parts[leg].rope for leg in legs} - {None}
            found += [FRAME * _strength(rig, leg) for leg in legs]
            given = [dict(rope.quantities).get("strength") for rope in rig.ropes if rope.name in ropes]
            found += [FRAME * 0.5 * one.si for one in given if one]
            others = [p for p in rig.parts.values() if p.nature in (Nature.GROUND, Nature.JOINT)]
            found += [FRAME * _strength(rig, p.name) for p in others] if ropes else []
    return min(found, default=np.inf)


def _strength(rig: Rig, name: str) -> float:
    part = rig.parts[name]
    given = dict(part.quantities).get("strength")
    left = held_round(part.hitch)
    share = left.share if left else 1.0
    return given.si * share if given and part.nature not in (Nature.KNOT, Nature.STOPPER) else np.inf
