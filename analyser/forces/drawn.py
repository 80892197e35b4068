"""The rig as drawn: where each lump stands, how long each line is at rest, and what is missing."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from analyser.forces.contradicting import too_short, without_length
from analyser.forces.edging import clear
from analyser.forces.lumps import Lumps, lumps_of, rigid_bodies
from analyser.forces.missing import Missing, Wanted
from analyser.forces.points import Point
from analyser.forces.rope_lines import RopeLine, rope_lines
from analyser.forces.tensioned import pulled_tight
from analyser.rig.figures import as_length, as_mass, units, value
from analyser.rig.model import Effects, Nature, Part, Rig, Role, Rope, Station
from analyser.rig.quantities import let_out

Tails = tuple[float | None, float | None]

LEFT_OVER = 0.1
"""Metres of rope in reserve under which it doesn't matter where they lie."""
SAME_PLACE = 0.5
"""Metres within which parts of one lump may be drawn: hardware has a size, and a lump has none."""

LITTER = (2.0, 0.5)
"""Metres of length and width of a litter that gives none (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A rigid body: where its points and what lies in it are, from its centre, as drawn (x towards
    the head where it isn't drawn), and where the centre is drawn (None: nowhere)."""

    offsets: dict[str, Point]
    centre: Point | None
    assumed: str | None = None

    def of(self, parts: Iterable[str]) -> Point:
        """Where parts that are at one place of it are, from its centre: by whichever of them is a point of it, or lies
        in it; what is on its bare name is at its centre."""
        return next((self.offsets[part] for part in parts if part in self.offsets), (0.0, 0.0, 0.0))


@dataclass(slots=True)
class Drawn:
    """What the file says of lengths and places, in the rig as it stands with nothing failed."""

    at: dict[str, Point]
    """Where each part that has a place in the drawing is."""
    rest: dict[str, float]
    """Metres of each soft part."""
    spans: dict[str, tuple[float, float]]
    """For each span of rope: its metres as drawn along the rope's path, and its slack."""
    shapes: dict[str, Shape]
    tails: dict[str, Tails]
    """For each rope: metres in reserve beyond its first station, and beyond its last; None where the file doesn't
    say how much, or on which side."""
    assumed: list[str] = field(default_factory=list)
    strung: frozenset[str] = frozenset()
    """Ropes that pull with nothing hanging on them: by their pretension, or shorter than the way."""
    doubts: tuple[Wanted, ...] = ()
    """Lengths that can hardly be meant (`contradicting.py`): forces are told, and are enormous."""


def drawn(rig: Rig, along: dict[str, float] | None = None, *, hands: bool = False) -> Drawn | Missing:
    """Read places and lengths off the file, or say which are missing.

    `along` moves people who lie in a litter: metres from its middle towards the head. `hands`: what
    bare hands hold is asked after too.
    """
    lumps = lumps_of(rig, Effects(), hands)
    lines = rope_lines(rig, Effects(), lumps, hands)
    reading = _Reading(rig, lumps, lines, along or {})
    return reading.result()


class _Reading:
    def __init__(self, rig: Rig, lumps: Lumps, lines: list[RopeLine], along: dict[str, float]) -> None:
        self.rig = rig
        self.lumps = lumps
        self.lines = lines
        self.along = along
        self.wanted: dict[str, Wanted] = {}
        self.wrong: dict[str, Wanted] = {}
        self.strung: frozenset[str] = frozenset()
        self.assumed: list[str] = []
        self.place: list[Point | None] = []
        self.shapes: dict[str, Shape] = {}
        self.bridges = [self._bridges(k) if self.fixed(k) else set() for k in range(len(lumps.lumps))]

    def result(self) -> Drawn | Missing:
        self._lumps()
        self._bodies()
        loaded = self._loaded()
        rest = self._soft(loaded)
        spans, tails = self._ropes(loaded, rest)
        for part in self.rig.parts.values():
            if part.is_body and self._moves(part.name) and "mass" not in dict(part.quantities):
                self._want(part, as_mass(80, ".2g"), "its mass")
        self._fixed(loaded)
        if self.wanted or self.wrong:
            order = {line: one.place for line, one in self.wanted.items()}
            wanted = sorted(self.wanted.values(), key=lambda one: (order[one.line], one.line))
            return Missing(tuple(wanted), tuple(sorted(self.wrong.values())))
        at = {name: place for name, k in self.lumps.of.items() if (place := self.place[k]) is not None}
        at |= {p.name: p.at for p in self.rig.parts.values() if p.nature is Nature.EDGE and p.at}
        firm = [k for k in range(len(self.lumps.lumps)) if self.fixed(k)]
        shapes = {name: shape.offsets for name, shape in self.shapes.items()}
        doubts = too_short(self.rig, self.lumps, self.lines, self.place, firm, rest, spans, shapes)
        matter = [line for line in self.lines if self._matters(line, loaded)]
        doubts += without_length(self.rig, self.lumps, matter, spans)
        return Drawn(at, rest, spans, self.shapes, tails, self.assumed, self.strung, tuple(doubts))

    # -- what is said

    def _want(self, part: Part, what: str, why: str) -> None:
        line = f"{part.name}: {what}"
        self.wanted.setdefault(line, Wanted(line, why, part.place))

    def _want_place(self, lump: int, why: str) -> None:
        """Ask for the place of a lump by the part of it that one would measure."""
        names = [name for name in self.lumps.lumps[lump].parts if name in self.rig.parts]
        body = self.lumps.lumps[lump].body
        if body is not None:
            names = [body]
        rank = (
            (Nature.GROUND, Nature.FRAME),
            (Nature.PERSON, Nature.LOAD, Nature.LITTER),
            (Nature.GRIP, Nature.PULLEY),
            (Nature.JOINT,),
        )

        def measured(name: str) -> tuple[int, str]:
            nature = self.rig.parts[name].nature
            return next((k for k, group in enumerate(rank) if nature in group), len(rank)), name

        if names:
            self._want(self.rig.parts[min(names, key=measured)], "at (x, y, z)", why)
        else:  # the far end of a sling that a rope runs through
            soft = self.lumps.lumps[lump].parts[0].split("|")[0]
            self._want(self.rig.parts[soft], "at (x, y, z)", f"where the rope runs through it; {why}")

    # -- places

    def _lumps(self) -> None:
        rigid = rigid_bodies(self.rig)
        for lump in self.lumps.lumps:
            given: list[tuple[bool, str, Point]] = []
            for name in lump.parts:
                part = self.rig.parts.get(name.split("|")[0] if name.endswith("|1") else name)
                if part is not None and part.at is not None and part.name not in rigid:
                    given.append((part.nature not in (Nature.GROUND, Nature.FRAME), name, part.at))
            given.sort()
            if not given:
                self.place.append(None)
                continue
            _, first, place = given[0]
            self.place.append(place)
            for _, name, other in given[1:]:
                apart = math.dist(place, other)
                if apart > SAME_PLACE:
                    a, b = first.split("|")[0], name.split("|")[0]
                    why = f"{a} and {b} are joined by parts without a length, and are drawn {as_length(apart)} apart"
                    self.wrong.setdefault(why, Wanted(f"{b}: at (x, y, z)", why, self.rig.parts[b].place))

    def _bodies(self) -> None:
        """The shape of every rigid body, and where its points are when it stands as drawn."""
        riders: dict[str, list[int]] = defaultdict(list)
        for k, lump in enumerate(self.lumps.lumps):
            if lump.rides and lump.body:
                riders[lump.body].append(k)
        for name in sorted(rigid_bodies(self.rig)):
            body = self.rig.parts[name]
            shape = self._shape(body)
            if shape is None:
                continue
            head = towards_head(shape.offsets)
            for k in riders[name]:
                lump = self.lumps.lumps[k]
                moved = sum(self.along.get(part, 0.0) for part in lump.parts)
                place = self.place[k]
                offset: Point = (0.0, 0.0, 0.0)
                if place is not None and shape.centre is not None:
                    offset = _less(place, shape.centre)
                offset = (offset[0] + moved * head[0], offset[1] + moved * head[1], offset[2] + moved * head[2])
                shape.offsets.update(dict.fromkeys(lump.parts, offset))
            self.shapes[name] = shape
            if shape.assumed:
                self.assumed.append(shape.assumed)
            for k, lump in enumerate(self.lumps.lumps):
                if lump.body == name:
                    offset = shape.of(lump.parts)
                    centre = shape.centre
                    self.place[k] = None if centre is None else _more(centre, offset)

    def _shape(self, body: Part) -> Shape | None:
        points = [self.rig.parts[point] for point in body.points]
        used = {name for lump in self.lumps.lumps for pair in lump.contacts for name in pair}
        placed = [(point.name, point.at) for point in points if point.at is not None]
        if placed:
            ats = [at for _, at in placed]
            centre = body.at or (
                sum(at[0] for at in ats) / len(ats),
                sum(at[1] for at in ats) / len(ats),
                sum(at[2] for at in ats) / len(ats),
            )
            for point in points:
                if point.at is None and point.name in used:
                    self._want(point, "at (x, y, z)", f"other points of {body.name} have a place")
            said = None if body.at else f"{body.name}: its centre of mass is taken in the middle of its points"
            return Shape({name: _less(at, centre) for name, at in placed}, centre, said)
        if body.nature is not Nature.LITTER:
            for point in points:
                self._want(point, "at (x, y, z)", f"{body.name} is a rigid load with several points in use")
            return None
        sizes = dict(body.quantities)
        length = sizes["length"].si if "length" in sizes else LITTER[0]
        width = sizes["width"].si if "width" in sizes else LITTER[1]
        offsets: dict[str, Point] = {}
        for point in points:
            word = point.name.split(".", 1)[1]
            ends = [side for side, group in zip((1, -1), body.ends or ((), ()), strict=True) if point.name in group]
            side = 1 if word.startswith("head") else -1 if word.startswith("foot") else ends[0] if ends else None
            if side is None:
                self._want(point, "at (x, y, z)", f"where on {body.name} it is")
                continue
            across = 0.5 * width * (("left" in word) - ("right" in word))
            offsets[point.name] = (side * length / 2, across, 0.0)
        size = f"{as_length(length, 'g')} long and {as_length(width, 'g')} wide"
        said = f"{body.name}: {size}, its centre of mass in the middle"
        return Shape(offsets, body.at, said)

    # -- what matters

    def _moves(self, name: str) -> bool:
        """Or may it: whoever is exposed can lose their footing."""
        part = self.rig.parts[name]
        return not part.standing or part.exposed

    def fixed(self, lump: int) -> bool:
        natures = [self.rig.parts[n] for n in self.lumps.lumps[lump].parts if n in self.rig.parts]
        return any(p.nature in (Nature.GROUND, Nature.FRAME) or p.standing for p in natures)

    def _bridges(self, lump: int) -> set[int]:
        """What comes to hang on each other over this fixed lump, once what fixes it has failed: the far
        ends of lines that meet in a part of it, or in a body."""
        parts = [self.rig.parts[n] for n in self.lumps.lumps[lump].parts if n in self.rig.parts]
        left = {p.name for p in parts if p.nature not in (Nature.GROUND, Nature.FRAME)}
        found: set[int] = set()
        while left:
            group, todo = set(), [next(iter(left))]
            while todo:
                name = todo.pop()
                if name in left:
                    left.discard(name)
                    group.add(name)
                    todo += [b if a == name else a for a, b in self.lumps.lumps[lump].contacts if name in (a, b)]
            lines: list[tuple[int, ...]] = [
                soft.ends for soft in self.lumps.soft if lump in soft.ends and group & {*self.rig.touching[soft.part]}
            ]
            lines += [
                tuple(k for k in line.path if isinstance(k, int))
                for line in self.lines
                if any(line.rope.stations[k].part in group for k in line.at)
            ]
            if len(lines) > 1 or any(self.rig.parts[n].is_body and self._moves(n) for n in group):
                found |= {k for line in lines for k in line}
        return found

    def firm(self, lump: int) -> bool:
        """Does weight never come from one line on another here, whatever fails?"""
        return self.fixed(lump) and not self.bridges[lump]

    def _loaded(self) -> set[int]:
        """Lumps that the weight of some body may come to load: joined to it over lines."""
        joined: dict[int, set[int]] = defaultdict(set)
        groups: list[list[int]] = [[*soft.ends] for soft in self.lumps.soft]
        groups += [[k for k in line.path if isinstance(k, int)] for line in self.lines]
        by_body: dict[str, list[int]] = defaultdict(list)
        for k, lump in enumerate(self.lumps.lumps):
            if lump.body:
                by_body[lump.body].append(k)
        groups += [*by_body.values()]
        for group in groups:
            for k in group:
                joined[k].update(group)
        found: set[int] = set()
        rigid = rigid_bodies(self.rig)
        todo = [
            self.lumps.of[p.name]
            for p in self.rig.parts.values()
            if (p.is_body or "mass" in dict(p.quantities)) and p.name in self.lumps.of and self._moves(p.name)
        ]
        todo += [k for name in rigid for k in by_body[name]]
        while todo:
            k = todo.pop()
            if k in found:
                continue
            found.add(k)
            todo += self.bridges[k] if self.fixed(k) else joined[k]
        return found

    def _soft(self, loaded: set[int]) -> dict[str, float]:
        rest: dict[str, float] = {}
        for soft in self.lumps.soft:
            part = self.rig.parts[soft.part]
            length = dict(part.quantities).get("length")
            out = let_out(part.quantities)
            a, b = (self.place[k] for k in soft.ends)
            if length is not None:
                rest[soft.part] = max(0.0, length.si + out)
            elif a is not None and b is not None and a != b:
                rest[soft.part] = max(0.0, math.dist(a, b) + out)
            elif {*soft.ends} <= loaded and not all(self.firm(k) for k in soft.ends):
                self._want(part, f"length {as_length(1.2, '.2g')}", "how long it is (or where both its ends are)")
            else:
                rest[soft.part] = math.inf
        return rest

    def _ropes(
        self, loaded: set[int], rest: dict[str, float]
    ) -> tuple[dict[str, tuple[float, float]], dict[str, Tails]]:
        """Every span's length along the drawn path; a rope tied at both ends and not drawn may give
        its own length instead, one from ground to ground how tight it is."""
        spans: dict[str, tuple[float, float]] = {}
        whole = self._whole()
        asked = {line.rope.name for line in self.lines if self._matters(line, loaded)}
        tight, wrong = pulled_tight(self.rig, self.lumps, self.lines, self.place, self.fixed, rest)
        self.wrong |= wrong
        sagging = {rope.name for rope in self.rig.ropes if "sag" in dict(rope.quantities)}
        self.strung = frozenset(tight.keys() - sagging)
        asked -= whole.keys() | tight.keys()
        tails: dict[str, Tails] = {}
        for rope in self.rig.ropes:
            own, known = self._way(rope, loaded, rope.name in asked)
            given = dict(rope.quantities).get("length")
            if rope.name in whole:
                own = dict.fromkeys(rope.spans, (whole[rope.name] / len(rope.spans), 0.0))
                self.assumed.append(f"{rope.name}: {given.text if given else ''} between its end knots, as written")
                tails[rope.name] = (0.0, 0.0)
            elif rope.name in tight:
                line, metres = tight[rope.name]
                mine = rope.spans[line.first : line.last]
                own |= dict.fromkeys(mine, (metres / len(mine), 0.0))
                total = sum(map(sum, own.values()))
                tails[rope.name] = self._spare(rope, max(given.si - total, 0.0)) if given else (None, None)
            elif given is None or not known:
                tails[rope.name] = (None, None)
            elif (total := sum(map(sum, own.values()))) > given.si + 1e-6:
                why = f"{rope.name} is {given.text} long, and is drawn over {as_length(total)}"
                self.wrong.setdefault(
                    why,
                    Wanted(
                        f"rope {rope.name}: {math.ceil(value(total, units().length))} {units().length}", why, rope.place
                    ),
                )
            else:
                tails[rope.name] = self._spare(rope, given.si - total)
            spans |= own
        return spans, tails

    def _way(self, rope: Rope, loaded: set[int], asked: bool) -> tuple[dict[str, tuple[float, float]], bool]:
        """The spans of a rope as drawn, and whether all of it is; what isn't is asked for where it is `asked`."""
        own: dict[str, tuple[float, float]] = {}
        last: Point | None = None
        known = True
        lined = [line for line in self.lines if line.rope is rope]
        payed = _payed(rope)
        for k, station in enumerate(rope.stations):
            slack = station.slack.si if station.slack else 0.0
            slack += let_out(rope.quantities) if k == payed else 0.0
            here = None if station.role is Role.STOPPER else self._at(station)
            if station.role is Role.OVER:
                after = next((at for other in rope.stations[k + 1 :] if (at := self._at(other))), None)
                if here is not None and last and after and clear(self.rig, rope, k, last, after):
                    here = None  # it hangs clear, and is as long as it is straight
                elif here is None and any(line.first < k < line.last for line in lined):
                    self.assumed.append(f"{rope.name}: runs straight past {station.part}, which has no place")
            elif station.role is not Role.STOPPER and here is None and asked:
                lump = self.lumps.soft_station.get(station.part, self.lumps.of.get(station.part))
                inside = any(line.first <= k <= line.last and self._matters(line, loaded) for line in lined)
                if lump is not None and inside:
                    self._want_place(lump, f"{rope.name} is as long as it is drawn")
                    known = False
            if k > 0:
                length = math.dist(last, here) if last is not None and here is not None else 0.0
                own[rope.spans[k - 1]] = (length, slack)
            last = here if here is not None else last
        return own, known

    def _spare(self, rope: Rope, metres: float) -> Tails:
        """How much of a rope's reserve lies beyond its first station, and beyond its last: all of it at one end, where
        the file says which, or says how short the tail at the other end is."""
        one, other = (end.tail.si if end.tail else None for end in (rope.stations[0], rope.stations[-1]))
        if one is not None:
            return one, max(metres - one, 0.0)
        if other is not None:
            return max(metres - other, 0.0), other
        if metres < LEFT_OVER:
            return metres, metres
        if rope.spare_below is None:
            return None, None
        held = [station for station in rope.stations if station.role not in (Role.OVER, Role.STOPPER)]
        high, low = (self._at(held[k]) for k in (0, -1))
        if high is None or low is None or high[2] == low[2]:
            return None, None
        at_start = (high[2] > low[2]) != rope.spare_below
        return (metres, 0.0) if at_start else (0.0, metres)

    def _at(self, station: Station) -> Point | None:
        """Where a station is drawn."""
        if station.role is Role.OVER:
            return self.rig.parts[station.part].at
        lump = self.lumps.soft_station.get(station.part, self.lumps.of.get(station.part))
        return self.place[lump] if lump is not None else None

    def _whole(self) -> dict[str, float]:
        """Ropes tied at both ends and nowhere else, not wholly drawn, whose length is given."""
        found: dict[str, float] = {}
        for rope in self.rig.ropes:
            roles = [station.role for station in rope.stations]
            given = dict(rope.quantities).get("length")
            if given is None or roles[0] is not Role.TIE or roles[-1] is not Role.TIE:
                continue
            if any(role not in (Role.RUN, Role.OVER) for role in roles[1:-1]):
                continue
            ends = (self.lumps.of.get(station.part) for station in rope.stations if station.role is not Role.OVER)
            if any(lump is None or self.place[lump] is None for lump in ends):
                found[rope.name] = given.si
        return found

    def _fixed(self, loaded: set[int]) -> None:
        """Fixed lumps that something loads must have a place."""
        pulled = {k for soft in self.lumps.soft for k in soft.ends if {*soft.ends} <= loaded}
        pulled |= {k for line in self.lines if self._matters(line, loaded) for k in line.path if isinstance(k, int)}
        for k in sorted(loaded):
            if self.fixed(k) and self.place[k] is None:
                if k in pulled and self._alone_fixed(k):
                    self._want_place(k, "where it is")
                else:
                    self.place[k] = (0.0, 0.0, 0.0)

    def _matters(self, line: RopeLine, loaded: set[int]) -> bool:
        """May weight come on this line?"""
        lumps = [k for k in line.path if isinstance(k, int)]
        return all(k in loaded for k in lumps) and not all(self.firm(k) for k in lumps)

    def _alone_fixed(self, k: int) -> bool:
        """Is some line from here to a lump that can move?"""
        groups = [soft.ends for soft in self.lumps.soft if k in soft.ends]
        paths = [[n for n in line.path if isinstance(n, int)] for line in self.lines]
        return any(not self.firm(n) for group in [*groups, *(p for p in paths if k in p)] for n in group)


def _payed(rope: Rope) -> int:
    """The station before which rope comes out or goes in: on the loaded side of its first device."""
    for k, station in enumerate(rope.stations):
        if station.role is Role.GRIP and station.to_start != station.to_end:
            return k + 1 if station.to_end else k
    return 1


def _less(a: Point, b: Point) -> Point:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _more(a: Point, b: Point) -> Point:
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def towards_head(offsets: dict[str, Point]) -> Point:
    """The direction from foot to head in the body as drawn; along x when no points tell."""
    heads = [at for name, at in offsets.items() if name.split(".", 1)[-1].startswith("head")]
    feet = [at for name, at in offsets.items() if name.split(".", 1)[-1].startswith("foot")]
    if not heads or not feet:
        return (1.0, 0.0, 0.0)
    axis = [sum(a[i] for a in heads) / len(heads) - sum(a[i] for a in feet) / len(feet) for i in range(3)]
    size = math.sqrt(sum(v * v for v in axis)) or 1.0
    return (axis[0] / size, axis[1] / size, axis[2] / size)
