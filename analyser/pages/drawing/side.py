"""The rig at rest, to scale, from the side or the front: pulls by width and in words, slack lines dashed.

Seen along one level axis: the other one goes across the page, height goes up. Frames stand on their legs, strands
run over their wheels, litters lie as they lie; each anchor has an arrow the way it is pulled. After failures the rest
before is drawn beneath, thin and grey.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from analyser.checking.sentences import listed, verb
from analyser.pages.drawing.bodies_to_scale import Point, litter, whole_body
from analyser.pages.drawing.clear_places import Clear
from analyser.pages.drawing.colours import INK, LOST, PAPER, QUIET, SHADE
from analyser.pages.drawing.svg import Sheet, Spot, room, scale_bar
from analyser.rig.figures import as_force, as_length, force_number, units
from analyser.rig.model import Nature, Part, Rig, Role, Rope

if TYPE_CHECKING:
    from analyser.forces.carried import PartForce
    from analyser.forces.equilibrium import Equilibrium, LineForce
    from analyser.forces.frames import FrameForce

WIDE, HIGH, MARGIN, HEAD, FOOT = 700.0, 520.0, 150.0, 84.0, 72.0
"""Points of the page: the drawing's room, the margins about it, the heading and the footing."""
THICK = 5.0
"""How wide the line with the largest pull is."""
SIZE = 10.5
STRANDS = 6.0
"""Points between strands that run beside each other."""
ARROW = 34.0
"""Points of the arrow of an anchor's pull."""
LEAST_ANGLE = 20.0
"""Degrees between two lines at a point from which that is told."""
SLACK, BEFORE, GUY, REACH = "5 4", "1 3", "9 3 2 3", "2 3"
SIDE, FRONT = 0, 1
"""Which of x and y goes across the page."""


def side_view(
    rig: Rig,
    found: Equilibrium,
    before: Equilibrium | None = None,
    failed: Sequence[str] = (),
    across: int = SIDE,
    *,
    parts: Sequence[PartForce] = (),
) -> str:
    """An SVG of the rig at rest; `before` is its rest before `failed`; `parts`: what each part carries, listed
    beside the picture."""
    return _View(rig, found, before, failed, across, parts).svg()


class _View:
    def __init__(
        self,
        rig: Rig,
        found: Equilibrium,
        before: Equilibrium | None,
        failed: Sequence[str],
        across: int,
        parts: Sequence[PartForce],
    ) -> None:
        from analyser.forces.frames import frame_forces
        from analyser.forces.grounds import ground_of

        self.rig, self.found, self.before, self.failed, self.across = rig, found, before, failed, across
        self.ground = ground_of(rig)
        self.frames = frame_forces(rig, found)
        self.listed = [one for one in parts if one.force >= 5 and rig.parts[one.name].nature in SHOWN]
        places = [at for one in (found, before) if one for at in self._places(one)]
        heights = [at[2] for at in places] + ([self.ground.height] if self.ground else [])
        left, low = min(at[across] for at in places), min(heights)
        right, high = max(at[across] for at in places), max(heights)
        self.scale = min(WIDE / max(right - left, 0.5), HIGH / max(high - low, 0.5))
        wide, tall = self.scale * (right - left), self.scale * (high - low)
        drawn = max(wide, 420.0) + 2 * MARGIN
        self.column = drawn
        self.width = drawn + (COLUMN if self.listed else 0.0)
        self.left, self.top = left, high
        self.from_left = (drawn - wide) / 2
        self.height = max(HEAD + tall + 60 + FOOT, HEAD + FOOT + (len(self.listed) + 3) * (SIZE + 4))
        how = f"after {listed(list(failed))}" if failed else "at rest"
        view = "from the side" if across == SIDE else "from the front"
        self.sheet = Sheet(self.width, self.height, f"{rig.title}, {view}, {how}")
        self.sheet.words((24, 26), rig.title, 15, bold=True)
        self.sheet.words((24, 44), f"{view}, to scale, {how}: pull in {units().force}", 11, colour=QUIET)
        self.clear = Clear(self.sheet, (6, HEAD - 16, drawn - 6, self.height - FOOT))
        self.strands: Counter[tuple[Spot, Spot]] = Counter()
        self.laid: Counter[tuple[Spot, Spot]] = Counter()

    def svg(self) -> str:
        self._ground()
        self._edges()
        if self.before is not None:
            for line in self.before.lines:
                self.sheet.line(map(self.spot, line.places), 1.0, LOST, BEFORE)
            self._bodies(self.before, ghost=True)
        idle = list(self._idle())
        for line in self.found.lines:
            self.strands.update(_pair(*ends) for ends in pairwise(map(self.spot, line.places)) if ends[0] != ends[1])
        self.strands.update(_pair(*ends) for ends in idle)
        for frame in self.frames:
            self._frame(frame)
        for ends in idle:
            beside = self._beside(*ends)
            self.sheet.line(beside, 1.0, QUIET, SLACK)
            self.clear.stroke(beside)
        most = max((line.tension for line in self.found.lines), default=0.0)
        for line in sorted(self.found.lines, key=lambda line: (line.tension, line.name)):
            self._line(line, most)
        self._wheels()
        self._fixed()
        self._bodies(self.found, ghost=False)
        self._angles()
        self.clear.put()
        self._list()
        self._footing()
        return self.sheet.svg()

    def spot(self, at: Sequence[float]) -> Spot:
        x = self.from_left + self.scale * (at[self.across] - self.left)
        return round(x, 2), round(HEAD + self.scale * (self.top - at[2]), 2)

    def _places(self, one: Equilibrium) -> Iterator[Point]:
        for line in one.lines:
            yield from line.places
        feet = self.rig.stood_on
        for name, at in one.at.items():
            part = self.rig.parts[name]
            if name in one.reactions or name in feet or part.is_body or part.nature is Nature.EDGE:
                yield at
        for body in self.rig.bodies:
            if body.name not in one.falls:
                yield from (at for _, at in whole_body(one, self.before, body))
        for guy in one.solved.assembly.guys.values():
            yield from (one.at[s.part] for s in guy.rope.stations if s.part in one.at)

    # -- what stands still

    def _ground(self) -> None:
        """The ground below, where a part that lies there tells its height: a stroke with hatching under it."""
        if self.ground is None:
            return
        y = HEAD + self.scale * (self.top - self.ground.height)
        start, end = MARGIN / 2, self.column - MARGIN / 2
        self.sheet.line([(start, y), (end, y)], 1.5)
        for k in range(int((end - start) / 14)):
            x = start + 14 * (k + 1)
            self.sheet.line([(x, y), (x - 7, y + 7)], 0.8)
        self.clear.box((start, y - 2, end, y + 8))
        self.clear.later((start, y + 8), f"ground, at the height of {self.ground.by}", quiet=True, rank=3)

    def _edges(self) -> None:
        """Each edge as the corner of its rock: level towards the side on which its ropes are anchored, then down."""
        from analyser.forces.edging import inwards

        for part in self.rig.parts.values():
            if part.nature is not Nature.EDGE or part.at is None:
                continue
            x, y = self.spot(part.at)
            way = next((to for rope in self.rig.ropes for to in [inwards(self.rig, rope, part)] if to), None)
            side = way[self.across] if way else 0.0
            sign = 1 if side > 0.1 else -1 if side < -0.1 else 0
            level = [(x + sign * 44, y), (x, y)] if sign else [(x - 14, y), (x + 14, y)]
            self.sheet.line([*level, (x, y + 40)] if sign else level, 2.5)
            for k in range(1, 5 if sign else 1):
                self.sheet.line([(x + sign * 9 * k, y), (x + sign * (9 * k + 6), y + 7)], 0.8)
                self.sheet.line([(x, y + 8 * k), (x + sign * 7, y + 8 * k + 6)], 0.8)
            self.clear.box((min(x, x + sign * 48) - 4, y - 3, max(x, x + sign * 48) + 4, y + 44 if sign else y + 3))
            pull = self.found.reactions.get(part.name)
            told = f" {as_force(math.hypot(*pull))}" if pull and math.hypot(*pull) > 5 else ""
            self.clear.later((x, y), f"edge {part.name}{told}")

    def _fixed(self) -> None:
        """Anchors and footings as wedges, with an arrow the way they are pulled; those who stand as heads."""
        feet = {foot for frame in self.frames for foot in frame.legs}
        more = {station.part for rope in self.rig.ropes for station in rope.stations if station.role is Role.HAND}
        more |= {name for guy in self.found.solved.assembly.guys.values() for name in self._ends_of(guy.rope)}
        for part in self.rig.parts.values():
            at = self.found.at.get(part.name)
            pull = self.found.reactions.get(part.name)
            if at is None or part.nature not in FIXED or not (pull or part.name in feet | more):
                continue
            x, y = self.spot(at)
            if part.standing:
                self.sheet.circle((x, y), 5, PAPER)
                self.sheet.line([(x - 9, y + 8), (x + 9, y + 8)], 2)
                self.clear.box((x - 9, y - 6, x + 9, y + 9))
                self.clear.later((x, y), f"{part.name}, standing{self._pulled(part, pull)}", bold=True)
                continue
            if part.name in feet and not pull:
                self.sheet.shape([(x, y), (x - 6, y + 8), (x + 6, y + 8)], INK)
                self.clear.box((x - 7, y - 1, x + 7, y + 9))
                self.clear.later((x, y + 6), f"{part.name} {self._push(part.name)}", bold=True)
                continue
            if part.nature is not Nature.FRAME:
                self.sheet.shape([(x, y), (x - 7, y - 11), (x + 7, y - 11)], INK)
                self.clear.box((x - 8, y - 12, x + 8, y + 1))
            self._arrow(at, pull)
            words = f"{part.name}{self._pulled(part, pull)}"
            self.clear.later((x, y - (7 if part.nature is not Nature.FRAME else 0)), words, bold=True, rank=0)

    def _ends_of(self, rope: Rope) -> set[str]:
        """The ground that a rope is tied to, directly or over what touches it."""
        told = set()
        for station in rope.stations:
            near = {station.part, *self.rig.touching.get(station.part, ())}
            near |= {other for one in near for other in self.rig.touching.get(one, ())}
            told |= {one for one in near if self.rig.parts[one].nature is Nature.GROUND}
        return told

    def _pulled(self, part: Part, pull: Point | None) -> str:
        """` 2.50 kN, 79 deg off plumb`; for less than nothing, nothing."""
        if pull is None or math.hypot(*pull) < 5:
            return ""
        angle = math.degrees(math.atan2(math.hypot(pull[0], pull[1]), -pull[2]))
        return f" {as_force(math.hypot(*pull))}, {angle:.0f} deg off plumb"

    def _push(self, foot: str) -> str:
        frame = next(one for one in self.frames if foot in one.legs)
        low, high = frame.bands[foot]
        if frame.stand == "tips":
            return ""
        if frame.shared and high - low > 5:
            return f"{as_force(low)} or more" if math.isinf(high) else f"{force_number(low)} to {as_force(high)}"
        return as_force(frame.legs[foot])

    def _arrow(self, at: Point, pull: Point | None) -> None:
        """The way that an anchor is pulled: beside it, so that it lies on no rope."""
        if pull is None or math.hypot(*pull) < 5:
            return
        flat = math.hypot(pull[self.across], pull[2])
        if flat < 0.05 * math.hypot(*pull):
            return
        x, y = self.spot(at)
        dx, dy = pull[self.across] / flat, -pull[2] / flat
        first = 1 if dx <= 0 else -1
        ways = [(sign * out, on) for on in (14, 30) for out in (11, 17, 24) for sign in (first, -first)]
        tried = [(x + on * dx - out * dy, y + on * dy + out * dx) for out, on in ways]
        start = next((s for s in tried if self.clear.free(s, (s[0] + ARROW * dx, s[1] + ARROW * dy), 5)), tried[0])
        end = (start[0] + ARROW * dx, start[1] + ARROW * dy)
        self.sheet.line([start, end], 1.2)
        wings = [(end[0] - 7 * dx + s * 3.5 * dy, end[1] - 7 * dy - s * 3.5 * dx) for s in (1, -1)]
        self.sheet.shape([end, *wings], INK)
        self.clear.stroke([start, end], 6)

    def _frame(self, one: FrameForce) -> None:
        """Legs as tubes to their feet, guys as dashed and dotted lines, and where the line of its load meets the
        ground."""
        head = self.spot(self.found.at[one.name])
        for foot in one.legs:
            at = self.rig.parts[foot].at or self.found.at.get(foot)
            if at is None:
                continue
            end = self.spot(at)
            self.sheet.line([head, end], 6.0)
            self.sheet.line([head, end], 3.6, PAPER)
            self.clear.stroke([head, end], 6)
        for knot, guy in self.found.solved.assembly.guys.items():
            if knot not in one.guys:
                continue
            spots = [self.spot(self.found.at[s.part]) for s in guy.rope.stations if s.part in self.found.at]
            spots = [head, *(spot for spot in spots if spot != head)]
            self.sheet.line(spots, 1.4, INK, GUY)
            self.clear.stroke(spots)
            low, high = one.bands[knot]
            sure = high - low < 5
            told = as_force(one.guys[knot]) if sure else f"{as_force(low)} or more"
            self.clear.later(_half(spots), f"{guy.rope.name} {told}")
        meets = one.footprint.meets
        if meets is not None:
            end = self.spot(meets)
            self.sheet.line([head, end], 0.8, QUIET, REACH)
            self.sheet.line([(end[0] - 5, end[1] - 5), (end[0] + 5, end[1] + 5)], 1.4)
            self.sheet.line([(end[0] - 5, end[1] + 5), (end[0] + 5, end[1] - 5)], 1.4)
            self.clear.stroke([head, end])
            self.clear.box((end[0] - 6, end[1] - 6, end[0] + 6, end[1] + 6))
            margin = one.footprint.margin or 0.0
            where = f"{as_length(abs(margin))} {'inside' if margin >= 0 else 'OUTSIDE'} the feet"
            stands = {"tips": f"{one.name} TIPS: ", "on edge": f"{one.name} stands on edge: "}.get(str(one.stand), "")
            self.clear.later(end, f"{stands}load {where}", bold=bool(stands), rank=0)

    # -- ropes and what they run over

    def _line(self, line: LineForce, most: float) -> None:
        """One line, its strands beside any others that run along them."""
        wide = 1.2 if line.slack or not most else 1 + (THICK - 1) * line.tension / most
        stretches = []
        for a, b in pairwise(map(self.spot, line.places)):
            if a == b:
                continue
            ends = self._beside(a, b)
            stretches.append(ends)
            self.sheet.line(ends, wide, INK, SLACK if line.slack else "")
            self.clear.stroke(ends, wide)
        if stretches:
            name = self.found.called(line)
            words = f"{name} slack" if line.slack else f"{name} {as_force(line.tension)}"
            longest = max(stretches, key=lambda ends: math.dist(*ends))
            self.clear.later(_half(longest), words, rank=2 if line.slack else 1)

    def _beside(self, a: Spot, b: Spot) -> list[Spot]:
        """The next strand between two spots, beside those already there."""
        pair = _pair(a, b)
        aside = STRANDS * (self.laid[pair] - (self.strands[pair] - 1) / 2)
        self.laid[pair] += 1
        size = math.dist(*pair)
        nx, ny = -(pair[1][1] - pair[0][1]) / size * aside, (pair[1][0] - pair[0][0]) / size * aside
        return [(a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny)]

    def _idle(self) -> Iterator[tuple[Spot, Spot]]:
        """Strands of rope that carry nothing here: to hands, past a device that lets it run."""
        drawn = {(line.rope, *ends) for line in self.found.lines if line.rope for ends in pairwise(line.labels)}
        guys = {guy.rope.name for guy in self.found.solved.assembly.guys.values()}
        for rope in self.rig.ropes:
            if rope.name in guys or not any(line.rope == rope.name for line in self.found.lines):
                continue
            placed = [s for s in rope.stations if s.part in self.found.at and s.role is not Role.STOPPER]
            for one, two in pairwise(placed):
                if (rope.name, one.label, two.label) in drawn:
                    continue
                a, b = (self.spot(self.found.at[s.part]) for s in (one, two))
                if a != b:
                    yield a, b

    def _wheels(self) -> None:
        """A ring for each wheel that rope runs over."""
        running = {s.part for rope in self.rig.ropes for s in rope.stations if s.role is Role.RUN}
        for name in sorted(running):
            if self.rig.parts[name].nature is Nature.PULLEY and name in self.found.at:
                x, y = self.spot(self.found.at[name])
                self.sheet.circle((x, y), 5.5, PAPER, INK, 1.4)
                self.sheet.circle((x, y), 1.2, INK)
                self.clear.box((x - 6, y - 6, x + 6, y + 6))

    def _angles(self) -> None:
        """The angle between the two lines that stand widest apart above a point."""
        above: dict[Spot, list[float]] = {}
        for line in self.found.lines:
            if line.slack:
                continue
            spots = [self.spot(at) for at in line.places]
            for k, spot in enumerate(spots):
                for other in spots[max(k - 1, 0) : k] + spots[k + 1 : k + 2]:
                    if other[1] < spot[1] - 4:
                        above.setdefault(spot, []).append(math.atan2(spot[1] - other[1], other[0] - spot[0]))
        for (x, y), ways in sorted(above.items()):
            low, high = min(ways), max(ways)
            wide = math.degrees(high - low)
            if not LEAST_ANGLE < wide < 175:
                continue
            arc = [low + (high - low) * k / 12 for k in range(13)]
            spots = [(x + 20 * math.cos(t), y - 20 * math.sin(t)) for t in arc]
            self.sheet.line(spots, 0.8)
            self.clear.stroke(spots)
            middle = 0.5 * (low + high)
            self.clear.later(
                (x + 22 * math.cos(middle), y - 22 * math.sin(middle)), f"{wide:.0f} deg", quiet=True, rank=2
            )

    # -- bodies

    def _bodies(self, one: Equilibrium, *, ghost: bool) -> None:
        """People as rings, loads as squares, litters as they lie, with a head at their upper side."""
        colour = LOST if ghost else INK
        for body in self.rig.bodies:
            at = one.at.get(body.name)
            if at is None or body.name in one.falls or body.standing:
                continue
            x, y = self.spot(at)
            shape = litter(one, self.before, body) if body.nature is not Nature.PERSON else None
            if shape is not None:
                self.sheet.shape([self.spot(p) for p in shape.hull(self.across)], "none", colour, 1.6)
                self.sheet.line([self.spot(p) for p in shape.rail], 2.4, colour)
                if shape.head is not None:
                    x, y = self.spot(shape.head)
                    wide = max(3.0, 0.1 * self.scale)
                    self.sheet.circle((x, y), wide, SHADE, colour, 1.4)
                    self.clear.box((x - wide, y - wide, x + wide, y + wide))
                x, y = self.spot(at)
                spots = [self.spot(p) for p in shape.hull(self.across)]
                self.clear.stroke([*spots, spots[0]])
            elif body.nature is Nature.PERSON:
                self.sheet.circle((x, y), 6, PAPER, colour, 1.6)
                self.clear.box((x - 7, y - 7, x + 7, y + 7))
            else:
                self.sheet.shape([(x - 7, y - 7), (x + 7, y - 7), (x + 7, y + 7), (x - 7, y + 7)], PAPER, colour, 1.6)
                self.clear.box((x - 8, y - 8, x + 8, y + 8))
            if ghost and math.dist(at, self.found.at.get(body.name, at)) * self.scale < 2:
                continue
            self.clear.later(
                (x, y), self._called(one, body, ghost), bold=not ghost, quiet=ghost, rank=3 if ghost else 0
            )
        if not ghost and one.falls:
            words = f"{listed(one.falls)} {verb(one.falls, 'FALLS', 'FALL')}: not drawn"
            self.sheet.words((24, 60), words, 12, bold=True)

    def _called(self, one: Equilibrium, body: Part, ghost: bool) -> str:
        if ghost:
            return f"{body.name} before"
        pose = next((pose for pose in one.poses if pose.name == body.name), None)
        if pose is None:
            return body.name
        if pose.lies.over:
            return f"{body.name}, TURNED OVER"
        told = [body.name]
        if pose.head_up is not None and abs(pose.head_up) >= 1:
            told.append(f"head {abs(pose.head_up):.0f} deg {'up' if pose.head_up > 0 else 'DOWN'}")
        if pose.roll is not None and abs(pose.roll) >= 1:
            told.append(f"rolled {abs(pose.roll):.0f} deg")
        return ", ".join(told)

    # -- beside and below

    def _list(self) -> None:
        """What each part carries, in a column of its own."""
        if not self.listed:
            return
        x, y = self.column + 6, HEAD
        self.sheet.words((x, y), "part, carries, kN", SIZE, bold=True)
        for one in sorted(self.listed, key=lambda one: (-round(one.force, 3), one.name)):
            y += SIZE + 4
            name = one.name if room(one.name, SIZE) < COLUMN - 70 else f"{one.name[:22]} …"
            self.sheet.words((x, y), name, SIZE)
            least = "≤ " if one.at_most else ""
            self.sheet.words((self.width - 14, y), f"{least}{force_number(one.force)}", SIZE, "end")

    def _footing(self) -> None:
        """The scale, what the strokes mean, and the caution."""
        y = self.height - 52
        long, told = scale_bar(self.scale)
        self.sheet.line([(24, y - 4), (24, y), (24 + long, y), (24 + long, y - 4)], 1.5)
        self.sheet.words((30 + long, y), told, SIZE)
        signs = "wider: more pull; dashed: slack, it hangs where it may"
        if self.frames:
            signs += "; tube: leg; dash and dot: guy; x: where the line of a frame's load meets the ground"
        signs += "; grey dots: before the failure" if self.before else ""
        if room(signs, SIZE) > self.width - 40:
            cut = signs.rindex("; ", 0, int((self.width - 40) / room("x", SIZE)))
            self.sheet.words((24, y + 16), signs[: cut + 1], SIZE)
            signs, y = signs[cut + 2 :], y + 13
        self.sheet.words((24, y + 16), signs, SIZE)
        caution = "A model of what was written, not of the rope in the hand."
        self.sheet.words((24, y + 31), caution, SIZE, colour=QUIET)


COLUMN = 190.0
"""Points of the column in which parts are listed."""
FIXED = (Nature.GROUND, Nature.FRAME, Nature.PERSON)
SHOWN = (Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.GRIP, Nature.FRAME, Nature.HARNESS, Nature.PERSON)


def _pair(a: Spot, b: Spot) -> tuple[Spot, Spot]:
    return (a, b) if a < b else (b, a)


def _half(spots: Sequence[Spot]) -> Spot:
    """The middle of the longest stretch."""
    a, b = max(pairwise(spots), key=lambda pair: math.dist(*pair))
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
