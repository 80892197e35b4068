"""Who has lost what kept their place along a line that they only run on, or kept it from one side.

A body's cluster is what hangs together with it without a rope. It only runs on a rope that runs through the cluster
and leads elsewhere both ways. What keeps its place is a rope that is held in the cluster, a grip on the line itself
too, and leads to something held by the ground; hands keep it until they let go, and a tag line only steers. A rope
keeps from running away from its far end and not towards that: lines to both ends of a line keep a place only together.
Which pull the same way is told by what they come to first, or by places; where neither tells it, that is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import dist

from analyser.checking.finding import in_few, verb
from analyser.holding.outcome import FailureOutcome, Outcome
from analyser.rig.index import reached
from analyser.rig.model import Effects, Nature, Rig, Role, Rope

HOLDS = (Role.TIE, Role.GRIP)
SLOPES = 0.1
"""So many metres of fall to a metre across make a line that slopes: less, and its sag is as much (common practice, no
source)."""
APART = 2.0
"""m across between the ends of a line along which somebody can run: what hangs between closer ones hangs between
anchors, or in the bight of a rope by which it is hauled (limit ours, no source)."""


@dataclass(frozen=True, slots=True)
class Free:
    """Bodies that hang together, and the ropes along which nothing keeps their place any more; or nothing keeps them
    from running `towards` the far ends of what is left."""

    bodies: tuple[str, ...]
    along: tuple[str, ...]
    towards: tuple[str, ...] = ()
    sure: bool = True
    """Is it told which way all of what is left pulls?"""

    @property
    def text(self) -> str:
        """`max is free to run along track`."""
        where = f" towards {in_few(self.towards)}" if self.towards else ""
        return f"{in_few(self.bodies)} {verb(self.bodies, 'is', 'are')} free to run along {in_few(self.along)}{where}"


class _Lines:
    """What a rig's lines do for some clusters after something has happened to it."""

    def __init__(self, rig: Rig, ground: frozenset[str], effects: Effects) -> None:
        self.rig, self.ground, self.effects = rig, ground, effects

    def cluster(self, start: Iterable[str]) -> set[str]:
        """What hangs together with something without a rope, and not through the ground."""
        return reached(self.rig.index.joined, start, self.effects.gone | self.ground)

    def grounded(self, cluster: set[str]) -> bool:
        ground = self.ground - self.effects.gone
        return any(not ground.isdisjoint(self.rig.index.joined[name]) for name in cluster)

    def ropes(self, cluster: set[str]) -> tuple[Rope, ...]:
        """The ropes that have a station in a cluster."""
        return tuple({one.rope.name: one.rope for name in sorted(cluster) for one in self.rig.index.at(name)}.values())

    def concerned(self, cluster: set[str]) -> set[str]:
        """Everything that can keep the place of a cluster, or free it."""
        ropes = self.ropes(cluster)
        far = self.cluster(station.part for rope in ropes for station in rope.stations)
        ground = (name for one in (*cluster, *far) for name in self.rig.index.joined[one] & self.ground)
        on = (station.part for rope in ropes for station in rope.stations)
        return {*cluster, *far, *ground, *on, *(span for rope in ropes for span in rope.spans)}

    def run_on(self, cluster: set[str]) -> tuple[str, ...]:
        """The ropes that only run through a cluster, and lead to two places, one each way."""
        return tuple(
            rope.name
            for rope in self.ropes(cluster)
            if not rope.closed and self._only_runs(rope, cluster) and self._apart(rope.name, cluster)
        )

    def _apart(self, rope: str, cluster: set[str]) -> bool:
        """Does a rope lead to different ground on either side, and not to places beside each other?"""
        beside = self.beside(rope, cluster)
        near = [self.around(one) for one in beside]
        if not near[0].isdisjoint(near[1]):
            return False
        one, other = map(self.spot, beside)
        return one is None or other is None or dist(one, other) >= APART

    def beside(self, name: str, cluster: set[str]) -> tuple[str, str]:
        """What a rope comes to first on either side of a cluster that it runs through: what holds or turns it."""
        rope = self.rig.index.ropes[name]
        here = self._here(rope, cluster)
        turns = [k for k, one in enumerate(rope.stations) if one.role in (*HOLDS, Role.RUN)]
        there = [k for k in turns if rope.stations[k].part not in self.effects.gone]
        before, after = [k for k in there if k < here[0]], [k for k in there if k > here[-1]]
        return rope.stations[before[-1]].part, rope.stations[after[0]].part

    def _here(self, rope: Rope, cluster: set[str]) -> list[int]:
        return [k for k, one in enumerate(rope.stations) if one.part in cluster and one.role in (*HOLDS, Role.RUN)]

    def spot(self, *names: str) -> tuple[float, float, float] | None:
        """A place of any of these, or of what hangs together with it: not of who hangs there, at whatever length."""
        parts = self.rig.parts
        for name in names:
            near = (name, *sorted(one for one in self.around(name) if not (parts[one].is_body or parts[one].body)))
            found = next((at for one in near if (at := parts[one].at) is not None), None)
            if found is not None:
                return found
        return None

    def _only_runs(self, rope: Rope, cluster: set[str]) -> bool:
        here = self._here(rope, cluster)
        runs = any(rope.stations[k].role is Role.RUN for k in here)
        if not runs or any(self._grips(rope, k) for k in here):
            return False
        return all(any(fixed for _, fixed in far) for far in self._both_ways(rope, cluster))

    def _both_ways(self, rope: Rope, cluster: set[str]) -> tuple[Iterator[tuple[str, bool]], ...]:
        here = self._here(rope, cluster)
        return self._beyond(rope, here[0], -1, cluster), self._beyond(rope, here[-1], 1, cluster)

    def ends(self, name: str, cluster: set[str]) -> tuple[frozenset[str], ...]:
        """What holds a rope on either side of a cluster that it runs through."""
        rope = self.rig.index.ropes[name]
        return tuple(frozenset(part for part, fixed in far if fixed) for far in self._both_ways(rope, cluster))

    def tied_at_both_ends(self, name: str, cluster: set[str]) -> bool:
        """Is a rope tied to ground on either side of a cluster that hangs on it by pulleys?"""
        rope = self.rig.index.ropes[name]
        runs = [one.part for one in rope.stations if one.role is Role.RUN and one.part in cluster]
        tied = {one.part for one in rope.stations if one.role is Role.TIE}
        return all(self.rig.parts[one].kind == "pulley" for one in runs) and all(
            not tied.isdisjoint(end) for end in self.ends(name, cluster)
        )

    def around(self, part: str) -> set[str]:
        """What hangs together with something, and the ground that it touches."""
        near = self.cluster([part]) | {part}
        return near | {ground for name in near for ground in self.rig.index.joined[name] & self.ground}

    def kept_by(self, cluster: set[str], *, hands: bool) -> bool:
        """Does a rope hold the cluster to the ground, or (`hands`) to hands and by tag lines, by more than running
        through it?"""
        return any(True for _ in self.keepers(cluster, hands=hands))

    def keepers(self, cluster: set[str], *, hands: bool) -> Iterator[tuple[str, str]]:
        """The ropes that do so, each with what it pulls towards: the first thing on it that the ground holds, which is
        what holds its far end, or the wheel over which it goes on to that."""
        for rope in self.ropes(cluster):
            for k, station in enumerate(rope.stations):
                if station.part in cluster and self._grips(rope, k) and (hands or not rope.tag_line):
                    for step in (-1, 1):
                        for part, fixed in self._beyond(rope, k, step, cluster):
                            if fixed or hands:
                                yield rope.name, self._turn(rope, k, step, cluster) or part

    def _turn(self, rope: Rope, k: int, step: int, cluster: set[str]) -> str | None:
        """What a rope comes to first from a station on, out of the cluster, that is fixed: it pulls towards that."""
        beyond = rope.stations[k + step :: step] if k + step >= 0 else ()
        met = (one.part for one in beyond if one.role in (*HOLDS, Role.RUN) and one.part not in cluster)
        return next((part for part in met if part not in self.effects.gone and self._fixed(part)), None)

    def _grips(self, rope: Rope, k: int) -> bool:
        one, gone = rope.stations[k], self.effects.gone
        slipped = one.role is Role.GRIP and one.part in self.effects.ungripped
        return one.role in HOLDS and (one.to_start or one.to_end) and one.part not in gone and not slipped

    def _beyond(self, rope: Rope, k: int, step: int, cluster: set[str]) -> Iterator[tuple[str, bool]]:
        """What holds a rope from a station on, out of the cluster, and whether the ground holds that, or hands do."""
        while 0 <= k + step < len(rope.stations) and rope.spans[min(k, k + step)] not in self.effects.cut:
            k += step
            one = rope.stations[k]
            if one.role is Role.OVER and one.part in self.effects.cutting:
                if not (one.guards or self.rig.parts[one.part].guards):
                    return
            elif one.role is Role.HAND and one.part not in self.effects.open_hands | self.effects.gone:
                yield one.part, False
            elif self._grips(rope, k) and one.part not in cluster and self._fixed(one.part):
                yield one.part, True

    def _fixed(self, part: str) -> bool:
        return part in self.ground or self.grounded(self.cluster([part]))


def freed(rig: Rig, outcome: Outcome) -> dict[Free, tuple[str, ...]]:
    """Who is held after a single failure and only runs along a line then, and the failures that do it, by id."""
    held = sorted(body.name for body in outcome.bodies if body.held)
    found: dict[Free, tuple[str, ...]] = {}
    if not held or not rig.index.parts_in(Role.RUN):
        return found
    now = _now(rig)
    touching: dict[str, list[FailureOutcome]] = {}
    for failure in outcome.failures:
        for _, name in rig.index.failures[failure.id].effects.befallen:
            touching.setdefault(name, []).append(failure)
    for bodies in _together(now, held):
        cluster = now.cluster(bodies)
        hands = _kept(now, cluster)
        if hands is None:
            continue
        concerned = {one.id: one for name in now.concerned(cluster) for one in touching.get(name, ())}
        for _, failure in sorted(concerned.items()):
            if any(failure.fate(name).not_held for name in bodies):
                continue
            if one := _free(now, rig.index.failures[failure.id].effects, bodies, hands):
                found[one] = (*found.get(one, ()), failure.id)
    return found


def free_already(rig: Rig, outcome: Outcome) -> Iterator[Free]:
    """Who is held with nothing failed, and runs along a line that slopes, as nothing keeps them from its lower end; or
    hangs by pulleys on one that is tied at both ends, and nothing keeps their place."""
    held = sorted(body.name for body in outcome.bodies if body.held)
    now = _now(rig)
    for bodies in _together(now, held) if rig.index.parts_in(Role.RUN) else ():
        cluster = now.cluster(bodies)
        along = now.run_on(cluster)
        if not along:
            continue
        sides = _Sides(now, cluster, along[0])
        keepers = sorted({part for _, part in now.keepers(cluster, hands=True)})
        lower = sides.lower
        if sides.at_the_end(lower):
            continue
        if lower is not None and all(sides.side(part) == lower for part in keepers):
            end = sides.beside[lower]
            yield Free(bodies, along, tuple(sorted(now.around(end) & now.ground)) or (end,))
        elif lower is None and not keepers and any(now.tied_at_both_ends(name, cluster) for name in along):
            yield Free(bodies, along, sure=False)


def freed_with_hands_off(rig: Rig, outcome: Outcome) -> tuple[Free, ...]:
    """Who is held, and only runs along a line, once every hand lets go at once."""
    return freed_after(rig, rig.hands_off, (n for n, fate in outcome.hands_off.fates if not fate.not_held))


def freed_after(rig: Rig, effects: Effects, held: Iterable[str]) -> tuple[Free, ...]:
    """Who only runs along a line after some failures together, of those who are `held` before and after them."""
    now = _now(rig)
    found = []
    for bodies in _together(now, sorted(held)) if rig.index.parts_in(Role.RUN) else ():
        hands = _kept(now, now.cluster(bodies))
        if hands is not None and (one := _free(now, effects, bodies, hands)):
            found.append(one)
    return tuple(found)


def _now(rig: Rig) -> _Lines:
    return _Lines(rig, frozenset(part.name for part in rig.index.natured(Nature.GROUND)), Effects())


def _together(now: _Lines, held: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """The bodies that hang together without a rope, and not from the ground."""
    left = list(held)
    while left:
        cluster = now.cluster(left[:1])
        bodies = tuple(name for name in left if name in cluster)
        left = [name for name in left if name not in cluster]
        if not now.grounded(cluster):
            yield bodies


def _kept(now: _Lines, cluster: set[str]) -> bool | None:
    """Does only a hand, or a tag line, keep the place of what runs on a line? None where nothing does, or it
    doesn't run."""
    runs = any(now.rig.index.at(name, Role.RUN) for name in cluster)
    if not runs or not now.kept_by(cluster, hands=True):
        return None
    return not now.kept_by(cluster, hands=False)


def freed_by_step(before: Rig, rig: Rig, held: Iterable[str]) -> tuple[Free, ...]:
    """Who only runs along a line after a step, of those who are `held` then, and something kept their place before."""
    now, then = _now(before), _now(rig)
    found = []
    there = [name for name in sorted(held) if name in before.parts and name in rig.parts]
    for bodies in _together(now, there) if rig.index.parts_in(Role.RUN) else ():
        hands = _kept(now, now.cluster(bodies))
        if hands is not None and (one := _free_then(now, then, bodies, hands)):
            found.append(one)
    return tuple(found)


def _free(now: _Lines, effects: Effects, bodies: tuple[str, ...], hands: bool) -> Free | None:
    """Along which ropes nothing keeps the place of these bodies after some failures, or not from one side."""
    return _free_then(now, _Lines(now.rig, now.ground, effects), bodies, hands)


def _free_then(now: _Lines, then: _Lines, bodies: tuple[str, ...], hands: bool) -> Free | None:
    left = then.cluster(bodies)
    along = () if then.grounded(left) else then.run_on(left)
    if not along:
        return None
    still = {*then.keepers(left, hands=hands)}
    if not still:
        return Free(bodies, along)
    cluster = now.cluster(bodies)
    lost, left_to = {*now.keepers(cluster, hands=hands)} - still, [part for _, part in sorted(still)]
    if not lost:
        return None
    sides = _Sides(now, cluster, along[0])
    for _, part in sorted(lost):
        told = [sides.alike(part, other) for other in left_to]
        if True not in told and not sides.downhill(part):
            return Free(bodies, along, tuple(dict.fromkeys(left_to)), None not in told)
    return None


class _Sides:
    """To which side of a cluster the far ends of its ropes lie, along a line that runs through it."""

    def __init__(self, now: _Lines, cluster: set[str], along: str) -> None:
        self.now = now
        self.ends = now.ends(along, cluster)
        self.near = [set().union(*map(now.around, end)) for end in self.ends]
        self.beside = now.beside(along, cluster)
        self.first, self.last = map(now.spot, self.beside)
        self.here = now.spot(*sorted(cluster))

    def alike(self, one: str, other: str) -> bool | None:
        """Do the ropes to these pull the same way? None where that isn't told."""
        sides = [self.side(part) for part in (one, other)]
        if not self.now.around(one).isdisjoint(self.now.around(other)):
            return True
        return None if None in sides else sides[0] == sides[1]

    def side(self, part: str) -> int | None:
        """At which end of the line something is: at what holds that end, or by its place."""
        near = [not end.isdisjoint(self.now.around(part)) for end in self.near]
        if near[0] != near[1]:
            return near.index(True)
        spot, first, last = self.now.spot(part), self.first, self.last
        if spot is None or first is None or last is None:
            return None
        way = [b - a for a, b in zip(first[:2], last[:2], strict=True)]
        here = self.here or tuple((a + b) / 2 for a, b in zip(first, last, strict=True))
        ahead = sum(w * (a - b) for w, a, b in zip(way, spot[:2], here[:2], strict=True))
        return None if ahead == 0 else int(ahead > 0)

    @property
    def lower(self) -> int | None:
        """Which end of the line is the lower one, where it slopes: 0 or 1."""
        if self.first is None or self.last is None:
            return None
        falls, span = self.first[2] - self.last[2], dist(self.first[:2], self.last[:2])
        return int(falls > 0) if abs(falls) > SLOPES * span else None

    def at_the_end(self, end: int | None) -> bool:
        """Are they beside that end of the line already?"""
        spot = None if end is None else (self.first, self.last)[end]
        return spot is not None and self.here is not None and dist(spot, self.here) < APART

    def downhill(self, part: str) -> bool:
        """Does something lie at the lower end of a line that slopes? What runs on it runs there by its weight: without
        that rope it stays."""
        side = self.side(part)
        return side is not None and side == self.lower
