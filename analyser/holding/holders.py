"""By what a body is held: what is needed in any case, and of what any one is enough."""

from __future__ import annotations

from collections import deque

from analyser.holding.cut_search import Events
from analyser.holding.fate import Hold
from analyser.holding.search import Search
from analyser.holding.structure import Structure
from analyser.holding.system import RigSystem
from analyser.language.identities import FailureId
from analyser.rig.model import Effects, Failure, Nature, Rig, Role

MOST_WAYS = 24
"""Ways that are looked for; of more only the first are told."""
UNTOLD = (Nature.KNOT, Nature.POINT)
"""What is told as what it belongs to: a knot as its rope, a point as its body."""


class Holding:
    """One rig after some effects, whose parts and ropes are taken away one by one."""

    def __init__(self, rig: Rig, structure: Structure, before: Effects) -> None:
        self.rig = rig
        self.structure = structure
        self.before = before

    def of(self, body: str) -> Hold | None:
        """None where the body isn't held, or stands on its feet."""
        names = [n for n in self._from(body) if n not in (body, *self.rig.parts[body].points) or self._can_be_gone(n)]
        system = RigSystem(self.rig, [self._without(n) for n in names], self.before, self.structure)
        system.goals = [body]
        ways, _ = Search(system).all_ways(body, MOST_WAYS)
        if not ways:
            return None
        through = frozenset.intersection(*ways)
        further = sorted((way - through for way in ways), key=lambda way: (len(way), sorted(way)))
        choices = list(dict.fromkeys(self._told(names, way) for way in further if way))
        choices = [one for one in choices if not any(set(other) < set(one) for other in choices)]
        return Hold(tuple(names[k] for k in sorted(through)), tuple(choices))

    def _can_be_gone(self, name: str) -> bool:
        return name in self.rig.parts and self.rig.parts[name].nature is Nature.HARNESS

    def _without(self, name: str) -> Failure:
        rope = next((rope for rope in self.rig.ropes if rope.name == name), None)
        effects = Effects(cut=frozenset(rope.spans)) if rope else Effects(gone=frozenset({name}))
        return Failure(FailureId(name, "is gone"), effects, self.rig.place)

    def _told(self, names: list[str], way: Events) -> tuple[str, ...]:
        """What is told of one of several ways: its ropes, or else what of it is nearest to the body."""
        ropes = {rope.name for rope in self.rig.ropes}
        mine = [names[k] for k in sorted(way)]
        return tuple(name for name in mine if name in ropes) or (mine[0],)

    def _from(self, body: str) -> list[str]:
        """Parts and ropes by how near they are to the body."""
        beside: dict[str, list[str]] = {}
        for name, others in self.rig.touching.items():
            beside.setdefault(name, []).extend(others)
        for point in self.rig.parts[body].points:
            beside.setdefault(body, []).append(point)
        for rope in self.rig.ropes:
            for station in rope.stations:
                if station.role in (Role.TIE, Role.RUN, Role.GRIP):
                    beside.setdefault(station.part, []).append(rope.name)
                    beside.setdefault(rope.name, []).append(station.part)
        for part in self.rig.parts.values():
            for foot in part.needed:
                beside.setdefault(part.name, []).append(foot)
        seen = {body}
        order = []
        queue = deque([body])
        while queue:
            here = queue.popleft()
            order.append(here)
            for there in sorted(beside.get(here, ())):
                if there not in seen:
                    seen.add(there)
                    queue.append(there)
        parts = self.rig.parts
        return [name for name in order if name not in parts or parts[name].nature not in UNTOLD]
