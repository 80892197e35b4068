"""A walk along one rope: two values a strand, whether the next stop lies higher or lower.

At a stop that the rope passes straight nothing is felt. At the top of a bend the stop is pulled
down and must be borne, at the bottom it is pulled up and must be pinned; an end that is gripped
feels its one strand. `forth` holds what can be between any gripped end before a strand and the
strand itself, `back` the same from behind.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from analyser.holding.structure import Jam, Line

Spots = Sequence[tuple[int, int]]
"""Places, each with the columns in which it counts."""


@dataclass(slots=True)
class Laid:
    """A rope in every column: which strands are whole, where it is gripped (jams among it), and which
    ways each strand may lead."""

    line: Line
    whole: list[int]
    uncut: list[int]
    """Where each strand is whole whatever reading it is."""
    to_start: list[int]
    to_end: list[int]
    gripped: list[int]
    """Where each stop grips by itself, whichever way it does."""
    jams: list[tuple[Jam, int, int]]
    """Each place at which a stopper jams: the stopper, the stop, the columns."""
    absent: list[int]
    """Where each stop is not in the world at all: the rope goes straight to the next."""
    bears: list[int]
    """Where each stop is one that may bear anything."""
    up: list[int]
    down: list[int]
    spots: list[Spots]
    """Where each stop lies."""
    inner: list[int]
    """Where each strand joins two stops of one cluster: it pulls nothing, whichever of them is higher."""
    twins: dict[int, list[tuple[int, int]]]
    """For a stop the others that are on its cluster (no ground fixes it), and where: what pulls both one way pulls the
    cluster that way, and neither has to withstand it."""


class Walk:
    """All walks over one rope, given where its stops are borne and pinned."""

    __slots__ = ("around", "borne", "down_back", "down_forth", "laid", "pinned", "up_back", "up_forth")

    def __init__(self, laid: Laid, borne: Sequence[int], pinned: Sequence[int]) -> None:
        self.laid = laid
        self.borne = borne
        self.pinned = pinned
        self.around = -1
        """The stop from which a ring is walked once round; -1 where it isn't."""
        self.up_forth, self.down_forth = _forth(laid, borne, pinned)
        self.up_back, self.down_back = _back(laid, borne, pinned)

    def forth(self, strand: int, up: bool) -> int:
        return (self.up_forth if up else self.down_forth)[strand]

    def back(self, strand: int, up: bool) -> int:
        return (self.up_back if up else self.down_back)[strand]


def _forth(laid: Laid, borne: Sequence[int], pinned: Sequence[int]) -> tuple[list[int], list[int]]:
    ups, downs = [], []
    up = down = 0
    for k, whole in enumerate(laid.whole):
        grips = laid.to_end[k]
        up, down = (
            whole & laid.up[k] & (up | pinned[k] & (down | grips)),
            whole & laid.down[k] & (down | borne[k] & (up | grips)),
        )
        ups.append(up)
        downs.append(down)
    return ups, downs


def _back(
    laid: Laid, borne: Sequence[int], pinned: Sequence[int], first: int = 0, last: int = -1, arriving: int = 0
) -> tuple[list[int], list[int]]:
    """From behind, strands `first` to `last` (all by default). `arriving`: 1 where the last strand must lead
    up, -1 where it must lead down, to a stop that need not grip (once round a ring)."""
    count = len(laid.whole)
    last = count - 1 if last < 0 else last
    ups, downs = [0] * count, [0] * count
    up = down = 0
    for k in range(last, first - 1, -1):
        whole = laid.whole[k]
        if arriving and k == last:
            up = whole & laid.up[k] if arriving > 0 else 0
            down = whole & laid.down[k] if arriving < 0 else 0
        else:
            grips = 0 if arriving else laid.to_start[k + 1]
            up, down = (
                whole & laid.up[k] & (up | borne[k + 1] & (down | grips)),
                whole & laid.down[k] & (down | pinned[k + 1] & (up | grips)),
            )
        ups[k], downs[k] = up, down
    return ups, downs


def round_from(laid: Laid, stop: int, borne: Sequence[int], pinned: Sequence[int], up: bool) -> Walk:
    """Once round a ring, from one of its stops back to it; `up`: both of its strands lead up from it."""
    walk = Walk.__new__(Walk)
    walk.laid, walk.borne, walk.pinned, walk.around = laid, borne, pinned, stop
    walk.up_forth = walk.down_forth = []
    last = stop + laid.line.ring - 1
    walk.up_back, walk.down_back = _back(laid, borne, pinned, stop, last, -1 if up else 1)
    return walk


class Steps:
    """What one walk was made of: which strand led which way, what had to be borne or pinned, which jam was used.

    Each is told with its columns to the mappings that it is given.
    """

    def __init__(
        self,
        walk: Walk,
        higher: dict[tuple[int, int], int],
        jammed: dict[tuple[str, bool, int], int],
        needs: tuple[dict[int, int], dict[int, int]],
        strands: dict[tuple[int, int], int],
    ) -> None:
        """`needs`: what is needed borne, and pinned, by variable; `strands`: by the rope's number and theirs."""
        self.strands = strands
        self.walk = walk
        self.laid = walk.laid
        self.higher = higher
        self.jammed = jammed
        self.needs = needs

    def to(self, stop: int, up: bool, bits: int) -> None:
        """One way to each column in which the walk pulled a stop up (or down)."""
        walk, laid = self.walk, self.laid
        if walk.around >= 0:
            self._on(stop, up, bits, laid.line.ring + stop - 1)
            return
        last = len(laid.whole) - 1
        after = walk.back(stop, up) if stop <= last else 0
        alone = bits & after & laid.to_end[stop]
        if alone:
            self._gripped(stop, alone, forward=True)
            self._on(stop, up, alone, last)
        bits &= ~alone
        ended = bits & laid.to_start[stop]
        if ended:
            self._gripped(stop, ended, forward=False)
        through = bits & ~ended
        if through:
            self._on(stop, up, through, last)
        if bits:
            self._off(stop - 1, not up, bits)

    def _need(self, stop: int, borne: bool, bits: int) -> None:
        needed = self.needs[0 if borne else 1]
        v = self.laid.line.stops[stop].v
        needed[v] = needed.get(v, 0) | bits

    def _fact(self, strand: int, up: bool, bits: int) -> None:
        line = self.laid.line
        spots, absent = self.laid.spots, self.laid.absent
        self.strands[line.number, strand] = self.strands.get((line.number, strand), 0) | bits
        bits &= ~absent[strand]
        k = strand
        while bits:
            k += 1
            here = bits & ~absent[k]
            if k == strand + 1:
                here &= ~self.laid.inner[strand]
            for (a, at_first), (b, at_second) in product(spots[strand], spots[k]) if here else ():
                both = here & at_first & at_second
                if both and a != b:
                    pair = (b, a) if up else (a, b)
                    self.higher[pair] = self.higher.get(pair, 0) | both
            bits &= absent[k]

    def _gripped(self, stop: int, bits: int, *, forward: bool) -> None:
        """The rope is gripped at a stop: where only a stopper does it, which."""
        line = self.laid.line
        station = line.stops[stop]
        if not self.laid.jams:
            return
        if station.to_end if forward else station.to_start:
            bits &= ~self.laid.gripped[stop]
        for jam, at, where in self.laid.jams:
            if bits and at == stop and jam.forward is forward and bits & where:
                key = (jam.stopper, forward, at % line.ring if line.ring else at)
                self.jammed[key] = self.jammed.get(key, 0) | bits & where
                bits &= ~where

    def _on(self, strand: int, up: bool, bits: int, last: int) -> None:
        """From a strand on towards the end."""
        walk, laid = self.walk, self.laid
        going: Mapping[bool, int] = {up: bits, not up: 0}
        for k in range(strand, last + 1):
            then = {True: 0, False: 0}
            for way in (True, False):
                here = going[way]
                if not here:
                    continue
                self._fact(k, way, here)
                if k == last and walk.around >= 0:
                    continue
                # the stop behind strand k: an end, passed straight, or bent over (under)
                support = (walk.borne if way else walk.pinned)[k + 1]
                ended = here & support & laid.to_start[k + 1] if walk.around < 0 else 0
                if ended:
                    self._gripped(k + 1, ended, forward=False)
                    self._need(k + 1, way, ended)
                here &= ~ended
                if k < last:
                    straight = here & walk.back(k + 1, way)
                    then[way] |= straight
                    bent = here & ~straight
                    if bent:
                        self._need(k + 1, way, bent)
                        then[not way] |= bent
            going = then

    def _off(self, strand: int, up: bool, bits: int) -> None:
        """From a strand back towards the start."""
        walk, laid = self.walk, self.laid
        going = {up: bits, not up: 0}
        for k in range(strand, -1, -1):
            then = {True: 0, False: 0}
            for way in (True, False):
                here = going[way]
                if not here:
                    continue
                self._fact(k, way, here)
                # the stop before strand k: where the strand leads up from it, it is pulled up
                support = (walk.pinned if way else walk.borne)[k]
                ended = here & support & laid.to_end[k]
                if ended:
                    self._gripped(k, ended, forward=True)
                    self._need(k, not way, ended)
                here &= ~ended
                if k:
                    straight = here & walk.forth(k - 1, way)
                    then[way] |= straight
                    bent = here & ~straight
                    if bent:
                        self._need(k, not way, bent)
                        then[not way] |= bent
            going = then
