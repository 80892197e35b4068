"""One batch of scenarios laid over a structure: what is there, what touches what, where nothing runs."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from functools import cached_property

from analyser.holding.batch import Batch
from analyser.holding.monotone import at_least
from analyser.holding.structure import Structure


class Scene:
    """What is there in each column.

    `apart`: the bodies' columns are disjoint, so that each person is a joint in his own; otherwise
    nobody is, and what is found is true for each of them.
    """

    def __init__(self, structure: Structure, batch: Batch, removed: frozenset[str] = frozenset()) -> None:
        self.structure = structure
        self.batch = batch
        self.removed = removed
        self.there = [batch.full] * structure.count
        for name in batch.gone.keys() & structure.index.keys():
            self.there[structure.index[name]] &= ~batch.gone[name]
        self.mine = {structure.index[name]: bits for name, bits in batch.asked.items() if name in structure.index}
        every = 0
        self.apart = True
        for bits in self.mine.values():
            self.apart = self.apart and not every & bits
            every |= bits
        self.asked = every
        """The columns in which anybody is asked after: what comes out in others is nothing to go by."""
        self.passing = self.mine if self.apart else {}
        self._solid: dict[int, int] = {}
        self._moving: dict[int, int] = {}

    def spread(self, values: list[int], there: list[int] | None = None) -> list[int]:
        """What everything in contact with what has a value gets of it, as far as it is there. Changes
        `values`."""
        structure, owner, passing = self.structure, self.structure.owner, self.passing
        there = self.there if there is None else there
        free, guarded = structure.free, structure.guarded
        queue = deque(v for v, bits in enumerate(values) if bits)
        waiting = set(queue)
        while queue:
            v = queue.popleft()
            waiting.discard(v)
            bits = values[v]
            for t in free[v]:
                new = bits & there[t] & ~values[t]
                if new:
                    values[t] |= new
                    if t not in waiting:
                        waiting.add(t)
                        queue.append(t)
            if guarded[v]:
                bits &= passing.get(owner[v], 0)
                for t in guarded[v] if bits else ():
                    new = bits & there[t] & ~values[t]
                    if new:
                        values[t] |= new
                        if t not in waiting:
                            waiting.add(t)
                            queue.append(t)
        return values

    def from_ground(self, grounds: dict[int, int]) -> list[int]:
        """Over contacts, from these ground parts and frames, each in its columns."""
        values = [0] * self.structure.count
        for g, bits in grounds.items():
            for t in self.structure.grounded[g]:
                values[t] |= bits & self.there[t]
        return self.spread(values)

    @cached_property
    def feet_only(self) -> dict[int, int]:
        """Frames that stand on ground parts alone, where they stand."""
        return self.on_feet(still=False)

    def on_feet(self, *, still: bool) -> dict[int, int]:
        """The same; `still`: where they stand without giving."""
        structure, found = self.structure, {}
        for v in structure.frames:
            bits = self.there[v]
            for need in structure.parts[v].needs:
                count, names = need.asked(still=still)
                feet = [structure.index.get(name, -1) for name in names]
                if not all(foot >= 0 and structure.ground[foot] for foot in feet):
                    bits = 0
                    break
                bits &= at_least(count, [self.there[foot] for foot in feet])
            if bits:
                found[v] = bits
        return found

    def from_parts(self, values: dict[int, int], until: int = -1, there: list[int] | None = None) -> dict[int, int]:
        """The same as `spread`, from a few parts: only what gets something. `until`: no further than it takes to
        tell what this part gets, where it gets all that there is."""
        structure, owner, passing = self.structure, self.structure.owner, self.passing
        there = self.there if there is None else there
        found = {v: bits for v, bits in values.items() if bits}
        most = 0
        for bits in found.values() if until >= 0 else ():
            most |= bits
        queue = deque(found)
        while queue and not (most and found.get(until, 0) == most):
            v = queue.popleft()
            bits = found[v]
            inner = bits & passing.get(owner[v], 0) if structure.guarded[v] else 0
            for near, here in ((structure.free[v], bits), (structure.guarded[v], inner)):
                for t in near if here else ():
                    new = here & there[t] & ~found.get(t, 0)
                    if new:
                        found[t] = found.get(t, 0) | new
                        queue.append(t)
        return found

    def together(self, v: int) -> list[int]:
        """The clusters that are one with a part's own while somebody is asked after."""
        structure = self.structure
        found = {structure.cluster[v]}
        for person in self._people(v):
            if self.passing.get(person):
                found |= structure.joined.get(person, frozenset())
        return sorted(found - {-1})

    def _told_with(self, v: int, clusters: list[int]) -> list[int]:
        """Those of them of which the same is told as of a part: others may be one with more, by other people."""
        people, movers = {*self._people(v)}, self.structure.movers_of
        return [cluster for cluster in clusters if people.issuperset(movers.get(cluster, ()))]

    def _people(self, v: int) -> list[int]:
        """Those whose own cluster a part may be on."""
        owner = self.structure.owner[v]
        return [owner] if owner >= 0 else self.structure.movers_of.get(self.structure.cluster[v], [])

    def solid(self, v: int) -> int:
        """Where a part is fixed to ground of any sort over contacts alone."""
        if v not in self._solid:
            structure = self.structure
            values: dict[int, int] = {}
            clusters = self.together(v)
            for cluster in clusters:
                for u, ground in structure.footing.get(cluster, ()):
                    bits = self.there[ground] if structure.ground[ground] else self.feet_only.get(ground, 0)
                    values[u] = values.get(u, 0) | bits & self.there[u]
            found = self.from_parts(values)
            for cluster in self._told_with(v, clusters):
                for u in structure.members[cluster]:
                    self._solid[u] = found.get(u, 0)
            if v not in self._solid:
                ground = self.there[v] if structure.ground[v] else self.feet_only.get(v, 0)
                self._solid[v] = found.get(v, 0) | ground
        return self._solid[v]

    def moving(self, v: int) -> int:
        """Where a part is on the cluster of the body asked after, of a load or of a litter."""
        if v not in self._moving:
            structure, there = self.structure, self.there
            clusters = self.together(v)
            values = {
                u: there[u]
                for cluster in clusters
                if cluster in structure.carriers
                for u in structure.carriers[cluster]
            }
            people = self._people(v)
            for person in people:
                mine = self.mine.get(person, 0) & there[person]
                if mine and self.apart:
                    values[person] = values.get(person, 0) | mine
                elif mine and len(people) == 1:
                    for other, bits in self.mine.items():  # true for each who is asked after there
                        mine &= ~bits if other != person else -1
                    for own in structure.own[person]:
                        for t in structure.beside[own]:
                            values[t] = values.get(t, 0) | mine & there[own] & there[t]
            found = self.from_parts(values)
            for cluster in self._told_with(v, clusters):
                for u in structure.members[cluster]:
                    self._moving[u] = found.get(u, 0)
            self._moving.setdefault(v, found.get(v, 0))
        return self._moving[v]

    def moving_too(self, v: int) -> int:
        """The same, or where it is lashed to that by rope alone: what it grips it grips for whoever hangs there."""
        found = self.moving(v)
        lashing = self.structure.lashings.get(self.structure.cluster[v])
        if lashing is None:
            return found
        whose = self.batch.full
        if lashing.people is not None:
            whose = 0
            for person in lashing.people:
                whose |= self.mine.get(person, 0)
        values: dict[int, int] = {}
        for tail in lashing.tails if whose else ():
            if tail.rope not in self.removed:
                bits = whose & ~self.batch.cut.get(tail.span, 0) & self.ties(tail.here) & self.ties(tail.there)
                values[tail.here] = values.get(tail.here, 0) | bits & self.moving(tail.there)
        return found | self.from_parts(values).get(v, 0)

    def ties(self, v: int) -> int:
        """Where a knot is there and touches something that is there, other people left out. What joins two ropes ties
        each of them to the other."""
        if self.structure.names[v] in self.structure.rig.index.bends:
            return self.there[v]
        return self._beside(v, self.structure.beside[v])

    def tied_to(self, v: int) -> int:
        """Where a knot is there, and something of what its own line ties it to."""
        return self._beside(v, self.structure.ties[v])

    def _beside(self, v: int, near: Iterable[int]) -> int:
        structure, found = self.structure, 0
        for t in near:
            bits = self.there[t]
            if structure.owner[t] >= 0:
                bits &= self.mine.get(structure.owner[t], 0)
            found |= bits
        return found & self.there[v]

    # -- with nothing failed: one column for each body

    def same_cluster(self, v: int, w: int) -> int:
        """For which bodies two parts are on one cluster."""
        structure = self.structure
        a, b = structure.cluster[v], structure.cluster[w]
        if a == b and a >= 0:
            return self.batch.full
        bits = 0
        for person in set(structure.movers_of.get(a, ())) & set(structure.movers_of.get(b, ())):
            bits |= self.mine.get(person, 0)
        return bits

    def same_place(self, v: int, w: int) -> int:
        """For which bodies two parts hang from the same place: one cluster, or one ground part that both touch."""
        structure = self.structure
        bits = self.same_cluster(v, w)
        for name, bit in self.batch.asked.items():
            if not bits & bit and self._grounds(v, structure.index[name]) & self._grounds(w, structure.index[name]):
                bits |= bit
        return bits

    def _grounds(self, v: int, body: int) -> set[int]:
        """The ground parts and frames that a part's cluster touches while a body is asked after."""
        structure = self.structure
        mine = structure.cluster[v]
        clusters = structure.joined.get(body, frozenset()) | {mine}
        if mine not in structure.joined.get(body, ()):
            clusters = frozenset({mine})
        parts = [u for cluster in clusters for u in structure.members.get(cluster, ())]
        return {t for u in parts for t in structure.beside[u] if t in structure.ends}
