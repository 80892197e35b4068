"""A rig as numbers, in one reading of it: variables, contacts, what bears, what moves together.

Variables are the rig's parts (edges and pads apart) and its joint spans: the whole stretch of a
rope between two neighbouring ties, a joint that touches both knots (`holding/rules.md` section 1).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analyser.rig.model import Effects, Nature, Part, Rig, Role, Rope

APART = (Nature.EDGE, Nature.PAD, Nature.STOPPER, Nature.STRUCTURE)


class Batch:
    """Columns of scenarios: for each thing that an effect names, the columns in which it befalls.

    `rows` pairs effects with the columns (as bits) in which they happen.
    """

    def __init__(self, rows: Iterable[tuple[Effects, int]], width: int) -> None:
        self.width = width
        self.full = (1 << width) - 1
        self.gone: dict[str, int] = {}
        self.ungripped: dict[str, int] = {}
        self.open_hands: dict[str, int] = {}
        self.unfooted: dict[str, int] = {}
        self.cut: dict[str, int] = {}
        self.cutting: dict[str, int] = {}
        # in the order of `Effects.groups`
        self.tables = (self.gone, self.ungripped, self.open_hands, self.unfooted, self.cut, self.cutting)
        for effects, bits in rows:
            if not bits:
                continue
            for table, names in zip(self.tables, effects.groups, strict=True):
                for name in names:
                    table[name] = table.get(name, 0) | bits

    def select(self, columns: list[int]) -> Batch:
        """The same scenarios, only the columns asked for, in that order."""
        chosen = Batch((), len(columns))
        stretches = runs(columns)
        mask = bits_at(columns)
        for mine, theirs in zip(chosen.tables, self.tables, strict=True):
            for name, bits in theirs.items():
                if bits & mask:
                    mine[name] = pick_runs(bits, stretches, self.width)
        return chosen


def runs(columns: list[int]) -> list[tuple[int, int]]:
    """The columns as stretches from a first one to just before a last one, in reverse order."""
    found: list[tuple[int, int]] = []
    start = end = -1
    for column in columns:
        if column == end:
            end += 1
        else:
            if end > start:
                found.append((start, end))
            start, end = column, column + 1
    if end > start:
        found.append((start, end))
    return found[::-1]


def bits_at(columns: list[int]) -> int:
    """A one at each of the columns."""
    if not columns:
        return 0
    marks = bytearray(max(columns) // 8 + 1)
    for column in columns:
        marks[column >> 3] |= 1 << (column & 7)
    return int.from_bytes(marks, "little")


def pick_runs(bits: int, stretches: list[tuple[int, int]], width: int) -> int:
    """The bits at some stretches of columns, packed together."""
    text = bin(bits | 1 << width)[3:]  # column c is text[width - 1 - c]
    return int("".join([text[width - end : width - start] for start, end in stretches]) or "0", 2)


def positions(bits: int) -> list[int]:
    """The places of the ones in `bits`, lowest first."""
    text = bin(bits)[:1:-1]
    found = []
    at = text.find("1")
    while at >= 0:
        found.append(at)
        at = text.find("1", at + 1)
    return found


def spread(bits: int, columns: list[int]) -> int:
    """Bit k of `bits` goes to place `columns[k]`."""
    return bits_at([columns[k] for k in positions(bits)])


@dataclass(frozen=True, slots=True)
class Section:
    """Rope between two stations that both grip inward (rule 5).

    `first` and `last` are the gripping stations; `low` and `high` the stations where its end parts
    are (another one where a stopper jams); `parts` the variables of the stations on it, in order,
    each with whose opening takes it off the rope (`Effects.open_hands`; None for most).
    """

    rope: Rope
    first: int
    last: int
    low: int
    high: int
    parts: tuple[tuple[int, str | None], ...]
    spans: frozenset[str]

    @property
    def ends(self) -> tuple[int, int]:
        return self.parts[0][0], self.parts[-1][0]


class Structure:
    """One reading of a rig (`loose`: people are joints too, and bare hands grip)."""

    def __init__(self, rig: Rig, *, loose: bool) -> None:
        self.rig = rig
        self.loose = loose
        self.parts: list[Part] = [p for p in rig.parts.values() if p.nature not in APART]
        self.index = {part.name: v for v, part in enumerate(self.parts)}
        self.names = [part.name for part in self.parts]
        self.people = {p.name for p in self.parts if p.nature is Nature.PERSON}
        self.joint_spans: dict[int, str] = {}
        neighbours: list[list[int]] = [[] for _ in self.parts]
        for contact in rig.bearing:
            a, b = self.index[contact.a], self.index[contact.b]
            neighbours[a].append(b)
            neighbours[b].append(a)
        for rope in rig.ropes:
            for k, span in enumerate(rope.spans):
                one, two = rope.stations[k], rope.stations[k + 1]
                if one.role is Role.TIE and two.role is Role.TIE and one.part != two.part:
                    v = len(neighbours)
                    self.joint_spans[v] = span
                    self.names.append(span)
                    neighbours.append([self.index[one.part], self.index[two.part]])
                    neighbours[self.index[one.part]].append(v)
                    neighbours[self.index[two.part]].append(v)
        self.neighbours = neighbours
        self.count = len(neighbours)
        self.owner = [self._person(v) for v in range(self.count)]
        """The person that a variable is, or is a point of, else None."""
        self.frames = {v for v, part in enumerate(self.parts) if part.nature is Nature.FRAME}
        self.any_below = any(p.below for p in self.parts)
        self.bears_anchored = [self._bears(v, held=False) for v in range(self.count)]
        self.bears_held = [self._bears(v, held=True) for v in range(self.count)]
        self.links_anchored = self._links(self.bears_anchored)
        self.links_held = self._links(self.bears_held)
        self.sections = [s for rope in rig.ropes for s in self._sections(rope)]
        self.tracked = frozenset(span for section in self.sections for span in section.spans)
        """Spans that belong to some section: only these can make a part hold itself."""
        self.tracked_joints = frozenset(v for v, span in self.joint_spans.items() if span in self.tracked)
        self.reached: dict[int, frozenset[int]] = {}
        self.worth: dict[int, frozenset[int]] = {}
        self.asked: dict[int, set[int]] = {}
        self.moved: dict[Section, tuple[int, ...]] = {}

    def _person(self, v: int) -> str | None:
        if v >= len(self.parts):
            return None
        part = self.parts[v]
        if part.nature is Nature.PERSON:
            return part.name
        return part.body if part.body in self.people else None

    def _bears(self, v: int, *, held: bool) -> bool:
        owner = self.owner[v]
        if owner is None:
            return True
        return self.loose and not (held and bool(self.rig.parts[owner].below))

    def _links(self, bears: list[bool]) -> list[list[int]]:
        """Rules 2 and 3: what each variable makes true by touching it, once it is in the set."""
        links: list[list[int]] = []
        for v in range(self.count):
            found = [t for t in self.neighbours[v] if t not in self.frames]
            if not bears[v]:  # a person's point still carries the person
                body = self.parts[v].body
                found = [self.index[body]] if body and not self.parts[v].gear_only else []
            links.append(sorted(set(found)))
        return links

    def _sections(self, rope: Rope) -> list[Section]:
        stations = rope.stations
        found = []
        jammed = [k for k, s in enumerate(stations) if s.role in (Role.TIE, Role.RUN, Role.GRIP)]

        def places(k: int, i: int, j: int) -> list[int]:
            """Where the end part of station k of the section i..j may be."""
            if stations[k].role is not Role.STOPPER:
                return [k]
            return [m for m in jammed if i < m < j]

        for i, one in enumerate(stations):
            if not one.to_end or (one.role is Role.HAND and not self.loose):
                continue
            for j in range(i + 1, len(stations)):
                two = stations[j]
                if not two.to_start or (two.role is Role.HAND and not self.loose):
                    continue
                if j == i + 1 and one.role is two.role is Role.TIE:
                    continue  # a joint span: both ends move together, the rule adds nothing
                spans = frozenset(rope.spans[i:j])
                for low in places(i, i, j):
                    for high in places(j, i, j):
                        if low <= high:
                            parts = self._on(rope, low, high)
                            found.append(Section(rope, i, j, low, high, parts, spans))
        return found

    def _on(self, rope: Rope, low: int, high: int) -> tuple[tuple[int, str | None], ...]:
        found: list[tuple[int, str | None]] = []
        for station in rope.stations[low : high + 1]:
            if station.role in (Role.OVER, Role.STOPPER) or (station.role is Role.HAND and not self.loose):
                continue
            hand = station.part if station.role is Role.HAND else station.opened_by
            found.append((self.index[station.part], hand))
        return tuple(found)

    def passes(self, v: int, origin: int, batch: Batch) -> int:
        """The columns in which what moves with `origin` goes on through v."""
        if v in self.frames:
            return 0
        owner = self.owner[v]
        if owner is None or owner == self.owner[origin]:
            return batch.full
        if not self.loose:
            return 0
        if self.rig.parts[owner].standing:
            return batch.unfooted.get(owner, 0)
        return batch.full

    def reach(self, origin: int) -> frozenset[int]:
        """What may ever move with `origin`: everything over contacts, by the passing rules."""
        known = self.reached.get(origin)
        if known is not None:
            return known
        seen = {origin}
        stack = [origin]
        while stack:
            v = stack.pop()
            if v != origin and not self._may_pass(v, origin):
                continue
            for t in self.neighbours[v]:
                if t not in seen:
                    seen.add(t)
                    stack.append(t)
        self.reached[origin] = frozenset(seen)
        return self.reached[origin]

    def ways_between(self, origin: int) -> frozenset[int]:
        """What may carry `origin` along to a part whose section asks whether it moves with it: all
        that lies on no way between two such parts is left out (dead ends peeled off)."""
        known = self.worth.get(origin)
        if known is not None:
            return known
        if not self.asked:
            for section in self.sections:
                parts = {v for v, _ in section.parts}
                for p in (*self.movers(section), *section.ends):
                    self.asked.setdefault(p, set()).update(parts)
        reach = self.reach(origin)
        ends = self.asked.get(origin, set()) & reach | {origin}
        left = set(reach)
        if len(ends) == 1:
            left = {origin}
        else:
            near = {v: [t for t in self.neighbours[v] if t in left] for v in left}
            for v in left:
                if v not in ends and v != origin and not self._may_pass(v, origin):
                    near[v] = []
            degree = {v: len(set(near[v])) for v in left}
            stack = [v for v in left if degree[v] <= 1 and v not in ends]
            while stack:
                v = stack.pop()
                if v not in left:
                    continue
                left.discard(v)
                for t in self.neighbours[v]:
                    if t in left and t not in ends:
                        degree[t] -= 1
                        if degree[t] <= 1:
                            stack.append(t)
        self.worth[origin] = frozenset(left)
        return self.worth[origin]

    def movers(self, section: Section) -> tuple[int, ...]:
        """The parts that a section may hold: those on it, and people with whom one of those moves."""
        known = self.moved.get(section)
        if known is None:
            stations = {v for v, _ in section.parts}
            near = {self.owner[v] for q in stations for v in self.reach(q)}
            people = {self.index[name] for name in near if name}
            carried = {p for p in people if self.reach(p) & stations}
            known = self.moved[section] = tuple(sorted((stations | carried) - self.frames))
        return known

    def _may_pass(self, v: int, origin: int) -> bool:
        if v in self.frames:
            return False
        owner = self.owner[v]
        return owner is None or owner == self.owner[origin] or self.loose
