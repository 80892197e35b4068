"""Ends and sides: what tips because it has lost the support that one end, or one side, had.

The support of an end goes neither through the body itself nor through what hangs from it: it is asked of
a rig in which of the body there is that end alone, as a body of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property

from analyser.holding.batch import Rows, union
from analyser.holding.one_rope import RunningThrough
from analyser.holding.reading import Reading
from analyser.holding.running import Reader, Running
from analyser.rig.index import reached
from analyser.rig.model import Effects, Maker, Nature, Part, Rig

Pair = tuple[tuple[str, ...], tuple[str, ...]]
Supported = list[tuple[bool, bool]]


def pairs_of(part: Part) -> tuple[Pair, ...]:
    """The ends, and the sides, that a part is said to have; with both, the corners that lie across from each other."""
    ends, sides = part.ends, part.sides
    given = tuple(pair for pair in (ends, sides) if pair is not None)
    if ends is None or sides is None:
        return given
    across = ((_corner(ends, sides), _corner(ends[::-1], sides[::-1])) for sides in (sides, sides[::-1]))
    return given + tuple((one, other) for one, other in across if one and other)


def _corner(ends: Pair, sides: Pair) -> tuple[str, ...]:
    """The points at the first end and the first side, or at one of the two, and not at the other of either."""
    others = {*ends[1], *sides[1]}
    return tuple(point for point in dict.fromkeys((*ends[0], *sides[0])) if point not in others)


NEVER: Supported = [(False, False)]


def bars(rig: Rig) -> list[Part]:
    """Structure that has ends: a bar, a spreader."""
    return [part for part in rig.parts.values() if pairs_of(part) and not part.is_body]


def tippable(rig: Rig) -> list[Part]:
    """What of a rig can tip: bodies with ends or sides, and bars."""
    return [*(part for part in rig.parts.values() if part.is_body and pairs_of(part)), *bars(rig)]


class Tipping:
    """What of a rig can tip: bodies with ends or sides, and bars."""

    def __init__(self, system: Reader) -> None:
        self.system = system
        self.seesaws = {
            part.name: [_Seesaw(system, part, pair) for pair in pairs_of(part)] for part in tippable(system.rig)
        }
        self._dropped: dict[str, tuple[Rows, int, Supported, dict[str, int]]] = {}
        """For each the scenarios last asked after, what it had once, and what dropped in them."""

    def supported(self, name: str) -> Supported:
        """For each pair of ends of a body, which of them are supported with nothing failed."""
        return [seesaw.at_first for seesaw in self.seesaws.get(name, ())]

    def tips(self, rows: Rows, width: int, held: Mapping[str, int]) -> dict[str, int]:
        """For each body of `held` (where each is held) that can, the columns in which it tips: held, and no longer as
        it was supported. Columns are as in `RigSystem.read`."""
        found: dict[str, int] = {}
        for name, bits in held.items():
            seesaws = self.seesaws.get(name, ()) if bits else ()
            for seesaw, once in zip(seesaws, self._had(name) if seesaws else (), strict=True):
                found[name] = found.get(name, 0) | bits & seesaw.uneven(rows, width, once)
        return found

    def level(self, name: str, rows: Rows, width: int) -> int:
        """Where all ends and sides of a body are held up, whatever they were before: where somebody can stand on it."""
        bits = (1 << width) - 1
        for seesaw in self.seesaws.get(name, ()):
            bits &= seesaw.level(rows, width)
        return bits

    def sink(self, rows: Rows, width: int, still: Mapping[str, int]) -> dict[str, int]:
        """For each body of `still` that has ends or sides, the columns in which one of them has lost the support that
        was still: it is held by rope that must first run out, and that end drops."""
        found: dict[str, int] = {}
        for name, bits in still.items():
            for seesaw in self.seesaws.get(name, ()) if bits else ():
                found[name] = found.get(name, 0) | bits & seesaw.sinks(rows, width)
        return found

    def dropped(self, rows: Rows, width: int, names: Iterable[str]) -> dict[str, int]:
        """The points of lost ends of these, and where: what hangs from them is not still. Nor is what hangs between
        the ends of what has lost one, at a point that nothing else holds."""
        found: dict[str, int] = {}
        for name in (one for one in names if one in self.seesaws):
            had = self._had(name)
            last = self._dropped.get(name)  # the same scenarios are asked after one another
            if last is None or last[:3] != (rows, width, had):
                last = self._dropped[name] = rows, width, had, self._drop(name, rows, width, had)
            found |= last[3]
        return found

    def sunk(self, rows: Rows, width: int, names: Iterable[str], dropped: Mapping[str, int]) -> dict[str, int]:
        """The same with the ends, of these, that were still and hang from what drops, and what is between them."""
        found = dict(dropped)
        for name in names:
            ends = (one for seesaw in self.seesaws[name] for one in seesaw.sinking(rows, width))
            self._lose(found, name, ends, rows, width)
        return found

    def _drop(self, name: str, rows: Rows, width: int, had: Supported) -> dict[str, int]:
        found: dict[str, int] = {}
        seesaws = zip(self.seesaws[name], had, strict=True)
        ends = (one for seesaw, once in seesaws for one in seesaw.lost_ends(Reading.HELD, rows, width, once=once))
        self._lose(found, name, ends, rows, width)
        return found

    def _had(self, name: str) -> Supported:
        """For each pair of ends of a body or bar, which of them were supported before the steps that led here."""
        told = self.system.had if self.system.rig.parts[name].is_body else self._bars_had
        several = self.seesaws[name]
        return [*told.get(name, ()), *NEVER * len(several)][: len(several)]

    def _lose(
        self, found: dict[str, int], name: str, ends: Iterable[tuple[tuple[str, ...], int]], rows: Rows, width: int
    ) -> None:
        """Add the points of these ends, where each is lost, and those between its ends that nothing else holds."""
        lost = 0
        for end, bits in ends:
            lost |= bits
            for part in end if bits else ():
                found[part] = found.get(part, 0) | bits
        for part, held in self.seesaws[name][0].between(rows, width) if lost else ():
            found[part] = found.get(part, 0) | lost & ~held

    def bars_tip(self, rows: Rows, width: int) -> dict[str, int]:
        """The same for bars: structure, that hangs and is held itself."""
        return {
            name: union(
                seesaw.held(rows, width) & seesaw.uneven(rows, width, once)
                for seesaw, once in zip(several, self._had(name), strict=True)
            )
            for name, several in self.seesaws.items()
            if not self.system.rig.parts[name].is_body
        }

    @cached_property
    def _bars_had(self) -> dict[str, Supported]:
        """Which ends of each bar were supported before the steps that led here."""
        origin = self.system.rig.origin
        if origin is None or not bars(self.system.rig):
            return {}
        first = Tipping(self.system.like(origin, Effects()))
        return {part.name: first.supported(part.name) for part in bars(origin)}

    def to(self, name: str, effects: Effects) -> tuple[str, ...]:
        """What the end that a body has lost comes to."""
        found: dict[str, None] = {}
        for seesaw in self.seesaws.get(name, ()):
            for had, half in zip(seesaw.at_first, seesaw.halves, strict=True):
                every = {name: 1}
                lost = had and not half.read(Reading.HELD, [(effects, 1)], 1, every)[name]
                if lost and half.read(Reading.CAUGHT, [(effects, 1)], 1, every)[name]:
                    found |= dict.fromkeys(Running(half).to(name, effects))
        return tuple(found)


class _Seesaw:
    """One part with one pair of ends."""

    def __init__(self, system: Reader, part: Part, pair: Pair) -> None:
        self.system = system
        self.part = part
        self.pair = pair
        self._first: dict[tuple[Reading, bool], list[int]] = {}
        self._last: dict[tuple[Reading, bool], tuple[Rows, int, list[int]]] = {}
        """The scenarios last asked after, and where each end is supported in them."""

    @cached_property
    def _whole(self) -> Reader:
        """The rig, in which a bar is a load as well."""
        if self.part.is_body:
            return self.system
        rig = self.system.rig
        bar = replace(self.part, nature=Nature.LOAD)
        return self.system.as_load(replace(rig, parts={**rig.parts, self.part.name: bar}), self.part.name)

    @cached_property
    def halves(self) -> tuple[Reader, Reader]:
        """For each end, the rig in which of the part there is that end alone."""
        one, two = self.pair
        return self._half(one, self.system.already), self._half(two, self.system.already)

    @cached_property
    def _at_first(self) -> tuple[Reader, Reader]:
        """The same before anything had befallen the rig."""
        if not any(self.system.already.groups):
            return self.halves
        one, two = self.pair
        return self._half(one, Effects()), self._half(two, Effects())

    @cached_property
    def _by_itself(self) -> tuple[Reader, Reader]:
        """As `halves`, and where ropes count as cut is asked of that end alone too."""
        one, two = self.halves
        return one.by_itself(), two.by_itself()

    @cached_property
    def _by_itself_at_first(self) -> tuple[Reader, Reader]:
        if self._at_first is self.halves:
            return self._by_itself
        one, two = self._at_first
        return one.by_itself(), two.by_itself()

    def between(self, rows: Rows, width: int) -> list[tuple[str, int]]:
        """What is at none of its ends and sides, and where something else keeps each where it is: its other points, and
        what is attached to its bare name."""
        every = {self.part.name: (1 << width) - 1}
        name = self.part.name
        return [
            (point, half.read(Reading.HELD, rows, width, every)[name] & half.level(rows, width, every)[name])
            for point, half in self._between.items()
        ]

    @cached_property
    def _between(self) -> dict[str, Reader]:
        outer = {point for pair in pairs_of(self.part) for end in pair for point in end}
        points = [point for point in self.part.points if point not in outer]
        bare = [other for other in self._on_bare_name if other not in self._barred]
        found = {point: self._half((point,), self.system.already) for point in points}
        return found | {other: self._half((), self.system.already, via=other) for other in bare}

    @cached_property
    def _on_bare_name(self) -> list[str]:
        """What is attached to its bare name. (Who lies in a litter, lashed to it, goes with it: told of the litter.)"""
        if self.part.nature is Nature.LITTER:
            return []
        return sorted(self._touching.get(self.part.name, set()).difference(self.part.points))

    def _half(self, end: tuple[str, ...], already: Effects, via: str | None = None) -> Reader:
        """The rig in which of the body there is that end alone, or what hangs `via` something on its bare name."""
        rig, name = self.system.rig, self.part.name
        own = set(self.part.points)
        others = own - set(end)
        parts = dict(rig.parts)
        nature = self.part.nature if self.part.is_body else Nature.LOAD
        parts[name] = replace(self.part, nature=nature, points=end, ends=None, sides=None, standing=False)
        ground = {part.name for part in parts.values() if part.made_by is Maker.LANDING}
        counts = {*end, *ground, via}
        contacts = tuple(
            c
            for c in rig.contacts
            if others.isdisjoint((c.a, c.b)) and (name not in (c.a, c.b) or c.a in counts or c.b in counts)
        )
        slides = self._running_through.spans(end)
        already = replace(already, cut=already.cut | slides) if slides else already
        return self._whole.part(replace(rig, parts=parts, contacts=contacts), already, self.part.name)

    @cached_property
    def _running_through(self) -> RunningThrough:
        return RunningThrough(self.system.rig, self.part, self._touching, self._barred)

    def _supported(self, reading: Reading, rows: Rows, width: int, *, alone: bool = False) -> list[int]:
        """Where each end is supported; `alone`: asked of that end alone where ropes count as cut, too."""
        last = self._last.get((reading, alone))  # the same scenarios are asked after one another
        if last is None or last[:2] != (rows, width):
            found = self._held_of(self._by_itself if alone else self.halves, reading, rows, width)
            last = self._last[reading, alone] = rows, width, found
        return last[2]

    def _supported_first(self, reading: Reading, *, alone: bool = False) -> list[int]:
        """Is each end supported with nothing failed?"""
        if (reading, alone) not in self._first:
            halves = self._by_itself_at_first if alone else self._at_first
            self._first[reading, alone] = self._held_of(halves, reading, [], 1)
        return self._first[reading, alone]

    def _held_of(self, halves: tuple[Reader, Reader], reading: Reading, rows: Rows, width: int) -> list[int]:
        every = {self.part.name: (1 << width) - 1}
        return [half.read(reading, rows, width, every)[self.part.name] for half in halves]

    @cached_property
    def at_first(self) -> tuple[bool, bool]:
        """Is each end supported with nothing failed?"""
        one, two = self._supported_first(Reading.HELD)
        return bool(one), bool(two)

    def level(self, rows: Rows, width: int) -> int:
        """Where both ends are held up, or it hangs from two places between them: by one end alone it hangs plumb."""
        full = (1 << width) - 1
        one, two = self._supported(Reading.HELD, rows, width)
        neither = full & ~(one | two)
        some = several = 0
        for half in self._beside.values() if neither else ():
            held = half.read(Reading.HELD, rows, width, {self.part.name: neither})[self.part.name]
            some, several = some | held, several | some & held
        return one & two | neither & several

    @cached_property
    def _beside(self) -> dict[str, Reader]:
        """What is at neither end of this pair: other points, and what is attached to its bare name."""
        at_ends = {*self.pair[0], *self.pair[1]}
        points = [point for point in self.part.points if point not in at_ends]
        found = {point: self._half((point,), self.system.already) for point in points}
        bare = [other for other in self._on_bare_name if other not in self._barred]
        return found | {other: self._half((), self.system.already, via=other) for other in bare}

    def sinks(self, rows: Rows, width: int) -> int:
        """Where an end has lost the support that was still: by where ropes count as cut for the whole body, or for that
        end by itself (a bend that the rest of the body hangs from is no bend on the body for this end of it)."""
        bits = 0
        for _, lost in self.sinking(rows, width):
            bits |= lost
        return bits

    def sinking(self, rows: Rows, width: int) -> list[tuple[tuple[str, ...], int]]:
        """Each end, and where it does so."""
        ways = (self.lost_ends(Reading.STILL, rows, width, alone=alone) for alone in (False, True))
        return [one for way in ways for one in way]

    def lost_ends(
        self, reading: Reading, rows: Rows, width: int, *, alone: bool = False, once: tuple[bool, bool] = (False, False)
    ) -> list[tuple[tuple[str, ...], int]]:
        """Each end, and where it has lost the support that it has in a reading with nothing failed, or had `once`."""
        full = (1 << width) - 1
        before = self._supported_first(reading, alone=alone)
        now = self._supported(reading, rows, width, alone=alone)
        outweighed = self._outweighed(rows, width) if reading is Reading.HELD else (0, 0)
        return [
            (end, more | (full & ~has if had or then else 0))
            for end, had, then, has, more in zip(self.pair, before, once, now, outweighed, strict=True)
        ]

    def _outweighed(self, rows: Rows, width: int) -> tuple[int, int]:
        """For each end that is not held with nothing failed, and kept up all the same (by another's weight, as a
        counterweight does, or by what would first run): where that is lost. It never counts as a way of being held,
        and it was what kept that end up."""
        one, two = self.at_first
        if one and two:
            return 0, 0
        before = self._supported_first(Reading.OUTWEIGHED)
        if not any(had and not first for had, first in zip(before, (one, two), strict=True)):
            return 0, 0
        full = (1 << width) - 1
        lost = [full & ~now for now in self._supported(Reading.OUTWEIGHED, rows, width)]
        return (lost[0] if before[0] and not one else 0), (lost[1] if before[1] and not two else 0)

    def uneven(self, rows: Rows, width: int, once: tuple[bool, bool] = (False, False)) -> int:
        """Where an end has lost the support it has with nothing failed, or had `once`; or both hang from one rope that
        runs."""
        full = (1 << width) - 1
        supported = self._supported(Reading.HELD, rows, width)
        bits = 0
        for now, then, has in zip(self.at_first, once, supported, strict=True):
            bits |= full & ~has if now or then else 0
        one, two = self._outweighed(rows, width)
        bits |= one | two
        neither = full & ~(supported[0] | supported[1])
        for half in self._other_fast if neither else ():
            neither &= half.read(Reading.HELD, rows, width, {self.part.name: neither})[self.part.name] if half else 0
        return bits | neither

    def held(self, rows: Rows, width: int) -> int:
        """Where a bar is there and held."""
        name = self.part.name
        bits = self._whole.read(Reading.HELD, rows, width, {name: (1 << width) - 1})[name]
        for effects, where in rows:
            if name in effects.gone:
                bits &= ~where
        return bits

    # -- both ends on one rope, or on several that make one

    @cached_property
    def _other_fast(self) -> tuple[Reader | None, Reader | None]:
        """For each end, the rig in which it hangs by ropes alone and the other is held fast."""
        one, two = self.pair
        return self._with_fast(one, two), self._with_fast(two, one)

    def _with_fast(self, end: tuple[str, ...], fast: tuple[str, ...]) -> Reader | None:
        """None where what joins the two isn't rope."""
        rig, name = self.system.rig, self.part.name
        ropes = tuple(rope for rope in rig.ropes if not self._cluster.issuperset(s.part for s in rope.stations))
        dropped = self._no_joint | {name}
        contacts = [c for c in rig.contacts if dropped.isdisjoint((c.a, c.b))]
        own = [point for point in end if point not in reached(self._touching, fast, self._barred | dropped)]
        if not own:
            return None
        body = replace(self.part, nature=Nature.LOAD, points=tuple(own), ends=None, sides=None, standing=False)
        parts = {**rig.parts, name: body}
        for point in fast:
            parts[point] = replace(parts[point], nature=Nature.GROUND, body=None)
        contacts += [c for c in rig.contacts if name in (c.a, c.b) and (c.a in own or c.b in own)]
        like = replace(rig, parts=parts, contacts=tuple(contacts), ropes=ropes)
        return self._whole.part(like, self.system.already, self.part.name)

    @cached_property
    def _barred(self) -> frozenset[str]:
        """What makes no cluster of what it touches."""
        apart = (Nature.GROUND, Nature.FRAME, Nature.PERSON)
        return frozenset(name for name, part in self.system.rig.parts.items() if part.nature in apart)

    @cached_property
    def _touching(self) -> dict[str, set[str]]:
        """Everything that each part touches; a body its points too."""
        found: dict[str, set[str]] = {}
        for c in self.system.rig.bearing:
            found.setdefault(c.a, set()).add(c.b)
            found.setdefault(c.b, set()).add(c.a)
        return found

    @cached_property
    def _cluster(self) -> set[str]:
        """What moves with the part, over contacts."""
        return reached(self._touching, (self.part.name,), self._barred - {self.part.name})

    @cached_property
    def _no_joint(self) -> frozenset[str]:
        """What of it no rope meets and no ground touches, or is another body: it joins the ends without a rope."""
        rig = self.system.rig
        own = {self.part.name, *self.part.points}
        met = {station.part for rope in rig.ropes for station in rope.stations}
        found: set[str] = set()
        for start in self._cluster - own - self._barred:
            if start in found:
                continue
            members = reached(self._touching, (start,), self._barred | own)
            near = {t for member in members for t in self._touching[member]}
            grounded = any(rig.parts[t].nature in (Nature.GROUND, Nature.FRAME) for t in near)
            roped = not met.isdisjoint(members) and not any(rig.parts[member].is_body for member in members)
            if grounded or roped:
                continue
            found |= members
        return frozenset(found)
