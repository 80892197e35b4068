"""Who has lost what kept their place along a line that they only run on.

A body's cluster is what hangs together with it without a rope. It only runs on a rope that runs through the cluster
and leads elsewhere both ways. What keeps its place is a rope that is held in the cluster, a grip on the line itself
too, and leads to something held by the ground; hands keep it until they let go, and a tag line only steers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from analyser.checking.finding import in_few, verb
from analyser.holding.outcome import FailureOutcome, Outcome
from analyser.rig.index import reached
from analyser.rig.model import Effects, Nature, Rig, Role, Rope

HOLDS = (Role.TIE, Role.GRIP)


@dataclass(frozen=True, slots=True)
class Free:
    """Bodies that hang together, and the ropes along which nothing keeps their place any more."""

    bodies: tuple[str, ...]
    along: tuple[str, ...]

    @property
    def text(self) -> str:
        """`max is free to run along track`."""
        return f"{in_few(self.bodies)} {verb(self.bodies, 'is', 'are')} free to run along {in_few(self.along)}"


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
        """The ropes that only run through a cluster, and lead elsewhere both ways."""
        return tuple(rope.name for rope in self.ropes(cluster) if not rope.closed and self._only_runs(rope, cluster))

    def _only_runs(self, rope: Rope, cluster: set[str]) -> bool:
        here = [k for k, one in enumerate(rope.stations) if one.part in cluster and one.role in (*HOLDS, Role.RUN)]
        runs = any(rope.stations[k].role is Role.RUN for k in here)
        if not runs or any(self._grips(rope, k) for k in here):
            return False
        return any(self._beyond(rope, here[0], -1, cluster)) and any(self._beyond(rope, here[-1], 1, cluster))

    def kept_by(self, cluster: set[str], *, hands: bool) -> bool:
        """Does a rope hold the cluster to the ground, or (`hands`) to hands and by tag lines, by more than running
        through it?"""
        for rope in self.ropes(cluster):
            for k, station in enumerate(rope.stations):
                if station.part in cluster and self._grips(rope, k) and (hands or not rope.tag_line):
                    ends = {*self._beyond(rope, k, -1, cluster), *self._beyond(rope, k, 1, cluster)}
                    if True in ends or (hands and ends):
                        return True
        return False

    def _grips(self, rope: Rope, k: int) -> bool:
        one, gone = rope.stations[k], self.effects.gone
        slipped = one.role is Role.GRIP and one.part in self.effects.ungripped
        return one.role in HOLDS and (one.to_start or one.to_end) and one.part not in gone and not slipped

    def _beyond(self, rope: Rope, k: int, step: int, cluster: set[str]) -> Iterator[bool]:
        """What holds a rope from a station on, out of the cluster: True for what the ground holds, False for hands."""
        while 0 <= k + step < len(rope.stations) and rope.spans[min(k, k + step)] not in self.effects.cut:
            k += step
            one = rope.stations[k]
            if one.role is Role.OVER and one.part in self.effects.cutting:
                if not (one.guards or self.rig.parts[one.part].guards):
                    return
            elif one.role is Role.HAND and one.part not in self.effects.open_hands | self.effects.gone:
                yield False
            elif self._grips(rope, k) and one.part not in cluster and self._fixed(one.part):
                yield True

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
            if along := _along(now, rig.index.failures[failure.id].effects, bodies, hands):
                one = Free(bodies, along)
                found[one] = (*found.get(one, ()), failure.id)
    return found


def freed_after(rig: Rig, effects: Effects, held: Iterable[str]) -> tuple[Free, ...]:
    """Who only runs along a line after some failures together, of those who are `held` before and after them."""
    now = _now(rig)
    found = []
    for bodies in _together(now, sorted(held)) if rig.index.parts_in(Role.RUN) else ():
        hands = _kept(now, now.cluster(bodies))
        if hands is not None and (along := _along(now, effects, bodies, hands)):
            found.append(Free(bodies, along))
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


def _along(now: _Lines, effects: Effects, bodies: tuple[str, ...], hands: bool) -> tuple[str, ...]:
    """The ropes along which nothing keeps the place of these bodies after some failures."""
    then = _Lines(now.rig, now.ground, effects)
    left = then.cluster(bodies)
    return () if then.grounded(left) or then.kept_by(left, hands=hands) else then.run_on(left)
