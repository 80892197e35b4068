"""Failure sets kept by class: one of each of some groups of failures that do the same; told in full where asked.

Two chains of n parts have n² pairs and one entry here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from itertools import product
from math import prod

Names = tuple[str, ...]
Groups = tuple[Names, ...]
"""Of each group one: as many failure sets as there are ways to choose."""


@dataclass(frozen=True, slots=True, eq=False)
class FailureSets(Sequence[Names]):
    """The failure sets of one body, each by its names in order, the smallest first: a sequence like any other, which is
    laid out once somebody goes through it."""

    groups: tuple[Groups, ...]
    """No set is in two of them."""
    _laid_out: list[tuple[Names, ...]] = field(default_factory=list, init=False, repr=False)

    @classmethod
    def of(cls, sets: Iterable[Names]) -> FailureSets:
        """Sets that are known one by one."""
        return cls(tuple(tuple((name,) for name in one) for one in sets))

    @property
    def told(self) -> tuple[Names, ...]:
        """All of them."""
        if not self._laid_out:
            every = (tuple(sorted(one)) for groups in self.groups for one in product(*groups))
            self._laid_out.append(tuple(sorted(every, key=lambda names: (len(names), names))))
        return self._laid_out[0]

    @property
    def singles(self) -> Names:
        """The failures that do it alone, by name."""
        return tuple(sorted(name for groups in self.groups if len(groups) == 1 for name in groups[0]))

    @property
    def smallest(self) -> int | None:
        """Of how many failures the smallest set is."""
        return min(map(len, self.groups), default=None)

    @property
    def names(self) -> set[str]:
        """Every failure that is in one of the sets."""
        return {name for groups in self.groups for names in groups for name in names}

    def of_size(self, size: int) -> Iterator[Groups]:
        """The groups of the sets of one size."""
        return (groups for groups in self.groups if len(groups) == size)

    def up_to(self, order: int) -> FailureSets:
        """Those of at most so many failures."""
        kept = tuple(groups for groups in self.groups if len(groups) <= order)
        return self if len(kept) == len(self.groups) else FailureSets(kept)

    def all_meet(self, failures: AbstractSet[str]) -> bool:
        """Is one of these failures in each of the sets?"""
        return all(any(failures >= set(names) for names in groups) for groups in self.groups)

    def __len__(self) -> int:
        return sum(prod(map(len, groups)) for groups in self.groups)

    def __bool__(self) -> bool:
        return bool(self.groups)

    def __iter__(self) -> Iterator[Names]:
        return iter(self.told)

    def __getitem__(self, at):  # type: ignore[no-untyped-def]
        return self.told[at]

    def __contains__(self, one: object) -> bool:
        if not isinstance(one, tuple):
            return False
        if len(one) > 1:
            return one in self.told
        return any(not groups or one[0] in groups[0] for groups in self.of_size(len(one)))

    def __eq__(self, other: object) -> bool:
        if isinstance(other, FailureSets) and self.groups == other.groups:
            return True
        return self.told == tuple(other) if isinstance(other, Sequence) else NotImplemented

    __hash__ = None  # type: ignore[assignment]


def brought_down_by(
    sets: Mapping[str, FailureSets], size: int, alike: Callable[[str], str]
) -> dict[Groups, tuple[str, ...]]:
    """The failure sets of one size, and whom each brings down: those together of which every failure is `alike` (the
    same is said of them); where some bodies' sets tell such failures apart, each by itself."""
    whole: dict[str, Names] = {}
    split: dict[int, tuple[Names, ...]] = {}
    every = [names for mine in sets.values() for groups in mine.of_size(size) for names in groups]
    for names in every:
        if id(names) not in split:
            split[id(names)] = _split(names, alike)
            for piece in split[id(names)]:
                if whole.setdefault(alike(piece[0]), piece) != piece:
                    return brought_down_by(sets, size, str)
    pieces = sorted({piece for several in split.values() for piece in several})
    place = {piece: k for k, piece in enumerate(pieces)}
    placed = {one: [place[piece] for piece in several] for one, several in split.items()}
    whose: dict[tuple[int, ...], list[str]] = {}
    for body, mine in sets.items():
        for groups in mine.of_size(size):
            for some in product(*(placed[id(names)] for names in groups)):
                whose.setdefault(tuple(sorted(some)), []).append(body)
    return {tuple(map(pieces.__getitem__, places)): tuple(bodies) for places, bodies in whose.items()}


def _split(names: Names, alike: Callable[[str], str]) -> tuple[Names, ...]:
    """Those that are alike together, each in order of name."""
    pieces: dict[str, list[str]] = {}
    for name in sorted(names):
        pieces.setdefault(alike(name), []).append(name)
    return tuple(map(tuple, pieces.values()))
