"""From a rig laid out to pulls: which strands pull which clusters when the weight hangs on one of them.

The sentences of section 1 of the design's page on balance that speak of ropes: tensions, stoppers, order
of heights, knots and clusters that may as well not be there. `balance_view.py` says what is there.
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass, replace
from itertools import chain, combinations, product
from typing import TYPE_CHECKING

from pulls import FIXED, Pulls, Strand, balanced

from analyser.rig.model import Nature, Role

if TYPE_CHECKING:
    from balance_view import Layout, Piece, View


def balanced_on(
    view: View, layout: Layout, part: str, anchored: bool, others_weigh: bool, minus: frozenset[str]
) -> bool:
    """Can a weight be balanced that hangs on this part? `minus`: ropes taken away (and parts, which the
    layout leaves out already). Ground that is not below takes any force."""
    if part in layout.ground:
        return layout.ground[part]
    if part not in layout.cluster:
        return False
    loaded = layout.cluster[part]
    if loaded in layout.fixed:
        return True
    weighing: set[int] = set()
    if others_weigh:
        others = [p.name for p in view.parts.values() if p.is_body and p.name in layout.cluster]
        weighing = {layout.cluster[name] for name in others} - {loaded}
        if not weighing:
            return False
    question = _Question(view, layout, loaded, weighing, minus, places=not anchored)
    return any(balanced(pulls) for pulls in question.pulls())


@dataclass(frozen=True)
class Stop:
    """Where a piece of rope meets a part. `start`, `end`: on that side the tension may be the larger
    one. Neither: the same on both sides of whatever the rope runs through. Both: independent."""

    part: str
    start: bool = False
    end: bool = False
    stopper: bool = False
    device: bool = False
    """A device that grips, working or not, or a hand."""
    hand: bool = False

    @property
    def runs(self) -> bool:
        return not (self.start or self.end or self.stopper)


@dataclass(frozen=True)
class String:
    """A piece of rope as the stops that it meets."""

    stops: tuple[Stop, ...]
    ring: bool


class _Question:
    def __init__(
        self, view: View, layout: Layout, loaded: int, weighing: set[int], minus: frozenset[str], *, places: bool
    ) -> None:
        self.view = view
        self.layout = layout
        self.loaded = loaded
        self.weighing = weighing
        self.minus = minus
        self.places = places
        self.reading = view.scene.reading

    def pulls(self) -> Iterator[Pulls]:
        """Every way in which stoppers may jam, and in which what needn't be there may be there."""
        for strings in self._jammed(self._strings()):
            for without in self._left_out(strings):
                left = [replace(s, stops=tuple(x for x in s.stops if x.part not in without)) for s in strings]
                yield _Assembly(self, left).pulls()

    # ---- which rope matters

    def _strings(self) -> list[String]:
        """The pieces of rope that the weight can reach, over clusters that nothing fixes."""
        ropes = {rope.name: {s.part for s in rope.stations} for rope in self.view.ropes.values()}
        ropes = {name: parts for name, parts in ropes.items() if name not in self.minus}
        near = self._reached(ropes)
        pieces = [piece for name in near for piece in self.view.pieces(self.view.ropes[name])]
        strings = [String(self._stops(piece), piece.ring) for piece in pieces]
        by_number = {str(k): {stop.part for stop in string.stops} for k, string in enumerate(strings)}
        return [strings[int(k)] for k in self._reached(by_number)]

    def _reached(self, met: dict[str, set[str]]) -> list[str]:
        """Of ropes with the parts that they meet: those that the weight's cluster reaches."""
        clusters, near = {self.loaded}, set[str]()
        grown = True
        while grown:
            grown = False
            for name in met.keys() - near:
                own = {self.layout.cluster[p] for p in met[name] if p in self.layout.cluster} - self.layout.fixed
                if own & clusters:
                    near.add(name)
                    clusters |= own
                    grown = True
        return [name for name in met if name in near]

    def _stops(self, piece: Piece) -> tuple[Stop, ...]:
        found = [self._stop(piece, k) for k in piece.stations]
        return tuple(stop for stop in found if stop)

    def _stop(self, piece: Piece, k: int) -> Stop | None:
        """What the rope meets at a station, if that is there. At a free end the tension is nought."""
        view, station = self.view, piece.rope.stations[k]
        part = station.part
        if part not in view.there:
            return None
        if station.role is Role.STOPPER:
            return Stop(part, stopper=True)
        if not self.layout.has(part):
            return None
        if station.role is Role.RUN:
            return Stop(part)
        if station.role is Role.TIE:
            # A knot in mid-rope that ties nothing any more may as well not be there.
            nothing = part in self.layout.cluster and self.layout.alone(part) and part not in view.case.bends
            return None if nothing and self.layout.cluster[part] != self.loaded else Stop(part, True, True)
        if station.role is Role.HAND:
            if not view.scene.loose or part in view.effects.open_hands:
                return None
            return Stop(part, station.to_start, station.to_end, device=True, hand=True)
        # At a one-way grip the tension may be larger on the loaded side only.
        grips = view.grips(station)
        return Stop(part, grips and station.to_start, grips and station.to_end, device=True)

    # ---- stoppers: one can't pass what it comes up against: it holds there like a knot, against that
    # pull, at one part further in

    def _jammed(self, strings: list[String]) -> Iterator[list[String]]:
        """The strings, for every choice of where each stopper jams, if it does."""
        met = self._met(strings)
        along = {n for n, stops in met.items() if len(stops) == 1 or all(stop.runs for stop in stops)} - self.weighing
        choices = [list(self._jams_of(string, along)) for string in strings]
        for chosen in product(*choices):
            yield list(chosen)

    def _jams_of(self, string: String, along: Set[int]) -> Iterator[String]:
        at = [k for k, stop in enumerate(string.stops) if stop.stopper]
        options = [[None, *self._further_in(string, k, -1, along), *self._further_in(string, k, 1, along)] for k in at]
        for chosen in product(*options):
            jammed = _with_jams(string, at, chosen)
            if jammed:
                yield jammed

    def _further_in(self, string: String, k: int, way: int, along: Set[int]) -> Iterator[tuple[int, int]]:
        """Where a stopper may jam one way along the rope: (station, way). It takes along what
        no ground touches, if ropes only run through that or nothing else is on a rope; and passes nothing else.

        In *held* and *still* it holds only where what it comes up against first is something that the
        rope runs through or is tied to, not a grip or a hand.
        """
        count = len(string.stops)
        steps = range(1, count) if string.ring else range(1, count - k if way > 0 else k + 1)
        for step in steps:
            other = (k + way * step) % count
            if self.reading != "caught" and string.stops[other].device:
                return
            if not (string.stops[other].stopper or string.stops[other].hand):  # it slips through a hand
                yield other, way
                if self.layout.cluster.get(string.stops[other].part) not in along:
                    return

    # ---- a cluster that ropes only run through and nothing else touches may as well not be there: held
    # with it or without

    def _left_out(self, strings: list[String]) -> Iterator[set[str]]:
        """The parts of such clusters to be left out, for every choice.

        One that rope passes once, and that weighs nothing, can only lie in a straight line of it, and is
        always left out.
        """
        idle = self._idle(strings)
        straight = {number for number, stops in idle.items() if len(stops) == 1} - self.weighing
        always = {stop.part for number in straight for stop in idle[number]}
        maybe = [{stop.part for stop in stops} for number, stops in idle.items() if number not in straight]
        for some in chain.from_iterable(combinations(maybe, n) for n in range(len(maybe) + 1)):
            yield always.union(*some)

    def _idle(self, strings: list[String]) -> dict[int, list[Stop]]:
        """Those clusters, each with the stops at it."""
        return {n: stops for n, stops in self._met(strings).items() if all(stop.runs for stop in stops)}

    def _met(self, strings: list[String]) -> dict[int, list[Stop]]:
        """What ropes meet of clusters that no ground touches, the weight's own left out."""
        layout = self.layout
        met: dict[int, list[Stop]] = {}
        for string in strings:
            for stop in string.stops:
                number = layout.cluster.get(stop.part)
                if number is not None and number != self.loaded and not layout.touched[number]:
                    met.setdefault(number, []).append(stop)
        return met

    # ---- heights

    def position(self, part: str) -> str:
        """The part whose height a part has: a knot lies where what it is tied to lies."""
        seen, todo = [part], [part]
        while todo:
            knot = todo.pop(0)
            if self.view.parts[knot].nature is not Nature.KNOT:
                return knot
            near = set(self.view.case.ties.get(knot, ()))
            if not any(self.layout.has(other) for other in near):  # nothing left that it is tied to
                near = {other for other in self.view.case.touching[knot] if self._is_knot(other)}
            more = [other for other in sorted(near) if self.layout.has(other) and other not in seen]
            seen += more
            todo += more
        return min(seen)

    def _is_knot(self, part: str) -> bool:
        return self.view.parts[part].nature is Nature.KNOT

    def known(self, positions: list[str]) -> set[tuple[str, str]]:
        """All pairs of these positions of which the first is known to lie above the second.

        Places decide where two are given; else what is low lies under all that isn't, and ground below
        under everything. It is one transitive order: what would contradict it is left out.
        """
        heights = {p: height for p in self._placed() if (height := self.view.height(p))}
        every = list(dict.fromkeys([*positions, *heights]))
        pairs = [(p, q) for p in every for q in every if p != q]
        by_place = [(p, q) for p, q in pairs if p in heights and q in heights and heights[p][0] > heights[q][1]]
        told = {frozenset(pair) for pair in by_place}
        level = {p: self._level(p) for p in every}
        by_level = [(p, q) for p, q in pairs if level[p] > level[q] and frozenset((p, q)) not in told]
        found: set[tuple[str, str]] = set(by_place)
        if not found:
            return {(p, q) for p, q in by_level if p in positions and q in positions}
        for p, q in sorted(by_level, key=lambda pair: -level[pair[1]]):
            if (q, p) not in found:
                over = {p, *(r for r, s in found if s == p)}
                under = {q, *(s for r, s in found if r == q)}
                found |= {(r, s) for r in over for s in under}
        return {(p, q) for p, q in found if p in positions and q in positions}

    def _placed(self) -> list[str]:
        """What may have a place that counts: all that is there, unless places are left out or none is given."""
        if not self.places or not any(part.at for part in self.view.parts.values()):
            return []
        return [p for p in sorted(self.view.there) if self.layout.has(p) and not self._is_knot(p)]

    def _level(self, position: str) -> int:
        if position in self.layout.ground:
            return 2 if self.layout.ground[position] else 0
        return 1 if self.layout.cluster[position] in self.layout.low else 2


def _with_jams(string: String, at: list[int], chosen: tuple[tuple[int, int] | None, ...]) -> String | None:
    """The string with its stoppers where they jam, or None if one choice takes another's part away.

    A stopper that jams is as good as at that part: it holds there against a pull from beyond, and what
    stood between is off the rope.
    """
    stops: list[Stop | None] = list(string.stops)
    count = len(stops)
    for k, jam in zip(at, chosen, strict=True):
        stops[k] = None
        step = 1
        while jam and (k + jam[1] * step) % count != jam[0]:
            stops[(k + jam[1] * step) % count] = None
            step += 1
    for jam in chosen:
        if jam is None:
            continue
        there, way = jam
        stop = stops[there]
        if stop is None:
            return None
        stops[there] = replace(stop, start=stop.start or way < 0, end=stop.end or way > 0)
    return String(tuple(stop for stop in stops if stop), string.ring)


class _Assembly:
    """Strands and tensions of some strings, as numbers."""

    def __init__(self, question: _Question, strings: list[String]) -> None:
        self.question = question
        self.strands: list[tuple[int, str, str]] = []
        """The tension (by number) and the two parts of every strand."""
        self.same: list[int] = [0]
        """Tensions that are one: tension 0 is nought."""
        self.no_less: list[tuple[int, int]] = []
        for string in strings:
            self._string(string)
        self._nought()

    def _string(self, string: String) -> None:
        stops = string.stops
        if len(stops) < 2:
            return
        count = len(stops) if string.ring else len(stops) - 1
        first = len(self.same)
        self.same += range(first, first + count)
        for k in range(count):
            self.strands.append((first + k, stops[k].part, stops[(k + 1) % len(stops)].part))
        for k, stop in enumerate(stops):
            before = first + (k - 1) % count if string.ring or k > 0 else 0
            after = first + k if k < count else 0
            if not stop.start and not stop.end:
                self._join(before, after)
            elif stop.start and not stop.end:
                self.no_less.append((before, after))
            elif stop.end and not stop.start:
                self.no_less.append((after, before))

    def _find(self, tension: int) -> int:
        while self.same[tension] != tension:
            tension = self.same[tension]
        return tension

    def _join(self, one: int, other: int) -> None:
        low, high = sorted((self._find(one), self._find(other)))
        self.same[high] = low

    def _nought(self) -> None:
        """What is no more than nought is nought."""
        while True:
            less = [b for a, b in self.no_less if self._find(a) == 0 and self._find(b) != 0]
            if not less:
                return
            for tension in less:
                self._join(0, tension)

    def pulls(self) -> Pulls:
        """The pulls that the weight can reach, numbered in the order in which they are met."""
        q = self.question
        strands = []
        for number, one, other in self.strands:
            tension, ends = self._find(number), (self._number(one), self._number(other))
            if tension != 0 and ends[0] != ends[1]:
                strands.append((tension, ends, (q.position(one), q.position(other))))
        relations = {(self._find(a), self._find(b)) for a, b in self.no_less}
        relations = {(a, b) for a, b in relations if a != b and b != 0}
        clusters: dict[int, int] = {q.loaded: 0}
        tensions: dict[int, int] = {}
        positions: dict[str, int] = {}
        found: set[int] = set()
        grown = -1
        while grown != len(found) + len(tensions):
            grown = len(found) + len(tensions)
            for number, (tension, ends, heights) in enumerate(strands):
                if number in found or (tension not in tensions and not set(ends) & set(clusters)):
                    continue
                found.add(number)
                tensions.setdefault(tension, len(tensions))
                for end, height in zip(ends, heights, strict=True):
                    if end != FIXED:
                        clusters.setdefault(end, len(clusters))
                    positions.setdefault(height, len(positions))
            for more, less in relations:
                if less in tensions:
                    tensions.setdefault(more, len(tensions))
        numbers = {**clusters, FIXED: FIXED}
        ground = range(len(q.layout.members), len(q.layout.members) + len(q.layout.ground))
        pulled = {*q.layout.pulled, *q.weighing, *ground}
        return Pulls(
            len(clusters),
            tuple(
                sorted(
                    (
                        Strand(tensions[t], (numbers[e[0]], numbers[e[1]]), (positions[h[0]], positions[h[1]]))
                        for t, e, h in (strands[k] for k in found)
                    ),
                    key=lambda s: (s.tension, s.clusters, s.positions),
                )
            ),
            frozenset(n for c, n in clusters.items() if c in pulled),
            frozenset((tensions[a], tensions[b]) for a, b in relations if b in tensions),
            frozenset((positions[p], positions[r]) for p, r in q.known(list(positions))),
        )

    def _number(self, part: str) -> int:
        """The cluster of a part; FIXED where it is ground or fixed by it. Ground below is a cluster of its own, which
        can be pulled up, and never down: written above something, it holds that no better."""
        layout = self.question.layout
        if not layout.ground.get(part, True):
            return len(layout.members) + sorted(layout.ground).index(part)
        number = layout.cluster.get(part, FIXED)
        return FIXED if number in layout.fixed else number
