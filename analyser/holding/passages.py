"""Where an edge severs the ropes over it, and what guards them from it (`rules.md` section 2)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from analyser.holding.batch import positions, spread
from analyser.holding.scene import Scene
from analyser.rig.model import Nature, Role, Rope, Station

if TYPE_CHECKING:
    from analyser.holding.structure import Structure

Severed = Mapping[tuple[str, int], int]
"""Stations at which ropes are severed beside what the effects do, and in which columns."""


class Passages:
    """The passages of ropes over edges in one scene."""

    def __init__(
        self,
        scene: Scene,
        strict: Structure,
        severed: Severed,
        anchored: Callable[[Scene, Severed, int], int],
    ) -> None:
        """`strict`: the structure in which guards are asked after; `anchored`: where a part of it is anchored in
        another scene, so far severed."""
        self.scene = scene
        self.strict = strict
        self.severed = severed
        self.anchored = anchored
        self._known: dict[tuple[str, int], int] = {}

    def severs(self, rope: Rope, k: int) -> int:
        """Where a rope is severed at its passage over an edge."""
        known = self._known.get((rope.name, k))
        if known is not None:
            return known
        station = rope.stations[k]
        already = self.severed.get((rope.name, k), 0)
        bits = self.scene.batch.cutting.get(station.part, 0) & ~already
        for guard in self._guards_of(rope, station) if bits else ():
            bits &= ~self._guards(rope, station, guard, bits)
        self._known[rope.name, k] = bits | already
        return bits | already

    def _guards_of(self, rope: Rope, station: Station) -> tuple[str, ...]:
        """Guards of a passage, the pads first; not what its rope was taken off."""
        parts = self.scene.structure.rig.parts
        through = {s.part for s in rope.stations if s.role is Role.RUN}
        every = dict.fromkeys((*station.guards, *parts[station.part].guards))
        kept = [guard for guard in every if guard in through or guard not in station.ran_through]
        return tuple(sorted(kept, key=lambda guard: parts[guard].nature is not Nature.PAD))

    def _guards(self, rope: Rope, station: Station, guard: str, asked: int) -> int:
        """Of the columns asked, those in which something keeps the rope off the edge."""
        batch = self.scene.batch
        there = asked & ~batch.gone.get(guard, 0)
        part = self.strict.rig.parts[guard]
        if part.nature is Nature.PAD or not there:
            return there
        if part.nature in (Nature.EDGE, Nature.STOPPER, Nature.STRUCTURE):
            return 0
        v = self.strict.index[guard]
        columns = positions(there)
        inner = Scene(self.strict, batch.select(columns), self.scene.removed)
        severed = {key: batch.pick(bits, columns) for key, bits in self.severed.items()}
        severed |= self._unpadded(station.part, inner)
        return spread(self.anchored(inner, severed, v), columns)

    def _unpadded(self, edge: str, inner: Scene) -> dict[tuple[str, int], int]:
        """Every passage over an edge at which there is no pad, and where."""
        found: dict[tuple[str, int], int] = {}
        parts = self.strict.rig.parts
        for rope in self.strict.rig.ropes:
            for k, station in enumerate(rope.stations):
                if station.role is Role.OVER and station.part == edge:
                    bare = inner.batch.full
                    for guard in (*station.guards, *parts[edge].guards):
                        if parts[guard].nature is Nature.PAD:
                            bare &= inner.batch.gone.get(guard, 0)
                    found[rope.name, k] = bare
        return found
