"""On what a found answer rests: which way each strand was taken to lead, and whether that is one order.

The sets of `solving.py` are found with every strand free to lead either way, each time it is used. What
is borne so is truly borne if all that its finding used, back to the ground, is one real order of
places: nothing both higher and lower than another, no round of heights. Each column keeps to the first
way that was found.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analyser.holding.order import Pair
from analyser.holding.walks import Laid, Steps, Walk

Fired = tuple[int | Laid, int, bool, int, Walk | None]
"""How something became borne (True) or pinned: over a contact (from, to, ..., columns, None), or by a
rope (the rope, its stop, ..., columns, the walk)."""


@dataclass(frozen=True, slots=True)
class Clash:
    """Two things that cannot both be, in some columns: a pair of places higher and lower, or (the stopper with its
    side, two stops) a stopper jammed at two places."""

    columns: int
    pair: tuple[int, int] = (-1, -1)
    jam: tuple[tuple[str, bool], int, int] | None = None


class Derivation:
    """The first way of each column, followed back from what is asked."""

    def __init__(
        self, log: Sequence[Fired], heights: Mapping[int, tuple[float, float]], told: Sequence[tuple[Pair, int]] = ()
    ) -> None:
        """`log` holds everything that became borne or pinned after the beginning; `heights` are what the file
        tells; `told` is what follows besides (`order.py`)."""
        self.log = log
        self.heights = heights
        self.told = told
        self.higher: dict[tuple[int, int], int] = {}
        self.jammed: dict[tuple[str, bool, int], int] = {}
        self.strands: dict[tuple[int, int], int] = {}
        """The strands used: the rope's number and the strand's."""
        self.parts: dict[int, int] = {}
        """The parts that had to be borne or pinned."""
        self.left: dict[int, int] = {}
        """Of the places, the columns in which they lie on a round of heights."""

    def clashes(self, asked: Mapping[int, int]) -> int:
        """The columns in which what makes these borne cannot be."""
        self._follow(asked)
        bits = 0
        for (a, b), columns in self.higher.items():
            if a < b:
                bits |= columns & self.higher.get((b, a), 0)
        bits |= self._jams()
        self.left = self._rounds()
        for columns in self.left.values():
            bits |= columns
        return bits

    def _follow(self, asked: Mapping[int, int]) -> None:
        borne: dict[int, int] = dict(asked)
        pinned: dict[int, int] = {}
        for what, target, up, new, walk in reversed(self.log):
            needed = borne if up else pinned
            bits = needed.get(target, 0) if walk is None else needed.get(walk.laid.line.stops[target].v, 0)
            bits &= new
            if not bits:
                continue
            if walk is None:
                assert isinstance(what, int)
                needed[what] = needed.get(what, 0) | bits
                continue
            down: dict[int, int] = {}
            high: dict[int, int] = {}
            Steps(walk, self.higher, self.jammed, (down, high), self.strands).to(target, up, bits)
            for v, more in down.items():
                borne[v] = borne.get(v, 0) | more
            for v, more in high.items():
                pinned[v] = pinned.get(v, 0) | more
        for needed in (borne, pinned):
            for v, bits in needed.items():
                self.parts[v] = self.parts.get(v, 0) | bits

    def _jams(self) -> int:
        bits = 0
        seen: dict[tuple[str, bool], int] = {}
        for (stopper, forward, _), columns in self.jammed.items():
            before = seen.get((stopper, forward), 0)
            bits |= before & columns
            seen[stopper, forward] = before | columns
        return bits

    def _rounds(self) -> dict[int, int]:
        """Take away what nothing is above, or nothing below, until nothing goes: what is left goes round."""
        edges = [(pair, bits) for pair, bits in self.higher.items() if bits]
        if not _may_go_round(pair for pair, _ in edges) and not self.heights:
            return {}
        everywhere = 0
        for _, bits in edges:
            everywhere |= bits
        edges += [(pair, bits & everywhere) for pair, bits in self.told if bits & everywhere]
        places = {place for pair, _ in edges for place in pair}
        told = sorted((place for place in places if place in self.heights), key=lambda p: self.heights[p])
        for k, low in enumerate(told):
            for high in told[k + 1 :]:
                if self.heights[low][1] < self.heights[high][0]:
                    edges.append(((high, low), everywhere))
        left = dict.fromkeys(places, everywhere)
        grown = True
        while grown:
            grown = False
            above: dict[int, int] = {}
            below: dict[int, int] = {}
            for (high, low), bits in edges:
                both = bits & left[high] & left[low]
                if both:
                    above[low] = above.get(low, 0) | both
                    below[high] = below.get(high, 0) | both
            for place in places:
                kept = left[place] & above.get(place, 0) & below.get(place, 0)
                if kept != left[place]:
                    left[place] = kept
                    grown = True
        return {place: bits for place, bits in left.items() if bits}

    def first_clash(self, columns: int, settled: Mapping[Pair, int]) -> Clash | None:
        """One clash that is there in some of these columns, and can still be settled either way."""
        for (a, b), bits in sorted(self.higher.items()):
            both = bits & self.higher.get((b, a), 0) & columns
            if a < b and both:
                return Clash(both, (a, b))
        jams = sorted(self.jammed.items())
        for k, ((stopper, forward, stop), bits) in enumerate(jams):
            for (other, ahead, place), more in jams[k + 1 :]:
                both = bits & more & columns
                if (stopper, forward) == (other, ahead) and both:
                    return Clash(both, jam=((stopper, forward), stop, place))
        for (high, low), bits in sorted(self.higher.items()):
            both = bits & self.left.get(high, 0) & self.left.get(low, 0) & columns & ~settled.get((high, low), 0)
            if both:
                return Clash(both, (high, low))
        return None


def _may_go_round(pairs: object) -> bool:
    """Can these pairs close a round, or are they a forest?"""
    above: dict[int, int] = {}

    def root(place: int) -> int:
        while above.get(place, place) != place:
            place = above[place]
        return place

    seen: set[frozenset[int]] = set()
    for a, b in pairs:  # type: ignore[attr-defined]
        one = frozenset((a, b))
        if one in seen:
            continue
        seen.add(one)
        x, y = root(a), root(b)
        if x == y:
            return True
        above[x] = y
    return False
