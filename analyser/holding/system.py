"""A rig as a monotone system: named failures, bodies that must stay held, scenarios in columns.

`search.py` works on its protocol `System` alone and knows nothing of rigs, so that it can be checked against
published fault trees.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import combinations

from analyser.holding.batch import Batch, Rows, WithWhatGoes, changed, disjoint, either, positions, spread, union
from analyser.holding.brought_down import Brought
from analyser.holding.cuts import Cuts
from analyser.holding.ends_apart import EndsApart
from analyser.holding.reading import Reading
from analyser.holding.scene import Scene
from analyser.holding.solving import Solver, World, anchored
from analyser.holding.structure import Structure
from analyser.holding.tipping import Supported, Tipping
from analyser.rig.model import Effects, Failure, Nature, Rig, Role

MOST_COLUMNS = 1 << 17
MOST_BITS = 1 << 28
"""All variables of one sweep together: wide enough to be fast, narrow enough for a laptop."""
WIDE = 1 << 15
"""Columns of several bodies' own that are asked together: more would need more memory, and be no faster."""
MOST_KEPT = 3
"""Parts that may come off the ground below in one scenario and are each asked after as if they had not."""


class RigSystem:
    """The failures of a rig and its bodies, in the reading that is counted (`held`).

    A body's own failure is left out where that body is asked after (`rules.md` section 2).
    """

    def __init__(
        self,
        rig: Rig,
        failures: Iterable[Failure] | None = None,
        already: Effects | None = None,
        structure: Structure | None = None,
    ) -> None:
        """`failures` are the events (all of the rig's by default); `already` has befallen it before;
        `structure` is the rig's strict structure where it is known."""
        self.rig = rig
        self.already = already or Effects()
        self.failures = tuple(rig.failures if failures is None else failures)
        self.events = [failure.id for failure in self.failures]
        self.goals = [body.name for body in rig.bodies]
        self._strict = structure
        self.had: Mapping[str, Supported] = {}
        """Which ends of each body were supported in the rig as first attached, where this is a later state of it."""
        self.whole: RigSystem | None = None
        """Where this is a part of a rig, asked by itself: the whole, which tells where ropes count as cut."""
        self.altered: tuple[RigSystem, str] | None = None
        """Where this is another rig with one body altered: that rig, and the body."""
        self.ends_apart: EndsApart | None = None
        """Where it is known of each body's ends in a portion of its own whether they drop."""
        self._own_left_out: tuple[Rows, Rows] | None = None
        """The scenarios last asked after, and the same without what befalls an altered body itself."""
        self._spans: tuple[tuple[object, ...], Mapping[str, list[int]]] | None = None

    @cached_property
    def strict(self) -> Structure:
        return self._strict or Structure(self.rig, loose=False)

    @property
    def columns(self) -> int:
        return min(MOST_COLUMNS, MOST_BITS // max(1, self.strict.count))

    def like(self, rig: Rig, already: Effects) -> RigSystem:
        """The same failures asked of another rig."""
        return RigSystem(rig, self.failures, already)

    def as_load(self, rig: Rig, bar: str) -> RigSystem:
        """The same rig, in which a bar is a load too."""
        made = self.like(rig, self.already)
        made.altered, made.had = (self, bar), self.had
        return made

    def part(self, rig: Rig, already: Effects, body: str) -> RigSystem:
        """The same failures asked of a part of this rig, in which a body has some of its points alone."""
        made = self.like(rig, already)
        made.whole, made.altered, made.had = self, (self, body), self.had
        return made

    def by_itself(self) -> RigSystem:
        """The same, which tells where ropes count as cut by itself. What can tip of it, and when, is the same."""
        made = RigSystem(self.rig, self.failures, self.already, self.strict)
        made.tipping, made.altered, made.had = self.tipping, self.altered, self.had
        return made

    def dropped(
        self, rows: Rows, width: int, names: Iterable[str] | None = None, *, once: bool = False
    ) -> dict[str, int]:
        """The points of ends that are lost (all, or of these bodies and bars), and where: what hangs from them is not
        still. Where a body is altered here, what else drops is what drops in the rig that has it whole, and what drops
        here too: what the rest of the body holds up, it doesn't hold up for this end. What has ends and hangs from what
        drops, drops with it, unless it is asked `once`. With no scenario given it is as before anything failed."""
        if not rows:
            return {}
        if self.altered:
            other, body = self.altered
            beside = [name for name in (other.tipping.seesaws if names is None else names) if name != body]
            rows = self._not_its_own(rows, other, body)
            return either(other.dropped(rows, width, beside, once=True), self.tipping.dropped(rows, width, beside))
        asked = list(self.tipping.seesaws if names is None else names)
        told, asked = self.ends_apart.dropped(rows, width, asked, once=once) if self.ends_apart else ({}, asked)
        found = self.tipping.dropped(rows, width, asked)
        return either(found if once else self.tipping.sunk(rows, width, asked, found), told)

    def _not_its_own(self, rows: Rows, other: RigSystem, body: str) -> Rows:
        """The same without what befalls an altered body itself: that counts for what hangs from it, not against it."""
        if self._own_left_out is None or self._own_left_out[0] is not rows:
            own = {body, *other.rig.parts[body].points}
            touched = any(not own.isdisjoint(effects.gone) for effects, _ in rows)
            left = changed(rows, lambda e: replace(e, gone=e.gone - own)) if touched else rows
            self._own_left_out = rows, left
        return self._own_left_out[1]

    @cached_property
    def brought(self) -> Brought:
        """What goes with who is brought down: as the rig tells that has all bodies whole."""
        return self.altered[0].brought if self.altered else Brought(self.rig, self._unsteady)

    def with_what_goes(self, rows: Rows, width: int) -> Rows:
        """The same, and what goes then. Not where no scenario is given: that is as before anything failed."""
        told = isinstance(rows, WithWhatGoes) or not rows or not self.brought.of
        return rows if told else self.brought.added(rows, width)

    def _unsteady(self, name: str, rows: WithWhatGoes, width: int) -> int:
        full, on = (1 << width) - 1, self.brought.of[name].on
        if not on:
            return full & ~self.read(Reading.HELD, rows, width, {name: full})[name]
        if not self.rig.parts[on].is_body:
            return self.tipping.bars_tip(rows, width).get(on, 0) | full & ~self.tipping.level(on, rows, width)
        asking = Asking(self, Reading.HELD, rows, width)
        return full & ~(asking.on_feet(name) if name in self.goals else asking.on_deck(on, full))

    def spans(self, reading: Reading, batch: Batch) -> Mapping[str, list[int]]:
        """Where each span of each rope is whole. The same is asked again and again: for each end of a body."""
        same = reading, batch.width, batch.single, batch.asked, *batch.tables
        if self._spans is None or self._spans[0] != same:
            told = Cuts(Scene(self.strict, batch), reading, self.strict, anchored).all_spans()
            kept = reading, batch.width, batch.single, dict(batch.asked), *map(dict, batch.tables)
            self._spans = kept, told
        return self._spans[1]

    @cached_property
    def loose(self) -> Structure:
        return Structure(self.rig, loose=True)

    def sweep(self, bits: Sequence[int], width: int, asked: Mapping[str, int]) -> dict[str, int]:
        rows = [(f.effects, b) for f, b in zip(self.failures, bits, strict=True)]
        return self.read(Reading.HELD, rows, width, asked)

    def hints(self, tasks: Sequence[tuple[str, frozenset[int]]]) -> list[frozenset[int] | None]:
        """For each goal after some events, events that touch something it is held by then: what it is held by if
        all others happen as well, as far as can be told from one solution. None where it isn't held."""
        asked: dict[str, int] = {}
        bits: dict[int, int] = {}
        for column, (goal, events) in enumerate(tasks):
            asked[goal] = asked.get(goal, 0) | 1 << column
            for event in events:
                bits[event] = bits.get(event, 0) | 1 << column
        rows = [(self.failures[event].effects, columns) for event, columns in bits.items()]
        names = Asking(self, Reading.HELD, rows, len(tasks)).explained(asked)
        return [None if one is None else frozenset().union(*(self._touching.get(n, ()) for n in one)) for one in names]

    @cached_property
    def _touching(self) -> dict[str, tuple[int, ...]]:
        """The events that touch each name."""
        found: dict[str, tuple[int, ...]] = {}
        for k, failure in enumerate(self.failures):
            for group in failure.effects.groups:
                for name in group:
                    found[name] = *found.get(name, ()), k
        return found

    @cached_property
    def tipping(self) -> Tipping:
        return Tipping(self)

    def tips(self, rows: Rows, width: int, held: Mapping[str, int]) -> dict[str, int]:
        """For each body of `held` (where each is held) that has ends or sides, the columns in which it tips."""
        return self.tipping.tips(self.with_what_goes(rows, width), width, held)

    def sink(self, rows: Rows, width: int, still: Mapping[str, int]) -> dict[str, int]:
        """For each body of `still` (where each is still) that has ends or sides, the columns in which one drops."""
        return self.tipping.sink(self.with_what_goes(rows, width), width, still)

    def bars_tip(self, rows: Rows, width: int) -> dict[str, int]:
        """The same of bars."""
        return self.tipping.bars_tip(self.with_what_goes(rows, width), width)

    def tails(self, body: str, effects: Effects) -> list[str]:
        """What holds rope beyond the lost grips and the hands of one scenario."""
        return Asking(self, Reading.HELD, [(effects, 1)], 1).tails(body)

    def bearing(self, rows: Rows, width: int) -> dict[str, int]:
        """For each part, the columns in which it would hold what is hung on it (as far as is sure whoever is
        asked after)."""
        return Asking(self, Reading.HELD, rows, width).bearing(self.goals)

    def read(self, reading: Reading, rows: Rows, width: int, asked: Mapping[str, int]) -> dict[str, int]:
        """For each body asked for, the columns in which it is held in one reading (see `sweep`).

        Each row is one failure with the columns in which it happens. The two readings that are told and never
        counted hold whoever is caught without people, and others beside.
        """
        rows = self.with_what_goes(rows, width)
        if not reading.loose:
            return Asking(self, reading, rows, width).answers(asked)
        found = self.read(Reading.CAUGHT, rows, width, asked)
        told = {Reading.BY_ANOTHERS_WEIGHT: (self.strict, self.loose), Reading.OUTWEIGHED: (self.strict,)}
        for structure in told.get(reading, (self.loose,)):
            rest = {name: bits & ~found[name] for name, bits in asked.items() if bits & ~found[name]}
            if rest:
                found = either(found, Asking(self, reading, rows, width, structure).answers(rest))
        return found

    def level(self, rows: Rows, width: int, asked: Mapping[str, int]) -> dict[str, int]:
        """Where each is still, as if no end of anything dropped."""
        return Asking(self, Reading.STILL, rows, width, dropping=False).answers(asked)


class Asking:
    """Some scenarios, and bodies asked after in them."""

    def __init__(
        self,
        system: RigSystem,
        reading: Reading,
        rows: Rows,
        width: int,
        structure: Structure | None = None,
        *,
        dropping: bool = True,
    ) -> None:
        """`structure`: the system's strict one where none is given; `dropping`: ends that drop hold nothing still."""
        self.system = system
        self.rig = system.rig
        self.reading = reading
        self.rows = rows
        self.structure = structure or system.strict
        self.batch = Batch(rows, width)
        for table, names in zip(self.batch.tables, system.already.groups, strict=True):
            for name in names:
                table[name] = self.batch.full
        self.full = self.batch.full
        if reading is Reading.STILL and dropping:
            self.batch.gone |= either(self.batch.gone, system.dropped(rows, width))

    def answers(self, asked: Mapping[str, int]) -> dict[str, int]:
        found = {name: self.on_feet(name) & bits for name, bits in asked.items()}
        left = {name: bits & ~found[name] for name, bits in asked.items() if not self._by_feet_alone(name)}
        left = {name: bits for name, bits in left.items() if bits}
        if len(left) > 1 and not disjoint(left.values()) and not self.structure.landed:
            for name, (bits, open_) in self._together(left).items():
                found[name] |= bits
                left[name] &= open_
            left = {name: bits for name, bits in left.items() if bits}
        for name, bits in self._each(left).items():
            found[name] |= bits
        return found

    def bearing(self, bodies: Iterable[str]) -> dict[str, int]:
        """Where each part is borne, nobody being a joint."""
        self.batch.asked = dict.fromkeys(bodies, self.full)
        solver = self._solver(self.batch, {})
        borne = solver.borne(dict.fromkeys(range(self.structure.count), self.full))
        return {name: borne[v] for name, v in self.structure.index.items()}

    def tails(self, body: str) -> list[str]:
        """What holds rope beyond lost grips and hands, for one body."""
        self.batch.asked = {body: self.full}
        self._own_left_out(self.batch, {body: (None, self.full)})
        return Cuts(Scene(self.structure, self.batch), self.reading, self.structure, anchored).tails()

    def explained(self, asked: Mapping[str, int]) -> list[set[str] | None]:
        """For each column (one body in each) the names of what it is held by."""
        batch, index = self.batch, self.structure.index
        batch.asked = dict(asked)
        self._own_left_out(batch, {name: (None, bits) for name, bits in asked.items()})
        return self._solver(batch, self._pins(batch)).explained({index[n]: bits for n, bits in asked.items()})

    # -- on their feet

    def _by_feet_alone(self, name: str) -> bool:  # who stands on a deck is not still where that isn't
        return self.reading is Reading.STILL and self.rig.parts[name].stands_on is not None

    def on_feet(self, name: str) -> int:
        """Where a person stands."""
        part = self.rig.parts[name]
        if not part.standing or part.nature is not Nature.PERSON:
            return 0
        bits = self.full & ~self.batch.unfooted.get(name, 0)
        if part.stands_on is None or not bits:
            return bits
        return bits & self.on_deck(part.stands_on, bits) if part.stands_on in self.rig.parts else 0  # it falls

    def on_deck(self, deck: str, bits: int) -> int:
        """Where what somebody stands on is held, level and still: not where it is only caught or held by people, hangs
        by one end, or drops before it is held, or an end of it."""
        system, rows, width = self.system, self.rows, self.batch.width
        rests = bits & ~self.batch.gone.get(deck, 0)
        for reading in (Reading.HELD, Reading.STILL):
            asking = self if self.reading is reading else Asking(system, reading, rows, width)
            rests &= asking.answers({deck: rests})[deck]
        level = rests & ~system.tips(rows, width, {deck: rests}).get(deck, 0)
        level &= system.tipping.level(deck, system.with_what_goes(rows, width), width) if level else 0
        return level & ~system.sink(rows, width, {deck: level}).get(deck, 0)

    # -- all bodies together, none of them a joint

    def _together(self, asked: Mapping[str, int]) -> dict[str, tuple[int, int]]:
        """What is surely held, whoever is asked after, and where it isn't known."""
        batch = self.batch
        batch.asked = dict(asked)
        solver = self._solver(batch, {})
        index = self.structure.index
        borne = solver.borne({index[name]: bits for name, bits in asked.items()})
        batch.asked = {}
        found = {}
        for name, bits in asked.items():
            v = index[name]
            held = borne[v] & (batch.single if self.structure.any_below else batch.full)
            for own in self.structure.own.get(v, ()) if held else ():
                held &= ~solver.low[own]  # as a joint, it would lie low all over
            open_ = bits & ~held
            if solver.joined:
                own = batch.gone.get(name, 0)
                open_ &= solver.joined[v] | own
            found[name] = held, open_
        return found

    # -- each body in columns of its own

    def _each(self, asked: Mapping[str, int]) -> dict[str, int]:
        if not asked:
            return {}
        blocks: dict[str, tuple[list[int] | None, int]]
        number = sum(bits.bit_count() for bits in asked.values())
        few = 2 * number < self.batch.width
        if number > WIDE and len(asked) > 1:
            names = list(asked)
            halves = names[: len(names) // 2], names[len(names) // 2 :]
            one, other = (self._each({name: asked[name] for name in half}) for half in halves)
            return one | other
        if not few and disjoint(asked.values()):
            batch = self.batch.select(list(range(self.batch.width))) if self._own(asked) else self.batch
            blocks = {name: (None, bits) for name, bits in asked.items()}
            batch.asked = dict(asked)
        else:
            columns: list[int] = []
            blocks = {}
            for name, bits in asked.items():
                mine = positions(bits)
                blocks[name] = (mine, (1 << len(mine)) - 1 << len(columns))
                columns += mine
            batch = self.batch.select(columns)
            batch.asked = {name: bits for name, (_, bits) in blocks.items()}
        self._own_left_out(batch, blocks)
        held = self._held(batch)
        batch.asked = {}
        found = {}
        for name, (its, bits) in blocks.items():
            if its is None:
                found[name] = held[name]
            else:
                start = (bits & -bits).bit_length() - 1
                found[name] = spread(held[name] >> start, its)
        return found

    def _own(self, asked: Mapping[str, int]) -> bool:
        return any(self.batch.gone.get(name, 0) & bits for name, bits in asked.items())

    def _own_left_out(self, batch: Batch, blocks: Mapping[str, tuple[list[int] | None, int]]) -> None:
        """A body's own failure counts for what hangs from it, not against itself."""
        for name, (mine, bits) in blocks.items():
            if not batch.gone.get(name, 0) & bits:
                continue
            for part in (name, *self._points(name)):
                apart = 0  # where the part is gone by itself
                for effects, where in self._taking.get(part, ()):
                    if name not in effects.gone:
                        apart |= where
                if part in self.system.already.gone and name not in self.system.already.gone:
                    apart = self.full
                if mine is not None:
                    start = (bits & -bits).bit_length() - 1
                    apart = self.batch.pick(apart, mine) << start
                batch.gone[part] = batch.gone.get(part, 0) & ~bits | apart & bits

    def _points(self, body: str) -> tuple[str, ...]:
        """A body's points, where it is asked after by some of them too."""
        return (self.system.whole or self.system).rig.parts[body].points

    @cached_property
    def _taking(self) -> dict[str, Rows]:
        """The failures that take each part of a body."""
        own = {part for body in self.rig.bodies for part in (body.name, *self._points(body.name))}
        found: dict[str, Rows] = {}
        for effects, where in self.rows:
            for part in effects.gone & own if where else ():
                found.setdefault(part, []).append((effects, where))
        return found

    def _held(self, batch: Batch) -> dict[str, int]:
        """Each body in its own columns, those with several failures also as if what came off the ground below
        had not."""
        index = self.structure.index
        wanted = {index[name]: bits for name, bits in batch.asked.items()}
        solver = self._solver(batch, self._pins(batch))
        borne = solver.borne(wanted)
        found = {name: borne[index[name]] for name in batch.asked}
        if self.structure.any_below and batch.single != batch.full:
            self._with_low_kept(batch, solver, found)
        return found

    def _pins(self, batch: Batch) -> dict[int, int]:
        index = self.structure.index
        if self.reading in (Reading.BY_ANOTHERS_WEIGHT, Reading.OUTWEIGHED):
            return {index[body.name]: batch.full for body in self.rig.parts.values() if body.is_body}
        return {index[name]: bits for name, bits in batch.asked.items()}

    def _solver(self, batch: Batch, pins: Mapping[int, int], kept: Mapping[int, int] | None = None) -> Solver:
        cuts = Cuts(Scene(self.structure, batch), self.reading, self.system.strict, anchored)
        if self.system.whole:
            cuts.take_spans(self.system.whole.spans(self.reading, batch))
        return Solver(cuts, World(frames=cuts.frames(), pins=pins, kept=kept or {}))

    # -- what has come off the ground below

    @cached_property
    def _once_low(self) -> dict[int, dict[str, int]]:
        """Parts in the middle of a rope that lie low with nothing failed, for which bodies."""
        bodies = [body.name for body in self.rig.bodies]
        asked = {name: 1 << k for k, name in enumerate(bodies)}
        solver = self._solver(Batch((), len(bodies), asked), {})
        middle = {
            stop.v
            for line in self.structure.lines
            for k, stop in enumerate(line.stops)
            if line.ring or 0 < k < len(line.stops) - 1 or stop.role is Role.RUN
        }
        return {
            v: {name: 1 for name, bit in asked.items() if solver.low[v] & bit}
            for v in sorted(middle)
            if solver.low[v] and v not in self.structure.ends
        }

    def _with_low_kept(self, batch: Batch, solver: Solver, found: dict[str, int]) -> None:
        """Take away what is held only because something has come off the ground below."""
        off: dict[int, int] = {}
        for v, bodies in self._once_low.items():
            bits = 0
            for name in bodies:
                bits |= found.get(name, 0)
            bits &= ~solver.low[v] & ~solver.fixed[v] & ~batch.single
            if bits:
                off[v] = bits
        by_parts: dict[tuple[int, ...], int] = {}
        for v, bits in off.items():
            for parts, columns in [*by_parts.items(), ((), bits & ~union(by_parts.values()))]:
                both = columns & bits
                if both:
                    if parts in by_parts:
                        by_parts[parts] = columns & ~both
                    by_parts[*parts, v] = by_parts.get((*parts, v), 0) | both
        for parts, columns in by_parts.items():
            if columns:
                lost = self._lost_with(batch, parts, columns)
                for name in found:
                    found[name] &= ~lost

    def _lost_with(self, batch: Batch, parts: tuple[int, ...], columns: int) -> int:
        """Of the columns, those in which the body is not held once some of the parts are kept low."""
        index = self.structure.index
        chosen = positions(columns)
        first, more = parts[:MOST_KEPT], parts[MOST_KEPT:]
        lost = 0
        for size in range(1 if not more else 0, len(first) + 1):
            for some in combinations(first, size):
                inner = batch.select(chosen)
                kept = dict.fromkeys((*some, *more), inner.full)
                for v in some:
                    inner.gone.pop(self.structure.names[v], None)
                solver = self._solver(inner, self._pins(inner), kept)
                for v in more:
                    solver.pulled[v] = 0
                borne = solver.borne({index[name]: bits for name, bits in inner.asked.items()})
                held = union(borne[index[name]] for name in inner.asked)
                lost |= spread(inner.full & ~held, chosen)
        return lost
