"""The search over a whole rig: in portions, series taken as one, results by name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import attrgetter, or_
from typing import TypeVar

from analyser.holding.attachments import Attached
from analyser.holding.batch import bits_at, pick_runs, positions, runs, spread
from analyser.holding.by_class import FailureSets
from analyser.holding.cut_search import CutSearch
from analyser.holding.ends_apart import EndsApart, within
from analyser.holding.fate import Hold
from analyser.holding.holders import Holding
from analyser.holding.portions import Portion, apart, portions
from analyser.holding.reading import Reading
from analyser.holding.search import Packing, Search
from analyser.holding.series import series, told_for_each
from analyser.holding.structure import Structure
from analyser.holding.system import RigSystem
from analyser.holding.tipping import Supported, tippable
from analyser.rig.model import Effects, Failure, Rig, Role

FEWER = 4
"""A portion of fewer of the parts of what hangs together than one in so many is searched by itself."""
NOTHING: Mapping[str, Supported] = {}
Names = tuple[str, ...]
Watch = Callable[[int, int, int], bool]
"""Told the order being searched, how many candidates are done and how many there are; False stops."""


@dataclass(frozen=True, slots=True)
class Ways:
    """Independent ways of being held; `number` is None where no failure can drop the body."""

    number: int | None
    exact: bool
    ways: tuple[Names, ...]


@dataclass(frozen=True, slots=True)
class Sets:
    """Failure sets by body, and how far that is proven: complete to `complete_to`; of the next
    order, if the search was stopped in it, the share of the candidates that was looked at."""

    found: dict[str, FailureSets]
    complete_to: int
    share: float | None = None


class _Asked:
    """One portion that can be asked who is held."""

    def __init__(self, portion: Portion, failures: Iterable[Failure], already: Effects | None) -> None:
        self.portion = portion
        self.system = RigSystem(portion.rig, list(failures), already)
        self.system.goals = list(portion.bodies)
        self.attached: Attached | None = None
        self.names = {*portion.rig.parts, *(span for rope in portion.rig.ropes for span in rope.spans)}
        self.read: dict[Reading, tuple[tuple[list[Effects], dict[str, int]], dict[str, int]]] = {}
        """By reading: the scenarios and bodies last asked after, and in which of them each body is held."""


class _Searched(_Asked):
    """One portion, its classes of failures and its search."""

    def __init__(self, portion: Portion, already: Effects | None) -> None:
        self.classes = series(portion.rig, portion.failures)
        self.named = [tuple(failure.id for failure in group) for group in self.classes]
        super().__init__(portion, (group[0] for group in self.classes), already)
        self.search = Search(self.system)
        self.asked = self.system
        """Its own search and who is asked in it, or those that it shares with what hangs together with it."""
        self.found: dict[tuple[tuple[str, ...], int], dict[str, FailureSets]] = {}
        """Complete failure sets by whose they are and up to which order."""
        self.packed: dict[str, Packing] = {}
        self.enough: dict[tuple[str, int], tuple[Names, ...]] = {}
        """Ways enough for so many failures together."""
        self.tips: tuple[list[Effects], Mapping[str, Supported], dict[str, int], dict[str, int]] | None = None
        """The scenarios last asked after and what was supported once, in which of them each body tips, and in which
        an end of it drops."""

    @cached_property
    def classes_with_hands(self) -> list[tuple[Failure, ...]]:
        """The classes where a bare hand is a place at which rope is gripped."""
        rig = self.portion.rig
        if all(station.role is not Role.HAND for rope in rig.ropes for station in rope.stations):
            return self.classes
        return series(rig, self.portion.failures, hands=False)


by_id = attrgetter("id")
Kind = TypeVar("Kind", bound=_Asked)


class Review:
    """What brings each body down, and in how many independent ways it is held.

    `failures` are those that may happen (all of the rig's by default); `already` has happened.
    `before` is the review of another state, and `remembered` are portions of another text: portions that are as they
    were are not searched again.
    """

    def __init__(
        self,
        rig: Rig,
        structure: Structure | None = None,
        failures: Iterable[Failure] | None = None,
        already: Effects | None = None,
        before: Review | None = None,
        remembered: Sequence[_Asked] = (),
    ) -> None:
        self.rig = rig
        self.already = already
        structure = structure or Structure(rig, loose=False)
        events = rig.failures if failures is None else failures
        self.known: dict[Names, list[_Asked]] = {}
        """By their bodies these portions, those of the states before, and what was remembered."""
        if before and before.already == already:
            self.known |= before.known
        for old in remembered if already is None else ():
            self._keep(old)
        self.portions: list[_Searched] = [
            self._known(one, _Searched) or self._keep(_Searched(one, already))
            for one in portions(rig, structure, events)
        ]
        self.where = {body: one for one in self.portions for body in one.portion.bodies}
        origin = rig.origin if tippable(rig) else None
        self.first: Review = before.first if before else Review(origin) if origin else self
        """The review of the state that all others came from by steps."""
        for whole in self.apart:
            mine = [self.where[body] for body in whole.portion.bodies]
            whole.system.ends_apart = EndsApart(whole.system.strict, list({id(one): one for one in mine}.values()))
            self._search_together(whole)
        for one in self.portions:
            one.system.had = one.asked.had = self.once

    def _search_together(self, whole: _Asked) -> None:
        """What hangs together is searched together, each portion with its own classes of failures: those that are
        most of it."""
        large = len(whole.portion.rig.parts) // FEWER
        within = (one for one in self.portions if self._together[one.portion.bodies[0]] is whole)
        mine = [one for one in within if len(one.portion.rig.parts) > large]
        events = sorted({failure.id: failure for one in mine for failure in one.system.failures}.values(), key=by_id)
        known = {failure.id for failure in whole.portion.failures}
        shared = {id(one.search) for one in mine}
        if len(mine) < 2 or len(shared) == 1 or any(failure.id not in known for failure in events):
            return
        system = RigSystem(whole.portion.rig, events, self.already, whole.system.strict)
        search = Search(system)
        number = {failure.id: k for k, failure in enumerate(events)}
        for one in mine:
            places = [number[failure.id] for failure in one.system.failures]
            for goal in one.portion.bodies:
                search.places[goal], search.hinting[goal] = places, one.system
                search.take(goal, one.search)
            one.search, one.asked = search, system

    def _known(self, portion: Portion, kind: type[Kind]) -> Kind | None:
        """The same portion, if it has been asked already."""
        return next(
            (x for x in self.known.get(portion.bodies, ()) if isinstance(x, kind) and x.portion == portion), None
        )

    def _keep(self, one: Kind) -> Kind:
        self.known[one.portion.bodies] = [*self.known.get(one.portion.bodies, ()), one]
        return one

    def failure_sets(self, goals: Sequence[str], order: int, watch: Watch | None = None) -> Sets:
        """Every minimal set of up to `order` failures that drops each body.

        By size, then by text. A body that isn't held to begin with has the empty set. Complete,
        unless `watch` stopped it: then what was found so far, and how far that is proven.
        """
        asked: list[tuple[_Searched, Names]] = []
        found: dict[str, FailureSets] = {}
        for one in self.portions:
            mine = tuple(goal for goal in goals if self.where[goal] is one)
            if (mine, order) in one.found:
                found |= one.found[mine, order]
            elif mine:
                asked.append((one, mine))
        together: dict[int, tuple[Search, list[str]]] = {}
        for one, mine in asked:
            together.setdefault(id(one.search), (one.search, []))[1].extend(mine)
        searches = [CutSearch(search, whose, search.system.columns) for search, whose in together.values()]
        complete, share = order, None
        for size in range(1, order + 1):
            share = _one_size(size, searches, watch)
            if share is not None:
                complete = size - 1
                break
        cuts = {goal: some for one in searches for goal, some in one.found().items()}
        for one, mine in asked:
            sets = {goal: told_for_each(cuts[goal], one.named) for goal in mine}
            found |= sets
            if complete == order:
                one.found[mine, order] = sets
        return Sets({goal: found[goal] for goal in goals}, complete, share)

    def ways(self, goal: str, most: int = 200) -> tuple[list[Names], bool]:
        """All minimal ways in which a body is held (the failures that must not happen in each),
        shortest first, and whether that is all of them."""
        one = self.where[goal]
        pool, complete = one.search.all_ways(goal, most)
        return sorted((self._told(one, way) for way in pool), key=lambda way: (len(way), way)), complete

    def enough_ways(self, goal: str, number: int) -> tuple[Names, ...]:
        """Ways of being held, the independent ones first, enough that after any `number` failures that leave the
        body held one of them is untouched."""
        one = self.where[goal]
        if (goal, number) not in one.enough:
            first = sorted(self._packed(goal).ways, key=lambda way: (len(way), self._told(one, way)))
            ways = one.search.enough_ways(goal, first, number)
            one.enough[goal, number] = tuple(self._told(one, way) for way in ways)
        return one.enough[goal, number]

    @staticmethod
    def _told(one: _Searched, way: frozenset[int]) -> Names:
        return tuple(sorted(failure.id for event in way for failure in one.classes[event]))

    def independent(self, goal: str) -> Ways:
        """The largest number of ways of being held of which no two share a failure."""
        one = self.where[goal]
        packing = self._packed(goal)
        ways = [self._told(one, way) for way in packing.ways]
        return Ways(packing.number, packing.exact, tuple(sorted(ways, key=lambda way: (len(way), way))))

    def pack(self, goals: Sequence[str]) -> None:
        """Find the independent ways of several bodies together."""
        together: dict[int, tuple[Search, list[str]]] = {}
        for goal in goals:
            if goal not in self.where[goal].packed:
                search = self.where[goal].search
                together.setdefault(id(search), (search, []))[1].append(goal)
        for search, mine in together.values():
            for goal, packing in search.each_independent(mine).items():
                self.where[goal].packed[goal] = packing

    def _packed(self, goal: str) -> Packing:
        self.pack([goal])
        return self.where[goal].packed[goal]

    def held(
        self, scenarios: Sequence[Effects], reading: Reading = Reading.HELD, asked: Mapping[str, int] | None = None
    ) -> dict[str, int]:
        """For each body, the scenarios in which it is held in a reading; the first must be that in which nothing
        failed. `asked`: for each body the scenarios that matter (all by default).

        What only ground joins is asked only for the scenarios that touch it: in all others it stands as in the first.
        """
        found: dict[str, int] = {}
        befallen = _befallen(scenarios)
        for one in self.apart:
            every = None if asked is None else reduce(or_, (asked.get(body, 0) for body in one.portion.bodies))
            if every == 0:
                found |= dict.fromkeys(one.portion.bodies, 0)
                continue
            columns, mine = _touching(one, scenarios, befallen, every)
            wanted, mask, stretches = {}, bits_at(columns), runs(columns)
            for body in one.portion.bodies:
                bits = (1 << len(columns)) - 1
                if asked is not None:  # the first stands for all that don't touch it
                    here = asked.get(body, 0)
                    bits = pick_runs(here, stretches, len(scenarios)) | bool(here & ~mask)
                if bits:
                    wanted[body] = bits
                else:
                    found[body] = 0
            key = mine, wanted
            known = one.read.get(reading)
            if known is None or known[0] != key:
                rows = [(effects, 1 << at) for at, effects in enumerate(mine)]
                known = one.read[reading] = key, one.system.read(reading, rows, len(mine), wanted) if wanted else {}
            for body, bits in known[1].items():
                found[body] = _everywhere(bits, columns, mask, len(scenarios))
        return found

    @cached_property
    def apart(self) -> list[_Asked]:
        """What only ground joins: asked together who is held in it."""
        asked = [self._known(one, _Asked) or self._keep(_Asked(one, (), self.already)) for one in apart(self.rig)]
        for one in asked:
            one.system.had = self.once
        return asked

    def around(self, body: str, effects: Effects) -> tuple[RigSystem, Effects]:
        """The portion of a body by itself, and what of some effects befalls it."""
        one = self.where[body]
        return one.system, effects.within(one.names)

    def tips(self, scenarios: Sequence[Effects], held: Mapping[str, int]) -> dict[str, int]:
        """For each body with ends or sides, the scenarios in which it tips (see `held`, of which these are the
        answers)."""
        return self._uneven(scenarios, held, sinking=False)

    def sink(self, scenarios: Sequence[Effects], still: Mapping[str, int]) -> dict[str, int]:
        """The same of those in which it is still and an end of it drops."""
        return self._uneven(scenarios, still, sinking=True)

    def _uneven(self, scenarios: Sequence[Effects], asked: Mapping[str, int], *, sinking: bool) -> dict[str, int]:
        found: dict[str, int] = {}
        befallen = _befallen(scenarios)
        for one in self.portions:
            if one.system.tipping.seesaws.keys().isdisjoint(one.portion.bodies):
                continue
            columns, mine = _touching(one, scenarios, befallen)
            had = one.system.had
            if one.tips is None or one.tips[0] != mine or one.tips[1] is not had:
                rows = [(effects, 1 << at) for at, effects in enumerate(mine)]
                every = dict.fromkeys(one.portion.bodies, (1 << len(mine)) - 1)
                told = one.system.tips(rows, len(mine), every), one.system.sink(rows, len(mine), every)
                one.tips = mine, had, *told
            _, _, tips, sink = one.tips
            for name, bits in (sink if sinking else tips).items():
                found[name] = _everywhere(bits, columns, bits_at(columns), len(scenarios)) & asked.get(name, 0)
        return found

    @cached_property
    def had(self) -> dict[str, Supported]:
        """Which ends of each body are supported with nothing failed."""
        return {
            body: one.system.tipping.supported(body)
            for one in self.portions
            for body in one.portion.bodies
            if body in one.system.tipping.seesaws
        }

    @property
    def once(self) -> Mapping[str, Supported]:
        """The same of the first state, for a later one; nothing for the first, where it is what it is."""
        return NOTHING if self.first is self else self.first.had

    def hold(self, goal: str, effects: Effects) -> Hold | None:
        """By what a body is held after these effects; None where it isn't."""
        one = self.where[goal]
        before = self.already | effects if self.already else effects
        return Holding(one.portion.rig, one.system.strict, before).of(goal)

    @cached_property
    def one_for_each(self) -> dict[str, str]:
        """For each failure the first that does the same, whatever is asked of who is not held."""
        several: dict[str, list[int]] = {}
        for number, group in enumerate(group for one in self.portions for group in one.classes_with_hands):
            for failure in group:
                several.setdefault(failure.id, []).append(number)
        first: dict[tuple[int, ...], str] = {}
        return {name: first.setdefault(tuple(classes), name) for name, classes in several.items()}

    def attachments(self, goal: str) -> int:
        """The largest number of disjoint groups of the body's contacts, each enough alone."""
        one = self._together[goal]
        if one.attached is None:
            one.attached = Attached(one.portion.rig, one.portion.bodies, self.already)
        return one.attached.number(goal)

    @cached_property
    def _together(self) -> dict[str, _Asked]:
        """With each body what hangs together with it."""
        return {body: one for one in self.apart for body in one.portion.bodies}


def _befallen(scenarios: Sequence[Effects]) -> dict[str, list[int]]:
    """For each part or span that anything befalls, the scenarios in which it does, by their columns."""
    found: dict[str, list[int]] = {}
    for column, effects in enumerate(scenarios):
        for group in effects.groups:
            for name in group:
                found.setdefault(name, []).append(column)
    return found


def _touching(
    one: _Asked, scenarios: Sequence[Effects], befallen: Mapping[str, list[int]], asked: int | None = None
) -> tuple[list[int], list[Effects]]:
    """The scenarios that touch a portion, of those asked for, the first among them: their columns, and themselves."""
    touched = (befallen[name] for name in one.names if name in befallen)
    columns = sorted({0}.union(*touched))
    if asked is not None and asked.bit_count() < len(columns):
        wanted = {0, *positions(asked)}
        columns = [column for column in columns if column in wanted]
    mine = (scenarios[k] for k in columns)
    return columns, [within(told, one.names) for told in mine]


def _everywhere(bits: int, columns: list[int], mask: int, width: int) -> int:
    """Answers in some columns, with the first one's answer in all the others."""
    base = (1 << width) - 1 if bits & 1 else 0
    return base & ~mask | spread(bits, columns)


def _one_size(size: int, searches: list[CutSearch], watch: Watch | None) -> float | None:
    """Search one size in every portion; the share of the candidates done when stopped, else None."""
    for cuts in searches:
        if watch and not watch(size, 0, 0):
            return 0.0
        cuts.prepare()
    every = sum(cuts.candidates for cuts in searches)
    done = 0
    for cuts in searches:
        while cuts.candidates:
            if watch and not watch(size, done, every):
                return done / every
            before = cuts.candidates
            cuts.look()
            done += before - cuts.candidates
    return None
