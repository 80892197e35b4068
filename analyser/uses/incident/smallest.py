"""Which smallest sets of events bring some goals down and leave others standing, in any monotone system.

Said of a set of events E: it *accounts for* what was seen when every goal of `fell` is down and every
goal of `stayed` is up after E, E holds every `required` event and none that is `excluded`. Looked for
are the sets that account for it while no proper subset with the required events does.

Two facts make that a search which misses nothing. Another event never raises a goal, so (1) what
drops a goal of `stayed` drops it in every larger set: such a set is given up at once, with all that
would grow from it; and (2) where E accounts for what was seen, so does every subset of E as far as
`stayed` goes. Hence the sets looked for are exactly the minimal ones that bring *all* of `fell` down,
begun at `required`, less those that drop a goal of `stayed`: a smaller set inside E that brings all of
`fell` down would leave `stayed` standing too, and E would not be minimal.

Completeness. Let E be looked for and P a proper part of it that was reached, the required events to
begin with. Some goal of `fell` is still up after P, as E is minimal. Take any way in which it is up: a
set of events such that it stays up while none of them happens. E brings it down, so E has an event of
that way; the search goes on from P with each event of the way, among them that one. So from P a larger
part of E is reached, up to E less one event; and the last event is looked for among all events at
once, one column each. No part of E is ever given up: it drops nobody who stayed, and it holds no set
found before, as that would be a smaller one inside E.

`free` events do not count towards `order`: they are those of which something was found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from analyser.holding.batch import positions
from analyser.holding.cut_search import Events
from analyser.holding.search import Search, System, covered


def smallest_sets(
    system: System,
    fell: Sequence[str],
    stayed: Sequence[str] = (),
    *,
    required: Events = frozenset(),
    excluded: Events = frozenset(),
    free: Events = frozenset(),
    order: int = 2,
    any_one: bool = False,
) -> list[Events]:
    """Every smallest set that accounts for what was seen, with at most `order` events beyond the
    required and the free ones: by size, then by the events' order.

    `any_one` stops at the first size of which there is one: whether there are any at all. Cost: the
    size of a way to the power of `order` - 1 prefixes, and a column for each with each event.
    """
    return _Looking(system, tuple(fell), tuple(stayed), required, excluded, free, order).found(any_one=any_one)


def out_of_reach(system: System, fell: Sequence[str], excluded: Events = frozenset()) -> bool:
    """Is a goal of `fell` up even when everything happens that is not excluded? Then no set of any size
    accounts for what was seen."""
    happened = [int(event not in excluded) for event in range(len(system.events))]
    held = system.sweep(happened, 1, dict.fromkeys(fell, 1))
    return any(held[goal] & 1 for goal in fell)


@dataclass
class _Looking:
    system: System
    fell: tuple[str, ...]
    stayed: tuple[str, ...]
    required: Events
    excluded: Events
    free: Events
    order: int
    sets: set[Events] = field(default_factory=set)

    def found(self, *, any_one: bool) -> list[Events]:
        search = Search(self.system)
        up = self._start()
        if up == ():
            self.sets.add(self.required)
        level = {self.required: up} if up else {}
        while level and not (any_one and self.sets):
            level = self._longer(search, level)
        return sorted(self.sets, key=lambda one: (len(one), sorted(one)))

    def _start(self) -> tuple[str, ...] | None:
        """The goals still up with the required events alone; None where nothing can be found."""
        if self.required & self.excluded or out_of_reach(self.system, self.fell, self.excluded):
            return None
        happened = [int(event in self.required) for event in range(len(self.system.events))]
        held = self.system.sweep(happened, 1, dict.fromkeys((*self.fell, *self.stayed), 1))
        if not all(held[goal] & 1 for goal in self.stayed):
            return None
        return tuple(goal for goal in self.fell if held[goal] & 1)

    def _counts(self, events: Events) -> int:
        return len(events - self.free - self.required)

    def _longer(self, search: Search, level: dict[Events, tuple[str, ...]]) -> dict[Events, tuple[str, ...]]:
        """Look at every further event of each set, then go on with the events of a way that it leaves."""
        prefixes = sorted(level, key=sorted)
        every = (1 << len(self.system.events)) - 1
        for event in self.excluded:
            every &= ~(1 << event)
        rows = search.rows(prefixes, [(*level[prefix], *self.stayed) for prefix in prefixes])
        going: list[tuple[Events, dict[str, int], int]] = []
        for prefix, row in zip(prefixes, rows, strict=True):
            allowed = every
            for goal in self.stayed:
                allowed &= row[goal]
            last = allowed
            for goal in level[prefix]:
                last &= ~row[goal]
            for event in positions(last):
                self._add(prefix | {event})
            if allowed:
                going.append((prefix, row, allowed))
        ways = search.ways_kept([(level[prefix][0], prefix) for prefix, _, _ in going])
        longer: dict[Events, tuple[str, ...]] = {}
        for (prefix, row, allowed), way in zip(going, ways, strict=True):
            for event in sorted(way or ()):
                further = prefix | {event}
                if allowed >> event & 1 and further not in longer and self._goes_on(further):
                    longer[further] = tuple(goal for goal in level[prefix] if row[goal] >> event & 1)
        return {events: up for events, up in longer.items() if up}

    def _add(self, events: Events) -> None:
        if self._counts(events) <= self.order and not self._holds_one(events):
            self.sets.add(events)

    def _goes_on(self, events: Events) -> bool:
        """Is there room for one event more, and no set found inside?"""
        counts = self._counts(events)
        room = counts < self.order or (counts == self.order and bool(self.free - events))
        return room and not self._holds_one(events)

    def _holds_one(self, events: Events) -> bool:
        """Is a set found before inside these events?"""
        if len(self.sets) < 1 << len(events):
            return any(one <= events for one in self.sets)
        return covered(events, self.sets)
