"""What follows of heights where places and *low* contradict each other, as one order.

Places decide. Else what lies low lies under all that doesn't, and ground below lies under everything
(`rules.md` section 3). Mostly these agree, and then the order of two places follows from the two alone.
Where something low is written above something that isn't, more follows by way of it: ground below sam,
at 8 m, lies under his harness, and so does whatever lies at 4 m.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

Pair = tuple[int, int]
"""Two places, the higher one first."""
Heights = Mapping[int, tuple[float, float]]


class Told:
    """The places of one question: those that the file tells, and those that ropes come to."""

    def __init__(self, heights: Heights, there: Sequence[int], low: Sequence[int], under: Sequence[int]) -> None:
        """`there`, `low` and `under` are columns for each place: is it there, low, ground below itself."""
        self.heights = heights
        self.there = there
        self.low = low
        self.under = under
        self.placed = sorted((v for v in heights if there[v]), key=lambda v: (heights[v], v))

    def edges(self, others: Sequence[int]) -> list[tuple[Pair, int]]:
        """Pairs of which the first lies higher, with the columns, where places and *low* contradict each other:
        what they tell follows from these (numbers beyond the places stand for levels between). `others`: places that
        the file doesn't tell."""
        high, lying, ground = self._levels()
        beneath_low = self._beneath(lying)
        beneath_ground = self._beneath(ground)
        odd = odd_ground = odd_for_placed = 0
        for v in self.placed:
            odd |= beneath_low[v] & high[v] | beneath_ground[v] & (high[v] | lying[v])
            odd_ground |= beneath_ground[v] & high[v]
            odd_for_placed |= beneath_ground[v] & high[v] & ~beneath_low[v]
        if not odd:
            return []
        # levels over all that is low (over ground below) and placed; over all of it that isn't
        over_low, over_ground, over_low_somewhere, over_ground_somewhere = range(len(self.there), len(self.there) + 4)
        found: list[tuple[Pair, int]] = []
        for v in (*self.placed, *others):
            placed = v in self.heights
            kept = lying[v] & ~(odd_for_placed if placed else odd_ground)
            found += [
                ((v, over_low), high[v] & ~beneath_low.get(v, 0)),
                ((v, over_low_somewhere), high[v]),
                ((v, over_ground), (high[v] | kept) & ~beneath_ground.get(v, 0)),
                ((v, over_ground_somewhere), high[v] | lying[v]),
                ((over_low if placed else over_low_somewhere, v), lying[v]),
                ((over_ground if placed else over_ground_somewhere, v), ground[v]),
            ]
        found += self._by_place(len(self.there) + 4)
        return [(pair, bits & odd) for pair, bits in found if bits & odd]

    def _levels(self) -> tuple[list[int], list[int], list[int]]:
        """Where each place is neither low nor ground below, is low, is ground below."""
        triples = zip(self.there, self.low, self.under, strict=True)
        high, lying, ground = zip(*((t & ~(a | b), t & a & ~b, t & b) for t, a, b in triples), strict=True)
        return list(high), list(lying), list(ground)

    def _beneath(self, these: Sequence[int]) -> dict[int, int]:
        """For each placed part, where one of these is placed above it."""
        found: dict[int, int] = {}
        by_least = sorted(self.placed, key=lambda v: self.heights[v][0])
        bits = 0
        for v in sorted(self.placed, key=lambda v: -self.heights[v][1]):
            while by_least and self.heights[by_least[-1]][0] > self.heights[v][1]:
                bits |= these[by_least.pop()]
            found[v] = bits
        return found

    def _by_place(self, first: int) -> list[tuple[Pair, int]]:
        """A chain of levels, numbered from `first`: each part lies over the next lower one, and under that at its own
        greatest height."""
        levels = sorted({self.heights[v][1] for v in self.placed})
        found: list[tuple[Pair, int]] = [((first + k + 1, first + k), -1) for k in range(len(levels) - 1)]
        number = {height: first + k for k, height in enumerate(levels)}
        for v in self.placed:
            least, most = self.heights[v]
            found.append(((number[most], v), self.there[v]))
            below = [height for height in levels if height < least]
            if below:
                found.append(((v, number[below[-1]]), self.there[v]))
        return found
