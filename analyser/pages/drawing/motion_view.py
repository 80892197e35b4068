"""What happens in time, to scale from the side: a film that moves by itself (SMIL, no script), or a strip of stills.

A third of true speed, again and again, each time with a rest at the end. Lines are as wide as they pull; what
breaks and when, what is struck and how fast, and each greatest pull stand beside it on the scale of time. A strip
shows the moments that tell it, for paper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from analyser.checking.finding import listed
from analyser.pages.drawing.colours import INK, LOST, PAPER, QUIET, SHADE
from analyser.pages.drawing.placed import Placed
from analyser.pages.drawing.svg import Sheet, Spot, escaped, room, scale_bar, ticks, told
from analyser.rig.figures import as_force, as_length, as_speed
from analyser.rig.model import Nature, Rig

if TYPE_CHECKING:
    from analyser.forces.grounds import Ground
    from analyser.forces.motion import Motion
    from analyser.forces.points import Point
    from analyser.forces.stills import Still

SLOW = 3.0
"""Times slower than it happens."""
REST = 1.5
"""Seconds for which the end stands still."""
FRAMES = 48
THICK = 6.0
SIZE = 10.5
WIDE, HIGH, MARGIN, HEAD = 620.0, 460.0, 90.0, 64.0
SIDE, FRONT = 0, 1
CAUTION = "A model of what was written, not of the rope in the hand. Undamped; no rope's mass, no friction."


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened at a time, in words."""

    when: float
    words: str


def events(motion: Motion, called: dict[str, str]) -> list[Event]:
    """What broke, what was struck, and the greatest pulls, in order."""
    found = [Event(one.when, f"{one.broken.name.split('[')[0]} breaks") for one in motion.broken]
    for hit in motion.strikes:
        what = {"ground": "the ground", "edge": hit.what, "body": hit.what}[hit.struck.value]
        verb = "comes close to" if hit.struck.value == "body" else "strikes"
        found.append(Event(hit.when, f"{hit.body} {verb} {what}, {as_speed(hit.speed)}"))
    pulled = [one for one in motion.lines if one.most is not None and one.most > one.before * 1.05 + 1 and one.when > 0]
    for one in sorted(pulled, key=lambda one: -(one.most or 0.0))[:3]:
        found.append(Event(one.when, f"{called.get(one.name, one.name)} pulls {as_force(one.most or 0.0)}"))
    return sorted(found, key=lambda one: (one.when, one.words))


class _Plan:
    """Where places come on a page: one scale for all stills."""

    def __init__(
        self, rig: Rig, stills: Sequence[Still], ground: Ground | None, fixed: dict[str, Point], across: int,
        wide: float, high: float,
    ) -> None:  # fmt: skip
        self.rig, self.ground, self.fixed, self.across = rig, ground, fixed, across
        places = [at for still in stills for line in still.lines.values() for at in line]
        places += [at for still in stills for at in still.bodies.values()]
        places += [at for still in stills for pairs in still.points.values() for _, at in pairs]
        places += list(fixed.values())
        heights = [at[2] for at in places] + ([ground.height] if ground else [])
        self.left, right = min(at[across] for at in places), max(at[across] for at in places)
        low, self.top = min(heights), max(heights)
        self.scale = min(wide / max(right - self.left, 0.5), high / max(self.top - low, 0.5))
        self.wide, self.high = self.scale * (right - self.left), self.scale * (self.top - low)
        self.x = self.y = 0.0

    def spot(self, at: Point) -> Spot:
        return self.x + self.scale * (at[self.across] - self.left), self.y + self.scale * (self.top - at[2])


def _fixed_places(rig: Rig, first: Still, at: dict[str, Point]) -> dict[str, Point]:
    """Anchors that lines end at, edges, and those who stand."""
    ends = {place for line in first.lines.values() for place in line}
    return {
        name: place
        for name, place in at.items()
        if name in rig.parts
        and (
            rig.parts[name].nature is Nature.EDGE
            or (rig.parts[name].nature in (Nature.GROUND, Nature.FRAME) and place in ends)
            or rig.parts[name].standing
        )
    }


# -- the film


def motion_film(
    rig: Rig, motion: Motion, frames: Sequence[Still], ground: Ground | None, at: dict[str, Point],
    called: dict[str, str], across: int = SIDE, play: str | None = None,
) -> str:  # fmt: skip
    """An SVG that moves. `frames` are even apart in time; `at`: where fixed parts are; `called`: lines as one speaks
    of them; `play`: the id of a button to be drawn that starts it (default: it moves by itself)."""
    fixed = _fixed_places(rig, frames[0], at)
    plan = _Plan(rig, frames, ground, fixed, across, WIDE, HIGH)
    told_events = events(motion, called)
    width = max(plan.wide, 440.0) + 2 * MARGIN
    clock = HEAD + plan.high + 74
    height = clock + 44 + 15 * max(len(told_events), 1) + 34
    plan.x, plan.y = (width - plan.wide) / 2, HEAD + 20
    title = f"{rig.title}, after {listed(list(motion.failures))}, in time"
    sheet = Sheet(width, height, title, _description(motion, told_events))
    sheet.words((24, 26), rig.title, 15, bold=True)
    view = "from the side" if across == SIDE else "from the front"
    sheet.words((24, 44), f"after {listed(list(motion.failures))}: {view}, to scale, {SLOW:g} times slowed down", 11,
                colour=QUIET)  # fmt: skip
    _ground(sheet, plan, (MARGIN / 2, width - MARGIN / 2))
    run = _Run(frames, play)
    _ghost(sheet, plan, frames[0])
    for name in dict.fromkeys(name for still in frames for name in still.lines):
        run.line(sheet, plan, name)
    _standing(sheet, plan, fixed)
    run.bodies(sheet, plan)
    _time_line(sheet, run, told_events, clock, width)
    _footing(sheet, plan, height)
    if play:
        _button(sheet, play, width)
    return sheet.svg()


def _button(sheet: Sheet, play: str, width: float) -> None:
    """What starts the film: pressed again, it starts again."""
    x, y = width - 84, 14
    sheet.pieces.append(
        f'<g id="{escaped(play)}" cursor="pointer"><rect x="{told(x)}" y="{y}" width="64" height="26" rx="4" '
        f'fill="{PAPER}" stroke="{INK}" stroke-width="1.4"/><polygon points="{told(x + 12)},{y + 7} '
        f'{told(x + 12)},{y + 19} {told(x + 22)},{y + 13}" fill="{INK}"/><text x="{told(x + 29)}" y="{y + 17}" '
        f'font-size="11" fill="{INK}">play</text></g>'
    )


def _description(motion: Motion, told_events: Sequence[Event]) -> str:
    moved = "; ".join(f"{b.name} {as_length(b.down)} down and {as_length(b.aside)} aside" for b in motion.bodies)
    return "; ".join([moved, *(f"{one.when:.2f} s: {one.words}" for one in told_events)])


class _Run:
    """The frames as values of animations: all of one length of time, which begins again for ever, or once each time
    that the element `play` is pressed."""

    def __init__(self, frames: Sequence[Still], play: str | None) -> None:
        self.frames = frames
        self.again = f'begin="{play}.click"' if play else 'repeatCount="indefinite"'
        self.seconds = frames[-1].time * SLOW + REST
        ends = [still.time * SLOW / self.seconds for still in frames]
        self.keys = ";".join(f"{share:.4f}" for share in [*ends, 1.0])
        self.most = max((pull for still in frames for pull in still.pulls.values()), default=1.0) or 1.0

    def animate(self, attribute: str, values: Sequence[str], *, jumps: bool = False) -> str:
        if len(set(values)) == 1:
            return ""
        mode = ' calcMode="discrete"' if jumps else ""
        shown = ";".join([*values, values[-1]])
        return (
            f'<animate attributeName="{attribute}" values="{shown}" keyTimes="{self.keys}" dur="{self.seconds:.2f}s" '
            f"{self.again}{mode}/>"
        )

    def line(self, sheet: Sheet, plan: _Plan, name: str) -> None:
        known = next(still.lines[name] for still in self.frames if name in still.lines)
        places, pulls, there = [], [], []
        for still in self.frames:
            known = still.lines.get(name, known)
            places.append(_through(plan, known))
            pulls.append(still.pulls.get(name, 0.0))
            there.append("visible" if name in still.lines else "hidden")
        wide = [_width(pull, self.most) for pull in pulls]
        dashes = ["5 4" if pull < 1.0 else "1 0" for pull in pulls]
        moving = self.animate("points", places) + self.animate("stroke-width", wide)
        moving += self.animate("stroke-dasharray", dashes, jumps=True) + self.animate("visibility", there, jumps=True)
        sheet.pieces.append(
            f'<polyline points="{places[0]}" fill="none" stroke="{INK}" stroke-width="{wide[0]}" '
            f'stroke-linejoin="round" stroke-dasharray="{dashes[0]}" visibility="{there[0]}">{moving}</polyline>'
        )

    def bodies(self, sheet: Sheet, plan: _Plan) -> None:
        names = dict.fromkeys(name for still in self.frames for name in still.bodies)
        said: list[tuple[Spot, float]] = []
        for name in names:
            part = plan.rig.parts[name]
            if part.standing and all(
                still.bodies.get(name) == self.frames[0].bodies.get(name) for still in self.frames
            ):
                continue
            spots = self._spots(plan, [still.bodies.get(name) for still in self.frames])
            x, y = [told(spot[0]) for spot in spots], [told(spot[1]) for spot in spots]
            if part.nature is Nature.LITTER:
                self._litter(sheet, plan, name)
            elif part.nature is Nature.LOAD:
                left = [told(spot[0] - 7) for spot in spots]
                high = [told(spot[1] - 7) for spot in spots]
                sheet.pieces.append(
                    f'<rect x="{left[0]}" y="{high[0]}" width="14" height="14" fill="{PAPER}" stroke="{INK}" '
                    f'stroke-width="1.6">{self.animate("x", left)}{self.animate("y", high)}</rect>'
                )
            else:
                sheet.pieces.append(
                    f'<circle cx="{x[0]}" cy="{y[0]}" r="6" fill="{PAPER}" stroke="{INK}" stroke-width="1.6">'
                    f"{self.animate('cx', x)}{self.animate('cy', y)}</circle>"
                )
            lower = 18.0 if part.nature is Nature.LITTER else 4.0
            first = (spots[0][0] + 11, spots[0][1] + lower)
            lower += _clear(said, first, name, 12.0)[1] - first[1]
            at_x = [told(spot[0] + 11) for spot in spots]
            at_y = [told(spot[1] + lower) for spot in spots]
            sheet.pieces.append(
                f'<text x="{at_x[0]}" y="{at_y[0]}" font-size="{SIZE}" font-weight="bold" fill="{INK}" '
                f'stroke="{PAPER}" stroke-width="3" paint-order="stroke">{escaped(name)}{self.animate("x", at_x)}'
                f"{self.animate('y', at_y)}</text>"
            )

    def _spots(self, plan: _Plan, places: Sequence[Point | None]) -> list[Spot]:
        known = next(one for one in places if one is not None)
        found = []
        for one in places:
            known = one if one is not None else known
            found.append(plan.spot(known))
        return found

    def _litter(self, sheet: Sheet, plan: _Plan, name: str) -> None:
        pairs = [still.points.get(name, ()) for still in self.frames]
        if not pairs[0]:
            return
        a, b = _ends([(point, at) for point, at in pairs[0]])
        known = pairs[0]
        ways = []
        for one in pairs:
            known = one or known
            where = dict(known)
            ways.append(_through(plan, (where[a], where[b])))
        for wide, colour in ((9, INK), (6, PAPER)):
            sheet.pieces.append(
                f'<polyline points="{ways[0]}" fill="none" stroke="{colour}" stroke-width="{wide}" '
                f'stroke-linecap="round">{self.animate("points", ways)}</polyline>'
            )


def _width(pull: float, most: float) -> str:
    return "1.2" if pull < 1.0 else told(1 + (THICK - 1) * pull / most)


def _through(plan: _Plan, places: Sequence[Point]) -> str:
    return " ".join(f"{told(x)},{told(y)}" for x, y in map(plan.spot, places))


def _ends(points: Sequence[tuple[str, Point]]) -> tuple[str, str]:
    """The two points of a litter that are farthest apart."""
    pairs = ((math.dist(p, q), a, b) for a, p in points for b, q in points)
    _, a, b = max(pairs, key=lambda one: (one[0], one[1], one[2]))
    return a, b


def _ghost(sheet: Sheet | Placed, plan: _Plan, first: Still) -> None:
    """Everything as it hung before, thin and grey."""
    for places in first.lines.values():
        sheet.line([plan.spot(at) for at in places], 1.0, LOST, "1 3")
    for name, at in first.bodies.items():
        if not plan.rig.parts[name].standing and name not in first.points:
            sheet.circle(plan.spot(at), 6, PAPER, LOST, 1.2)


def _ground(sheet: Sheet | Placed, plan: _Plan, ends: tuple[float, float], words: bool = True) -> None:
    if plan.ground is None:
        return
    y = plan.y + plan.scale * (plan.top - plan.ground.height)
    sheet.line([(ends[0], y), (ends[1], y)], 1.5)
    for k in range(int((ends[1] - ends[0]) / 14)):
        x = ends[0] + 14 * (k + 1)
        sheet.line([(x, y), (x - 7, y + 7)], 0.8)
    if words:
        sheet.words((ends[0], y + 19), f"ground, at the height of {plan.ground.by}", SIZE, colour=QUIET)


def _standing(sheet: Sheet | Placed, plan: _Plan, fixed: dict[str, Point], words: bool = True) -> None:
    """What does not move: anchors as wedges, edges as corners, those who stand as heads on a stroke."""
    said: list[tuple[Spot, float]] = []
    for name, at in fixed.items():
        part = plan.rig.parts[name]
        x, y = plan.spot(at)
        if part.nature is Nature.EDGE:
            sheet.line([(x - 12, y), (x, y), (x, y + 12)], 2.5)
            label, spot = f"edge {name}", (x + 6, y - 4)
        elif part.standing:
            sheet.circle((x, y), 5)
            sheet.line([(x - 9, y + 8), (x + 9, y + 8)], 2)
            label, spot = f"{name}, standing", (x + 11, y + 4)
        else:
            sheet.shape([(x, y), (x - 7, y - 11), (x + 7, y - 11)], INK)
            label, spot = name, (x + 10, y - 5)
        if words:
            sheet.words(_clear(said, spot, label, -12.0), label, SIZE)


def _clear(taken: list[tuple[Spot, float]], spot: Spot, label: str, step: float) -> Spot:
    """The nearest spot above (or, with a step down, below) at which a label meets no other."""
    x, y = spot
    wide = room(label, SIZE) + 4
    while any(abs(y - other[1]) < 11 and x < other[0] + room_ and other[0] < x + wide for other, room_ in taken):
        y += step
    taken.append(((x, y), wide))
    return x, y


def _time_line(sheet: Sheet, run: _Run, told_events: Sequence[Event], y: float, width: float) -> None:
    """The scale of time, a dot that goes along it, and what happens when."""
    left, right = 40.0, width - 40.0
    last = run.frames[-1].time or 1.0

    def across(time: float) -> float:
        return left + (right - left) * min(time / last, 1.0)

    sheet.line([(left, y), (right, y)], 1.2)
    for tick in ticks(0, last, 6):
        sheet.line([(across(tick), y - 3), (across(tick), y + 3)])
        sheet.words((across(tick), y + 15), f"{tick:g}", SIZE, "middle", QUIET)
    sheet.words((right, y - 8), "seconds after the failure", SIZE, "end", QUIET)
    for k, one in enumerate(told_events):
        if one.when <= last:
            x = across(one.when)
            sheet.shape([(x, y - 2), (x - 4, y - 9), (x + 4, y - 9)], INK)
            sheet.words((x, y - 12), str(k + 1), 9, "middle", bold=True)
    spots = [told(across(still.time)) for still in run.frames]
    sheet.pieces.append(
        f'<circle cx="{spots[0]}" cy="{told(y)}" r="4.5" fill="{INK}">{run.animate("cx", spots)}</circle>'
    )
    for k, one in enumerate(told_events):
        sheet.words((left, y + 34 + 15 * k), f"{k + 1}   {one.when:.2f} s   {one.words}", SIZE)


def _footing(sheet: Sheet | Placed, plan: _Plan, height: float) -> None:
    long, bar = scale_bar(plan.scale)
    y = height - 26
    sheet.line([(40, y - 4), (40, y), (40 + long, y), (40 + long, y - 4)], 1.5)
    sheet.words((46 + long, y), bar, SIZE)
    words = "wider: more pull; dashed: slack; grey dots: before; what does not move is left out"
    sheet.words((110 + long, y), words, SIZE)
    sheet.words((40, y + 16), CAUTION, SIZE, colour=QUIET)


# -- the strip

CELL_WIDE, CELL_HIGH, ROW = 220.0, 250.0, 3


def motion_strip(
    rig: Rig, motion: Motion, stills: Sequence[Still], ground: Ground | None, at: dict[str, Point],
    called: dict[str, str], across: int = SIDE, sheet_of: type[Sheet] | type[Placed] = Sheet,
) -> Sheet | Placed:  # fmt: skip
    """Stills side by side, to one scale, on a sheet (`Sheet`: an SVG; `Placed`: for a renderer that makes a PNG)."""
    fixed = _fixed_places(rig, stills[0], at)
    plan = _Plan(rig, stills, ground, fixed, across, CELL_WIDE - 70, CELL_HIGH - 40)
    told_events = events(motion, called)
    rows = -(-len(stills) // ROW)
    cell_high = plan.high + 96
    columns = min(len(stills), ROW)
    width = 40 + columns * CELL_WIDE
    height = HEAD + rows * cell_high + 16 + 15 * max(len(told_events), 1) + 60
    title = f"{rig.title}, after {listed(list(motion.failures))}, in time"
    sheet = sheet_of(width, height, title, _description(motion, told_events))
    sheet.words((24, 26), rig.title, 15, bold=True)
    view = "from the side" if across == SIDE else "from the front"
    sheet.words((24, 44), f"after {listed(list(motion.failures))}: {view}, to scale", 11, colour=QUIET)
    most = max((pull for still in stills for pull in still.pulls.values()), default=1.0) or 1.0
    for k, still in enumerate(stills):
        left = 20 + (k % ROW) * CELL_WIDE
        top = HEAD + (k // ROW) * cell_high
        plan.x, plan.y = left + (CELL_WIDE - plan.wide) / 2 - 12, top + 34
        edges = [(left + 4, top), (left + CELL_WIDE - 4, top), (left + CELL_WIDE - 4, top + cell_high - 8),
                 (left + 4, top + cell_high - 8), (left + 4, top)]  # fmt: skip
        sheet.line(edges, 0.7, SHADE)
        sheet.words((left + 10, top + 15), "before" if still.time == 0 else f"{still.time:.2f} s", 11, bold=True)
        _still(sheet, plan, still, stills[0], fixed, most, (left + 8, left + CELL_WIDE - 8))
    y = HEAD + rows * cell_high + 14
    for k, one in enumerate(told_events):
        sheet.words((24, y + 15 * k), f"{one.when:.2f} s   {one.words}", SIZE)
    _footing(sheet, plan, height)
    return sheet


def _still(
    sheet: Sheet | Placed, plan: _Plan, still: Still, first: Still, fixed: dict[str, Point], most: float,
    ends: tuple[float, float],
) -> None:  # fmt: skip
    _ground(sheet, plan, ends, words=False)
    if still is not first:
        _ghost(sheet, plan, first)
    for name, places in sorted(still.lines.items(), key=lambda one: still.pulls[one[0]]):
        pull = still.pulls[name]
        spots = [plan.spot(at) for at in places]
        sheet.line(spots, float(_width(pull, most)), INK, "5 4" if pull < 1.0 else "")
    hardest = max(still.pulls, key=lambda name: (still.pulls[name], name), default=None)
    if hardest is not None and still.pulls[hardest] > 1.0:
        a, b = max(pairwise(map(plan.spot, still.lines[hardest])), key=lambda pair: math.dist(*pair))
        middle = ((a[0] + b[0]) / 2 - 7, (a[1] + b[1]) / 2 + 4)
        sheet.words(middle, as_force(still.pulls[hardest], ".1f"), SIZE, "end")
    _standing(sheet, plan, fixed, words=still is first)
    said: list[tuple[Spot, float]] = []
    for name, at in still.bodies.items():
        part = plan.rig.parts[name]
        if part.standing and name in fixed:
            continue
        x, y = plan.spot(at)
        if part.nature is Nature.LITTER and still.points.get(name):
            where = dict(still.points[name])
            ends_of = [plan.spot(where[point]) for point in _ends(still.points[name])]
            for wide, colour in ((9, INK), (6, PAPER)):
                sheet.line(ends_of, wide, colour)
            sheet.words(_clear(said, (x + 8, y + 18), name, 12.0), name, SIZE, bold=True)
            continue
        if part.nature is Nature.LOAD:
            sheet.shape([(x - 7, y - 7), (x + 7, y - 7), (x + 7, y + 7), (x - 7, y + 7)], PAPER, INK, 1.6)
        else:
            sheet.circle((x, y), 6, PAPER, INK, 1.6)
        sheet.words(_clear(said, (x + 10, y + 4), name, 12.0), name, SIZE, bold=True)
