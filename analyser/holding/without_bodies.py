"""What would be anchored were there no bodies: asked of all that ropes end at together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Protocol

from analyser.holding.passages import Passages
from analyser.holding.scene import Scene
from analyser.rig.model import Role, Rope

WIDE = 1 << 13
"""Columns of several parts' own that are asked together."""


class Nobody(Protocol):
    """Where ropes count as cut in a scene without bodies (`cuts.Cuts`)."""

    scene: Scene
    passages: Passages

    def grips(self, rope: Rope, k: int, *, forward: bool | None = None) -> int: ...

    def anchored(self, wanted: Mapping[int, int]) -> dict[int, int]: ...


class WithoutBodies:
    """One scene without any body, and what was asked of it."""

    def __init__(self, nobody: Nobody) -> None:
        self.nobody = nobody
        self._known: dict[int, tuple[int, int]] = {}
        """Where a part is anchored, and where that was looked at."""

    def anchored(self, asked: Mapping[int, int]) -> dict[int, int]:
        """For each part, of the columns asked those in which it is anchored."""
        left: dict[int, int] = {}
        for v, bits in asked.items():
            known, looked = self._known.get(v, (0, 0))
            new = bits & ~looked
            if new:
                surely = self.nobody.scene.solid(v) & new
                surely |= self._leads_to_ground(v, new & ~surely) if new & ~surely else 0
                self._known[v] = known | surely, looked | new
                if new & ~surely:
                    left[v] = new & ~surely
        for some in _pieces(left):
            for v, bits in self.nobody.anchored(some).items():
                known, looked = self._known[v]
                self._known[v] = known | bits, looked
        return {v: self._known[v][0] & bits if bits else 0 for v, bits in asked.items()}

    def _leads_to_ground(self, v: int, asked: int) -> int:
        """Of the columns asked, those in which one rope leads from a part's cluster to what ground fixes: over nothing
        else than that, so that the part is surely anchored."""
        scene, found = self.nobody.scene, 0
        structure = scene.structure
        near = scene.from_parts({v: asked & scene.there[v]})
        for t, bits in near.items():
            for line in structure.lines_at.get(t, {}).values():
                for k, station in enumerate(line.rope.stations):
                    if bits & ~found and structure.index.get(station.part) == t:
                        found |= bits & (self._leads(line.rope, k, 1) | self._leads(line.rope, k, -1))
        return found

    def _leads(self, rope: Rope, k: int, step: int) -> int:
        nobody, scene = self.nobody, self.nobody.scene
        alive, j = scene.batch.full, k
        while alive:
            span, j = (j if step > 0 else j - 1), j + step
            if not 0 <= j < len(rope.stations):
                break
            station = rope.stations[j]
            alive &= ~scene.batch.cut.get(rope.spans[span], 0)
            if station.role is Role.OVER:
                alive &= ~nobody.passages.severs(rope, j)
                continue
            w = scene.structure.index.get(station.part, -1)
            alive &= scene.solid(w) if w >= 0 else 0
            if station.role is Role.GRIP:
                return alive & nobody.grips(rope, j, forward=step < 0)
            if station.role is not Role.RUN:
                return alive if station.role is Role.TIE else 0
        return 0


def _pieces(asked: Mapping[int, int]) -> Iterator[dict[int, int]]:
    """The same in pieces of no more than so many columns together."""
    some: dict[int, int] = {}
    number = 0
    for v, bits in asked.items():
        if some and number + bits.bit_count() > WIDE:
            yield some
            some, number = {}, 0
        some[v] = bits
        number += bits.bit_count()
    if some:
        yield some
