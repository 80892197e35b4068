"""What is near a body, what of it can be clipped, and what the trade attaches anything to."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from analyser.language.edit import Edit, declare, says
from analyser.language.syntax import RopeLine, Statement
from analyser.rig.catalogue import catalogue
from analyser.rig.index import ON_THE_ROPE, outward
from analyser.rig.model import Nature, Part, Rope
from analyser.rig.plan import Plan
from analyser.uses.mending.proposal import Names, Proposal

Set = tuple[str, ...]

RINGS = ("ring", "plate")
"""What several things are meant to meet in."""
CONNECTORS = ("carabiner", "screw-link", "shackle", "link")
LENGTHS = ("sling", "strap", "lanyard", "absorber", "cord", "wire", "swivel")
LOOPS = ("bowline", "figure-eight", "figure-nine", "double-loop", "butterfly", "overhand", "sewn-eye", "splice", "knot")
"""Knots that leave a loop to clip."""
NOT_AN_ATTACHMENT = re.compile(r"(^|[\W_])(gear|accessory|accessories|tools?|rails?|racking|ornament)([\W_]|$)", re.I)
"""Words in the name, kind or note of what nobody hangs from: gear loops, accessory rings, rails."""


@dataclass
class Around:
    """A plan, and what its proposals are about.

    `worst` holds for each body in need the smallest sets of failures that drop it; `stays` tells
    for a body and a part in which of those sets the part stays held (a bit a set, in that order).
    """

    plan: Plan
    worst: Mapping[str, Sequence[Set]]
    stays: Mapping[str, Mapping[str, int]]

    def __post_init__(self) -> None:
        self.rig = self.plan.alone
        self.beside = self.rig.index.beside
        causes = {failure.part for failure in self.rig.failures}
        self.names = Names({*self.rig.index.names, *causes, *self.plan.kinds})
        self.written = {
            station.place: station
            for line in self.plan.document.statements
            if isinstance(line, RopeLine) and line.place.file == self.rig.place.file
            for station in line.stations
        }
        """The stations that stand in the rig's own file, by place."""

    def proposal(
        self, sort: str, words: str, size: int, bodies: Iterable[str], edit: Edit, *, taste: int = 0
    ) -> Proposal:
        return Proposal.of(self.plan.document, sort, words, size, bodies, edit, taste=taste)

    # -- what a part is

    def sort(self, name: str) -> str:
        """The kind of the catalogue that a part's kind is, or is like."""
        part = self.rig.parts[name]
        known = part.family if part.kind in self.plan.kinds else ()
        return next((kind for kind in known if kind in catalogue()), "")

    def attachable(self, name: str) -> bool:
        """Would the trade hang anything from it at all?"""
        part = self.rig.parts[name]
        words = f"{part.name} {part.kind} {part.note or ''}"
        return part.nature not in (Nature.EDGE, Nature.PAD, Nature.STOPPER) and not NOT_AN_ATTACHMENT.search(words)

    def is_anchor(self, name: str) -> bool:
        """Ground to hang from: not under the bodies, nor what a frame merely stands on."""
        part = self.rig.parts[name]
        ground = part.holds_up and self.sort(name) != "footing"
        return ground and name not in self._feet and self.attachable(name)

    @cached_property
    def _feet(self) -> set[str]:
        return {*self.rig.stood_on}

    def owner(self, name: str) -> Part | None:
        """The body that a point, harness or body is."""
        part = self.rig.parts[name]
        return self.rig.parts[part.body] if part.body else part if part.is_body else None

    def of_a_person(self, name: str) -> bool:
        owner = self.owner(name)
        return owner is not None and owner.nature is Nature.PERSON

    def worn_by_another(self, name: str, body: str) -> bool:
        """Does it hang at the harness of somebody else?"""
        others = [self.owner(other) for other in self.beside.get(name, ())]
        people = [o for o in others if o and o.nature is Nature.PERSON and o.name != body]
        apart = sum(owner is None for owner in others)
        return bool(people) and not (self.sort(name) in RINGS and apart > 1)

    def target(self, name: str, body: str) -> int | None:
        """How usual it is to clip a body's strap there (0 most), or None where nobody would."""
        part = self.rig.parts[name]
        if self.owner(name) or not self.attachable(name) or self.worn_by_another(name, body):
            return None
        if any(self.owner(other) for other in self.beside.get(name, ())) and self.sort(name) not in RINGS:
            return None
        if self.sort(name) in RINGS:
            return 0
        if self.is_anchor(name) or part.nature is Nature.FRAME:
            return 1
        if self.sort(name) in CONNECTORS and any(self.anchored_at(other) for other in self.beside.get(name, ())):
            return 2
        if part.nature is Nature.KNOT and self.sort(name) in LOOPS and self._its_ring_fails(name, body):
            return 3
        return None

    def anchored_at(self, name: str) -> bool:
        """An anchor, or the sling round one."""
        if self.is_anchor(name):
            return True
        return self.sort(name) in LENGTHS and any(self.is_anchor(other) for other in self.beside.get(name, ()))

    def _its_ring_fails(self, knot: str, body: str) -> bool:
        """A knot's loop is clipped where the ring that the knot is tied to is what is in doubt."""
        rings = [other for other in self.beside.get(knot, ()) if self.sort(other) in RINGS]
        failing = {failure.id for ring in rings for failure in self.rig.index.failures_of(ring)}
        return any(failing & {*one} for one in self.worst.get(body, ()))

    # -- what is near

    def near(self, body: str) -> list[str]:
        """What a strap could reach: over contacts, and over one span of rope that does not end at
        the ground nor pass an edge."""
        distance = dict.fromkeys((body, *self.rig.parts[body].points), 0)
        queue = deque(distance)
        across = self._across_spans()
        while queue:
            here = queue.popleft()
            if self.rig.parts[here].nature in (Nature.GROUND, Nature.FRAME):
                continue
            for there in self.beside.get(here, ()):
                if distance.get(there, 9) > distance[here]:
                    distance[there] = distance[here]
                    queue.appendleft(there)
            for there in across.get(here, ()) if distance[here] == 0 else ():
                if there not in distance and not self.grounded(there):
                    distance[there] = 1
                    queue.append(there)
        found = set(distance)
        part = self.rig.parts[body]
        if part.standing:
            found |= {name for name in self.rig.parts if self.is_anchor(name)}
        return sorted(found)

    def touching(self, start: Iterable[str]) -> list[str]:
        """What is reached over contacts, not on through ground, bodies or their points."""
        start = list(start)

        def beyond(here: str) -> Sequence[str]:
            ends = here not in start and (self.rig.parts[here].nature is Nature.GROUND or self.owner(here))
            return () if ends else self.beside.get(here, ())

        return list(outward(start, beyond))

    def ropes_to(self, body: str) -> list[tuple[Rope, bool]]:
        """The ropes that a body may hang on, and whether each runs from its start towards the body."""
        distance = dict.fromkeys((body, *self.rig.parts[body].points), 0)
        queue = deque(distance)
        across = self._across_ropes()
        while queue:
            here = queue.popleft()
            part = self.rig.parts[here]
            if part.nature is Nature.GROUND or (self.of_a_person(here) and self.owner(here) != self.owner(body)):
                continue
            for there in (*self.beside.get(here, ()), *across.get(here, ())):
                if there not in distance:
                    distance[there] = distance[here] + 1
                    queue.append(there)
        found = []
        for rope in self.rig.ropes:
            ends = [s.part for s in rope.stations if s.role in ON_THE_ROPE and s.part in distance]
            if ends:
                found.append((rope, distance[ends[-1]] <= distance[ends[0]]))
        return found

    def _across_spans(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for rope in self.rig.ropes:
            for a, b in pairwise(rope.stations):
                if {a.role, b.role} <= {*ON_THE_ROPE}:
                    found.setdefault(a.part, []).append(b.part)
                    found.setdefault(b.part, []).append(a.part)
        return found

    def _across_ropes(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for rope in self.rig.ropes:
            touched = [s.part for s in rope.stations if s.role in ON_THE_ROPE]
            for part in touched:
                found.setdefault(part, []).extend(touched)
        return found

    def grounded(self, name: str) -> bool:
        natures = {self.rig.parts[other].nature for other in self.touching([name])}
        return bool(natures & {Nature.GROUND, Nature.FRAME})

    # -- where a body is clipped

    def points(self, body: str) -> list[str]:
        """Where a further attachment may be clipped: free points before used ones; of plain points,
        which do not fail, one. Where all of a person's are in doubt, a further point of the harness
        as well. A load without points is slung itself; a litter's rail never is."""
        part = self.rig.parts[body]
        own = [name for name in part.points if self.attachable(name)]
        if not own and part.nature is Nature.LOAD:
            return [body]
        free = [p for p in own if not self.rig.index.at(p) and self.beside.get(p, ()) == (body,)]
        found: list[str] = []
        for name in sorted(free or own, key=lambda name: (".head" not in name, name)):
            plain = self.rig.parts[name].nature is Nature.POINT
            if not plain or not any(self.rig.parts[one].nature is Nature.POINT for one in found):
                found.append(name)
        if part.nature is Nature.PERSON and self.failing_in(body).issuperset(own):
            found.append(self.names.fresh(f"{body}-harness" if not own else f"{body}-further-point"))
        return found

    def declared(self, point: str, body: str) -> tuple[Statement, ...]:
        """What declares a point that is not there yet."""
        return () if point in self.rig.parts else (declare("harness", [point], says("worn_by", body)),)

    def called(self, point: str, body: str) -> str:
        """What a point that is not there yet is, in words."""
        own = [name for name in self.rig.parts[body].points if self.attachable(name)]
        return f"a further point of {body}'s harness" if own else f"a harness on {body}"

    def gains(self, name: str, body: str) -> int:
        """In which of the body's sets (a bit each) a part stays held."""
        return self.stays.get(body, {}).get(name, 0)

    def failing_in(self, body: str) -> set[str]:
        """The parts that are gone in at least one of the body's smallest sets."""
        known = self.rig.index.failures
        return {name for one in self.worst.get(body, ()) for f in one if f in known for name in known[f].effects.gone}
