"""Words on a picture to scale: beside what they speak of, on no stroke and on no other words.

Strokes and boxes are noted as they are drawn; words are placed when all is there, the heaviest first. Each takes the
nearest clear place about its spot; from further off a fine stroke leads to it. Where no place is clear, they stand in
the margin.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from analyser.pages.drawing.colours import INK, QUIET
from analyser.pages.drawing.svg import Sheet, Spot, room

Box = tuple[float, float, float, float]
Stroke = tuple[Spot, Spot]
SIZE = 10.5
"""Points of the letters."""
NEAR = 24.0
"""Points from a spot from which a fine stroke leads to its words."""
RINGS = 16
"""How far out a place is looked for, in steps."""


@dataclass(frozen=True, slots=True)
class Label:
    at: Spot
    words: str
    bold: bool
    quiet: bool
    rank: int


class Clear:
    """The room of a picture that is left for words: `inside` is where they may stand."""

    def __init__(self, sheet: Sheet, inside: Box) -> None:
        self.sheet, self.inside = sheet, inside
        self.strokes: list[tuple[Spot, Spot, float]] = []
        self.boxes: list[Box] = []
        self.words: list[Box] = []
        self.labels: list[Label] = []

    def stroke(self, spots: Sequence[Spot], wide: float = 1.0) -> None:
        """Keep words off a line through these spots."""
        self.strokes += [(a, b, wide / 2) for a, b in pairwise(spots)]

    def box(self, box: Box) -> None:
        """Keep words off a box."""
        self.boxes.append(box)

    def _in_margin(self, one: Label, wide: float) -> tuple[Box, Spot, str]:
        """A place at the right or the left rim, at the height of the spot or as near to it as nothing stands there."""
        left, top, right, bottom = self.inside
        places = []
        for k in range(int((bottom - top) / 4)):
            y = top + SIZE + 4 * k
            for start, x, anchor in ((right - wide, right - 2, "end"), (left, left + 2, "start")):
                box = (start, y - SIZE, start + wide, y + 3)
                onto = sum(_meet(b, box) for b in self.boxes)
                over = sum(_crosses(box, a, b, w) for a, b, w in self.strokes)
                places.append((10 * onto + over, abs(y - one.at[1]), anchor, box, (x, y)))
        _, _, anchor, box, spot = min(places)
        return box, spot, anchor

    def free(self, a: Spot, b: Spot, wide: float) -> bool:
        """Would a stroke from `a` to `b` keep `wide` off all strokes and boxes?"""
        box = (min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))
        inside = self.inside
        if box[0] < inside[0] or box[2] > inside[2] or box[1] < inside[1] or box[3] > inside[3]:
            return False
        if any(_crosses(other, a, b, 1.0) for other in self.boxes):
            return False
        for t in range(9):
            x, y = a[0] + (b[0] - a[0]) * t / 8, a[1] + (b[1] - a[1]) * t / 8
            spot = (x - 1, y - 1, x + 1, y + 1)
            if any(_crosses(spot, c, d, half + wide) for c, d, half in self.strokes):
                return False
        return True

    def later(self, at: Spot, words: str, *, bold: bool = False, quiet: bool = False, rank: int = 1) -> None:
        """Words to be put beside a spot when all is drawn; the lower the rank the sooner."""
        self.labels.append(Label(at, words, bold, quiet, rank))

    def put(self) -> None:
        """All words, each in its place."""
        for one in sorted(self.labels, key=lambda one: (one.rank, one.at, one.words)):
            self._put(one)

    def _put(self, one: Label) -> None:
        wide = room(one.words, SIZE) + 4
        found = next((place for place in _beside(one.at, wide) if self._clear(place[0], one.at)), None)
        box, spot, anchor = found or self._in_margin(one, wide)
        self.boxes.append(box)
        self.words.append(box)
        edge = _nearest(box, one.at)
        if math.dist(one.at, edge) > NEAR:
            self.sheet.line([one.at, edge], 0.5, QUIET)
            self.stroke([one.at, edge])
        self.sheet.words(spot, one.words, SIZE, anchor, QUIET if one.quiet else INK, one.bold)

    def _clear(self, box: Box, at: Spot) -> bool:
        """Is a box on nothing, and the way to it over no words?"""
        left, top, right, bottom = self.inside
        if box[0] < left or box[2] > right or box[1] < top or box[3] > bottom:
            return False
        if any(_meet(b, box) for b in self.boxes):
            return False
        if any(_crosses(box, a, b, wide + 1) for a, b, wide in self.strokes):
            return False
        edge = _nearest(box, at)
        return math.dist(at, edge) <= NEAR or not any(_crosses(words, at, edge, 0.0) for words in self.words)


def _beside(at: Spot, wide: float) -> Iterator[tuple[Box, Spot, str]]:
    """Places for words about a spot, the nearest first, right before left."""
    x, y = at
    high = SIZE + 3
    places = []
    for ring in range(RINGS):
        for step in range(ring + 1):
            out = 7.0 + 9.0 * (ring - step)
            for down in sorted({step * high * 0.7, -step * high * 0.7}):
                for sign, anchor in ((1, "start"), (-1, "end")):
                    start = x + sign * out
                    edges = (start, start + wide) if sign > 0 else (start - wide, start)
                    box = (edges[0] - 1, y + down - SIZE + 3, edges[1] + 1, y + down + 6)
                    far = math.hypot(out, down)
                    places.append((far, sign < 0, abs(down), (box, (start, y + down + 4), anchor)))
        centre = (x - wide / 2, x + wide / 2)
        for down in (-(9 + ring * high * 0.7), 9 + high + ring * high * 0.7):
            box = (centre[0] - 1, y + down - SIZE, centre[1] + 1, y + down + 3)
            places.append((abs(down), False, 0.0, (box, (x, y + down), "middle")))
    for _, _, _, place in sorted(places, key=lambda one: (round(one[0], 3), one[1], one[2])):
        yield place


def _meet(a: Box, b: Box) -> bool:
    """Have two boxes room in common?"""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _nearest(box: Box, at: Spot) -> Spot:
    """Of a box, the spot nearest to another."""
    return (min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3]))


def _crosses(box: Box, a: Spot, b: Spot, wide: float) -> bool:
    """Does a stroke from `a` to `b` come within `wide` of a box? (Liang and Barsky's clipping, 1984)"""
    left, top, right, bottom = box[0] - wide, box[1] - wide, box[2] + wide, box[3] + wide
    first, last = 0.0, 1.0
    dx, dy = b[0] - a[0], b[1] - a[1]
    for step, low, high in ((dx, left - a[0], right - a[0]), (dy, top - a[1], bottom - a[1])):
        if step == 0:
            if low > 0 or high < 0:
                return False
            continue
        one, two = low / step, high / step
        first, last = max(first, min(one, two)), min(last, max(one, two))
        if first > last:
            return False
    return True
