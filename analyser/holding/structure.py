"""A rig as numbers, in one reading of it: parts, what touches what, ropes as rows of stops.

A variable is a part that can carry anything (no edge, pad, stopper or structure). Ground parts and
frames end a cluster: what touches them is fixed, and nothing passes through them.
"""

from __future__ import annotations

import math
from collections import Counter, deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

from analyser.holding.lashed import Clusters, Lashing, lashings
from analyser.rig.model import Contact, Nature, Part, Rig, Role, Rope, Station

APART = (Nature.EDGE, Nature.PAD, Nature.STOPPER, Nature.STRUCTURE)
PULLS_ONLY = frozenset({"strap", "sling", "lanyard", "cord"})
"""Kinds that pull like a rope and push nothing: what they tie to ground below need not lie low."""


ARRESTS = frozenset({"absorber", "fall-arrester", "backup-en12841-a"})
"""Kinds that carry nothing until somebody falls on them."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A station of a rope that is a part in the world: `at` is its number on the rope, `v` its variable,
    `place` the number of where it lies (a knot lies where what it is tied to lies)."""

    at: int
    role: Role
    v: int
    place: int
    to_start: bool
    to_end: bool


@dataclass(frozen=True, slots=True)
class Jam:
    """What a stopper may come up against on one side of it: stops, nearest first, each with the spans
    between. `near` of them come before any bare hand."""

    stopper: str
    forward: bool
    """Does the rope leave towards its end, so that the stopper comes up against stops further there?"""
    places: tuple[tuple[int, tuple[int, ...]], ...]
    near: int


@dataclass(frozen=True, slots=True)
class Line:
    """A rope as a row of stops; strand k runs from stop k to stop k+1 over some of the rope's spans.

    A rope closed on itself is written twice round, so that what is gripped anywhere finds its way
    over the knot; `ring` is then the number of stops once round.
    """

    number: int
    rope: Rope
    stops: tuple[Stop, ...]
    strands: tuple[tuple[int, ...], ...]
    jams: tuple[Jam, ...]
    ring: int
    closing: int
    """The knot that closes a ring and ties nothing else, so that it is no stop; -1 for none."""

    def gripped_by(self, v: int) -> bool:
        """Is the rope gripped in this very part?"""
        return any(stop.role is Role.GRIP and stop.v == v for stop in self.stops)


class Structure:
    """One reading of a rig (`loose`: people are joints, ground while they stand, and bare hands grip)."""

    def __init__(self, rig: Rig, *, loose: bool) -> None:
        self.rig = rig
        self.loose = loose
        self.parts: list[Part] = [p for p in rig.parts.values() if p.nature not in APART]
        self.index = {part.name: v for v, part in enumerate(self.parts)}
        self.names = [part.name for part in self.parts]
        self.count = len(self.parts)
        self.owner = [self._owner(part) for part in self.parts]
        """The person (as a variable) that a part is, or is a point of; -1 for none."""
        self.ground = [part.nature is Nature.GROUND for part in self.parts]
        self.on_feet = [v for v, p in enumerate(self.parts) if loose and _on_ground(p)]
        """Those who are ground while they stand."""
        self.frames = [v for v, part in enumerate(self.parts) if part.nature is Nature.FRAME]
        self.beside: list[list[int]] = [[] for _ in self.parts]
        """Everything a part touches."""
        for contact in rig.bearing:
            a, b = self.index[contact.a], self.index[contact.b]
            self.beside[a].append(b)
            self.beside[b].append(a)
        self._link()
        self.ties = self._ties()
        """What each knot is tied to."""
        self.places = self._places()
        self.lines = [line for k, rope in enumerate(rig.ropes) if not rope.tag_line for line in self._line(k, rope)]
        self.lines_at: dict[int, dict[int, Line]] = {}
        """The ropes on each part, by number."""
        for line in self.lines:
            for stop in line.stops:
                self.lines_at.setdefault(stop.v, {})[line.number] = line
        self.line_of = {line.rope.name: line for line in self.lines}
        self.arrests = [part.arrests or not ARRESTS.isdisjoint(part.family) for part in self.parts]
        """What carries nothing until somebody falls on it."""
        self.pulls_only = [not PULLS_ONLY.isdisjoint(p.family) for p in self.parts]
        self._cuttable: dict[tuple[str, bool], list[int]] = {}
        self.bases: dict[frozenset[str], Any] = {}
        """The readings with nothing failed, by the ropes left out."""
        self.asked_at_base: dict[Any, tuple[int, int]] = {}
        """What was asked of these of parts without some ropes (`asked_before.py`)."""
        self.mattering: dict[tuple[int, frozenset[str]], frozenset[str]] = {}
        """By a part and the ropes left out, those that can come to bear on it."""
        self.landed = any(part.holds_only for part in self.parts)
        """Does ground hold some bodies alone?"""
        self.any_below = bool(self.below_for) or any(p.below for p in self.parts)

    # -- what is what

    def _owner(self, part: Part) -> int:
        if self.loose or part.carries_through:
            return -1
        name = part.name if part.nature is Nature.PERSON else part.body
        if name is None or self.rig.parts[name].nature is not Nature.PERSON:
            return -1
        return self.index[name]

    @cached_property
    def below_for(self) -> dict[int, tuple[str, ...] | None]:
        """The ground that lies under some bodies, as far as the file tells: which (None: all of them)."""
        found: dict[int, tuple[str, ...] | None] = {}
        bodies = [part for part in self.parts if part.is_body]
        lowest = {body.name: min(heights) for body in bodies if (heights := self._heights_of(body))}
        for v in sorted({*self.ends, *self.on_feet}):
            part = self.parts[v]
            if part.below:
                found[v] = None
                continue
            top = self.heights[v][1] if v in self.heights else math.inf
            under = [name for name, height in lowest.items() if top < height]
            if part.below_for or under:
                found[v] = tuple(sorted({*part.below_for, *under}))
        return found

    def _heights_of(self, body: Part) -> list[float]:
        """The least height of a body, where it has a place; else of each of its points that has one."""
        own = self.index[body.name]
        told = [own] if own in self.heights else [self.index.get(point, -1) for point in body.points]
        return [self.heights[v][0] for v in told if v in self.heights]

    def _link(self) -> None:
        """Contacts by how they pass anything on: always, or only in a person's own columns."""
        self.ends = ends = frozenset({*self.frames, *(v for v in range(self.count) if self.ground[v])})
        """Ground parts and frames: they end a cluster."""
        self.free: list[Sequence[int]] = [() for _ in self.parts]
        """What a part's cluster goes on to, also through a person to his own points."""
        self.guarded = list(self.free)
        """What only a person's cluster goes on to from here, when he is the one asked after."""
        self.grounded = list(self.free)
        """What a ground part or a frame fixes."""
        for v, others in enumerate(self.beside):
            near = others if ends.isdisjoint(others) else [t for t in others if t not in ends]
            mine = self.owner[v]
            if v in ends:
                self.grounded[v] = near
            elif mine < 0:
                self.free[v] = near
            else:
                self.free[v] = [t for t in near if self.owner[t] == mine]
                self.guarded[v] = [t for t in near if self.owner[t] != mine]

    def _ties(self) -> dict[int, tuple[int, ...]]:
        """What each knot is tied to: what the line of its own station puts it to, not what is attached to it elsewhere.
        Where that line puts it to nothing (a knot that closes a rope), all that it touches: knots only if that is all.
        """
        found: dict[int, tuple[int, ...]] = {}
        tied = [station for rope in self.rig.ropes for station in rope.stations if station.role is Role.TIE]
        touching: dict[str, list[Contact]] = {station.part: [] for station in tied}
        for contact in self.rig.contacts:
            for name in (contact.a, contact.b):
                if name in touching:
                    touching[name].append(contact)
        for station in tied:
            knot, near = self.index[station.part], self.beside[self.index[station.part]]
            line = station.place.file, station.place.line
            put = [c for c in touching[station.part] if (c.place.file, c.place.line) == line]
            own = {self.index.get(c.a if c.b == station.part else c.b, -1) for c in put}
            others = [t for t in near if self.parts[t].nature is not Nature.KNOT]
            found[knot] = tuple(t for t in near if t in own) if put else tuple(others or near)
        return found

    def _places(self) -> list[int]:
        """Where each part lies: a knot where the first thing that it is tied to does."""
        places = list(range(self.count))
        for v in self.ties:
            seen, todo = {v}, deque([v])
            while todo:
                here = todo.popleft()
                if self.parts[here].nature is not Nature.KNOT:
                    places[v] = here
                    break
                near = [t for t in sorted(self.ties.get(here, ()), key=self.names.__getitem__) if t not in seen]
                seen |= set(near)
                todo += near
        return places

    @cached_property
    def tied_to_people(self) -> dict[int, list[int]]:
        """The knots that touch somebody (none that joins two ropes), and what else each touches."""
        bends, owner = self.rig.index.bends, self.owner
        return {
            v: [t for t in self.beside[v] if owner[t] < 0]
            for v in self.ties
            if self.names[v] not in bends and any(owner[t] >= 0 for t in self.beside[v])
        }

    @cached_property
    def elsewhere(self) -> dict[int, int]:
        """Where a knot lies once what it lies at is gone: where a knot lies that its loop passes through, else where
        the first of the knots that it touches does."""
        found = {}
        for v in self.ties:
            if self.places[v] != v:
                near = [v]
                for here in near:
                    near += [t for t in self.beside[here] if self.parts[t].nature is Nature.KNOT and t not in near]
                further = sorted({self.places[t] for t in near} - {self.places[v]})
                found[v] = further[0] if further else min(near)
        return found

    @cached_property
    def heights(self) -> dict[int, tuple[float, float]]:
        """The least and the greatest height of what has a place. A point without one lies where its body does. The
        place of what is said to be `not below`, and lies under somebody by it, tells no height: a bolt at the feet of
        who stands beside it holds them once they hang."""
        found = {}
        bodies = (part for part in self.rig.parts.values() if part.at and self._a_body(part))
        highest = max((part.at[2] for part in bodies if part.at), default=-math.inf)
        for v, part in enumerate(self.parts):
            placed = part if part.at is not None or part.body is None else self.rig.parts[part.body]
            if placed.at is not None and not (placed.below is False and placed.at[2] < highest):
                found[v] = placed.at[2] - placed.off[2], placed.at[2] + placed.off[2]
        return found

    def _a_body(self, part: Part) -> bool:
        return part.is_body or bool(part.body and self.rig.parts[part.body].is_body)

    @cached_property
    def by_ropes_alone(self) -> bool:
        """Is nothing here that stands on other parts, or keeps a rope off an edge, but pads?"""
        parts = self.rig.parts
        stations = (s for rope in self.rig.ropes for s in rope.stations)
        guards = {guard for s in stations for guard in (*s.guards, *parts[s.part].guards)}
        return not self.frames and all(parts[guard].nature is Nature.PAD for guard in guards)

    @cached_property
    def told_at_odds(self) -> frozenset[str]:
        """The bodies for whom places and *low* may contradict each other, after some failures: then what is placed far
        off may tell the order of what holds them (`order.py`)."""
        everywhere = sorted(self.heights, key=lambda v: self.heights[v][1])
        bodies = [part.name for part in self.parts if part.is_body]
        under: dict[frozenset[int], bool] = {}
        found = set()
        for name in bodies if everywhere else ():
            below = frozenset(v for v, whose in self.below_for.items() if whose is None or name in whose)
            if below not in under:
                low = {v for v in {*below, *self._on(below)} if v in self.heights}
                top = max((self.heights[v][0] for v in low), default=-math.inf)
                least = next((self.heights[v][1] for v in everywhere if v not in below), math.inf)
                under[below] = top > least
            if under[below]:
                found.add(name)
        return frozenset(found)

    def _on(self, grounds: Iterable[int]) -> set[int]:
        """What stands or lies on some ground, over contacts, people and all."""
        stack = [t for g in grounds for t in (self.grounded[g] if g in self.ends else self.beside[g])]
        found = set(stack)
        while stack:
            for t in self.beside[stack.pop()]:
                if t not in found and t not in self.ends:
                    found.add(t)
                    stack.append(t)
        return found

    # -- ropes

    def _is_stop(self, station: Station) -> bool:
        if station.role is Role.HAND:
            return self.loose
        return station.role in (Role.TIE, Role.RUN, Role.GRIP)

    def _line(self, number: int, rope: Rope) -> list[Line]:
        stations = rope.stations
        once = [k for k, s in enumerate(stations) if self._is_stop(s)]
        spans = len(rope.spans)
        closing = -1
        if rope.closed:
            once = once[:-1]  # the knot stands at both ends
            knot = self.index[stations[0].part]
            if not self.beside[knot]:  # it ties nothing: the ring is without ends
                closing = knot
                once = once[1:]
        round_ = [*once, *(k + spans for k in once)] if rope.closed else once
        if len(round_) < 2:
            return []
        stops = tuple(self._stop(k % spans if rope.closed else k, stations) for k in round_)
        strands = tuple(tuple((k % spans if rope.closed else k) for k in range(a, b)) for a, b in pairwise(round_))
        jams = [jam for k, s in enumerate(stations) if s.role is Role.STOPPER for jam in self._jams(rope, k, once)]
        ring = len(once) if rope.closed else 0
        return [Line(number, rope, stops, strands, tuple(jams), ring, closing)]

    def _stop(self, at: int, stations: Sequence[Station]) -> Stop:
        station = stations[at]
        v = self.index[station.part]
        open_ = self.parts[v].held_open
        return Stop(at, station.role, v, self.places[v], station.to_start and not open_, station.to_end and not open_)

    def _jams(self, rope: Rope, at: int, once: list[int]) -> list[Jam]:
        """On both sides of a stopper, what it may come up against."""
        found = []
        for forward in (False, True):
            places: list[tuple[int, tuple[int, ...]]] = []
            near = -1
            order = range(at + 1, len(rope.stations)) if forward else range(at - 1, -1, -1)
            for k in order:
                if rope.stations[k].role is Role.HAND and near < 0:
                    near = len(places)
                if k in once:
                    spans = tuple(range(at, k)) if forward else tuple(range(k, at))
                    places.append((once.index(k), spans))
            if places:
                name = rope.stations[at].part
                found.append(Jam(name, forward, tuple(places), len(places) if near < 0 else near))
        return found

    def may_be_cut(self, rope: Rope, *, still: bool) -> list[int]:
        """The stations at which a rope may count as cut."""
        known = self._cuttable.get((rope.name, still))
        if known is None:
            roles = (
                Role.OVER,
                Role.GRIP,
                *(() if self.loose else (Role.HAND,)),
                *((Role.TIE, Role.RUN) if still else ()),
            )
            known = [
                k
                for k, station in enumerate(rope.stations)
                if station.role in roles
                or (station.role is Role.TIE and rope.ends_at(k) and self.may_be_lost(rope, self.index[station.part]))
            ]
            self._cuttable[rope.name, still] = known
        return known

    @cached_property
    def bodies(self) -> tuple[str, ...]:
        """The bodies and their points."""
        return tuple(name for body in self.rig.bodies for name in (body.name, *body.points))

    def may_be_lost(self, rope: Rope, v: int) -> bool:
        """Could what a rope ends at go with it: does the rope run through something, and is there other rope too?"""
        runs = any(station.role in (Role.RUN, Role.GRIP) for station in rope.stations)
        return runs and self._met_by_cluster.get(self.cluster[v], 0) > 1

    @cached_property
    def met(self) -> Counter[int]:
        """How many stations of ropes are at each part."""
        at = (self.index.get(s.part, -1) for rope in self.rig.ropes for s in rope.stations)
        return Counter(v for v in at if v >= 0)

    @cached_property
    def _met_by_cluster(self) -> Counter[int]:
        found: Counter[int] = Counter()
        for v, count in self.met.items():
            found[self.cluster[v]] += count if self.cluster[v] >= 0 else 0
        return found

    @cached_property
    def detached(self) -> frozenset[int]:
        """Points that are taken off their body (`tipping.py` asks of one end alone): there are none."""
        parts = self.rig.parts
        return frozenset(v for v, p in enumerate(self.parts) if p.body and p.name not in parts[p.body].points)

    @cached_property
    def twins(self) -> dict[int, dict[int, list[int]]]:
        """For each rope, by number, and stop of it: the other stops that may be on its cluster."""
        found: dict[int, dict[int, list[int]]] = {}
        for line in self.lines:
            of: dict[int, list[int]] = {}
            for t, stop in enumerate(line.stops):
                if self.cluster[stop.v] >= 0:
                    of.setdefault(self.cluster[stop.v], []).append(t)
            found[line.number] = {t: [k for k in group if k != t] for group in of.values() for t in group if group[1:]}
        return found

    # -- with nothing failed

    @cached_property
    def cluster(self) -> list[int]:
        """For each part the number of the cluster that it is in with nothing failed, nobody there who isn't a joint."""
        number = [-1] * self.count
        for start in range(self.count):
            if number[start] >= 0 or self.owner[start] >= 0 or self.ground[start] or start in self._frame_set:
                continue
            number[start] = start
            stack = [start]
            while stack:
                for t in self.free[stack.pop()]:
                    if number[t] < 0 and self.owner[t] < 0:
                        number[t] = start
                        stack.append(t)
        return number

    @cached_property
    def _frame_set(self) -> frozenset[int]:
        return frozenset(self.frames)

    @cached_property
    def members(self) -> dict[int, list[int]]:
        """The parts of each cluster."""
        found: dict[int, list[int]] = {}
        for v, number in enumerate(self.cluster):
            if number >= 0:
                found.setdefault(number, []).append(v)
        return found

    @cached_property
    def joined(self) -> dict[int, frozenset[int]]:
        """For each person the clusters that are his own while he is asked after."""
        found: dict[int, set[int]] = {}
        for v, mine in enumerate(self.owner):
            if mine >= 0:
                found.setdefault(mine, set()).update(self.cluster[t] for t in self.beside[v] if self.cluster[t] >= 0)
        return {person: frozenset(clusters) for person, clusters in found.items()}

    @cached_property
    def carriers(self) -> dict[int, list[int]]:
        """The clusters in which there are loads and litters, and these."""
        found: dict[int, list[int]] = {}
        for v, part in enumerate(self.parts):
            if part.nature in (Nature.LOAD, Nature.LITTER):
                found.setdefault(self.cluster[v], []).append(v)
        return found

    @cached_property
    def footing(self) -> dict[int, list[tuple[int, int]]]:
        """For each cluster, what of it touches which ground part or frame."""
        found: dict[int, list[tuple[int, int]]] = {}
        for ground, touched in enumerate(self.grounded):
            for v in touched:
                if self.cluster[v] >= 0:
                    found.setdefault(self.cluster[v], []).append((v, ground))
        return found

    @cached_property
    def own(self) -> dict[int, list[int]]:
        """For each person, what is his own: himself and his points."""
        found: dict[int, list[int]] = {}
        for v, mine in enumerate(self.owner):
            if mine >= 0:
                found.setdefault(mine, []).append(v)
        return found

    @cached_property
    def lashings(self) -> dict[int, Lashing]:
        """The clusters that are lashed to a body by rope alone."""
        clusters = Clusters(self.index, self.cluster, self.carriers, self.movers_of, self.footing)
        return lashings(self.rig, clusters)

    @cached_property
    def movers_of(self) -> dict[int, list[int]]:
        """For each cluster, the people whose own it is."""
        found: dict[int, list[int]] = {}
        for person, clusters in self.joined.items():
            for cluster in clusters:
                found.setdefault(cluster, []).append(person)
        return found


def _on_ground(part: Part) -> bool:
    """Is it somebody who stands, and not on what hangs?"""
    return part.nature is Nature.PERSON and part.standing and part.stands_on is None
