"""Many scenarios at once: one column each, a Python integer for whatever may befall, one bit a column."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from analyser.rig.model import Effects

Rows = list[tuple[Effects, int]]
"""What befalls, with the columns in which it does, as bits."""


class WithWhatGoes(Rows):
    """Scenarios to which is added what goes with those who are brought down (hands that are let go): that follows from
    what befalls, and is no failure of its own."""

    def __init__(self, rows: Rows, more: Iterable[tuple[Effects, int]] = ()) -> None:
        super().__init__(rows)
        self.given = len(rows)
        self += more


def changed(rows: Rows, change: Callable[[Effects], Effects]) -> Rows:
    """The same scenarios with other effects."""
    new = [(change(effects), bits) for effects, bits in rows]
    return WithWhatGoes(new[: rows.given], new[rows.given :]) if isinstance(rows, WithWhatGoes) else new


FEW = 16
"""Columns that are picked one by one: what befalls a part is one failure or two, as a rule."""


class Batch:
    """Columns of scenarios: for each thing that an effect names, the columns in which it befalls.

    `rows` pairs effects with the columns (as bits) in which they happen; each row counts as one failure.
    """

    def __init__(self, rows: Iterable[tuple[Effects, int]], width: int, asked: Mapping[str, int] | None = None) -> None:
        """`asked`: for each body, the columns in which it is asked after."""
        self.width = width
        self.full = (1 << width) - 1
        self.asked: dict[str, int] = dict(asked or {})
        self.gone: dict[str, int] = {}
        self.ungripped: dict[str, int] = {}
        self.open_hands: dict[str, int] = {}
        self.unfooted: dict[str, int] = {}
        self.cut: dict[str, int] = {}
        self.cutting: dict[str, int] = {}
        # in the order of `Effects.groups`
        self.tables = (self.gone, self.ungripped, self.open_hands, self.unfooted, self.cut, self.cutting)
        tables = self.tables
        once = more = 0
        given = rows.given if isinstance(rows, WithWhatGoes) else None
        for number, (effects, bits) in enumerate(rows):
            if bits:
                if given is None or number < given:
                    more |= once & bits
                    once |= bits
                for group, name in effects.befallen:
                    table = tables[group]
                    table[name] = table.get(name, 0) | bits
        self.single = self.full & ~more
        """The columns with one failure at most: asked to the letter (`rules.md` section 4)."""

    def select(self, columns: list[int]) -> Batch:
        """The same scenarios, only the columns asked for, in that order."""
        chosen = Batch((), len(columns))
        stretches = runs(columns)
        mask = bits_at(columns)
        places: dict[int, list[int]] = {}
        for place, column in enumerate(columns):
            places.setdefault(column, []).append(place)
        for mine, theirs in zip(chosen.tables, self.tables, strict=True):
            for name, bits in theirs.items():
                if there := bits & mask:
                    few = there.bit_count() <= FEW
                    mine[name] = _pick_few(there, places) if few else pick_runs(bits, stretches, self.width)
        chosen.single = pick_runs(self.single, stretches, self.width)
        chosen.asked = {
            name: pick_runs(bits, stretches, self.width) for name, bits in self.asked.items() if bits & mask
        }
        return chosen

    def pick(self, bits: int, columns: list[int]) -> int:
        """Some columns of a value, packed together."""
        return pick_runs(bits, runs(columns), self.width)


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


def _pick_few(bits: int, places: Mapping[int, list[int]]) -> int:
    """The same for a few bits, by the places to which each column goes."""
    found: list[int] = []
    while bits:
        low = bits & -bits
        found += places[low.bit_length() - 1]
        bits ^= low
    return bits_at(found)


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


def disjoint(several: Iterable[int]) -> bool:
    """Is no column in two of these?"""
    every = 0
    for bits in several:
        if every & bits:
            return False
        every |= bits
    return True


def union(several: Iterable[int]) -> int:
    """The columns that are in any of these."""
    bits = 0
    for one in several:
        bits |= one
    return bits


def either(one: Mapping[str, int], other: Mapping[str, int]) -> dict[str, int]:
    """For each name the columns in one or the other."""
    return {**one, **{name: one.get(name, 0) | bits for name, bits in other.items()}}
