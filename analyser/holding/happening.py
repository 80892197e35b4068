"""What happens to each body in some scenarios: the readings put together (`rules.md` section 5)."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyser.holding.batch import positions, spread
from analyser.holding.fate import HELD, Fate, Kind, worst
from analyser.holding.reading import Reading
from analyser.holding.running import Running
from analyser.rig.model import Effects

if TYPE_CHECKING:
    from analyser.holding.reviewing import Review
    from analyser.holding.system import RigSystem


@dataclass(frozen=True, slots=True)
class Scenario:
    """What happens to each body after one set of failures.

    `falls` are those *not held*, whatever becomes of them; `runs` and `only_by_person` are parts of them.
    `tips` and `slackens` are among the held, and bars with ends that tip.
    """

    falls: tuple[str, ...]
    runs: tuple[str, ...]
    only_by_person: tuple[str, ...]
    tips: tuple[str, ...]
    slackens: tuple[str, ...]
    held: tuple[str, ...]
    fates: tuple[tuple[str, Fate], ...]
    """Every body, by name, and what happens to it."""

    @property
    def fated(self) -> dict[str, Fate]:
        """What happens to each body that is not simply held, by name."""
        return dict(self.amiss())

    def fate(self, body: str) -> Fate:
        return dict(self.fates)[body]

    @classmethod
    def of(cls, fates: Mapping[str, Fate], bars: Sequence[str] = ()) -> Scenario:
        """`bars`: those that tip."""
        names = sorted(fates)
        amiss = {number: fates[name] for number, name in enumerate(names) if fates[name] != HELD}
        return cls.beside([(name, HELD) for name in names], amiss, bars)

    @classmethod
    def beside(cls, every: list[tuple[str, Fate]], amiss: Mapping[int, Fate], bars: Sequence[str] = ()) -> Scenario:
        """`every` body by name as if all were held, and what happens to those few, by their places, to whom
        something does: what is told of the others costs a copy."""
        told = [(every[number][0], fate) for number, fate in sorted(amiss.items())]

        def of_kind(*kinds: Kind) -> tuple[str, ...]:
            return tuple(name for name, fate in told if fate.kind in kinds)

        fates = every.copy()
        for number, fate in amiss.items():
            fates[number] = every[number][0], fate
        falls = tuple(name for name, fate in told if fate.not_held)
        left = frozenset(falls)
        return cls(
            falls=falls,
            runs=of_kind(Kind.RUNS),
            only_by_person=of_kind(Kind.BY_A_PERSON),
            tips=tuple(sorted((*of_kind(Kind.TIPS, Kind.TURNS_OVER), *bars))),
            slackens=of_kind(Kind.SLACKENS),
            held=tuple([name for name, _ in every if name not in left]),
            fates=tuple(fates),
        )

    def amiss(self) -> list[tuple[str, Fate]]:
        """The bodies that are not simply held, and what happens to each."""
        return [one for one in self.fates if one[1] is not HELD and one[1] != HELD]


def judged(system: RigSystem, scenarios: Sequence[Effects], review: Review | None = None) -> list[Scenario]:
    """Judge each scenario; the first must be the one in which nothing failed. Each counts as one failure.

    With a review, each portion is asked by itself, and only where it was not asked the same before; which ends were
    supported at first it knows too.
    """
    return _Judging(system, scenarios, review).scenarios()


def fates_in(
    system: RigSystem, scenarios: Sequence[Effects], asked: Mapping[str, int], review: Review
) -> tuple[dict[str, int], dict[str, dict[int, Fate]]]:
    """In which of the scenarios in which it is asked for each body simply falls, and what happens to it in the others,
    by their columns, as far as it isn't held; the first must be the one in which nothing failed. Each counts as one
    failure."""
    return _Judging(system, scenarios, review).fates(asked)


class _Judging:
    def __init__(self, system: RigSystem, scenarios: Sequence[Effects], review: Review | None) -> None:
        self.system = system
        self.review = review
        self.effects = list(scenarios)
        self.width = len(self.effects)
        self.full = (1 << self.width) - 1
        self.rows = [(effects, 1 << column) for column, effects in enumerate(self.effects)]

    def _read(self, reading: Reading, asked: Mapping[str, int]) -> dict[str, int]:
        """Where each body is held in a reading, of the columns asked."""
        if self.review:
            found = self.review.held(self.effects, reading, asked)
            return {name: found[name] & bits for name, bits in asked.items()}
        every = 0
        for bits in asked.values():
            every |= bits
        columns = positions(every) if every else []
        if len(columns) == self.width:
            found = self.system.read(reading, self.rows, self.width, asked)
            return {name: found[name] & bits for name, bits in asked.items()}
        rows = [(self.effects[column], 1 << k) for k, column in enumerate(columns)]
        mine = {name: _packed(bits, columns) for name, bits in asked.items()}
        found = self.system.read(reading, rows, len(columns), mine) if columns else {}
        return {name: spread(found[name] & mine[name], columns) if columns else 0 for name in asked}

    def scenarios(self) -> list[Scenario]:
        goals = self.system.goals
        held = self._read(Reading.HELD, dict.fromkeys(goals, self.full))
        tips = self._tips(held)
        fallen, _ = self._fallen({name: self.full & ~held[name] for name in goals})
        still = self._read(Reading.STILL, _some(held))
        sink = self._sink(still)
        still = {name: bits & ~sink.get(name, 0) for name, bits in still.items()}

        def fate(name: str, column: int) -> Fate:
            bit = 1 << column
            if held[name] & bit:
                if tips.get(name, 0) & bit:
                    system, effects = self.system, self.effects[column]
                    if self.review:
                        system, effects = self.review.around(name, effects)
                    return Fate(Kind.TIPS, system.tipping.to(name, effects))
                stays = still.get(name, 0) & bit and name not in self._unfooted(column)
                return HELD if stays else Fate(Kind.SLACKENS)
            return fallen(name, column)

        bars: list[list[str]] = [[] for _ in range(self.width)]
        for name, bits in self.system.bars_tip(self.rows, self.width).items():
            for column in positions(bits & self.full):
                bars[column].append(name)
        every = [(name, HELD) for name in sorted(goals)]
        unsure = self._unsure([name for name, _ in every], held, tips, still)
        first = {number: fate(every[number][0], 0) for number in unsure[0]}
        made = []
        for column, numbers in enumerate(unsure):
            now = {number: fate(every[number][0], column) for number in numbers}
            # a failure that happens to help is not counted on
            amiss = {number: worst((now.get(number, HELD), first.get(number, HELD))) for number in now | first}
            made.append(Scenario.beside(every, {n: one for n, one in amiss.items() if one != HELD}, bars[column]))
        return made

    def fates(self, asked: Mapping[str, int]) -> tuple[dict[str, int], dict[str, dict[int, Fate]]]:
        held = self._read(Reading.HELD, asked)
        left = {name: bits & ~held[name] for name, bits in asked.items()}
        fallen, falls = self._fallen(left)
        others = {name: positions(bits & ~falls[name]) for name, bits in left.items()}
        return falls, {name: {column: fallen(name, column) for column in mine} for name, mine in others.items()}

    def _fallen(self, left: Mapping[str, int]) -> tuple[Callable[[str, int], Fate], dict[str, int]]:
        """What happens to the bodies in the columns in which they aren't held, and in which of these they simply
        fall."""
        caught = self._read(Reading.CAUGHT, left)
        neither = {name: bits & ~caught[name] for name, bits in left.items()}
        by_person = self._read(Reading.BY_A_PERSON, _some(neither))
        others = {name: bits & ~by_person.get(name, 0) for name, bits in neither.items()}
        by_weight = self._read(Reading.BY_ANOTHERS_WEIGHT, _some(others))
        running = Running(self.system, self.review)
        to: dict[str, dict[int, tuple[str, ...]]] = {}

        def fate(name: str, column: int) -> Fate:
            bit = 1 << column
            if caught[name] & bit:
                if name not in to:
                    columns = positions(caught[name])
                    told = running.each(name, [self.effects[one] for one in columns])
                    to[name] = dict(zip(columns, told, strict=True))
                return Fate(Kind.RUNS, to[name][column])
            if by_person.get(name, 0) & bit:
                return Fate(Kind.BY_A_PERSON)
            return Fate(Kind.BY_ANOTHERS_WEIGHT if by_weight.get(name, 0) & bit else Kind.FALLS)

        return fate, {name: bits & ~by_weight.get(name, 0) for name, bits in others.items()}

    def _unsure(
        self, names: Sequence[str], held: Mapping[str, int], tips: Mapping[str, int], still: Mapping[str, int]
    ) -> list[list[int]]:
        """For each column those, by their places, who may not simply be held in it."""
        unfooted: dict[str, int] = {}
        for column in range(self.width):
            for name in self._unfooted(column):
                unfooted[name] = unfooted.get(name, 0) | 1 << column
        found: list[list[int]] = [[] for _ in range(self.width)]
        for number, name in enumerate(names):
            plain = held[name] & still.get(name, 0) & ~tips.get(name, 0) & ~unfooted.get(name, 0)
            for column in positions(self.full & ~plain):
                found[column].append(number)
        return found

    def _unfooted(self, column: int) -> frozenset[str]:
        """Who has lost footing in a column, or before anything failed there."""
        return self.effects[column].unfooted | self.system.already.unfooted

    def _tips(self, held: dict[str, int]) -> dict[str, int]:
        if self.review:
            return self.review.tips(self.effects, held)
        return self.system.tips(self.rows, self.width, held)

    def _sink(self, still: dict[str, int]) -> dict[str, int]:
        if self.review:
            return self.review.sink(self.effects, still)
        return self.system.sink(self.rows, self.width, still)


def _some(asked: Mapping[str, int]) -> dict[str, int]:
    return {name: bits for name, bits in asked.items() if bits}


def _packed(bits: int, columns: Sequence[int]) -> int:
    found = 0
    for k, column in enumerate(columns):
        if bits >> column & 1:
            found |= 1 << k
    return found
