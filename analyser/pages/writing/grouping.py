"""Many failure sets in few lines: what differs only in which part fails is told together."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, groupby, product
from math import prod

from analyser.checking.sentences import either
from analyser.holding.by_class import Groups, Names
from analyser.language.identities import Cut, spoken
from analyser.rig.model import Rig

MODES = ("fails", "slips", "shifts", "cuts", "lets go", "holds on", "loses footing", "strikes")


def any_with_any(pairs: Iterable[tuple[str, ...]]) -> list[tuple[Names, Names]]:
    """Pairs as few lines of "any of these with any of those", each pair told exactly once.

    >>> any_with_any([("a", "c"), ("a", "d"), ("b", "c"), ("b", "d"), ("e", "f")])
    [(('a', 'b'), ('c', 'd')), (('e',), ('f',))]
    """
    return groups_with_groups(((a,), (b,)) for a, b in pairs)


def groups_with_groups(pairs: Iterable[Groups]) -> list[tuple[Names, Names]]:
    """The same of pairs that are told as one of a group with one of another. Two groups are the same, or share nothing.

    >>> groups_with_groups([(("a", "b"), ("c",)), (("a", "b"), ("d",)), (("e",), ("f",))])
    [(('a', 'b'), ('c', 'd')), (('e',), ('f',))]
    """
    partners: dict[Names, set[Names]] = {}
    for a, b in pairs:
        partners.setdefault(a, set()).add(b)
        partners.setdefault(b, set()).add(a)
    lines = []
    most: dict[Names, int] = {}
    heap = _widest(partners, partners, most)
    while heap:
        area, group = heapq.heappop(heap)
        if area != -most[group]:  # it has fewer by now
            continue
        theirs = set(partners[group])
        like = _like(partners, theirs)
        one, two = sorted((tuple(sorted(chain(*like))), tuple(sorted(chain(*theirs)))))
        lines.append((one, two))
        near = set().union(like, theirs, *(partners[e] for e in (*like, *theirs)))
        for groups, others in ((like, theirs), (theirs, like)):
            for e in groups:
                partners[e] -= others
        for entry in _widest(partners, near, most):
            heapq.heappush(heap, entry)
    return sorted(lines, key=lambda line: (-len(line[0]) * len(line[1]), line))


def _like(partners: Mapping[Names, set[Names]], theirs: set[Names]) -> set[Names]:
    """All that go with each of these."""
    first, *others = sorted(theirs, key=lambda group: len(partners[group]))
    return partners[first].intersection(*(partners[group] for group in others))


def _widest(
    partners: Mapping[Names, set[Names]], some: Iterable[Names], most: dict[Names, int]
) -> list[tuple[int, Names]]:
    """How many pairs one line can tell that begins with each group, as a heap; of groups with the same partners only
    the first by name. `most` is told too."""
    first: dict[frozenset[Names], Names] = {}
    for group in sorted(some):
        most[group] = 0
        if partners[group]:
            first.setdefault(frozenset(partners[group]), group)
    for theirs, group in first.items():
        most[group] = sum(map(len, _like(partners, set(theirs)))) * sum(map(len, theirs))
    return sorted((-most[group], group) for group in first.values())


def one_by_one(several: Iterable[Groups]) -> list[Names]:
    """All the sets of which each is one of each group, in order."""
    return sorted(tuple(sorted(one)) for groups in several for one in product(*groups))


def number_of(several: Iterable[Groups]) -> int:
    """How many they are."""
    return sum(prod(map(len, groups)) for groups in several)


def in_brief(rig: Rig, names: Sequence[str]) -> str:
    """Failures told by what happens: `any of: left-bolt or left-crab fails; red is cut between a and b`."""
    told = pieces(rig, names)
    return told[0] if len(told) == 1 else f"any of: {'; '.join(told)}"


def any_of(rig: Rig, failures: Sequence[str], most: int) -> str:
    """Failures by what happens; where they are many some of them by name, first in the order of the file, and
    how many more."""
    if len(failures) <= most + 1:
        return in_brief(rig, failures)
    known = set(failures)
    at = rig.index.in_order
    mine = [rig.index.failures[one] for one in sorted(known & at.keys(), key=lambda one: at[one])]
    first = [failure.id for failure in sorted(mine, key=lambda one: one.mode == "is cut")][:most]
    return f"{in_brief(rig, first)}, or any of {len(known) - len(first)} more"


def alike(rig: Rig, names: Sequence[str]) -> str:
    """Failures by what happens, those of one sort together."""
    return "; ".join(pieces(rig, names))


def pieces(rig: Rig, names: Sequence[str]) -> list[str]:
    """The same one by one."""
    left = set(names)
    at = rig.index.in_order
    known = [rig.index.failures[one] for one in sorted(left & at.keys(), key=lambda one: at[one])]
    told: list[str] = []
    for mode in MODES:
        mine = [failure for failure in known if failure.mode == mode]
        left -= {failure.id for failure in mine}
        if mine:
            told.append(f"{either(sorted(failure.part for failure in mine))} {mode}")
    cut = {failure.part: failure.id for failure in known if failure.mode == "is cut"}
    for rope in rig.ropes if cut else ():
        for run in _runs([span in cut for span in rope.spans]):
            spans = rope.spans[run.start : run.stop]
            left -= {cut[span] for span in spans}
            a, b = rope.stations[run.start].label, rope.stations[run.stop].label
            told.append(Cut(rope.name) if len(spans) == len(rope.spans) else Cut(rope.name, a, b))
    return [*told, *map(spoken, sorted(left))]


def _runs(marked: Sequence[bool]) -> Iterator[range]:
    """Where what is marked follows one another."""
    at = 0
    for mark, several in groupby(marked):
        count = len(list(several))
        if mark:
            yield range(at, at + count)
        at += count
