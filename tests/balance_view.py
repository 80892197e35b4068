"""One rig with a scenario laid over it, for one body and in one reading: what is there, which parts are
one cluster, what ground does to it, and where rope counts as cut.

The sentences of the design's page on balance and fates, sections 1 to 3, in their order; what the page
leaves open is numbered at the head of `balance.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from balance_cuts import CAUGHT, END, HELD, STILL, cut_stations
from balance_lashed import lashed
from balance_question import balanced_on

from analyser.rig.model import Effects, Nature, Part, Role, Rope, Station

if TYPE_CHECKING:
    from balance import Case

STRAPS = frozenset({"strap", "sling", "lanyard", "cord"})
CARRY_NOTHING = frozenset({"absorber", "fall-arrester", "backup-en12841-a"})
"""Kinds of lines that carried nothing by their own word."""

Spot = tuple[str, int]
"""A station: its rope's name, and its index from the rope's start."""

NO_PARTS: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Scene:
    """What is laid over the rig, and how it is read.

    `without`: ropes that carry nothing. `bodiless`: asked as if there were no bodies. `within`: asked about a bend.
    `severed`: passages over edges, and what a rope runs through, at which rope is severed whatever guards it.
    """

    effects: Effects = Effects()  # noqa: RUF009 (frozen)
    reading: str = CAUGHT
    loose: bool = False
    without: frozenset[str] = NO_PARTS
    bodiless: bool = False
    within: bool = False
    severed: frozenset[Spot] = frozenset()


@dataclass
class Layout:
    """Which parts are one rigid cluster, and what ground does to each cluster."""

    cluster: dict[str, int]
    """The number of the cluster of every part that is there and is no ground."""
    members: list[list[str]]
    ground: dict[str, bool]
    """Every ground part that is there: does it lie above?"""
    touched: list[set[str]]
    """The ground parts that each cluster touches."""
    fixed: set[int]
    """Clusters that touch ground above."""
    low: set[int]
    pulled: set[int]
    """Clusters that ground below may pull down."""

    def alone(self, part: str) -> bool:
        """Does this part touch nothing?"""
        number = self.cluster[part]
        return len(self.members[number]) == 1 and not self.touched[number]

    def touched_by(self, part: str) -> set[str]:
        """The ground parts that the cluster of this part touches."""
        return self.touched[self.cluster[part]] if part in self.cluster else set()

    def has(self, part: str) -> bool:
        return part in self.cluster or part in self.ground


@dataclass(frozen=True)
class Piece:
    """A stretch of whole rope: its stations by index, in order. A ring has no ends: after the last
    comes the first."""

    rope: Rope
    stations: tuple[int, ...]
    ring: bool = False


class View:
    """The rig of one case with one scene laid over it."""

    def __init__(self, case: Case, scene: Scene) -> None:
        assert scene.reading == CAUGHT or not scene.loose, "only what is caught is asked loosely"
        self.case = case
        self.parts = case.rig.parts
        self.scene = scene
        self.effects = scene.effects
        self.there = frozenset(name for name in self.parts if self._is_there(name))
        self.ropes = {name: rope for name, rope in case.ropes.items() if name not in scene.without}
        self._layouts: dict[tuple[object, ...], Layout] = {}
        self._carried: dict[tuple[object, ...], bool] = {}
        self._cuts: dict[str, frozenset[int]] = {}
        self._apart: dict[Spot | tuple[str, str], bool] = {}

    def other(self, **changes: object) -> View:
        """The same rig, with something of the scene changed."""
        return self.case.view(replace(self.scene, **changes))  # type: ignore[arg-type]

    @cached_property
    def held(self) -> View:
        return self.other(reading=HELD)

    @cached_property
    def before(self) -> View:
        """With nothing failed, in the reading *held*."""
        return self.other(effects=Effects(), reading=HELD)

    # ---- What is there.
    # Strictly, other people are not there at all, nor are bare hands; loosely, people are there as
    # joints (ground while they stand, through their points and harnesses too) and hands that grip.

    def _is_there(self, name: str) -> bool:
        part = self.parts[name]
        if name in self.effects.gone or part.body in self.effects.gone:
            return False
        if part.body and name not in self.parts[part.body].points:
            return False  # another end, where one is asked for alone
        if part.holds_only and self.case.name not in part.holds_only:
            return False  # ground under what has landed
        if self.scene.reading == STILL and CARRY_NOTHING & {part.kind, *part.family}:
            return False  # a line that carried nothing by its own word
        person = self._person(part)
        if person is None or person.name == self.case.name or self.scene.loose:
            return True
        # A harness that `carries through` is a joint for what is attached to it; the person still isn't.
        return part.nature is Nature.HARNESS and part.carries_through

    def _person(self, part: Part) -> Part | None:
        """The person that this part is, or is a point of."""
        owner = self.parts.get(part.body) if part.body else part
        return owner if owner and owner.nature is Nature.PERSON else None

    def _stands(self, part: Part) -> bool:
        """Loosely: is this somebody (else) who stands, or a point of theirs?"""
        person = self._person(part)
        if person is None or not self.scene.loose or person.name == self.case.name:
            return False
        return person.standing and not person.stands_on and person.name not in self.effects.unfooted

    # ---- Clusters.
    # Parts in contact are one rigid cluster (a ground part ends a cluster: contact with ground fixes
    # the cluster, and joins no two clusters through it).

    def layout(
        self,
        frames: frozenset[str],
        *,
        anchored: bool = False,
        minus: frozenset[str] = NO_PARTS,
        fast: frozenset[str] = NO_PARTS,
        by_points: bool = False,
    ) -> Layout:
        """The clusters, given the frames that stand. `anchored`: ground below counts as ground above.
        `minus`: parts that are taken away. `fast`: parts that are held fast, as ground above. `by_points`:
        the body touches nothing but its points."""
        key = (frames, anchored, minus, fast, by_points)
        if key not in self._layouts:
            ground: dict[str, bool] = {}
            rest: list[str] = []
            for name in sorted(self.there - minus):
                part = self.parts[name]
                if part.nature is Nature.GROUND or name in frames:
                    ground[name] = anchored or not self._lies_below(part)
                elif (self._stands(part) and not self._lies_below(part)) or name in fast:
                    ground[name] = True
                elif part.nature is not Nature.FRAME:  # a frame is nothing while it isn't ground
                    rest.append(name)
            self._layouts[key] = self._clustered(ground, rest, by_points)
        return self._layouts[key]

    def _clustered(self, ground: dict[str, bool], rest: list[str], by_points: bool) -> Layout:
        """Clusters of what is no ground. What touches ground below, and no ground above, is low, and the
        ground pulls it down and never up. A strap, sling, lanyard or cord to ground below pulls like a
        rope and makes nothing low."""
        found = Layout({}, [], ground, [], set(), set(), set())
        others = set(rest)
        for first in rest:
            if first in found.cluster:
                continue
            number, todo = len(found.members), [first]
            found.cluster[first] = number
            found.members.append([])
            found.touched.append(set())
            while todo:
                one = todo.pop()
                found.members[number].append(one)
                if self._stands(self.parts[one]):  # on ground below: a joint that touches it
                    found.touched[number].add(one)
                    found.low.add(number)
                for other in self._touching(one, by_points):
                    if other in ground:
                        found.touched[number].add(other)
                        strap = STRAPS & {self.parts[one].kind, *self.parts[one].family}
                        (found.fixed if ground[other] else found.pulled if strap else found.low).add(number)
                    elif other in others and other not in found.cluster:
                        found.cluster[other] = number
                        todo.append(other)
        found.low -= found.fixed
        found.pulled = (found.pulled | found.low) - found.fixed
        return found

    def _touching(self, part: str, by_points: bool) -> set[str]:
        near = self.case.touching[part]
        if by_points and part == self.case.name:
            return near & set(self.case.body.points)
        if by_points and part not in self.case.body.points:
            return near - {self.case.name}
        return near

    def _lies_below(self, part: Part) -> bool:
        """Ground lies below by its word, by its word for this body, or placed under this body."""
        said = self._person(part) or part
        if said.below or self.case.name in said.below_for:
            return True
        under, over = self.height(said.name), self.height(self.case.name)
        if over is None:
            known = [height for point in self.case.body.points if (height := self.height(point))]
            over = min(known, default=None)
        return under is not None and over is not None and under[1] < over[0]

    def height(self, name: str) -> tuple[float, float] | None:
        """Between which heights a part lies, where the file says so."""
        part = self.parts[name]
        if part.at is None and part.body is not None:
            part = self.parts.get(part.body, part)
        if part.at is None or (part.below is False and part.at[2] < self._highest_of_a_body):
            return None
        return part.at[2] - part.off[2], part.at[2] + part.off[2]

    @cached_property
    def _highest_of_a_body(self) -> float:
        """What is said not to lie below, and is placed under somebody, tells no height by its place."""
        bodies = {name for name, part in self.parts.items() if part.is_body}
        own = [part for name, part in self.parts.items() if name in bodies or part.body in bodies]
        return max((part.at[2] for part in own if part.at is not None), default=float("-inf"))

    # ---- Frames: ground while what they need is anchored, and nothing while it isn't (*anchored*: held,
    # if ground below counted as ground above).

    @cached_property
    def frames(self) -> frozenset[str]:
        """The frames that stand."""
        return self.standing(NO_PARTS)

    def standing(self, minus: frozenset[str]) -> frozenset[str]:
        """The frames that stand. `minus`: without these points of the body, which touches nothing else."""
        found = NO_PARTS
        every = [name for name in self.there if self.parts[name].nature is Nature.FRAME]
        while more := {frame for frame in every if frame not in found and self._needs_met(frame, found, minus)}:
            found |= more
        return found

    def _needs_met(self, frame: str, standing: frozenset[str], minus: frozenset[str]) -> bool:
        asked = {"frames": standing, "anchored": True, "minus": minus, "by_points": bool(minus)}
        for need in self.parts[frame].needs:
            there = [self.carries(part, **asked) for part in need.parts]  # type: ignore[arg-type]
            if need.row:  # the first bears the pull; whatever of it is gone behind, the rest gives
                there, count = (there, len(there)) if self.scene.reading == STILL else (there[:1], 1)
            else:
                count = need.count
            if sum(there) < count or not there:
                return False
        return True

    # ---- The balance of one weight.

    def carries(
        self,
        part: str,
        *,
        frames: frozenset[str] | None = None,
        anchored: bool = False,
        others_weigh: bool = False,
        minus: frozenset[str] = NO_PARTS,
        fast: frozenset[str] = NO_PARTS,
        by_points: bool = False,
    ) -> bool:
        """Can a weight be balanced that hangs on this part? `minus`: parts and ropes taken away."""
        if part not in self.there:
            return False
        frames = self.frames if frames is None else frames
        key = (part, frames, anchored, others_weigh, minus, fast, by_points)
        if key not in self._carried:
            layout = self.layout(frames, anchored=anchored, minus=minus, fast=fast, by_points=by_points)
            self._carried[key] = balanced_on(self, layout, part, anchored, others_weigh, minus)
        return self._carried[key]

    def supports(self, end: tuple[str, ...], *, others_weigh: bool = False) -> bool:
        """Can the weight be balanced on this end alone, without the body's other points? So the support goes
        neither through the body itself nor through what hangs from another end of it."""
        others = frozenset(self.case.body.points) - set(end)
        back = self.case.comes_back(end)
        if back - self.scene.severed:
            return self.other(severed=self.scene.severed | back).supports(end, others_weigh=others_weigh)
        standing = self.standing(others)
        return self.carries(self.case.name, minus=others, by_points=True, frames=standing, others_weigh=others_weigh)

    def bears_up(self, other: str) -> bool:
        """Does something else than the body hold up what is attached to its bare name?"""
        own = frozenset({self.case.name, *self.case.body.points})
        return self.carries(other, minus=own, frames=self.standing(own))

    def supports_with(self, end: tuple[str, ...], fast: tuple[str, ...]) -> bool:
        """Can the weight be balanced on a point of this end by ropes alone, were some points held fast?"""
        held_fast = frozenset(fast) & self.there
        layout = self.layout(self.frames, minus=self._unroped, fast=held_fast)
        own = [point for point in end if not layout.touched_by(point) & held_fast]
        return any(self.carries(point, minus=self._unroped, fast=held_fast) for point in own)

    @cached_property
    def _unroped(self) -> frozenset[str]:
        """The body, what no rope meets (or is another body), and the ropes that meet nothing but its own cluster."""
        body = self.case.body
        left = self.layout(self.frames, minus=frozenset({body.name, *body.points}))
        met = {name: {s.part for s in rope.stations} & self.there for name, rope in self.ropes.items()}
        roped = set().union(*met.values())
        found = {body.name}
        for number, members in enumerate(left.members):
            between = roped & set(members) and not any(self.parts[part].is_body for part in members)
            if not between and not left.touched[number]:
                found |= set(members)
        whole = self.layout(self.frames).cluster
        own = whole.get(body.name)
        found |= {name for name, parts in met.items() if {whole.get(part) for part in parts} <= {own}}
        return frozenset(found)

    # ---- Rope, and where it is cut: spans and edges in every reading.

    def tokens(self, rope: Rope, cuts: frozenset[int] = frozenset()) -> list[int | None]:
        """The rope's stations by index, in order, with None where it is cut. A closed rope's last
        station is its first: it is told once. A cut at a station is a cut on both sides of it."""
        found: list[int | None] = []
        for k in range(len(rope.stations) - rope.closed):
            station = rope.stations[k]
            if station.role is Role.OVER:  # edges are no stations here
                found += [None] if (rope.name, k) in self.severed else []
            elif (
                k in cuts
                or (rope.name, k) in self.scene.severed
                or (rope.closed and k == 0 and station.part not in self.there)
            ):
                found.append(None)
            else:
                found.append(k)
            if k < len(rope.spans) and self._is_cut(rope, k):
                found.append(None)
        return found

    def _is_cut(self, rope: Rope, k: int) -> bool:
        slack = rope.stations[k + 1].slack
        carried_nothing = self.scene.reading == STILL and slack is not None and slack.most > 0
        return carried_nothing or rope.spans[k] in self.effects.cut

    def pieces(self, rope: Rope) -> list[Piece]:
        """The stretches of whole rope."""
        tokens = self.tokens(rope, self.cuts(rope))
        if rope.closed and None not in tokens:
            return [Piece(rope, tuple(k for k in tokens if k is not None), ring=True)]
        if rope.closed:
            first = tokens.index(None)
            tokens = tokens[first:] + tokens[:first]
        found: list[Piece] = []
        run: list[int] = []
        for k in [*tokens, None]:
            if k is not None:
                run.append(k)
            elif run:
                found.append(Piece(rope, tuple(run)))
                run = []
        return found

    @cached_property
    def severed(self) -> frozenset[Spot]:
        """The passages over edges at which rope is severed.

        A pad guards while it is there. Anything else guards only while it is itself anchored in the rig
        in which every rope over that edge that has no pad there is severed, and, if a rope of that
        passage runs through it, only while it still does. A guard written on the edge is a guard of
        each passage.
        """
        found = set(self.scene.severed)
        for edge in self.effects.cutting & self.there:
            guards = {
                (rope.name, k): (*station.guards, *self.parts[edge].guards)
                for rope in self.ropes.values()
                for k, station in enumerate(rope.stations)
                if station.role is Role.OVER and station.part == edge
            }
            pads = {name for name in self.there if self.parts[name].nature is Nature.PAD}
            padless = frozenset(spot for spot, names in guards.items() if not pads & set(names))
            effects = replace(self.effects, cutting=self.effects.cutting - {edge})
            severed = self.scene.severed | padless
            bare = self.other(effects=effects, reading=STILL, loose=False, severed=severed)
            for spot in padless:
                if not any(bare.carries(name, anchored=True) and self._guards(name, spot) for name in guards[spot]):
                    found.add(spot)
        return frozenset(found)

    def _guards(self, name: str, spot: Spot) -> bool:
        """Does the rope of this passage still run through its guard, if it did?"""
        rope = self.ropes[spot[0]]
        runs = [k for k, s in enumerate(rope.stations) if s.role is Role.RUN and s.part == name]
        whole = [span not in self.effects.cut for span in rope.spans]
        return not runs or any(all(whole[min(k, spot[1]) : max(k, spot[1])]) for k in runs)

    def cuts(self, rope: Rope) -> frozenset[int]:
        """The stations at which this reading cuts the rope."""
        if rope.name not in self._cuts:
            self._cuts[rope.name] = cut_stations(self, rope)
        return self._cuts[rope.name]

    # ---- What the readings ask of a part. Other people are left out of all this.

    def grips(self, station: Station) -> bool:
        """Is this a device that is there and grips rope?"""
        part = self.parts[station.part]
        works = part.name in self.there and part.name not in self.effects.ungripped
        open_now = part.held_open or not (station.to_start or station.to_end)
        return station.role is Role.GRIP and works and not open_now

    @cached_property
    def joined(self) -> Layout:
        """The clusters of the questions below: with the frames that stand in *caught*."""
        caught = self.other(reading=CAUGHT)
        return caught.layout(caught.frames)

    def moves_with_body(self, part: str) -> bool:
        """A part moves with the body if it is on the body's own cluster or on a load's or litter's, or is lashed to
        such a one (35)."""
        return self.on_a_body(part) or lashed(self, part)

    def on_a_body(self, part: str) -> bool:
        number = self.joined.cluster.get(part)
        members = self.joined.members[number] if number is not None else []
        return any(m == self.case.name or self.parts[m].nature in (Nature.LITTER, Nature.LOAD) for m in members)

    def stands_apart(self, rope: Rope, part: str) -> bool:
        """It stands apart if its cluster is anchored, in the reading *held*, in the rig without this rope,
        without every rope gripped in the part itself, and without every rope that only runs through
        its cluster."""
        if (rope.name, part) not in self._apart:
            self._apart[rope.name, part] = self._stands_apart(rope, part)
        return self._apart[rope.name, part]

    def _stands_apart(self, rope: Rope, part: str) -> bool:
        joined = self.joined
        if part not in joined.cluster:
            return part in joined.ground
        cluster = set(joined.members[joined.cluster[part]])
        without = {rope.name}
        for other in self.ropes.values():
            met = [s for s in other.stations if s.part in cluster and s.role in (Role.RUN, Role.GRIP, Role.TIE)]
            gripped = any(self.grips(s) and s.part == part for s in met)
            only_runs = met and not any(s.role is Role.TIE or self.grips(s) for s in met)
            if gripped or only_runs:
                without.add(other.name)
        return self.other(reading=HELD, without=self.scene.without | without).carries(part, anchored=True)

    def keeps_place(self, rope: Rope, part: str) -> bool:
        """A bend keeps its place while its cluster is anchored in *still*, in the rig without its rope and without
        every rope gripped in the part itself (32)."""
        if part not in self.joined.cluster:
            return part in self.joined.ground
        gripped = {o.name for o in self.ropes.values() if any(self.grips(s) and s.part == part for s in o.stations)}
        without = self.scene.without | {rope.name} | gripped
        return self.other(reading=STILL, loose=False, without=without, within=True).carries(part, anchored=True)

    def tied_to(self, knot: str) -> bool:
        """Is anything there of what the knot's own station ties it to, and the knot too?"""
        return self.joined.has(knot) and any(self.joined.has(part) for part in self.case.ties[knot])

    def ties(self, knot: str) -> bool:
        """Is the knot there, and touches it anything that is?"""
        return knot in self.joined.cluster and (knot in self.case.bends or not self.joined.alone(knot))

    def beyond(self, rope: Rope, k: int, way: int) -> Iterator[int]:
        """The stations that whole rope meets from station k on, one way."""
        tokens = self.tokens(rope)
        at, count = tokens.index(k), len(tokens)
        steps = range(1, count) if rope.closed else range(1, count - at if way == END else at + 1)
        for step in steps:
            found = tokens[(at + way * step) % count]
            if found is None:
                return
            yield found
