"""Strength factors: strength, less what knots take, over force; the weakest first.

A rope breaks at its worst knot: knots in series don't multiply (facts 5.2). What carries load and has
no strength given is listed, never passed over.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from analyser.forces.carried import PartForce, part_forces
from analyser.forces.equilibrium import SLACK, Equilibrium
from analyser.forces.network import Array
from analyser.forces.retained import Retained, held_round, retained
from analyser.rig.model import Nature, Rig, Role

SHARED = (Nature.KNOT, Nature.STOPPER, Nature.PERSON, Nature.POINT, Nature.LOAD, Nature.EDGE, Nature.PAD)
"""Natures whose strength is not their own, or that do not fail: not listed as lacking one."""


@dataclass(frozen=True, slots=True)
class Factor:
    """`strength` and `force` in newtons; `factor` = strength x kept / force (infinite when unloaded).

    `name` is a part, or a line of rope; `knot` is what takes strength from the rope, `source` says who
    has it that it keeps `kept`. `at_most`: the force is a bound, the factor at least this.
    """

    name: str
    strength: float
    kept: float
    knot: str | None
    source: str | None
    force: float
    factor: float
    at_most: bool = False


@dataclass(frozen=True, slots=True)
class Factors:
    rows: tuple[Factor, ...]
    """Weakest first."""
    without: tuple[str, ...]
    """What carries load and has no strength given, by name."""
    lessened: tuple[str, ...] = ()
    """What carries load and has lost some of the line that it stands in: its strength is that of the whole."""

    @property
    def weakest(self) -> Factor | None:
        return self.rows[0] if self.rows else None


def factors(
    rig: Rig,
    found: Equilibrium,
    tension: Array | None = None,
    knots: Mapping[str, Retained] | None = None,
    forces: Sequence[PartForce] | None = None,
) -> Factors:
    """The strength factors of every part and line that carries load.

    `tension` in place of the equilibrium's own (a peak); `knots` in place of `retained.KNOTS`; `forces` are
    those of the parts under that tension, where they are known.
    """
    least = SLACK * found.load
    if forces is None:
        forces = part_forces(rig, found, tension, angles=False)
    of_parts = _of_parts(rig, [one for one in forces if one.force > least], found.solved.assembly.lumps.of)
    rows, without = [*of_parts.rows], [*of_parts.without]
    tensions = found.solved.tension if tension is None else tension
    ropes = {rope.name: rope for rope in rig.ropes}
    assembly = found.solved.assembly
    pulled = [
        (line.name, ropes[line.rope], {line.labels[0], line.labels[-1]}, float(pull))
        for line, pull in zip(assembly.lines, tensions, strict=True)
        if line.rope is not None
    ]
    on_knots = {one.name: one.force for one in forces if one.name in assembly.guys}
    for knot, guy in assembly.guys.items():
        labels = {str(guy.rope.stations[k].label) for k in (guy.first, guy.last)}
        pulled.append((guy.name, guy.rope, labels, on_knots.get(knot, 0.0)))
    for name, rope, ends, pull in pulled:
        if pull <= least:
            continue
        strength = dict(rope.quantities).get("strength")
        if strength is None:
            without.append(rope.name)
            continue
        tied = [s.part for s in rope.stations if s.role is Role.TIE and s.label in ends and s.part in rig.parts]
        worst = min(((retained(rig.parts[k].kind, knots), k) for k in tied), key=lambda one: one[0].share, default=None)
        kept = worst[0].share if worst else 1.0
        rows.append(
            Factor(
                name,
                strength.si,
                kept,
                worst[1] if worst else None,
                worst[0].source if worst else None,
                pull,
                strength.si * kept / pull,
            )
        )
    rows.sort(key=lambda row: (row.factor, row.name))
    return Factors(tuple(rows), tuple(sorted(set(without))), of_parts.lessened)


def _of_parts(rig: Rig, forces: Iterable[PartForce], there: Collection[str]) -> Factors:
    """Those of the parts that carry load, in the order of `forces`; `there`: what is not gone."""
    rows, without, lessened = [], [], []
    for one in forces:
        part = rig.parts[one.name]
        strength = dict(part.quantities).get("strength")
        if part.nature in (Nature.KNOT, Nature.STOPPER):
            continue
        if any(need.row and not all(name in there for name in need.parts) for need in part.needs):
            lessened.append(one.name)
        elif strength is not None:
            rows.append(_row(one, strength.si, part.hitch))
        elif part.nature not in SHARED:
            without.append(one.name)
    return Factors(tuple(rows), tuple(without), tuple(sorted(lessened)))


def _row(one: PartForce, strength: float, hitch: str) -> Factor:
    left = held_round(hitch)
    share, source = (left.share, left.source) if left else (1.0, None)
    factor = strength * share / one.force if one.force > 0 else math.inf
    return Factor(one.name, strength, share, hitch if left else None, source, one.force, factor, one.at_most)
