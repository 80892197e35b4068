"""One batch of scenarios laid over a structure: what is there, what touches what, where nothing runs."""

from __future__ import annotations

from collections import deque
from functools import cached_property

from analyser.holding.columns import Batch
from analyser.holding.monotone import at_least
from analyser.holding.structure import Structure
from analyser.rig.model import Nature


class Scene:
    """What is there in each column.

    `apart`: the bodies' columns are disjoint, so that each person is a joint in his own; otherwise
    nobody is, and what is found is true for each of them.
    """

    def __init__(self, structure: Structure, batch: Batch, removed: frozenset[str] = frozenset()) -> None:
        self.structure = structure
        self.batch = batch
        self.removed = removed
        full, gone = batch.full, batch.gone
        self.there = [full & ~gone[name] if name in gone else full for name in structure.names]
        for name in removed:
            line = structure.line_of.get(name)
            for station in line.rope.stations if line else ():
                v = structure.index.get(station.part)
                if v is not None and structure.parts[v].nature is Nature.KNOT:
                    self.there[v] = 0
        self.mine = {structure.index[name]: bits for name, bits in batch.asked.items() if name in structure.index}
        every = 0
        self.apart = True
        for bits in self.mine.values():
            self.apart = self.apart and not every & bits
            every |= bits
        self.passing = self.mine if self.apart else {}

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
        structure, found = self.structure, {}
        for v in structure.frames:
            bits = self.there[v]
            for need in structure.parts[v].needs:
                feet = [structure.index.get(name, -1) for name in need.parts]
                if not all(foot >= 0 and structure.ground[foot] for foot in feet):
                    bits = 0
                    break
                bits &= at_least(need.count, [self.there[foot] for foot in feet])
            if bits:
                found[v] = bits
        return found

    @cached_property
    def solid(self) -> list[int]:
        """Where each part is fixed to ground of any sort over contacts alone."""
        grounds = {v: self.there[v] for v in range(self.structure.count) if self.structure.ground[v]}
        return self.from_ground({**grounds, **self.feet_only})

    @cached_property
    def moving(self) -> list[int]:
        """Where each part is on the cluster of the body asked after, of a load or of a litter."""
        structure = self.structure
        values = [0] * structure.count
        for v, part in enumerate(structure.parts):
            if part.nature in (Nature.LOAD, Nature.LITTER):
                values[v] = self.there[v]
        if self.apart:
            for v, bits in self.mine.items():
                values[v] |= bits & self.there[v]
            return self.spread(values)
        self.spread(values)
        people = [0] * structure.count
        for v, bits in self.mine.items():
            for own in (v, *(structure.index[p] for p in structure.parts[v].points if p in structure.index)):
                for t in structure.beside[own]:
                    if structure.cluster[t] >= 0 and len(structure.movers_of.get(structure.cluster[t], ())) == 1:
                        people[t] |= bits & self.there[own] & self.there[t]
        self.spread(people)
        return [a | b for a, b in zip(values, people, strict=True)]

    def ties(self, v: int) -> int:
        """Where a knot is there and ties something that is there, other people left out."""
        structure, found = self.structure, 0
        for t in structure.beside[v]:
            bits = self.there[t]
            if structure.owner[t] >= 0:
                bits &= self.mine.get(structure.owner[t], 0)
            found |= bits
        return found & self.there[v]
