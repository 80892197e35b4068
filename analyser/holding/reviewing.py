"""The search over a whole rig: in portions, series taken as one, results by name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from analyser.holding.attachments import attachments
from analyser.holding.portions import Portion, portions
from analyser.holding.search import Packing, Search
from analyser.holding.series import series, told_for_each
from analyser.holding.structure import Structure
from analyser.holding.system import RigSystem
from analyser.rig.model import Effects, Failure, Rig

Names = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ways:
    """Independent ways of being held; `number` is None where no failure can drop the body."""

    number: int | None
    exact: bool
    ways: tuple[Names, ...]


class _Searched:
    """One portion, its classes of failures and its search."""

    def __init__(self, portion: Portion, already: Effects | None) -> None:
        self.portion = portion
        self.classes = series(portion.rig, portion.failures)
        self.system = RigSystem(portion.rig, [group[0] for group in self.classes], already)
        self.system.goals = list(portion.bodies)
        self.search = Search(self.system)


class Review:
    """What brings each body down, and in how many independent ways it is held.

    `failures` are those that may happen (all of the rig's by default); `already` has happened.
    """

    def __init__(
        self,
        rig: Rig,
        structure: Structure | None = None,
        failures: Iterable[Failure] | None = None,
        already: Effects | None = None,
    ) -> None:
        self.already = already
        structure = structure or Structure(rig, loose=False)
        events = rig.failures if failures is None else failures
        self.portions = [_Searched(one, already) for one in portions(rig, structure, events)]
        self.where = {body: one for one in self.portions for body in one.portion.bodies}

    def failure_sets(self, goals: Sequence[str], order: int) -> dict[str, list[Names]]:
        """Every minimal set of at most `order` failures that drops each body: complete.

        By size, then by text. A body that isn't held to begin with has the empty set.
        """
        found: dict[str, list[Names]] = {}
        for one in self.portions:
            mine = [goal for goal in goals if self.where[goal] is one]
            for goal, cuts in one.search.failure_sets(mine, order).items() if mine else ():
                found[goal] = told_for_each(cuts, one.classes)
        return {goal: found[goal] for goal in goals}

    def independent(self, goal: str) -> Ways:
        """The largest number of ways of being held of which no two share a failure."""
        one = self.where[goal]
        packing: Packing = one.search.independent(goal)
        ways = [
            tuple(sorted(failure.id for event in way for failure in one.classes[event])) for way in packing.ways
        ]
        return Ways(packing.number, packing.exact, tuple(sorted(ways, key=lambda way: (len(way), way))))

    def attachments(self, goal: str) -> int:
        """The largest number of disjoint groups of the body's contacts, each enough alone."""
        return attachments(self.where[goal].portion.rig, goal, self.already)
