"""What happens to a body in a scenario: one value, read by everything that says so.

The kinds are ordered, the worst first (`rules.md` section 5). Those that only forces or lengths tell stand in
the order as well: what is made here from connections is what they begin with.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What happens, the worst first; `len(Kind)` of them, `HELD` the last."""

    FALLS = "falls"
    BY_A_PERSON = "only by a person"
    BY_ANOTHERS_WEIGHT = "only by another's weight"
    RUNS = "runs"
    TO_THE_GROUND = "to the ground"
    TURNS_OVER = "turns over"
    TIPS = "tips"
    DROPS = "drops"
    SLACKENS = "slackens"
    HELD = "held"

    @property
    def rank(self) -> int:
        """Nought is the worst."""
        return RANKS[self]

    @property
    def not_held(self) -> bool:
        """Does it count as not held: in failure sets, attachments, hands off, requirements?"""
        return self.rank <= RANKS[Kind.TO_THE_GROUND]


RANKS = {kind: rank for rank, kind in enumerate(Kind)}


@dataclass(frozen=True, slots=True)
class Fate:
    """What happens to one body in one scenario.

    `to` names what it runs or comes to: stoppers, knots; empty where it comes to nothing that is told.
    `drop` is by how much it comes to rest lower, in metres, where forces or lengths tell.
    """

    kind: Kind
    to: tuple[str, ...] = ()
    drop: float | None = None

    @property
    def not_held(self) -> bool:
        return self.kind.not_held


HELD = Fate(Kind.HELD)


def worst(fates: Iterable[Fate]) -> Fate:
    """The worst of some fates, the first of equals."""
    return min(fates, key=lambda fate: fate.kind.rank)


@dataclass(frozen=True, slots=True)
class Hold:
    """By what a body is held: all of `through` is needed, and besides any one of `any_of` (none where there is no
    choice). Names are those of parts and ropes, from the body on."""

    through: tuple[str, ...]
    any_of: tuple[tuple[str, ...], ...] = ()
