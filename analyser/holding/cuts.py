"""Where a rope counts as cut: severed, at a lost grip, a bare hand, a lost bend (`rules.md` section 3).

Everything here is asked of one scene, in columns. *With nothing failed* is a scene of its own, with
one column for each body, kept by the structure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Set
from functools import cached_property
from typing import TYPE_CHECKING

from analyser.holding.asked_before import AskedBefore, can_matter
from analyser.holding.batch import Batch, positions, spread
from analyser.holding.bights import lost_bight
from analyser.holding.passages import Passages, Severed
from analyser.holding.reading import Reading
from analyser.holding.scene import Scene
from analyser.holding.standing_frames import standing_frames
from analyser.holding.without_bodies import WithoutBodies
from analyser.rig.model import Role, Rope, Station

if TYPE_CHECKING:
    from analyser.holding.structure import Structure


Anchored = Callable[["Cuts", Mapping[int, int], Mapping[int, int]], dict[int, int]]
"""Where each part asked for is anchored, given where a rope counts as cut and which frames are ground."""


class Cuts:
    """The spans of each rope that are whole, in one reading of one scene."""

    def __init__(
        self,
        scene: Scene,
        reading: Reading,
        strict: Structure,
        solve: Anchored,
        severed: Severed | None = None,
        *,
        bodiless: bool = False,
        within: bool = False,
    ) -> None:
        """`strict` is the structure in which guards are asked after (the scene's own, unless that is loose); `solve`
        tells what is anchored (`solving.anchored`); `bodiless`: no end is lost;
        `within`: asked about a bend, so that bends in it are asked in *held*."""
        self.scene = scene
        self.reading = reading
        self.strict = strict
        self.solve = solve
        self.severed = severed or {}
        self.bodiless = bodiless
        self.within = within
        self._apart: dict[tuple[int, str], tuple[int, int]] = {}
        self._kept: dict[tuple[int, str], int] = {}
        self._does: dict[tuple[int, str], int] = {}
        self.passages = Passages(scene, strict, self.severed, self._guards_in)
        self._whole: dict[str, list[int]] = {}
        self._frames: dict[int, int] | None = None
        self.base_: Cuts | None = None
        self.before = AskedBefore()

    def _guards_in(self, scene: Scene, severed: Severed, v: int) -> int:
        """Where a guard is anchored in another scene, and stays where it is."""
        return self.like(scene, Reading.STILL, severed).anchored({v: scene.batch.full})[v]

    def like(
        self, scene: Scene, reading: Reading, severed: Severed, *, bodiless: bool = False, within: bool = False
    ) -> Cuts:
        """Of the same rig another scene, or reading."""
        bodiless, within = bodiless or self.bodiless, within or self.within
        return Cuts(scene, reading, self.strict, self.solve, severed, bodiless=bodiless, within=within)

    def picked(
        self,
        columns: list[int],
        reading: Reading | None = None,
        removed: Set[str] | None = None,
        *,
        within: bool = False,
    ) -> Cuts:
        """The same in some of the columns; in another reading, or without other ropes, where they are given."""
        scene = self.scene
        out = scene.removed if removed is None else frozenset(removed)
        inner = Scene(scene.structure, scene.batch.select(columns), out)
        severed = {key: scene.batch.pick(bits, columns) for key, bits in self.severed.items()}
        made = self.like(inner, reading or self.reading, severed, within=within)
        made.before = self.before.picked(columns)
        return made

    # -- the spans

    def spans(self, rope: Rope) -> list[int]:
        """The columns in which each span of a rope is whole and neither end of it counts as cut."""
        known = self._whole.get(rope.name)
        if known is None:
            known = self._whole[rope.name] = self._spans(rope)
        return known

    def all_spans(self) -> Mapping[str, list[int]]:
        """The same of every rope, by name."""
        return {rope.name: self.spans(rope) for rope in self.scene.structure.rig.ropes}

    def take_spans(self, spans: Mapping[str, list[int]]) -> None:
        """What is known of ropes already."""
        self._whole |= spans

    def picked_spans(self, columns: list[int]) -> dict[str, list[int]]:
        """What was found so far, for some of the columns."""
        batch, full = self.scene.batch, (1 << len(columns)) - 1
        return {
            name: [full if bits == batch.full else batch.pick(bits, columns) for bits in whole]
            for name, whole in self._whole.items()
        }

    def _spans(self, rope: Rope) -> list[int]:
        batch = self.scene.batch
        cut = batch.cut
        whole = [batch.full & ~cut[span] if span in cut else batch.full for span in rope.spans]
        count = len(whole)
        for k in self.scene.structure.may_be_cut(rope, still=self.reading is Reading.STILL):
            bits = self._cut_at(rope, k, rope.stations[k])
            if bits:
                for span in (k - 1, k):
                    if rope.closed:
                        whole[span % count] &= ~bits
                    elif 0 <= span < count:
                        whole[span] &= ~bits
        if self.reading is Reading.STILL:
            for k, station in enumerate(rope.stations):
                if station.slack is not None and station.slack.si > 0 and k:
                    whole[k - 1] = 0
        return whole

    def _cut_at(self, rope: Rope, k: int, station: Station) -> int:
        if station.role is Role.OVER:
            return self.passages.severs(rope, k)
        if not self.reading.cuts:
            return 0
        if station.role is Role.HAND:
            return self._not_held_beyond(rope, k, still=False)
        if station.role is Role.GRIP:
            lost = self._lost_grip(rope, k)
            return lost | lost_bight(self, rope, k) if self.reading is Reading.STILL else lost
        if station.role is Role.TIE and rope.ends_at(k):
            return self._lost_end(rope, k)
        return self._lost_bend(rope, k) if self.reading is Reading.STILL else 0

    # -- grips

    @property
    def base(self) -> Cuts:
        """The same with nothing failed, one column for each body."""
        if self.base_ is None:
            structure, removed = self.scene.structure, self.scene.removed
            known = structure.bases.get(removed)
            if known is None:
                bodies = [body.name for body in structure.rig.bodies]
                asked = {name: 1 << k for k, name in enumerate(bodies)}
                scene = Scene(structure, Batch((), len(bodies), asked), removed)
                known = structure.bases[removed] = Cuts(scene, Reading.HELD, self.strict, self.solve)
                known.base_, known.before = known, AskedBefore(structure.asked_at_base)
            self.base_ = known
        return self.base_

    def for_bodies(self, bits: int) -> int:
        """The columns in which one of these bodies (a bit each, as in `base`) is asked after."""
        base = self.base.scene.batch
        if bits == base.full:
            return self.scene.batch.full
        found = 0
        for name, bit in base.asked.items():
            if bits & bit:
                found |= self.scene.batch.asked.get(name, 0)
        return found

    def does(self, v: int, rope: Rope) -> int:
        """Where a part on a rope stands apart from it, or moves with the body."""
        known = self._does.get((v, rope.name))
        if known is None:
            known = self.scene.moving_too(v)
            left = self.scene.there[v] & self.scene.asked & ~known
            if left:
                known |= self.apart(v, rope, left)
            self._does[v, rope.name] = known
        return known

    def grips(self, rope: Rope, k: int, *, forward: bool | None = None) -> int:
        """Where a station grips the rope, against its leaving one way (any way where that is None)."""
        station, structure, batch = rope.stations[k], self.scene.structure, self.scene.batch
        v = structure.index[station.part]
        sides = {True: station.to_end, False: station.to_start, None: station.to_end or station.to_start}
        if not sides[forward] or structure.parts[v].held_open:
            return 0
        return self.scene.there[v] & ~batch.ungripped.get(station.part, 0)

    def _lost_grip(self, rope: Rope, k: int) -> int:
        """Where the rope counts as cut at a grip."""
        v = self.scene.structure.index[rope.stations[k].part]
        at_base = self.base.does(v, rope)
        if not at_base:
            return 0
        working = self.grips(rope, k)
        lost = self.for_bodies(at_base) & ~(working and working & self.does(v, rope))
        return lost & self._not_held_beyond(rope, k, still=self.reading is Reading.STILL) if lost else 0

    def _not_held_beyond(self, rope: Rope, k: int, *, still: bool) -> int:
        """Where the next thing beyond a station, away from a loaded side, that holds the rope is no grip that
        still does what it must (`still`: and hangs from the same place)."""
        bits = 0
        for forward, loaded in self.loaded_sides(rope, k):
            bits |= loaded & ~self._held_beyond(rope, k, not forward, still=still)
        return bits

    def loaded_sides(self, rope: Rope, k: int) -> list[tuple[bool, int]]:
        """The loaded sides of a grip or hand (True: towards the end), as with nothing failed, and in which columns."""
        station = rope.stations[k]
        to_start, to_end = station.loaded or (station.to_start, station.to_end)
        full = self.scene.batch.full
        if not (to_start and to_end):
            return [(forward, full) for forward, so in ((False, to_start), (True, to_end)) if so]
        sides = [(forward, self.for_bodies(self._tight(rope, k, forward))) for forward in (False, True)]
        neither = full & ~(sides[0][1] | sides[1][1])  # nothing tells: from either
        return [(forward, bits | neither) for forward, bits in sides]

    def _tight(self, rope: Rope, k: int, forward: bool) -> int:
        """For which bodies (a bit each) a grip that works both ways is loaded from one side."""
        base = self.base
        structure, scene = base.scene.structure, base.scene
        v = structure.index[rope.stations[k].part]
        moving = scene.moving_too(v)
        further = range(k + 1, len(rope.stations)) if forward else range(k - 1, -1, -1)
        held = knot = 0
        seen = 0
        for j in further:
            other = rope.stations[j]
            if other.role not in (Role.TIE, Role.GRIP):
                continue
            w = structure.index[other.part]
            if other.role is Role.TIE:
                knot |= scene.moving_too(w) & ~seen & scene.there[w]
                seen |= scene.there[w]
            grips = scene.ties(w) if other.role is Role.TIE else base.grips(rope, j)
            held |= grips & ~self.base.scene.same_cluster(v, w)
        return (held & moving) | (knot & ~moving)

    def _held_beyond(self, rope: Rope, k: int, forward: bool, *, still: bool) -> int:
        """Where the next thing that holds the rope on that side of station k is a grip that does."""
        scene, batch = self.scene, self.scene.batch
        structure = scene.structure
        alive, found = batch.full, 0
        step = 1 if forward else -1
        j = k
        while alive:
            span = j if forward else j - 1
            j += step
            if not 0 <= j < len(rope.stations):
                break
            alive &= ~batch.cut.get(rope.spans[span], 0)
            station = rope.stations[j]
            if station.role is Role.OVER:
                alive &= ~self.passages.severs(rope, j)
            elif station.role is Role.TIE:
                v = structure.index[station.part]
                alive &= ~(scene.ties(v) | (self.for_bodies(self.base.scene.ties(v)) & ~batch.single))
            elif station.role is Role.GRIP:
                v = structure.index[station.part]
                if not (station.to_end if not forward else station.to_start):
                    continue
                holds = self.grips(rope, j, forward=not forward) & alive
                does = self.does(v, rope)
                good = holds & does
                if still and good:
                    good &= self.for_bodies(self.base.scene.same_place(structure.index[rope.stations[k].part], v))
                found |= good
                alive &= ~(holds & does)  # what hangs on this rope itself is a lump on it, as a stopper is
        return found

    def tails(self) -> list[str]:
        """The knots and grips (no stoppers) that hold rope beyond a grip or hand at which it counts as cut, in any
        column."""
        found: list[str] = []
        for line in self.scene.structure.lines:
            rope = line.rope
            for k, station in enumerate(rope.stations):
                if station.role not in (Role.GRIP, Role.HAND) or not self._cut_at(rope, k, station):
                    continue
                for forward, loaded in self.loaded_sides(rope, k):
                    if loaded:
                        found += self._beyond(rope, k, not forward)
        return found

    def _beyond(self, rope: Rope, k: int, forward: bool) -> list[str]:
        """The first knot on one side of a station that ties something, and the grips before it."""
        found: list[str] = []
        for station in rope.stations[k + 1 :] if forward else rope.stations[:k][::-1]:
            v = self.scene.structure.index.get(station.part, -1)
            if station.role is Role.TIE and self.scene.ties(v):
                return [*found, station.part]
            if station.role is Role.GRIP and self.scene.there[v]:
                found.append(station.part)
        return found

    # -- bends and ends

    def _lost_bend(self, rope: Rope, k: int) -> int:
        """Where the rope is no longer bent, or tied in its middle, as it was with nothing failed."""
        station, structure = rope.stations[k], self.scene.structure
        v = structure.index[station.part]
        lost = 0
        if structure.owner[v] >= 0:  # on a body, or on nobody who is there
            return 0
        if station.role is Role.TIE:
            lost = self.for_bodies(self.base.scene.tied_to(v)) & ~self.scene.tied_to(v)
        base = self._held_nobody(v)
        keeps = Cuts.apart if self.within else Cuts.keeps_place
        base &= keeps(self.base, v, rope) if base else 0
        if base:
            lost |= self.for_bodies(base) & ~(self.scene.there[v] & keeps(self, v, rope))
        return lost

    def _held_nobody(self, v: int) -> int:
        """For which bodies a part was there with nothing failed, and held none."""
        return self.base.scene.there[v] & ~self.base.scene.moving(v)

    def _lost_end(self, rope: Rope, k: int) -> int:
        """Where what a rope ends at, that held no body, has lost its hold: it goes with the rope until it jams."""
        v = self.scene.structure.index[rope.stations[k].part]
        if not self._may_lose(rope, v):
            return 0
        base = self._held_nobody(v)
        base &= self.base.without_bodies.anchored({v: base})[v] if base else 0
        beside = self._stood_beside(v, base) if base else 0
        return beside & ~self.without_bodies.anchored({v: beside})[v] if beside else 0

    def look_at_ends(self, ropes: Iterable[Rope]) -> None:
        """Ask after all that these ropes end at together, as far as that will be needed: each by itself is a question
        of its own."""
        stations = ((rope, s, k) for rope in ropes if rope.name not in self._whole for k, s in enumerate(rope.stations))
        index = self.scene.structure.index
        ends = {index[s.part]: rope for rope, s, k in stations if s.role is Role.TIE and rope.ends_at(k)}
        held = {v: bits for v, rope in ends.items() if self._may_lose(rope, v) and (bits := self._held_nobody(v))}
        if held and self.reading.cuts:
            stood = self.base.without_bodies.anchored(held)
            self.without_bodies.anchored({v: self._stood_beside(v, bits) for v, bits in stood.items() if bits})

    def _may_lose(self, rope: Rope, v: int) -> bool:
        structure = self.scene.structure
        asked = not self.bodiless and not self.scene.removed and structure.owner[v] < 0
        return asked and structure.may_be_lost(rope, v)

    def _stood_beside(self, v: int, base: int) -> int:
        """Where a part that stood by itself for these bodies is no fixed one, and has rope beside that one end."""
        stood = self.for_bodies(base) & self.scene.there[v] & ~self.scene.solid(v)
        return self._rope_beside(v, stood) if stood else 0

    def _rope_beside(self, v: int, asked: int) -> int:
        """Of the columns asked, those in which a part's cluster has more rope at it than that one end."""
        met = self.scene.structure.met
        if met[v] > 1:
            return asked
        found = 0
        for t, bits in self.scene.from_parts({v: asked}).items():
            found |= bits if t != v and met[t] else 0
        return found

    @cached_property
    def without_bodies(self) -> WithoutBodies:
        """The same without any body."""
        batch = self.scene.batch.select(list(range(self.scene.batch.width)))
        batch.gone |= dict.fromkeys(self.scene.structure.bodies, batch.full)
        return WithoutBodies(self.like(Scene(self.scene.structure, batch), Reading.HELD, self.severed, bodiless=True))

    # -- standing apart

    def keeps_place(self, v: int, rope: Rope) -> int:
        """Where a bend stays where it is: its cluster anchored in *still* without its rope, and without every rope
        gripped in the part itself."""
        known = self._kept.get((v, rope.name))
        if known is None:
            scene, structure = self.scene, self.scene.structure
            known = 0 if structure.frames else scene.solid(v)  # a frame may stand, and give
            left = scene.there[v] & scene.asked & ~known
            if left:
                lines = structure.lines_at.get(v, {}).values()
                gripped = {line.rope.name for line in lines if line.gripped_by(v)}
                known |= self._anchored_in(v, left, Reading.STILL, {rope.name, *gripped, *scene.removed}, within=True)
            self._kept[v, rope.name] = known
        return known

    def apart(self, v: int, rope: Rope, needed: int | None = None) -> int:
        """Where a part stands apart from a rope: its cluster anchored without it, without every rope gripped in
        the part itself, and without every rope that only runs through its cluster. `needed`: the columns in
        which that matters."""
        found, looked = self._apart.get((v, rope.name), (0, 0))
        asked = self.scene.asked if needed is None else needed
        if not looked and v in self.scene.structure.frames:
            found = looked = self._caught.frames().get(v, 0)
        elif not looked:
            found = looked = self.scene.solid(v)
        left = self.scene.there[v] & asked & ~looked
        if left:
            found |= self._anchored_without(v, rope, left)
        self._apart[v, rope.name] = found, looked | left
        return found

    def _anchored_without(self, v: int, rope: Rope, asked: int) -> int:
        """The same over ropes: asked in the rig without those ropes."""
        scene = self.scene
        structure = scene.structure
        near = scene.from_parts({v: asked & scene.there[v]})
        out = {rope.name, *scene.removed}
        mixed: list[tuple[str, int]] = []
        held = 0
        for u in structure.frames:
            for t in structure.beside[u]:
                held |= near.get(t, 0)
        for line in {number: line for t in near for number, line in structure.lines_at.get(t, {}).items()}.values():
            name = line.rope.name
            if name in out:
                continue
            ran = tied = 0
            for stop in line.stops:
                if stop.role is Role.RUN:
                    ran |= near.get(stop.v, 0)
                else:
                    tied |= near.get(stop.v, 0)
            if line.gripped_by(v):
                out.add(name)
                continue
            held |= tied
            if ran & ~tied:
                mixed.append((name, ran & ~tied))
        if not held & asked:
            return 0
        found = 0
        groups: dict[frozenset[str], int] = {frozenset(out): asked & held}
        for name, bits in mixed:
            for names, columns in list(groups.items()):
                if columns & bits:
                    groups[names] = columns & ~bits
                    groups[names | {name}] = groups.get(names | {name}, 0) | columns & bits
        for names, columns in groups.items():
            found |= self._anchored_in(v, columns, Reading.HELD, names) if columns else 0
        return found

    def _anchored_in(self, v: int, asked: int, reading: Reading, removed: Set[str], *, within: bool = False) -> int:
        """Of the columns asked, those in which a part is anchored in a reading of the rig without some ropes."""
        structure, out = self.scene.structure, frozenset(removed)
        if not self.scene.apart or not structure.by_ropes_alone:
            return self._asked_in(v, asked, reading, out, within=within)
        out = out & can_matter(structure, v, out - self.scene.removed) or out
        key = v, reading, reading is Reading.STILL and (within or self.within), out
        found, left = self.before.found(key, asked)
        if left:
            new = self._asked_in(v, left, reading, out, within=within)
            self.before.keep(key, left, new)
            found |= new
        return found

    def _asked_in(self, v: int, asked: int, reading: Reading, removed: Set[str], *, within: bool) -> int:
        chosen = positions(asked)
        inner = self.picked(chosen, reading, removed, within=within)
        return spread(inner.anchored({v: inner.scene.batch.full})[v], chosen)

    @cached_property
    def _caught(self) -> Cuts:
        return self.like(self.scene, Reading.CAUGHT, self.severed)

    # -- anchored

    def anchored(self, wanted: Mapping[int, int], frames: dict[int, int] | None = None) -> dict[int, int]:
        """Where each part is anchored: held, if ground below counted as ground above."""
        return self.solve(self, wanted, self.frames() if frames is None else frames)

    def frames(self) -> dict[int, int]:
        """The frames that are ground, and where: those whose needs are anchored."""
        if self._frames is None:
            self._frames = standing_frames(self.scene, self.anchored, still=self.reading is Reading.STILL)
        return self._frames
