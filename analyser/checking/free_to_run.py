"""Who has lost what kept their place along a line that they only run on.

A body's cluster is what hangs together with it without a rope. It only runs on a rope that runs through the cluster
and leads elsewhere both ways. What keeps its place is a rope that is held in the cluster, a grip on the line itself
too, and leads to something held by the ground; hands keep it until they let go, and a tag line only steers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from analyser.checking.finding import Finding, Rule, Severity, in_few, place_of, verb
from analyser.holding.outcome import FailureOutcome, Outcome
from analyser.rig.index import reached
from analyser.rig.model import Effects, Nature, Rig, Role, Rope

HOLDS = (Role.TIE, Role.GRIP)


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


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    held = sorted(body.name for body in outcome.bodies if body.held)
    if not held or not rig.index.parts_in(Role.RUN):
        return
    now = _Lines(rig, frozenset(part.name for part in rig.index.natured(Nature.GROUND)), Effects())
    accepted = {str(one.failure): one.reason for one in rig.accepted}
    touching: dict[str, list[FailureOutcome]] = {}
    for failure in outcome.failures:
        for _, name in rig.index.failures[failure.id].effects.befallen:
            touching.setdefault(name, []).append(failure)
    for bodies in _together(now, held):
        for along, failures in _freed(now, touching, bodies).items():
            about = tuple(dict.fromkeys(rig.index.failures[one].part for one in failures))
            free = f"{in_few(bodies)} {verb(bodies, 'is', 'are')} free to run along {in_few(along)}"
            text = f"{'; '.join(failures)}: {free}, and nothing else keeps the place"
            if len(failures) > 1:
                text = f"after any of these ({in_few(failures)}) {free}: nothing else keeps the place"
            reason = accepted.get(failures[0]) if len(failures) == 1 else None
            yield Finding(RULE.name, RULE.severity, about, bodies, place_of(rig, about[0]), text, reason)


def _together(now: _Lines, held: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """The bodies that hang together without a rope, and not from the ground."""
    left = list(held)
    while left:
        cluster = now.cluster(left[:1])
        bodies = tuple(name for name in left if name in cluster)
        left = [name for name in left if name not in cluster]
        if not now.grounded(cluster):
            yield bodies


def _freed(
    now: _Lines, touching: Mapping[str, Sequence[FailureOutcome]], bodies: tuple[str, ...]
) -> dict[tuple[str, ...], list[str]]:
    """The failures after which they are held, and nothing keeps their place along the lines that they run on;
    `touching`: the failures by what they befall."""
    rig, cluster = now.rig, now.cluster(bodies)
    freed: dict[tuple[str, ...], list[str]] = {}
    runs = any(now.rig.index.at(name, Role.RUN) for name in cluster)
    if not runs or not now.kept_by(cluster, hands=True):
        return freed
    hands = not now.kept_by(cluster, hands=False)
    concerned = {one.id: one for name in now.concerned(cluster) for one in touching.get(name, ())}
    for _, failure in sorted(concerned.items()):
        if any(failure.fate(name).not_held for name in bodies):
            continue
        then = _Lines(rig, now.ground, rig.index.failures[failure.id].effects)
        left = then.cluster(bodies)
        if not then.grounded(left) and not then.kept_by(left, hands=hands) and (along := then.run_on(left)):
            freed.setdefault(along, []).append(failure.id)
    return freed


RULE = Rule(
    name="free-to-run",
    severity=Severity.CAUTION,
    means="After one failure somebody hangs from a line on which they only run, and nothing keeps their place on it.",
    matters=(
        "They are held, and run along the line to where it lets them: to the lowest place of a sagging one, or against "
        "its end. How far and how fast the connections don't say; with places the forces do."
    ),
    mends="A second line that keeps the place, or a grip on the line itself, each to an anchor of its own.",
    source="common practice, no source",
    wrong="""
anchor near, far, post
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
rope control
    tied to max.waist with figure-eight
    gripped by descender brake - post   # here
    stopper
brake: self-locking
""",
    right="""
anchor near, far, post
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
rope control
    tied to max.waist with figure-eight
    gripped by descender brake - post
    stopper
brake: self-locking
rope second
    tied to max.waist with figure-eight
    tied to far with figure-eight
""",
    find=find,
)
