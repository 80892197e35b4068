"""Who is held: balance, for many scenarios at once.

A part is *borne* where it withstands a pull down, *pinned* where it withstands a pull up. Both spread
over contacts from the ground, and along ropes: a walk over a rope's stops carries two values a strand,
whether the next stop lies higher or lower. What is found so is true if the directions that were
chosen on the way to it are one real order; `derivation.py` looks at that, and where they are none, the
scenario is asked again with the order of one pair fixed, once each way. So the answer is: is there an
order in which it is borne.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise, product
from typing import TypeVar

from analyser.holding.batch import positions, spread
from analyser.holding.cuts import Cuts
from analyser.holding.derivation import Clash, Derivation
from analyser.holding.least_sets import LeastSets
from analyser.holding.order import Pair, Told
from analyser.holding.reading import Reading
from analyser.holding.scene import Scene
from analyser.holding.structure import Jam, Line, Stop
from analyser.holding.walks import Laid, Spots
from analyser.rig.model import Role

Key = TypeVar("Key")
MOST_ORDERS = 400
"""Orders that are tried for one question; what is open then counts as not held."""
MOST_SETTLED = 60
"""Clashes that are settled one within the other, likewise."""


@dataclass(frozen=True, slots=True)
class World:
    """What is taken as given in a question."""

    frames: Mapping[int, int] = field(default_factory=dict)
    """Frames that are ground, and in which columns."""
    pins: Mapping[int, int] = field(default_factory=dict)
    """What hangs with a weight of its own: it withstands a pull up."""
    anchored: bool = False
    """Does ground below count as ground above?"""
    kept: Mapping[int, int] = field(default_factory=dict)
    """What lies low although it has come off the ground below."""
    higher: Mapping[Pair, int] = field(default_factory=dict)
    """Pairs of places of which the first is higher, and in which columns."""
    unjammed: Mapping[tuple[str, bool, int], int] = field(default_factory=dict)
    """Places at which a stopper does not jam: the stopper, its side, the stop; and in which columns."""
    settled: int = 0
    """How many clashes have been settled so."""
    floats: bool = False
    """Does what floats where ropes cross, and touches nothing else, take its place among them? Else it might as well
    not be there."""


class Solver:
    """One scene, in one reading, with what is given."""

    def __init__(self, cuts: Cuts, world: World, lines: Sequence[Line] | None = None) -> None:
        """`lines`: the ropes that can matter, where that is known."""
        self.cuts = cuts
        self.scene: Scene = cuts.scene
        self.structure = cuts.scene.structure
        self.world = world
        self.there = self.scene.there
        """What is there to carry: no frame that doesn't stand; in `still`, nothing that carries only in a fall."""
        idle = [v for v, so in enumerate(self.structure.arrests) if so] if cuts.reading is Reading.STILL else []
        if idle or self.structure.frames:
            self.there = list(self.there)
        for v in idle:
            self.there[v] = 0
        for v in self.structure.frames:
            self.there[v] &= world.frames.get(v, 0)
        self.heights = {} if world.anchored else self.structure.heights
        """Whether something can be pulled away is asked whatever the places."""
        self.fixed, self.low, self.under, self.pulled = self._ground()
        self.bears = self._bearing()
        self._together: defaultdict[int, list[dict[int, int]]] = defaultdict(list)
        """By cluster: what is one with some part of it that no ground fixes, as far as that was looked at."""
        self.joined: list[int] = []
        """What is joined to the ground at all, where that was looked at."""
        self.afloat = 0
        """Where something that floats on ropes, and that they pass more than once, is taken as not there."""
        self.lines = self.structure.lines if lines is None else lines
        cuts.look_at_ends(line.rope for line in self.lines)
        self.laid = [laid for line in self.lines if (laid := self._lay(line)) is not None]

    # -- ground, and what lies low

    def _ground(self) -> tuple[list[int], list[int], list[int], list[int]]:
        """Where each part is fixed by ground above over contacts; lies low; is ground below itself; and is
        pulled down by a strap to ground below."""
        structure, scene = self.structure, self.scene
        count = structure.count
        above: dict[int, int] = {}
        below: dict[int, int] = {}
        for v in structure.ends:
            bits = self.there[v] if structure.ground[v] else self.world.frames.get(v, 0)
            bits &= ~self._not_lying(v)
            under = 0 if self.world.anchored else self._lies_below(v)
            above[v] = bits & ~under
            below[v] = bits & under
        fixed = self._from(above)
        for v in structure.on_feet:
            bits = self.there[v] & ~scene.batch.unfooted.get(structure.names[v], 0)
            under = 0 if self.world.anchored else self._lies_below(v)
            fixed[v] |= bits & ~under
            below[v] = below.get(v, 0) | bits & under
        if structure.on_feet:
            self._over_contacts(fixed)
        for v, bits in above.items():
            fixed[v] |= bits
        none = [0] * count
        if not any(below.values()) and not self.world.kept:
            return fixed, none, none, none
        return (fixed, *self._lowered(fixed, below))

    def _lies_below(self, v: int) -> int:
        if v not in self.structure.below_for:
            return 0
        bodies = self.structure.below_for[v]
        if bodies is None:
            return self.scene.batch.full
        found = 0
        for name in bodies:
            found |= self.scene.batch.asked.get(name, 0)
        return found

    def _not_lying(self, v: int) -> int:
        """Where somebody is asked after who doesn't lie on the ground under what has landed: it holds them not."""
        only, found = self.structure.parts[v].holds_only, 0
        for name, bits in self.scene.batch.asked.items() if only else ():
            found |= 0 if name in only else bits
        return found

    def _from(self, grounds: Mapping[int, int]) -> list[int]:
        values = [0] * self.structure.count
        for g, bits in grounds.items():
            for t in self.structure.grounded[g]:
                values[t] |= bits & self.there[t]
        return self._over_contacts(values)

    def _over_contacts(self, values: list[int]) -> list[int]:
        return self.scene.spread(values, there=self.there)

    def _lowered(self, fixed: list[int], below: Mapping[int, int]) -> tuple[list[int], list[int], list[int]]:
        structure = self.structure
        touched = [0] * structure.count
        pulled = [0] * structure.count
        under = [0] * structure.count
        for g, bits in below.items():
            near = structure.grounded[g] if g in structure.ends else [g]
            for t in near:
                one = pulled if structure.pulls_only[t] else touched
                one[t] |= bits & self.there[t]
        for v, bits in self.world.kept.items():
            touched[v] |= bits
        self._over_contacts(touched)
        self._over_contacts(pulled)
        low = [bits & ~up for bits, up in zip(touched, fixed, strict=True)]
        for g in structure.ends:
            under[g] = below[g]
            low[g] |= under[g]
        return low, under, pulled

    def _bearing(self) -> list[int]:
        """Where a part can hold anything: nobody but the one asked after; where several are at once, no knot that is
        tied to people alone either."""
        full, passing, owner = self.scene.batch.full, self.scene.passing, self.structure.owner
        bears = [full if mine < 0 else passing.get(mine, 0) for mine in owner]
        if not self.scene.apart:
            for v, others in self.structure.tied_to_people.items():
                bears[v] = 0
                for t in others:
                    bears[v] |= self.there[t]
        return bears

    def explained(self, wanted: Mapping[int, int]) -> list[set[str] | None]:
        """For each column (one wanted part in each) the names of all that it is borne by: parts, spans,
        edges, stoppers; None where it isn't borne, or not in the first order that was found."""
        sets = LeastSets(self, rooted=True)
        sets.close()
        if any(bits & ~sets.borne[v] for v, bits in wanted.items()):
            sets.close(self.world.pins)
        derivation = Derivation(sets.log, self.heights, self._told)
        need = {v: bits & sets.borne[v] for v, bits in wanted.items()}
        good = ~derivation.clashes(need)
        borne = 0
        for bits in need.values():
            borne |= bits
        return [
            self._names(derivation, column) if borne & good & 1 << column else None
            for column in range(self.scene.batch.width)
        ]

    def _names(self, derivation: Derivation, column: int) -> set[str]:
        bit = 1 << column
        structure = self.structure
        found = {structure.names[v] for v, bits in derivation.parts.items() if bits & bit}
        for (number, strand), bits in derivation.strands.items():
            if bits & bit:
                rope = structure.rig.ropes[number]
                for k in structure.line_of[rope.name].strands[strand]:
                    found.add(rope.spans[k])
                    for station in rope.stations[k : k + 2]:
                        found |= {station.part, *station.guards, *structure.rig.parts[station.part].guards}
        return found | {stopper for (stopper, _, _), bits in derivation.jammed.items() if bits & bit}

    # -- ropes, prepared

    def _lay(self, line: Line) -> Laid | None:
        """None for a rope that is gripped at nothing or cut everywhere."""
        scene, batch = self.scene, self.scene.batch
        if line.rope.name in scene.removed:
            return None
        spans = self.cuts.spans(line.rope)
        cut = batch.cut
        whole, uncut = [], []
        for strand in line.strands:
            bits = told = batch.full
            for k in strand:
                bits &= spans[k]
                if line.rope.spans[k] in cut:
                    told &= ~cut[line.rope.spans[k]]
            whole.append(bits)
            uncut.append(told)
        if line.ring:
            knot = line.stops[0].v if line.closing < 0 else line.closing
            gone = batch.full & ~self.there[knot]  # the knot that closes it is gone: its ends are free
            whole = self._opened(line, whole, gone) if gone else whole
        if not any(uncut):
            return None
        to_start, to_end, gripped = [], [], []
        for stop in line.stops:
            bits = self._gripped(stop.role, stop.v)
            gripped.append(bits)
            to_start.append(bits if stop.to_start else 0)
            to_end.append(bits if stop.to_end else 0)
        jams = []
        for jam in line.jams:
            for at, bits in self._jammed(line, jam, spans):
                for k in (at, at + line.ring) if line.ring else (at,):
                    jams.append((jam, k, bits))
                    grips = to_end if jam.forward else to_start
                    grips[k] |= bits
        if (not any(to_start) or not any(to_end)) and not line.ring:
            return None
        absent = self._absent(line)
        spots = [self._spots(stop) for stop in line.stops]
        inner = [self._one_cluster(first.v, second.v) for first, second in pairwise(line.stops)]
        bears = [
            self.bears[s.v] & ~none if none else self.bears[s.v] for s, none in zip(line.stops, absent, strict=True)
        ]
        up, down = self._ways(line, absent, spots, inner)
        twins = {
            t: found
            for t, others in self.structure.twins[line.number].items()
            if (found := [(k, bits) for k in others if (bits := self._one_cluster(line.stops[t].v, line.stops[k].v))])
        }
        return Laid(line, whole, uncut, to_start, to_end, gripped, jams, absent, bears, up, down, spots, inner, twins)

    def _one_cluster(self, v: int, w: int) -> int:
        """Where two parts are on one cluster that no ground fixes."""
        structure, there = self.structure, self.there
        if v == w:
            return there[v]
        if structure.cluster[v] != structure.cluster[w] and min(structure.cluster[v], structure.cluster[w]) >= 0:
            return 0
        bits = there[v] & there[w] & ~self.fixed[v]
        found = 0
        own = self.structure.owner[v] < 0  # from somebody's harness nothing leads on but where it is asked for
        for reached in self._together[self.structure.cluster[v]] if own else ():
            here = bits & reached.get(v, 0)
            found |= here & reached.get(w, 0)
            bits &= ~here
            if not bits:
                return found
        if not bits:
            return found
        reached = self.scene.from_parts({v: bits}, until=-1 if own else w, there=there)
        if own:
            self._together[self.structure.cluster[v]].append(reached)
        return found | bits & reached.get(w, 0)

    def _spots(self, stop: Stop) -> Spots:
        """Where a stop lies. What a knot is tied to may be gone (with several failures it lies at both, as what is
        gone may not help)."""
        gone = ~self.there[stop.place] & self.scene.batch.full
        if not gone or stop.v not in self.structure.elsewhere:
            return ((stop.place, -1),)
        return (stop.place, ~(gone & self.scene.batch.single)), (self.structure.elsewhere[stop.v], gone)

    @staticmethod
    def _opened(line: Line, whole: list[int], gone: int) -> list[int]:
        """The strands of a rope whose closing knot is gone in some columns: nothing goes over it."""
        over = (line.ring - 1,) if line.closing >= 0 else (0, line.ring - 1, line.ring)
        return [bits & ~gone if k in over else bits for k, bits in enumerate(whole)]

    def _gripped(self, role: Role, v: int) -> int:
        structure, batch = self.structure, self.scene.batch
        if role is Role.RUN:
            return 0
        bits = self.there[v]
        if role is Role.GRIP:
            name = structure.names[v]
            if structure.arrests[v] and self.cuts.reading is Reading.STILL:
                return 0
            return bits & ~batch.ungripped.get(name, 0)
        if role is Role.HAND:
            return bits & ~batch.open_hands.get(structure.names[v], 0)
        return bits & (self.scene.ties(v) | ~batch.single)

    def _jammed(self, line: Line, jam: Jam, spans: list[int]) -> list[tuple[int, int]]:
        """Where a stopper jams: at the first part further in that is there and isn't taken along, or at any before
        that; in `held` and `still` not at a device, nor past one or a hand."""
        batch = self.scene.batch
        alive = batch.full & ~batch.gone.get(jam.stopper, 0)
        if line.rope.name in self.scene.removed:
            return []
        anywhere = not self.cuts.reading.cuts
        found = []
        for at, between in jam.places if anywhere else jam.places[: jam.near]:
            stop = line.stops[at]
            if stop.role is Role.HAND:
                continue
            there = self.there[stop.v]
            if stop.role is Role.TIE:
                there &= self.scene.ties(stop.v)
            bits = alive & there & ~self.world.unjammed.get((jam.stopper, jam.forward, at), 0)
            for k in between:
                bits &= spans[k]
            if bits and (anywhere or stop.role is not Role.GRIP):
                found.append((at, bits))
            past = ~there & batch.single
            if stop.role is not Role.GRIP or anywhere:
                past |= self._taken_along(stop)
            alive &= past
            if not alive:
                break
        return found

    def _taken_along(self, stop: Stop) -> int:
        """Where a stopper takes along what it comes up against (with one failure at most): a cluster that no ground
        touches, if ropes only run through it, or no other stop of any rope is at it."""
        bits = self.scene.batch.single & self.there[stop.v] & ~self._kept[stop.v]
        if not bits or stop.v in self.structure.ends:
            return 0
        return bits & ~(self._touched[stop.v] and self._touched[stop.v] & self._met_again(stop.v, bits))

    def _absent(self, line: Line) -> list[int]:
        """Where each stop of a rope is not in the world: a part that is gone or a knot that ties nothing (with one
        failure at most), somebody else."""
        scene, owner = self.scene, self.structure.owner
        full, single = scene.batch.full, scene.batch.single
        found = []
        for stop in line.stops:
            bits = single & ~self.there[stop.v]
            if stop.role is Role.TIE:
                bits |= single & ~scene.ties(stop.v)
            elif stop.role is Role.RUN and stop.v not in self.structure.ends:
                loose = single & self.there[stop.v] & ~self._touched[stop.v]
                crossed = self._met_again(stop.v, loose) if loose else 0
                if stop.v in self._blocking:
                    loose &= ~crossed
                elif stop.v not in self.structure.detached:
                    loose &= ~crossed if self.world.floats else -1
                    self.afloat |= crossed
                bits |= loose
            elif stop.role is Role.HAND:  # an open hand is no stop
                bits |= single & ~self._gripped(stop.role, stop.v)
            if owner[stop.v] >= 0 and scene.apart:
                bits |= full & ~scene.passing.get(owner[stop.v], 0)
            found.append(bits)
        return found

    @cached_property
    def _touched(self) -> list[int]:
        """Where something else than ropes that run through it touches each part's cluster."""
        values = self._with_weights()
        for line in self.structure.lines:
            for stop in line.stops:
                if stop.role is not Role.RUN:
                    values[stop.v] |= self._gripped(stop.role, stop.v)
        return self._over_contacts(values)

    @cached_property
    def _kept(self) -> list[int]:
        """Where ground touches each part's cluster, or a weight hangs on it."""
        return self._over_contacts(self._with_weights())

    def _with_weights(self) -> list[int]:
        """Where ground touches each part's cluster, or a weight hangs on the part itself."""
        structure, scene = self.structure, self.scene
        values = [a | b | c for a, b, c in zip(self.fixed, self.low, self.pulled, strict=True)]
        for v, bits in (*scene.mine.items(), *self.world.pins.items()):
            values[v] |= bits & self.there[v]
        if not scene.apart:  # nobody is a joint: what touches somebody is still touched
            for v, owner in enumerate(structure.owner):
                for t in structure.beside[v] if owner in scene.mine else ():
                    values[t] |= scene.mine[owner] & self.there[t]
        return values

    @cached_property
    def _blocking(self) -> set[int]:
        """The clusters of what a stopper may come up against."""
        lines = self.structure.lines
        places = {line.stops[at].v for line in lines for jam in line.jams for at, _ in jam.places}
        clusters = {cluster for v in places for cluster in self.scene.together(v)}
        return places | {v for cluster in clusters for v in self.structure.members[cluster]}

    def _met_again(self, v: int, bits: int) -> int:
        """Where ropes pass a part's cluster more than once: a stopper that jams there may hold what else passes."""
        once = more = 0
        for near, here in self.scene.from_parts({v: bits}, there=self.there).items():
            for line in self.structure.lines_at.get(near, {}).values():
                for stop in line.stops[: line.ring or None]:
                    if stop.v == near:
                        more |= once & here
                        once |= here
        return more

    def _ways(
        self, line: Line, absent: list[int], spots: Sequence[Spots], inner: list[int]
    ) -> tuple[list[int], list[int]]:
        """For each strand, where the next stop may be higher, and where lower."""
        full = self.scene.batch.full
        count = len(line.strands)
        up, down = [full] * count, [full] * count
        ordered = self.heights or self.world.higher
        if not ordered and not any(self.low[stop.v] or self.under[stop.place] for stop in line.stops):
            return up, down
        either = [not self.scene.apart and self.structure.owner[stop.v] >= 0 for stop in line.stops]
        for i, first in enumerate(line.stops[:-1]):
            between = full & ~absent[i]
            for j in range(i + 1, len(line.stops)):
                second = line.stops[j]
                bits = between & ~absent[j] & ~(inner[i] if j == i + 1 else 0)
                for (p, at_first), (q, at_second) in product(spots[i], spots[j]) if bits else ():
                    no_up, no_down = self._barred(first.v, p, second.v, q)
                    both = bits & at_first & at_second
                    up[j - 1] &= ~(no_up & both)
                    down[j - 1] &= ~(no_down & both)
                if not either[j]:
                    between &= absent[j]
                if not between:
                    break
        return up, down

    def _barred(self, v: int, p: int, w: int, q: int) -> tuple[int, int]:
        """Where w (at place q) cannot lie higher than v (at place p), and where it cannot lie lower."""
        if p == q:
            return 0, 0
        full = self.scene.batch.full
        low, under = self.low, self.under
        heights = self.heights
        lower_w = lower_v = 0
        if p in heights and q in heights and heights[q][1] < heights[p][0]:
            lower_w = full
        elif p in heights and q in heights and heights[p][1] < heights[q][0]:
            lower_v = full
        else:
            lower_w = low[w] & ~low[v] | under[q] & ~under[p]
            lower_v = low[v] & ~low[w] | under[p] & ~under[q]
        higher = self.world.higher
        return lower_w | higher.get((p, q), 0), lower_v | higher.get((q, p), 0)

    @cached_property
    def _told(self) -> list[tuple[Pair, int]]:
        """What follows of the order where what lies low is written above what doesn't."""
        if not self.heights or not any(self.low):
            return []
        others = {place for laid in self.laid for spots in laid.spots for place, _ in spots}.difference(self.heights)
        there = self.there
        if self.scene.apart:  # nobody else is there
            there = [here & bears for here, bears in zip(there, self.bears, strict=True)]
        return Told(self.heights, there, self.low, self.under).edges(sorted(others))

    # -- the least sets

    def borne(self, wanted: Mapping[int, int]) -> dict[int, int]:
        """Where each wanted part is borne, in some order, as far as `MOST_ORDERS` find it."""
        left = [MOST_ORDERS]
        found = self._borne(wanted, left)
        short = {v: bits & self.afloat & self.there[v] & ~found.get(v, 0) for v, bits in wanted.items()}
        if any(short.values()):  # held with what floats where ropes cross, or without
            for v, bits in self._elsewhere(replace(self.world, floats=True), short, left).items():
                found[v] = found.get(v, 0) | bits
        return found

    def _borne(self, wanted: Mapping[int, int], left: list[int]) -> dict[int, int]:
        left[0] -= 1
        sets = LeastSets(self)
        sets.close()
        found: dict[int, int] = {}
        if self._may_be_more(sets, wanted):
            sets.close(self.world.pins)
        need = {v: bits & sets.borne[v] for v, bits in wanted.items()}
        derived = {v: bits & ~self.fixed[v] for v, bits in need.items()}
        if not any(derived.values()):
            return need
        derivation = Derivation(sets.log, self.heights, self._told)
        clash = derivation.clashes(derived)
        for v, bits in need.items():
            found[v] = bits & ~clash | bits & self.fixed[v]
        open_ = {v: bits & clash & ~found[v] for v, bits in need.items()}
        if any(open_.values()):
            for v, bits in self._in_other_orders(open_, derivation, left).items():
                found[v] |= bits
        return found

    def _may_be_more(self, sets: LeastSets, wanted: Mapping[int, int]) -> bool:
        """Is anything that is wanted and not borne yet joined to the ground at all?"""
        short = {v: bits & self.there[v] & ~sets.borne[v] for v, bits in wanted.items()}
        if not any(short.values()):
            return False
        self.joined = sets.joined()
        return any(bits & self.joined[v] for v, bits in short.items())

    def _in_other_orders(self, wanted: Mapping[int, int], derivation: Derivation, left: list[int]) -> dict[int, int]:
        """Look again with the order of one clashing pair of each column fixed, once each way (or with a stopper jammed
        at one of two places only)."""
        found = dict.fromkeys(wanted, 0)
        every = 0
        for bits in wanted.values():
            every |= bits
        clashes = []
        while every and self.world.settled < MOST_SETTLED:
            clash = derivation.first_clash(every, self.world.higher)
            if clash is None:
                break
            clashes.append(clash)
            every &= ~clash.columns
        for forward in (True, False):
            world, columns = self._settled(clashes, forward=forward)
            asked = {v: bits & columns & ~found[v] for v, bits in wanted.items()}
            if any(asked.values()) and left[0] > 0:
                for v, bits in self._elsewhere(world, asked, left).items():
                    found[v] |= bits
        return found

    def _settled(self, clashes: Iterable[Clash], *, forward: bool) -> tuple[World, int]:
        """What is given once every clash is settled one way, and the columns in which that can be and adds to what is
        settled already."""
        higher, unjammed = dict(self.world.higher), dict(self.world.unjammed)
        columns = 0
        for clash in clashes:
            new = clash.columns
            if clash.jam is not None:
                side, one, other = clash.jam
                key = *side, one if forward else other
                unjammed[key] = unjammed.get(key, 0) | new
            else:
                pair = clash.pair if forward else clash.pair[::-1]
                new &= ~higher.get(pair, 0)
                higher[pair] = higher.get(pair, 0) | new
            columns |= new
        never = _close(higher)
        return replace(self.world, higher=higher, unjammed=unjammed, settled=self.world.settled + 1), columns & ~never

    def _elsewhere(self, world: World, asked: Mapping[int, int], left: list[int]) -> dict[int, int]:
        """The same question in another world, only the columns asked."""
        every = 0
        for bits in asked.values():
            every |= bits
        columns = positions(every)
        inner = self.selected(columns, world)
        batch = self.scene.batch
        found = inner._borne({v: batch.pick(bits, columns) for v, bits in asked.items()}, left)
        return {v: spread(bits, columns) & asked[v] for v, bits in found.items()}

    def selected(self, columns: list[int], world: World) -> Solver:
        """The same for some of the columns."""
        batch = self.scene.batch

        def picked(values: Mapping[Key, int]) -> dict[Key, int]:
            return {v: here for v, bits in values.items() if (here := batch.pick(bits, columns))}

        cuts = self.cuts.picked(columns)
        cuts.take_spans(self.cuts.picked_spans(columns))
        world = replace(world, frames=picked(world.frames), pins=picked(world.pins), kept=picked(world.kept))
        world = replace(world, higher=picked(world.higher), unjammed=picked(world.unjammed))
        return Solver(cuts, world, self.lines)


def _close(higher: dict[Pair, int]) -> int:
    """Add all that follows from these pairs; the columns in which they contradict each other."""
    under: dict[int, set[int]] = {}
    over: dict[int, set[int]] = {}
    todo = list(higher)
    for a, b in todo:
        under.setdefault(a, set()).add(b)
        over.setdefault(b, set()).add(a)
    while todo:
        a, b = todo.pop()
        bits = higher[a, b]
        follows = [(a, c, bits & higher[b, c]) for c in under.get(b, ())]
        follows += [(c, b, bits & higher[c, a]) for c in over.get(a, ())]
        for high, low, both in follows:
            if both & ~higher.get((high, low), 0):
                higher[high, low] = higher.get((high, low), 0) | both
                under.setdefault(high, set()).add(low)
                over.setdefault(low, set()).add(high)
                todo.append((high, low))
    never = 0
    for (a, b), bits in higher.items():
        never |= bits if a == b else 0
    return never


def anchored(cuts: Cuts, wanted: Mapping[int, int], frames: Mapping[int, int]) -> dict[int, int]:
    """Where each part is anchored, in the columns asked: held, if ground below counted as ground above. Each is
    asked in columns of its own."""
    scene = cuts.scene
    structure, batch = scene.structure, scene.batch
    solid = _fixed_with(scene, frames)
    found: dict[int, int] = {}
    columns: list[int] = []
    blocks: dict[int, tuple[int, list[int]]] = {}
    for v, bits in wanted.items():
        known = scene.there[v] if structure.ground[v] else frames.get(v, 0) if v in structure.frames else solid(v)
        found[v] = known & bits
        left = bits & scene.there[v] & ~known
        if left and v not in structure.ends:
            mine = positions(left)
            blocks[v] = len(columns), mine
            columns += mine
    if not columns:
        return found
    pins = {v: (1 << len(mine)) - 1 << start for v, (start, mine) in blocks.items()}
    inner = cuts.picked(columns)
    world = World(frames={v: batch.pick(bits, columns) for v, bits in frames.items()}, pins=pins, anchored=True)
    lines = _within_reach(inner.scene, blocks, frames)
    borne = Solver(inner, world, lines).borne(pins)
    for v, (start, mine) in blocks.items():
        found[v] |= spread(borne[v] >> start & (1 << len(mine)) - 1, mine)
    return found


def _fixed_with(scene: Scene, frames: Mapping[int, int]) -> Callable[[int], int]:
    """Where a part is fixed over contacts alone, given which frames are ground."""
    if not scene.structure.frames:
        return scene.solid
    grounds = {v: scene.there[v] for v in scene.structure.ends if scene.structure.ground[v]}
    return scene.from_ground({**grounds, **frames}).__getitem__


def _within_reach(scene: Scene, starts: Iterable[int], frames: Mapping[int, int]) -> list[Line]:
    """The ropes that can come to bear on these parts: none beyond what is fixed in every column."""
    structure = scene.structure
    full = scene.batch.full
    found: dict[int, Line] = {}
    seen = set(starts)
    stack = list(seen)
    while stack:
        v = stack.pop()
        near = [*structure.free[v], *structure.guarded[v]]
        for number, line in structure.lines_at.get(v, {}).items():
            if number not in found and line.rope.name not in scene.removed:
                found[number] = line
                near += [stop.v for stop in line.stops]
        for t in near:
            if t not in seen:
                seen.add(t)
                if scene.solid(t) != full and not structure.ground[t]:
                    stack.append(t)
    return [found[number] for number in sorted(found)]
