"""Failure sets, ways of being held and independent attachments of any monotone system.

Completeness rests on one fact: a set of events that brings a goal down (a *cut*) meets every way
in which the goal is held. So the smallest sets that meet every way known are looked at: each either
brings the goal down or leaves another way, which is then known too. When all of them bring it down
they are the minimal cuts, and there are no others: a cut meets every way, so one of these sets is in it.
"""

from __future__ import annotations

from collections.abc import Collection, Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol

from analyser.holding.batch import positions
from analyser.holding.cut_search import CutSearch, Events
from analyser.holding.meeting_ways import meeting, pack, smallest_hitting

WIDE = 1 << 14
"""Columns of one sweep, where how many are asked at once makes no difference."""
AT_ONCE = 256
"""Ways that are looked for together, of however many are asked for."""
FEW_EVENTS = 24
"""Below so many events a system is not asked for hints."""


class System(Protocol):
    """Goals that stay true while few enough events happen."""

    @property
    def events(self) -> Sequence[str]: ...

    @property
    def goals(self) -> Sequence[str]: ...

    @property
    def columns(self) -> int:
        """How many columns a sweep should have at most."""
        ...

    def sweep(self, bits: Sequence[int], width: int, asked: Mapping[str, int]) -> dict[str, int]:
        """For each goal asked for, the columns in which it is still true.

        `bits[e]` are the columns in which event e happens, out of `width` columns; `asked` gives for
        each goal the columns in which the answer matters (elsewhere it may be anything).
        """
        ...


@dataclass
class Packing:
    """How many ways of being held share no event; `exact` is False for a lower bound.

    `number` is None where no event can bring the goal down.
    """

    number: int | None
    exact: bool = True
    ways: tuple[Events, ...] = ()


@dataclass
class Search:
    """A search over one system; what is found is kept for the next question.

    A goal may have events of its own: then its sets and ways are of their numbers, and of the system's events those
    are asked that stand in their places.
    """

    system: System
    known_ways: dict[str, list[Events]] = field(default_factory=dict)
    smallest: dict[str, Events] = field(default_factory=dict)
    """A smallest cut of each goal, once a complete search has found one."""
    places: dict[str, Sequence[int]] = field(default_factory=dict)
    """The events of goals that have their own, in the order of their numbers."""
    hinting: dict[str, System] = field(default_factory=dict)
    """Who tells hints for a goal, where that is not the system."""

    @cached_property
    def _every(self) -> Sequence[int]:
        return range(len(self.system.events))

    def place(self, goal: str) -> Sequence[int]:
        """The events that matter for a goal."""
        return self.places.get(goal, self._every)

    def take(self, goal: str, other: Search) -> None:
        """What another search knows of a goal with the same events."""
        if goal in other.known_ways:
            self.known_ways[goal] = other.known_ways[goal]
        if goal in other.smallest:
            self.smallest[goal] = other.smallest[goal]

    # -- scenarios

    def rows(self, prefixes: Sequence[Events], goals: Sequence[Collection[str]]) -> list[dict[str, int]]:
        """For each set of events, the state of its goals (which have the same events) after every single further event
        (bit = event)."""
        place = self.place(next(iter(goals[0]))) if goals else self._every
        size = len(place)
        found: list[dict[str, int]] = []
        per = max(1, self.system.columns // max(1, size))
        ones = (1 << size) - 1
        for start in range(0, len(prefixes), per):
            group = prefixes[start : start + per]
            width = len(group) * size
            every = 0
            for k in range(len(group)):
                every |= 1 << (k * size)
            bits = [0] * len(self._every)
            for event, at in enumerate(place):
                bits[at] = every << event
            for k, prefix in enumerate(group):
                block = ones << (k * size)
                for event in prefix:
                    bits[place[event]] |= block
            asked: dict[str, int] = {}
            for k, mine in enumerate(goals[start : start + per]):
                for goal in mine:
                    asked[goal] = asked.get(goal, 0) | ones << (k * size)
            held = self.system.sweep(bits, width, asked)
            found += [
                {goal: (held[goal] >> (k * size)) & ones for goal in mine}
                for k, mine in enumerate(goals[start : start + per])
            ]
        return found

    # -- ways of being held

    def ways(self, tasks: Sequence[tuple[str, Events]], *, each: bool = False) -> list[Events | None]:
        """A minimal way in which each goal is held although the given events happened; `each`: hints are asked for by
        itself.

        None where it isn't. All tasks go through the same sweeps: in each, every task drops as
        many of its remaining events as it can spare and keeps the first that it cannot.
        """
        held = self.after(tasks) if each else [True] * len(tasks)
        told = self._told(tasks, [t for t, so in enumerate(held) if so], each=each)
        going = [t for t, so in enumerate(held) if so]
        found: dict[int, Events | None] = {}
        for start in range(0, len(going), AT_ONCE):
            some = going[start : start + AT_ONCE]
            found |= zip(some, self._least([tasks[t] for t in some], [told[t] for t in some]), strict=True)
        return [found.get(t) for t in range(len(tasks))]

    def _least(self, tasks: Sequence[tuple[str, Events]], told: Sequence[Events | None]) -> list[Events | None]:
        """The same of some tasks, given what was told to be needed for each."""
        rest = [[e for e in range(len(self.place(goal))) if e not in failed] for goal, failed in tasks]
        dropped: list[set[int]] = [set(failed) for _, failed in tasks]
        kept: list[list[int]] = [[] for _ in tasks]
        lost = [False] * len(tasks)
        unsure = [t for t, near in enumerate(told) if near is None and len(rest[t]) >= FEW_EVENTS]
        for t, held in zip(unsure, self.after([tasks[t] for t in unsure]), strict=True):
            lost[t] = not held
        active = [t for t, so in enumerate(lost) if not so]
        self._hinted(tasks, told, rest, dropped)
        while active:
            active = self._drop(tasks, active, rest, dropped, kept, lost)
        return [None if lost[t] else frozenset(kept[t]) for t in range(len(tasks))]

    def _told(self, tasks: Sequence[tuple[str, Events]], asked: Iterable[int], *, each: bool) -> list[Events | None]:
        """What a system that can tell (`hints`) takes as needed for each of the tasks asked for."""
        told: list[Events | None] = [None] * len(tasks)
        together: dict[tuple[int, int], list[int]] = {}
        for t in asked:
            goal, _ = tasks[t]
            if len(self.place(goal)) >= FEW_EVENTS:
                together.setdefault((id(self.hinting.get(goal)), t if each else -1), []).append(t)
        for some in together.values():
            hints = getattr(self.hinting.get(tasks[some[0]][0], self.system), "hints", None)
            for t, near in zip(some, hints([tasks[t] for t in some]), strict=True) if hints else ():
                told[t] = near
        return told

    def _hinted(
        self,
        tasks: Sequence[tuple[str, Events]],
        told: Sequence[Events | None],
        rest: list[list[int]],
        dropped: list[set[int]],
    ) -> None:
        """Drop at once all that is told to be needless, where that is true."""
        asked = [t for t, near in enumerate(told) if near is not None]
        spared = [frozenset(rest[t]) - (told[t] or frozenset()) for t in asked]
        columns = [(tasks[t][0], spare | tasks[t][1]) for t, spare in zip(asked, spared, strict=True)]
        for t, spare, held in zip(asked, spared, self.after(columns), strict=True):
            if held:
                dropped[t] |= spare
                rest[t] = [event for event in rest[t] if event not in spare]

    def after(self, tasks: Sequence[tuple[str, Events]]) -> list[bool]:
        """Is each goal still true after its events?"""
        return [so for start in range(0, len(tasks), WIDE) for so in self._after(tasks[start : start + WIDE])]

    def _after(self, tasks: Sequence[tuple[str, Events]]) -> list[bool]:
        size = len(tasks) // 8 + 1
        rows = [bytearray(size) for _ in self._every]
        asked = {goal: bytearray(size) for goal, _ in tasks}
        for column, (goal, events) in enumerate(tasks):
            at, bit, place = column >> 3, 1 << (column & 7), self.place(goal)
            for event in events:
                rows[place[event]][at] |= bit
            asked[goal][at] |= bit
        bits = [int.from_bytes(row, "little") for row in rows]
        columns = {goal: int.from_bytes(row, "little") for goal, row in asked.items()}
        held = self.system.sweep(bits, len(tasks), columns)
        every = (1 << len(tasks)) - 1
        told = {goal: (held[goal] & every).to_bytes(size, "little") for goal in asked}
        return [bool(told[goal][column >> 3] >> (column & 7) & 1) for column, (goal, _) in enumerate(tasks)]

    def _drop(
        self,
        tasks: Sequence[tuple[str, Events]],
        active: list[int],
        rest: list[list[int]],
        dropped: list[set[int]],
        kept: list[list[int]],
        lost: list[bool],
    ) -> list[int]:
        going: list[int] = []
        while active:
            group: list[int] = []
            width = 0
            while active and (not group or width + 2 * len(rest[active[0]]) + 1 <= min(WIDE, self.system.columns)):
                group.append(active.pop(0))
                width += 2 * len(rest[group[-1]]) + 1
            bits = [0] * len(self._every)
            at = 0
            for task in group:
                size, place = len(rest[task]), self.place(tasks[task][0])
                block = ((1 << (2 * size + 1)) - 1) << at
                for event in dropped[task]:
                    bits[place[event]] |= block
                # column j has the first j of the rest happened; behind these, each of the rest alone
                for k, event in enumerate(rest[task]):
                    bits[place[event]] |= (((1 << (size - k)) - 1) << (k + 1) | 1 << (size + 1 + k)) << at
                at += 2 * size + 1
            asked: dict[str, int] = {}
            start = 0
            for task in group:
                block = ((1 << (2 * len(rest[task]) + 1)) - 1) << start
                asked[tasks[task][0]] = asked.get(tasks[task][0], 0) | block
                start += 2 * len(rest[task]) + 1
            held = self.system.sweep(bits, width, asked)
            at = 0
            for task in group:
                size = len(rest[task])
                both = (held[tasks[task][0]] >> at) & ((1 << (2 * size + 1)) - 1)
                mine, alone = both & ((1 << (size + 1)) - 1), both >> (size + 1)
                at += 2 * size + 1
                spared = _ones_from_below(mine) - 1
                if spared < 0:
                    lost[task] = not kept[task]
                    if kept[task]:
                        raise AssertionError("a way of being held was lost: the system isn't monotone")
                    continue
                dropped[task] |= set(rest[task][:spared])
                if spared < size:
                    # what brings the goal down alone now would not be spared in its turn either
                    kept[task].append(rest[task][spared])
                    later = range(spared + 1, size)
                    kept[task] += [rest[task][k] for k in later if not alone >> k & 1]
                    rest[task] = [rest[task][k] for k in later if alone >> k & 1]
                    if rest[task]:
                        going.append(task)
        return going

    def base_ways(self, goals: Sequence[str]) -> dict[str, Events | None]:
        """One way of being held of each goal with nothing failed."""
        missing = [goal for goal in goals if goal not in self.known_ways]
        if missing:
            for goal, way in zip(missing, self.ways([(goal, frozenset()) for goal in missing]), strict=True):
                self.known_ways[goal] = [way] if way is not None else []
        return {goal: self.known_ways[goal][0] if self.known_ways[goal] else None for goal in goals}

    # -- failure sets

    def failure_sets(self, goals: Sequence[str], order: int) -> dict[str, list[Events]]:
        """Every minimal set of at most `order` events that brings each goal down: complete.

        A goal that isn't true to begin with has the empty set as its only one. Each list is by
        size, then by the events' order. Cost: one sweep column for each set that meets every way known, and the
        finding of a way for some of those that leave one.
        """
        cuts = CutSearch(self, goals, self.system.columns)
        for _ in range(order):
            cuts.prepare()
            while cuts.candidates:
                cuts.look()
        return cuts.found()

    def ways_kept(self, tasks: Sequence[tuple[str, Events]], *, each: bool = False) -> list[Events | None]:
        """Ways as in `ways`, a known one where it is untouched by the events that happened."""
        found: list[Events | None] = [
            next((way for way in self.known_ways.get(goal, ()) if not way & failed), None) for goal, failed in tasks
        ]
        missing = [k for k, way in enumerate(found) if way is None]
        for k, way in zip(missing, self.ways([tasks[k] for k in missing], each=each), strict=True):
            found[k] = way
            if way is not None and way not in self.known_ways.setdefault(tasks[k][0], []):
                self.known_ways[tasks[k][0]].append(way)
        return found

    def enough_ways(self, goal: str, first: Sequence[Events], number: int) -> list[Events]:
        """Ways in which a goal is held, enough that after any `number` events (or fewer) that leave it held one
        of them is untouched. They begin with `first`.

        Only events that meet every way found so far can leave none of them, so only such sets are asked about:
        each either brings the goal down or shows another way.
        """
        ways = list(first) or [way for way in [self.base_ways([goal])[goal]] if way is not None]
        down: set[Events] = set()
        while True:
            hits = [hit for hit in meeting(ways, number) if hit not in down]
            if not ways or not hits:
                return ways
            for hit, way in zip(hits, self.ways_kept([(goal, hit) for hit in hits]), strict=True):
                if way is None:
                    down.add(hit)
                elif way not in ways:
                    ways.append(way)

    # -- independent ways

    def independent(self, goal: str, *, most_ways: int = 3000) -> Packing:
        """The largest number of ways of being held of which no two share an event."""
        return self.each_independent([goal], most_ways)[goal]

    def each_independent(self, goals: Sequence[str], most_ways: int = 3000) -> dict[str, Packing]:
        """The same of several goals.

        Bounded below by ways taken greedily and above by a smallest cut. Where the two differ, as
        many ways as the cut has events are looked for, each through one event of it; where there
        are none, and still less was found, all ways are listed and packed. `most_ways` limits both
        searches: cut short, the number is a lower bound.
        """
        base = self.base_ways(goals)
        found = {goal: Packing(0 if way is None else None) for goal, way in base.items() if not way}
        greedy = self._greedy([goal for goal in goals if goal not in found])
        return found | {goal: self._packing(goal, best, most_ways) for goal, best in greedy.items()}

    def _packing(self, goal: str, best: list[Events], most_ways: int) -> Packing:
        if goal not in self.smallest:
            self.smallest[goal] = self._smallest_cut(goal, len(best))
        cut = sorted(self.smallest[goal])
        if len(best) >= len(cut):
            return Packing(len(best), True, tuple(best))
        left = [most_ways]
        try:
            found = self._through(goal, cut, frozenset(), left)
        except _CutShort:
            return Packing(len(best), False, tuple(best))
        if found is not None:
            return Packing(len(found), True, tuple(found))
        if len(best) == len(cut) - 1:
            return Packing(len(best), True, tuple(best))
        pool, complete = self.all_ways(goal, most_ways)
        packed = pack(sorted(pool, key=lambda w: (len(w), sorted(w))), len(cut) - 1)
        if len(packed) > len(best):
            best = packed
        return Packing(len(best), complete or len(best) == len(cut) - 1, tuple(best))

    def _through(self, goal: str, cut: list[int], failed: Events, left: list[int]) -> list[Events] | None:
        """Disjoint ways, one through each event of a cut, none with an event of `failed`.

        Each of them avoids the cut's other events, and whatever every way through one of those
        needs. None where there are no such ways; `left` counts down what may still be looked at.
        """
        if not cut:
            return []
        barred = self._barred(goal, cut, failed)
        if barred is None:
            return None
        first, others = cut[0], cut[1:]
        for way in self._each_way(goal, barred[first], left):
            rest = self._through(goal, others, failed | way, left)
            if rest is not None:
                return [way, *rest]
        return None

    def _barred(self, goal: str, cut: list[int], failed: Events) -> dict[int, Events] | None:
        """For each event of a cut, what the way through it must do without: the others, and all that
        a way through one of those cannot do without. None where some event is left without a way."""
        barred = {event: failed | (frozenset(cut) - {event}) for event in cut}
        while True:
            rows = self.rows([barred[event] for event in cut], [(goal,)] * len(cut))
            needs = {}
            for event, row in zip(cut, rows, strict=True):
                if not row[goal]:
                    return None
                down = ~row[goal] & ((1 << len(self.place(goal))) - 1)
                needs[event] = frozenset(positions(down))
            wider = {event: barred[event].union(*(needs[other] for other in cut if other != event)) for event in cut}
            if wider == barred:
                return barred
            barred = wider

    def _each_way(self, goal: str, failed: Events, left: list[int]) -> Iterator[Events]:
        """Every minimal way without the events that failed, each once."""
        told: set[Events] = set()
        seen: set[Events] = {failed}
        level: list[Events] = [failed]
        while level:
            left[0] -= len(level)
            if left[0] < 0:
                raise _CutShort
            next_level: list[Events] = []
            for without, way in zip(level, self.ways_kept([(goal, one) for one in level]), strict=True):
                if way is None:
                    continue
                if way not in told:
                    told.add(way)
                    yield way
                for event in sorted(way):
                    further = without | {event}
                    if further not in seen:
                        seen.add(further)
                        next_level.append(further)
            level = next_level

    def _greedy(self, goals: Sequence[str]) -> dict[str, list[Events]]:
        """For each goal as many ways as one after the other can be found that share no event."""
        found: dict[str, list[Events]] = {}
        going = {goal: self._one_by_one(goal) for goal in goals}
        wanted = {goal: next(steps) for goal, steps in going.items()}
        while wanted:
            ways = self.ways_kept(list(wanted.items()), each=True)
            for goal, way in zip(list(wanted), ways, strict=True):
                try:
                    wanted[goal] = going[goal].send(way)
                except StopIteration as done:
                    found[goal] = done.value
                    del wanted[goal]
        return found

    def _one_by_one(self, goal: str) -> Generator[Events, Events | None, list[Events]]:
        """One goal's, told of each way without some events that it asks for."""
        best: list[Events] = []
        for first in list(self.known_ways[goal])[:4]:
            taken = [first]
            while (way := (yield frozenset().union(*taken))) is not None:
                taken.append(way)
            if len(taken) > len(best):
                best = taken
        return best

    def _smallest_cut(self, goal: str, least: int) -> Events:
        """A smallest cut: hit all known ways with as few events as can be (never fewer than
        `least`), until what hits them all brings the goal down."""
        while True:
            hit = smallest_hitting(self.known_ways[goal], least)
            if self.ways_kept([(goal, hit)])[0] is None:
                return hit

    def all_ways(self, goal: str, most: int = 2000) -> tuple[set[Events], bool]:
        """All minimal ways, and whether they are all: no more than about `most` are looked for.

        Any other way misses an event of a known one, so each event of a known way fails in turn.
        """
        self.base_ways([goal])
        pool: set[Events] = set()
        try:
            for way in self._each_way(goal, frozenset(), [50 * most]):
                pool.add(way)
                if len(pool) > most:
                    return pool, False
        except _CutShort:
            return pool | set(self.known_ways[goal]), False
        return pool, True


class _CutShort(Exception):
    """A search that has looked at as much as it may."""


def covered(events: Events, cuts: set[Events]) -> bool:
    """Is some cut contained in these events?"""
    if events in cuts or frozenset() in cuts:
        return True
    members = sorted(events)
    if any(frozenset({event}) in cuts for event in members):
        return True
    if len(members) <= 2:
        return False
    subsets: list[Events] = [frozenset()]
    for event in members:
        subsets += [subset | {event} for subset in subsets]
    return any(subset in cuts for subset in subsets)


def _ones_from_below(value: int) -> int:
    """How many ones stand without a gap at the low end.

    >>> _ones_from_below(0b10111)
    3
    """
    return (~value & (value + 1)).bit_length() - 1
