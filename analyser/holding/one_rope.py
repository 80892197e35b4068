"""A rope that runs through both ends of a body and comes back to where it came from: it holds neither end up.

With both strands to one place what hangs can slide along: level, it is as a ball on a hill. Where the strands part, as
those of a track line do, it hangs between them and stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from analyser.rig.index import reached
from analyser.rig.model import Nature, Part, Rig, Role, Rope


class RunningThrough:
    """The ropes that do so, for one body (or bar) of a rig."""

    def __init__(self, rig: Rig, part: Part, touching: Mapping[str, set[str]], barred: frozenset[str]) -> None:
        """`touching`: everything that each part touches; `barred`: what makes no cluster of what it touches."""
        self.rig = rig
        self.part = part
        self.touching = touching
        self._stops = {s.part for rope in rig.ropes for s in rope.stations if s.role is not Role.RUN}
        self.barred = barred | {part.name}

    def spans(self, end: tuple[str, ...]) -> frozenset[str]:
        """The spans that such ropes have at what is at other points of the body than those of one end."""
        others = [point for point in self.part.points if point not in end]
        apart = self._alone(others, {*end}, ())
        if not apart:
            return frozenset()
        mine = self._alone(end, {*others}, apart)
        return frozenset(span for rope in self.rig.ropes for span in self._at(rope, apart, mine))

    def _alone(self, points: Iterable[str], not_with: set[str], beside: Iterable[str]) -> frozenset[str]:
        """These points and what hangs on one of them alone: neither ground nor other points, and nothing that a rope is
        tied to or gripped by."""
        found: set[str] = set()
        for point in points:
            members = reached(self.touching, (point,), self.barred)
            near = {t for member in members for t in self.touching.get(member, ())}
            grounded = any(self.rig.parts[t].nature in (Nature.GROUND, Nature.FRAME) for t in near)
            if not grounded and not_with.isdisjoint(members) and self._stops.isdisjoint(members):
                found |= members
        return frozenset(found.difference(beside))

    def _at(self, rope: Rope, apart: frozenset[str], mine: frozenset[str]) -> list[str]:
        """The spans of one rope, beside each station at the other points, where it runs through both and comes back."""
        count = len(rope.stations) - rope.closed
        inside = [s.role is Role.RUN and s.part in apart | mine for s in rope.stations[:count]]
        found: list[str] = []
        for first in range(count):
            if not inside[first] or (inside[first - 1] and (rope.closed or first)):
                continue
            row = [first]
            while len(row) < count and (row[-1] + 1 < count or rope.closed) and inside[(row[-1] + 1) % count]:
                row.append((row[-1] + 1) % count)
            through = {rope.stations[k].part for k in row}
            outer = (first - 1, row[-1] + 1)
            if not rope.closed and (outer[0] < 0 or outer[1] >= count):
                continue
            if through & apart and through & mine and self._one_place(*(rope.stations[k % count].part for k in outer)):
                for k in row:
                    if rope.stations[k].part in apart:
                        found += [rope.spans[span % len(rope.spans)] for span in (k - 1, k)]
        return found

    def _one_place(self, one: str, other: str) -> bool:
        """Do two parts hang together, or from one part of the ground?"""
        clusters = [reached(self.touching, (part,), self.barred) for part in (one, other)]
        if clusters[0] & clusters[1]:
            return True
        ground = [
            {
                t
                for member in cluster
                for t in self.touching.get(member, ())
                if self.rig.parts[t].nature is Nature.GROUND
            }
            for cluster in clusters
        ]
        return bool(ground[0] & ground[1])
