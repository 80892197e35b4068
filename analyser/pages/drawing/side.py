"""The rig at rest, to scale, from the side or the front: pulls by width and in words, slack lines dashed.

Seen along one level axis: the other one goes across the page, height goes up. After failures the rest
before is drawn beneath, thin and grey.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from analyser.checking.finding import listed, verb
from analyser.pages.drawing.colours import INK, LOST, PAPER, QUIET
from analyser.pages.drawing.svg import Sheet, Spot, room, ticks
from analyser.rig.model import Nature, Part, Rig

if TYPE_CHECKING:
    from analyser.forces.equilibrium import Equilibrium, LineForce

WIDE, HIGH, MARGIN, HEAD, FOOT = 760.0, 560.0, 110.0, 76.0, 64.0
"""Points of the page: the drawing's room, the margins about it, the heading and the footing."""
THICK = 6.0
"""How wide the line with the largest pull is."""
SIZE = 10.5
SLACK, BEFORE = "5 4", "1 3"
Point = tuple[float, float, float]
Box = tuple[float, float, float, float]
SIDE, FRONT = 0, 1
"""Which of x and y goes across the page."""


def side_view(
    rig: Rig, found: Equilibrium, before: Equilibrium | None = None, failed: Sequence[str] = (), across: int = SIDE
) -> str:
    """An SVG of the rig at rest; `before` is its rest before `failed`."""
    return _View(rig, found, before, failed, across).svg()


class _View:
    def __init__(
        self, rig: Rig, found: Equilibrium, before: Equilibrium | None, failed: Sequence[str], across: int
    ) -> None:
        from analyser.forces.grounds import ground_of

        self.rig, self.found, self.before, self.failed, self.across = rig, found, before, failed, across
        self.ground = ground_of(rig)
        places = [at for one in (found, before) if one for at in self._places(one)]
        heights = [at[2] for at in places] + ([self.ground.height] if self.ground else [])
        left, low = min(at[across] for at in places), min(heights)
        right, high = max(at[across] for at in places), max(heights)
        self.scale = min(WIDE / max(right - left, 0.5), HIGH / max(high - low, 0.5))
        wide, tall = self.scale * (right - left), self.scale * (high - low)
        self.width = max(wide, 420.0) + 2 * MARGIN
        self.left, self.top = left, high
        self.from_left = (self.width - wide) / 2
        self.height = HEAD + tall + 50 + FOOT
        how = f"after {listed(list(failed))}" if failed else "at rest"
        view = "from the side" if across == SIDE else "from the front"
        self.sheet = Sheet(self.width, self.height, f"{rig.title}, {view}, {how}")
        self.sheet.words((24, 26), rig.title, 15, bold=True)
        self.sheet.words((24, 44), f"{view}, to scale, {how}: pull in kN", 11, colour=QUIET)
        self.taken: list[Box] = []
        self.labels: list[tuple[Spot, str, bool, bool]] = []

    def svg(self) -> str:
        self._ground()
        if self.before is not None:
            for line in self.before.lines:
                self.sheet.line(map(self.spot, line.places), 1.0, LOST, BEFORE)
            self._bodies(self.before, ghost=True)
        most = max((line.tension for line in self.found.lines), default=0.0)
        for line in sorted(self.found.lines, key=lambda line: (line.tension, line.name)):
            if line.slack:
                self.sheet.line(map(self.spot, line.places), 1.2, INK, SLACK)
            else:
                self.sheet.line(map(self.spot, line.places), 1 + (THICK - 1) * line.tension / most)
        self._fixed()
        self._bodies(self.found, ghost=False)
        for line in sorted(self.found.lines, key=lambda line: (-line.tension, line.name)):
            name = self.found.called(line)
            self._later(self._middle(line), f"{name} slack" if line.slack else f"{name} {line.tension / 1000:.2f} kN")
        for at, words, bold, quiet in self.labels:
            self._label(at, words, bold, quiet)
        self._footing()
        return self.sheet.svg()

    def spot(self, at: Point) -> Spot:
        return self.from_left + self.scale * (at[self.across] - self.left), HEAD + self.scale * (self.top - at[2])

    def _places(self, one: Equilibrium) -> Iterator[Point]:
        for line in one.lines:
            yield from line.places
        for name, at in one.at.items():
            if name in one.reactions or self.rig.parts[name].is_body or self.rig.parts[name].nature is Nature.EDGE:
                yield at
        for body in self.rig.bodies:
            if body.name not in one.falls:
                yield from (at for _, at in self._points(one, body))

    def _ground(self) -> None:
        """The ground below, where a part that lies there tells its height: a stroke with hatching under it."""
        if self.ground is None:
            return
        y = HEAD + self.scale * (self.top - self.ground.height)
        start, end = MARGIN / 2, self.width - MARGIN / 2
        self.sheet.line([(start, y), (end, y)], 1.5)
        for k in range(int((end - start) / 14)):
            x = start + 14 * (k + 1)
            self.sheet.line([(x, y), (x - 7, y + 7)], 0.8)
        self.taken.append((start, y - 2, end, y + 8))
        self._later((start, y + 8), f"ground, at the height of {self.ground.by}", quiet=True)

    def _fixed(self) -> None:
        """Anchors and footings as wedges, edges as corners, those who stand as heads on a stroke."""
        for part in self.rig.parts.values():
            at = self.found.at.get(part.name)
            loaded = part.name in self.found.reactions
            if at is None or not (loaded or part.nature is Nature.EDGE) or part.nature not in FIXED:
                continue
            x, y = self.spot(at)
            self.taken.append((x - 8, y - 12, x + 8, y + 8))
            if part.nature is Nature.EDGE:
                self.sheet.line([(x - 12, y), (x, y), (x, y + 12)], 2.5)
                self._later((x, y), f"edge {part.name}")
            elif part.standing:
                self.sheet.circle((x, y), 5)
                self.sheet.line([(x - 9, y + 8), (x + 9, y + 8)], 2)
                self._later((x, y), f"{part.name}, standing", bold=True)
            else:
                self.sheet.shape([(x, y), (x - 7, y - 11), (x + 7, y - 11)], INK)
                self._later((x, y - 8), part.name, bold=True)

    def _bodies(self, one: Equilibrium, *, ghost: bool) -> None:
        """People as rings, loads as squares, litters as bars with their head filled."""
        colour, fill = (LOST, PAPER) if ghost else (INK, PAPER)
        for body in self.rig.bodies:
            at = one.at.get(body.name)
            if at is None or body.name in one.falls or body.standing:
                continue
            x, y = self.spot(at)
            ends = [(point, self.spot(at)) for point, at in self._points(one, body)]
            if body.nature is Nature.LITTER and len(ends) > 1:
                a, b = max(((p, q) for p in ends for q in ends), key=lambda pair: math.dist(pair[0][1], pair[1][1]))
                self.sheet.line([a[1], b[1]], 9, colour)
                self.sheet.line([a[1], b[1]], 6, fill)
                for point, spot in ends:
                    if point.split(".", 1)[1].startswith("head"):
                        self.sheet.circle(spot, 4, colour, colour)
            elif body.nature is Nature.LOAD:
                self.sheet.shape([(x - 7, y - 7), (x + 7, y - 7), (x + 7, y + 7), (x - 7, y + 7)], fill, colour, 1.6)
            else:
                self.sheet.circle((x, y), 6, fill, colour, 1.6)
            if ghost and math.dist(at, self.found.at.get(body.name, at)) * self.scale < 2:
                continue
            self._later((x, y), f"{body.name} before" if ghost else body.name, bold=not ghost, quiet=ghost)
        if not ghost and one.falls:
            words = f"{listed(one.falls)} {verb(one.falls, 'FALLS', 'FALL')}: not drawn"
            self.sheet.words((24, 60), words, 12, bold=True)

    def _points(self, one: Equilibrium, body: Part) -> list[tuple[str, Point]]:
        """Where a body's points are: as told, else turned with the body from where they were before."""
        pose = next((pose for pose in one.poses if pose.name == body.name), None)
        was = next((pose for pose in self.before.poses if pose.name == body.name), None) if self.before else None
        found = []
        for point in body.points:
            if point in one.at:
                found.append((point, one.at[point]))
            elif pose and was and self.before and point in self.before.at:
                arm = [a - b for a, b in zip(self.before.at[point], was.centre, strict=True)]
                own = [sum(was.turn[i][k] * arm[i] for i in range(3)) for k in range(3)]
                x, y, z = (
                    c + sum(row[k] * own[k] for k in range(3)) for c, row in zip(pose.centre, pose.turn, strict=True)
                )
                found.append((point, (x, y, z)))
        return found

    def _middle(self, line: LineForce) -> Spot:
        """The middle of a line's longest stretch on the page."""
        spots = [self.spot(at) for at in line.places]
        a, b = max(pairwise(spots), key=lambda pair: math.dist(*pair))
        return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2

    def _later(self, at: Spot, words: str, bold: bool = False, quiet: bool = False) -> None:
        """Words that are put on when every stroke is drawn."""
        self.labels.append((at, words, bold, quiet))

    def _label(self, at: Spot, words: str, bold: bool = False, quiet: bool = False) -> None:
        """Words beside a spot where no others stand yet; a fine stroke leads to them from further off."""
        wide = room(words, SIZE) + 4
        places = list(_beside(at, wide))
        clear = (p for p in places if self._inside(p[0]) and not any(_overlap(p[0], other) for other in self.taken))
        box, spot, anchor = next(clear, places[0])
        self.taken.append(box)
        if math.dist(at, spot) > 24:
            self.sheet.line([at, (spot[0], spot[1] - 4)], 0.5, QUIET)
        self.sheet.words(spot, words, SIZE, anchor, QUIET if quiet else INK, bold)

    def _inside(self, box: Box) -> bool:
        left, top, right, bottom = box
        return left >= 4 and right <= self.width - 4 and top >= HEAD - 14 and bottom <= self.height - FOOT

    def _footing(self) -> None:
        """The scale, what the strokes mean, and the caution."""
        y = self.height - 42
        metres = ticks(0, 120 / self.scale, 2)[-1]
        self.sheet.line([(24, y - 4), (24, y), (24 + metres * self.scale, y), (24 + metres * self.scale, y - 4)], 1.5)
        self.sheet.words((30 + metres * self.scale, y), f"{metres:g} m", SIZE)
        signs = "wider: more pull; dashed: slack, it hangs where it may" + (
            "; grey dots: before the failure" if self.before else ""
        )
        self.sheet.words((24, y + 16), signs, SIZE)
        caution = "A model of what was written, not of the rope in the hand."
        self.sheet.words((24, y + 31), caution, SIZE, colour=QUIET)


FIXED = (Nature.GROUND, Nature.FRAME, Nature.EDGE, Nature.PERSON)


def _beside(at: Spot, wide: float) -> Iterator[tuple[Box, Spot, str]]:
    """Places for words about a spot, the nearest first, right before left."""
    x, y = at
    high = SIZE + 3
    for ring in range(1, 9):
        for step in range(ring + 1):
            for down in sorted({step * high, -step * high}):
                out = 10.0 + 6.0 * (ring - step)
                for sign, anchor in ((1, "start"), (-1, "end")):
                    start = x + sign * out
                    edges = (start, start + wide) if sign > 0 else (start - wide, start)
                    yield (edges[0], y + down - SIZE + 3, edges[1], y + down + 5), (start, y + down + 4), anchor


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
