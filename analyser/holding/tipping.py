"""Ends and sides: what tips because it has lost the support that one end, or one side, had.

The support of an end goes neither through the body itself nor through what hangs from it: it is asked of
a rig in which of the body there is that end alone, as a body of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

from analyser.holding.batch import Rows
from analyser.holding.cuts import Reading
from analyser.holding.running import Reader, Running
from analyser.rig.model import Contact, Effects, Maker, Nature, Part, Rig, Role, Rope

FIXING = (Role.TIE, Role.GRIP, Role.HAND, Role.STOPPER)
Pair = tuple[tuple[str, ...], tuple[str, ...]]
Supported = list[tuple[bool, bool]]


def pairs_of(part: Part) -> tuple[Pair, ...]:
    """The ends, and the sides, that a part is said to have."""
    return tuple(pair for pair in (part.ends, part.sides) if pair is not None)


NEVER: Supported = [(False, False)]


def bars(rig: Rig) -> list[Part]:
    """Structure that has ends: a bar, a spreader."""
    return [part for part in rig.parts.values() if pairs_of(part) and not part.is_body]


def tippable(rig: Rig) -> list[Part]:
    """What of a rig can tip: bodies with ends or sides, and bars."""
    return [*(part for part in rig.parts.values() if part.is_body and pairs_of(part)), *bars(rig)]


def mid_rope_knots(rig: Rig) -> frozenset[str]:
    """Knots behind which their rope goes on, either way."""
    return frozenset(
        station.part
        for rope in rig.ropes
        for station in (rope.stations if rope.closed else rope.stations[1:-1])
        if station.role is Role.TIE
    )


class Tipping:
    """What of a rig can tip: bodies with ends or sides, and bars."""

    def __init__(self, system: Reader) -> None:
        self.system = system
        self.seesaws = {
            part.name: [_Seesaw(system, part, pair) for pair in pairs_of(part)] for part in tippable(system.rig)
        }

    def supported(self, name: str) -> Supported:
        """For each pair of ends of a body, which of them are supported with nothing failed."""
        return [seesaw.at_first for seesaw in self.seesaws.get(name, ())]

    def tips(self, rows: Rows, width: int, held: Mapping[str, int], had: Mapping[str, Supported]) -> dict[str, int]:
        """For each body of `held` that can, the columns in which it tips: held, and no longer as it was supported.

        `held`: where each body is held; `had`: what was supported before the steps that led here. Columns are as in
        `RigSystem.read`.
        """
        found: dict[str, int] = {}
        for name, bits in held.items():
            seesaws = self.seesaws.get(name, ()) if bits else ()
            once = had.get(name, [])
            for k, seesaw in enumerate(seesaws):
                uneven = seesaw.uneven(rows, width, once[k] if k < len(once) else (False, False))
                found[name] = found.get(name, 0) | bits & uneven
        return found

    def sink(self, rows: Rows, width: int, still: Mapping[str, int]) -> dict[str, int]:
        """For each body of `still` that has ends or sides, the columns in which one of them has lost the support that
        was still: it is held by rope that must first run out, and that end drops."""
        found: dict[str, int] = {}
        for name, bits in still.items():
            for seesaw in self.seesaws.get(name, ()) if bits else ():
                found[name] = found.get(name, 0) | bits & seesaw.lost(Reading.STILL, rows, width)
        return found

    def dropped(self, rows: Rows, width: int) -> dict[str, int]:
        """The points of ends that are lost, and where: what hangs from them is not still."""
        found: dict[str, int] = {}
        for several in self.seesaws.values():
            for end, bits in (one for seesaw in several for one in seesaw.lost_ends(Reading.HELD, rows, width)):
                for part in end if bits else ():
                    found[part] = found.get(part, 0) | bits
        return found

    def bars_tip(self, rows: Rows, width: int) -> dict[str, int]:
        """The same for bars: structure, that hangs and is held itself."""
        return {
            name: self._union(
                seesaw.held(rows, width) & seesaw.uneven(rows, width, once)
                for seesaw, once in zip(several, self._bars_had.get(name, NEVER * len(several)), strict=False)
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

    @staticmethod
    def _union(several: Iterable[int]) -> int:
        bits = 0
        for one in several:
            bits |= one
        return bits

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

    def _half(self, end: tuple[str, ...], already: Effects) -> Reader:
        rig, name = self.system.rig, self.part.name
        own = set(self.part.points)
        others = own - set(end)
        mid_rope = mid_rope_knots(rig)
        parts = dict(rig.parts)
        nature = self.part.nature if self.part.is_body else Nature.LOAD
        parts[name] = replace(self.part, nature=nature, points=end, ends=None, sides=None, standing=False)
        ground = {part.name for part in parts.values() if part.made_by is Maker.LANDING}
        counts = {*end, *ground}
        contacts: list[Contact] = []
        for c in rig.contacts:
            if others.isdisjoint((c.a, c.b)):
                if name not in (c.a, c.b) or c.a in counts or c.b in counts:
                    contacts.append(c)
                continue
            knot, point = (c.b, c.a) if c.a in others else (c.a, c.b)
            if knot in mid_rope:  # tied all the same, to something that neither holds nor is held
                alone = f"{point} for {knot}"
                parts[alone] = replace(parts[point], name=alone)
                contacts.append(replace(c, a=knot, b=alone))
        return self.system.like(replace(rig, parts=parts, contacts=tuple(contacts)), already)

    def _supported(self, reading: Reading, halves: tuple[Reader, Reader], rows: Rows, width: int) -> list[int]:
        every = {self.part.name: (1 << width) - 1}
        return [half.read(reading, rows, width, every)[self.part.name] for half in halves]

    @cached_property
    def at_first(self) -> tuple[bool, bool]:
        """Is each end supported with nothing failed?"""
        one, two = self._supported(Reading.HELD, self._at_first, [], 1)
        return bool(one), bool(two)

    def lost(self, reading: Reading, rows: Rows, width: int) -> int:
        """Where an end has lost the support that it has in a reading with nothing failed."""
        (_, one), (_, two) = self.lost_ends(reading, rows, width)
        return one | two

    def lost_ends(self, reading: Reading, rows: Rows, width: int) -> list[tuple[tuple[str, ...], int]]:
        """The same of each end."""
        full = (1 << width) - 1
        before = self._supported(reading, self._at_first, [], 1)
        now = self._supported(reading, self.halves, rows, width)
        return [(end, full & ~has if had else 0) for end, had, has in zip(self.pair, before, now, strict=True)]

    def uneven(self, rows: Rows, width: int, once: tuple[bool, bool] = (False, False)) -> int:
        """Where an end has lost the support it has with nothing failed, or had `once`; or both hang from one rope that
        runs."""
        full = (1 << width) - 1
        supported = self._supported(Reading.HELD, self.halves, rows, width)
        bits = 0
        for now, then, has in zip(self.at_first, once, supported, strict=True):
            bits |= full & ~has if now or then else 0
        neither = full & ~(supported[0] | supported[1])
        if neither:
            for rope, first, last in self._shared:
                bits |= self._runs(rope, first, last, rows, full) & neither
        return bits

    def held(self, rows: Rows, width: int) -> int:
        """Where a bar is there and held."""
        rig, name = self.system.rig, self.part.name
        body = replace(rig, parts={**rig.parts, name: replace(self.part, nature=Nature.LOAD)})
        bits = self.system.like(body, self.system.already).read(Reading.HELD, rows, width, {name: (1 << width) - 1})[
            name
        ]
        for effects, where in rows:
            if name in effects.gone:
                bits &= ~where
        return bits

    # -- both ends on one rope

    @cached_property
    def _shared(self) -> list[tuple[Rope, int, int]]:
        """Ropes that join the two ends and are fixed nowhere between, with the stations at the ends."""
        one, two = (self._on(end) for end in self.pair)
        found = []
        for rope in self.system.rig.ropes:
            if not rope.tag_line:
                found += list(_joining(rope, one, two))
        return found

    def _on(self, end: tuple[str, ...]) -> set[str]:
        """What is attached to an end, over contacts, not through the part itself nor through ground."""
        rig = self.system.rig
        own = {self.part.name, *self.part.points} - set(end)
        barred = (Nature.GROUND, Nature.FRAME, Nature.PERSON)
        seen = set(end)
        stack = list(end)
        while stack:
            for there in rig.touching[stack.pop()]:
                if there not in seen and there not in own and rig.parts[there].nature not in barred:
                    seen.add(there)
                    stack.append(there)
        return seen

    @staticmethod
    def _runs(rope: Rope, first: int, last: int, rows: Rows, full: int) -> int:
        """Where the rope is whole between, and fastened at both ends."""
        bits = full
        spans = set(rope.spans[first:last])
        ends = {rope.stations[first].part, rope.stations[last].part}
        edges = {s.part for s in rope.stations[first:last] if s.role is Role.OVER}
        for effects, where in rows:
            if effects.cut & spans or effects.gone & ends or effects.cutting & edges:
                bits &= ~where
        return bits


def _joining(rope: Rope, one: set[str], two: set[str]) -> Iterator[tuple[Rope, int, int]]:
    """The stretches of a rope between the two ends on which it is fixed nowhere."""
    for k, station in enumerate(rope.stations):
        if station.part not in one and station.part not in two:
            continue
        other = two if station.part in one else one
        for j in range(k + 1, len(rope.stations)):
            further = rope.stations[j]
            if further.part in other and j > k + 1:
                yield rope, k, j
            if further.role in FIXING:
                break
