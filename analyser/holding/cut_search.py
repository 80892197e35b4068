"""The search for failure sets, one size after the other: the sets that meet every way known are looked at, in order.

Of pairs only what each event goes together with is kept, a bit for each: two long chains have a pair for every two of
their links, and most of these are spared by a way before anybody looks at them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Protocol

from analyser.holding.batch import bits_at, positions

Events = frozenset[int]
MOST_WAYS = 12
"""Ways looked for at once for one goal: each spares many of the sets that are still to be looked at."""
AT_ONCE = 2048
"""Sets of one goal that are looked at together."""


class Asked(Protocol):
    """What knows ways in which goals are held, and is asked for more (`search.Search`)."""

    known_ways: dict[str, list[Events]]
    smallest: dict[str, Events]

    def base_ways(self, goals: Sequence[str]) -> dict[str, Events | None]: ...

    def after(self, tasks: Sequence[tuple[str, Events]]) -> list[bool]: ...

    def ways_kept(self, tasks: Sequence[tuple[str, Events]]) -> list[Events | None]: ...


class Candidates(Protocol):
    """The minimal sets of at most so many events that meet every way known, in order of size, then of their events."""

    def __len__(self) -> int: ...

    def __iter__(self) -> Iterator[Events]: ...

    def __contains__(self, one: Events) -> bool: ...

    def meet(self, ways: Sequence[Events]) -> None:
        """Meet all of these ways, which begin with those met before."""
        ...


class CutSearch:
    """The search for failure sets, one size after the other, so that it can be stopped between.

    `prepare` finds what has to be looked at for the next size, `look` looks at some of it. A size is
    complete when nothing is left of `candidates`.
    """

    def __init__(self, search: Asked, goals: Sequence[str], most: int) -> None:
        """`most`: how many sets of one goal are looked at in one go."""
        self.search = search
        self.most = most
        self.goals = list(goals)
        self.cuts: dict[str, set[Events]] = {goal: set() for goal in goals}
        self.size = 0
        self.hitting: dict[str, Candidates] = {}
        """Of the goals that are true to begin with."""
        self.spared: dict[str, set[Events]] = {}
        """Of each, sets that were looked at and leave it true."""
        self.open: dict[str, int] = {}
        """Of each, how many sets of this size are still to be looked at or to be missed by a way."""

    @property
    def candidates(self) -> int:
        """How many sets of this size are still to be looked at, as far as is known."""
        return sum(self.open.values())

    def prepare(self) -> None:
        """Go on to the next size. Everything of the size before must have been looked at."""
        if self.size == 0:
            for goal, way in self.search.base_ways(self.goals).items():
                if way is None:
                    self.cuts[goal].add(frozenset())
                else:
                    self.spared[goal] = set()
        self.size += 1
        for goal in self.spared:
            self.hitting[goal] = Pairs() if self.size == 2 else Hitting(self.size)
            self._meet(goal)

    def look(self) -> None:
        """Look at candidates of each goal until some leave it true, and find a way for each of these."""
        looks = [_Look(goal, self) for goal, left in self.open.items() if left]
        going = looks
        while going:
            asked = [(one.goal, hit) for one in going for hit in one.next_untold()]
            for (goal, hit), held in zip(asked, self.search.after(asked), strict=True):
                (self.spared if held else self.cuts)[goal].add(hit)
            going = [one for one in going if one.goes_on()]
        self.search.ways_kept([(one.goal, hit) for one in looks for hit in one.chosen])
        for one in looks:
            self._meet(one.goal)

    def _meet(self, goal: str) -> None:
        """Meet all ways known, and see what is left."""
        sets = self.hitting[goal]
        sets.meet(self.search.known_ways[goal])
        self.spared[goal] = {hit for hit in self.spared[goal] if hit in sets}
        self.open[goal] = len(sets) - sum(cut in sets for cut in self.cuts[goal])

    def found(self) -> dict[str, list[Events]]:
        """The minimal sets so far, by size, then by the events' order."""
        for goal, cuts in self.cuts.items():
            if cuts:
                self.search.smallest[goal] = min(cuts, key=_by_size)
        return {goal: sorted(cuts, key=_by_size) for goal, cuts in self.cuts.items()}


class _Look:
    """One goal's candidates, looked at in order until enough of them leave it true that share no event."""

    def __init__(self, goal: str, cuts: CutSearch) -> None:
        self.goal = goal
        self.cuts, self.spared = cuts.cuts[goal], cuts.spared[goal]
        self.ahead = islice((hit for hit in cuts.hitting[goal] if hit not in self.cuts), cuts.most)
        self.some: list[Events] = []
        self.left: list[Events] = []
        """Those so far that leave it true."""
        self.chosen: list[Events] = []
        """Those of them for which a way is looked for."""
        self.used: set[int] = set()

    def next_untold(self) -> list[Events]:
        """Of the next ones, those that have not been looked at."""
        self.some = list(islice(self.ahead, AT_ONCE))
        return [hit for hit in self.some if hit not in self.spared]

    def goes_on(self) -> bool:
        """Once it is known of the next ones: is there more to be looked at?"""
        for hit in self.some:
            if hit in self.spared:
                self.left.append(hit)
                if self.used.isdisjoint(hit):
                    self.chosen.append(hit)
                    self.used |= hit
                    if len(self.chosen) == MOST_WAYS:
                        return False
        if len(self.some) == AT_ONCE:
            return True
        self.chosen = _apart(self.left, MOST_WAYS) if self.left else []
        return False


class Hitting:
    """The minimal sets of at most so many events that meet every way, kept while ways come (Berge 1989,
    from memory)."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.sets: set[Events] = {frozenset()}
        self.met = 0
        """How many ways they meet: the first so many of the list."""

    def __len__(self) -> int:
        return len(self.sets)

    def __iter__(self) -> Iterator[Events]:
        return iter(sorted(self.sets, key=_by_size))

    def __contains__(self, one: Events) -> bool:
        return one in self.sets

    def meet(self, ways: Sequence[Events]) -> None:
        further = ways[self.met :]
        left = self._missing(further) if len(further) > 1 else set(self.sets)
        for way in further:
            missed = [one for one in left if one.isdisjoint(way)]
            if missed:
                self.sets.difference_update(missed)
                wider = {one | {event} for one in missed if len(one) < self.most for event in way}
                wider = {one for one in wider if one not in self.sets and not _holds_less(one, self.sets)}
                self.sets |= wider
                left = left.difference(missed) | wider
        self.met = len(ways)

    def _missing(self, ways: Sequence[Events]) -> set[Events]:
        """The sets that do not meet all of some ways."""
        meeting: dict[int, int] = {}
        for k, way in enumerate(ways):
            for event in way:
                meeting[event] = meeting.get(event, 0) | 1 << k
        every, found = (1 << len(ways)) - 1, set()
        for one in self.sets:
            met = 0
            for event in one:
                met |= meeting.get(event, 0)
            if met != every:
                found.add(one)
        return found


class Pairs:
    """The same of one event or two: what meets every way alone, and for each event what does so with it."""

    def __init__(self) -> None:
        self.alone = -1
        """The events that are in every way, a bit each."""
        self.beside: dict[int, int] = {}
        """For each event that is in some way and not in every: those that are in all ways that it isn't in, a bit
        each."""
        self.met = 0

    def __len__(self) -> int:
        twice = sum((bits & ~self.alone).bit_count() for bits in self.beside.values())
        return self.alone.bit_count() + twice // 2 if self.met else 1

    def __iter__(self) -> Iterator[Events]:
        if not self.met:
            yield frozenset()
            return
        yield from (frozenset((event,)) for event in positions(self.alone))
        for event in sorted(self.beside):
            later = self.beside[event] & ~self.alone & -2 << event
            yield from (frozenset((event, other)) for other in positions(later))

    def __contains__(self, one: Events) -> bool:
        first, *others = one
        if len(others) > 1:
            return False
        if not others:
            return bool(self.alone >> first & 1)
        return bool(self.beside.get(first, 0) & ~self.alone & bits_at(others))

    def meet(self, ways: Sequence[Events]) -> None:
        for way in ways[self.met :]:
            bits = bits_at(list(way))
            if not self.met:
                self.alone = bits
            else:
                self._one_more(way, bits)
            self.met += 1

    def _one_more(self, way: Events, bits: int) -> None:
        for event in way:
            if not self.alone >> event & 1 and self.alone:
                self.beside.setdefault(event, self.alone)
        for event, others in list(self.beside.items()):
            if event not in way:
                self.beside[event] = others & bits
                if not others & bits:
                    del self.beside[event]
        self.beside |= dict.fromkeys(positions(self.alone & ~bits), bits)
        self.alone &= bits


def _holds_less(events: Events, sets: set[Events]) -> bool:
    """Is a smaller set among these inside the events?"""
    members = list(events)
    inside: list[Events] = [frozenset()]
    for event in members:
        inside += [one | {event} for one in inside]
    return any(one in sets for one in inside[:-1])


def _by_size(events: Events) -> tuple[int, list[int]]:
    return len(events), sorted(events)


def _apart(hits: Sequence[Events], most: int) -> list[Events]:
    """Some of these sets, those first that share the fewest events with the ones taken."""
    taken: list[Events] = []
    used: set[int] = set()
    for shared in range(max(map(len, hits)) + 1):
        for hit in hits:
            if len(taken) < most and len(hit & used) == shared and hit not in taken:
                taken.append(hit)
                used |= hit
        if len(taken) >= most:
            break
    return taken
