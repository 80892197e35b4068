"""Rope drawn up between a grip and a wheel that hangs on it: a haul grab on the very rope that it grips.

The rope goes from the grab over a wheel elsewhere and back to the one at the grab. With the grab gone, slipping, or
off its wheel, what was drawn up between them runs out before the next thing behind holds: a drop, in *still*. None
where something holds the rope before it comes back, as a capture on the loaded strand.
"""

from __future__ import annotations

from typing import Protocol

from analyser.holding.scene import Scene
from analyser.rig.model import Role, Rope


class Cuts(Protocol):
    """Where ropes count as cut in a scene (`cuts.Cuts`): the same with nothing failed, and what is asked of grips."""

    scene: Scene

    @property
    def base(self) -> Cuts: ...

    def grips(self, rope: Rope, k: int, *, forward: bool | None = None) -> int: ...

    def does(self, v: int, rope: Rope) -> int: ...

    def for_bodies(self, bits: int) -> int: ...

    def loaded_sides(self, rope: Rope, k: int) -> list[tuple[bool, int]]: ...


def lost_bight(cuts: Cuts, rope: Rope, k: int) -> int:
    """Where what a grip had drawn up of its own rope has run out."""
    structure, base = cuts.scene.structure, cuts.base
    v = structure.index[rope.stations[k].part]
    hung = base.scene.there[v] & base.grips(rope, k) & ~base.does(v, rope)
    if not hung:
        return 0
    bits = 0
    for forward, loaded in cuts.loaded_sides(rope, k):
        bits |= loaded & _run_out(cuts, rope, k, not forward, cuts.for_bodies(hung))
    return bits


def _run_out(cuts: Cuts, rope: Rope, k: int, forward: bool, alive: int) -> int:
    """Of these columns, those in which whole rope on that side comes back to the grip's cluster as it was, with nothing
    holding it before, and the two are no longer one."""
    scene, base = cuts.scene, cuts.base.scene
    structure, v = scene.structure, scene.structure.index[rope.stations[k].part]
    whole = cuts.grips(rope, k)
    step, j, lost = (1 if forward else -1), k, 0
    while alive:
        span = j if forward else j - 1
        j += step
        if not 0 <= j < len(rope.stations):
            break
        alive &= ~scene.batch.cut.get(rope.spans[span], 0)
        station = rope.stations[j]
        w = structure.index.get(station.part, -1)
        if station.role not in (Role.RUN, Role.GRIP, Role.TIE):
            continue
        back = alive & cuts.for_bodies(base.same_cluster(v, w))
        if back:
            together = scene.from_parts({v: whole & back}, until=w).get(w, 0)
            lost |= back & ~together
            alive &= ~back
        if station.role is Role.TIE:
            alive &= ~scene.ties(w)
        elif station.role is Role.GRIP:
            alive &= ~(cuts.grips(rope, j, forward=not forward) & cuts.does(w, rope))
    return lost
