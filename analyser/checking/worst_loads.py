"""What each part may come to carry in the worst case, without places or lengths: plumb weight only.

A part may come to carry whatever has it on some way to the ground: some set of failures may leave just that
way. All of it at once is an upper bound for the plumb weight on the part. `LEFT_OUT` is what may make more.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from analyser.checking.finding import listed
from analyser.holding.portions import on_some_way
from analyser.rig.figures import as_force
from analyser.rig.model import Nature, Part, Quantity, Rig, Rope
from analyser.rig.quantities import GRAVITY

LEFT_OUT = (
    "plumb weight at rest only: a rope that turns over a pulley may put twice it there, and a haul more; legs at "
    "an angle carry more, and a flat track line many times it; a drop, a swing or a jammed load much more"
)
"""What the bound is no bound for."""

CARRYING = (Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.GRIP, Nature.FRAME, Nature.HARNESS, Nature.LITTER)
"""Natures of parts that are told; a rope is told as one."""


@dataclass(frozen=True, slots=True)
class Plumb:
    """The weight of some bodies (and of heavy hardware, by name), in newtons. `unknown` have no mass given."""

    bodies: tuple[str, ...]
    gear: tuple[str, ...]
    unknown: tuple[str, ...]
    newtons: float

    @property
    def words(self) -> str:
        """`1.96 kN`, and what it leaves open."""
        more = " and more, whose mass is not given" if self.unknown else ""
        return f"{as_force(self.newtons, '.3g')}{more}"


@dataclass(frozen=True, slots=True)
class WorstLoad:
    """The most that a part, or a rope, may come to carry of plumb weight, by the ways that lead over it."""

    name: str
    of: Part | Rope
    load: Plumb

    @property
    def strength(self) -> Quantity | None:
        return dict(self.of.quantities).get("strength")

    @property
    def least_strength(self) -> float | None:
        """Newtons; of a band, its lower end."""
        return self.strength.least if self.strength else None

    @property
    def factor(self) -> float | None:
        """Strength (the lower end of a band) over that weight; None where one of the two isn't known."""
        strength = self.strength
        return strength.least / self.load.newtons if strength and self.load.newtons and not self.load.unknown else None


def worst_loads(rig: Rig) -> tuple[WorstLoad, ...]:
    """Every part and rope that weight may come on, the most loaded first, then in order of the file."""
    heavy = [part.name for part in rig.parts.values() if part.is_body or _mass(part)]
    ways = on_some_way(rig, [name for name in heavy if name in _falling(rig)])
    rows: list[WorstLoad] = []
    for part in rig.parts.values():
        on = [name for name, way in ways.items() if part.name in way and name != part.name]
        if part.nature in CARRYING and on:
            rows.append(WorstLoad(part.name, part, plumb(rig, on)))
    for rope in rig.ropes:
        on = [name for name, way in ways.items() if f"rope {rope.name}" in way]
        if on:
            rows.append(WorstLoad(rope.name, rope, plumb(rig, on)))
    rows.sort(key=lambda row: (-round(row.load.newtons, 6), row.of.place, row.name))
    return tuple(rows)


def plumb(rig: Rig, names: Iterable[str]) -> Plumb:
    """The weight of bodies and hardware together."""
    parts = [rig.parts[name] for name in names]
    bodies = tuple(part.name for part in parts if part.is_body)
    gear = tuple(part.name for part in parts if not part.is_body)
    unknown = tuple(part.name for part in parts if not _mass(part))
    return Plumb(bodies, gear, unknown, GRAVITY * sum(_mass(part) for part in parts))


def in_words(rig: Rig, row: WorstLoad) -> str:
    """`main-bolt may come to carry all 3 bodies, 1.96 kN`."""
    who = who_words(rig, row.load)
    return f"{row.name} may come to carry {who}, {row.load.words}"


def who_words(rig: Rig, load: Plumb) -> str:
    """The bodies by name, or `all 3 bodies`; hardware with a mass after them."""
    every = len(rig.bodies) > 2 and set(load.bodies) == {body.name for body in rig.bodies}
    return listed([f"all {len(rig.bodies)} bodies", *load.gear] if every else [*load.bodies, *load.gear])


def without_mass(rows: Sequence[WorstLoad]) -> tuple[str, ...]:
    """Bodies whose mass is not given: nothing of them is in the figures."""
    return tuple(sorted({name for row in rows for name in row.load.unknown}))


def _falling(rig: Rig) -> set[str]:
    """What has weight to be held: all but those who stand where they cannot fall."""
    return {part.name for part in rig.parts.values() if not (part.standing and not part.exposed)}


def _mass(part: Part) -> float:
    """Kilograms; of a band, its upper end."""
    given = dict(part.quantities).get("mass")
    return given.most if given else 0.0
