"""The least sets of what is borne and what is pinned: spread over contacts from the ground, and along ropes."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from typing import Protocol

from analyser.holding.derivation import Fired
from analyser.holding.scene import Scene
from analyser.holding.structure import Structure
from analyser.holding.walks import Laid, Walk, round_from


class Given(Protocol):
    """A scene with its ropes laid (`solving.Solver`): for each part the columns in which it is there, is fixed by
    ground, lies low, and is pulled down by a strap to ground below."""

    structure: Structure
    scene: Scene
    laid: list[Laid]
    there: list[int]
    fixed: list[int]
    low: list[int]
    pulled: list[int]


class LeastSets:
    """The least sets of what is borne and what is pinned, and a log of how each came about."""

    def __init__(self, solver: Given, *, rooted: bool = False) -> None:
        """`rooted`: with the ground parts alone to begin with, so that the log holds every contact too."""
        self.solver = solver
        self.structure = solver.structure
        self.log: list[Fired] = []
        self.borne = list(solver.fixed)
        self.pinned = [f | low | p for f, low, p in zip(solver.fixed, solver.low, solver.pulled, strict=True)]
        self.first: list[tuple[list[int], int]] = []
        if rooted:
            ends = self.structure.ends
            self.borne = [bits if v in ends else 0 for v, bits in enumerate(self.borne)]
            self.pinned = [bits if v in ends else 0 for v, bits in enumerate(self.pinned)]
            self.first = [(values, v) for v in ends for values in (self.borne, self.pinned) if values[v]]
        self.watching: dict[int, list[Laid]] = {}
        for laid in solver.laid:
            for v in {stop.v for stop in laid.line.stops}:
                self.watching.setdefault(v, []).append(laid)

    def close(self, pins: Mapping[int, int] | None = None) -> None:
        """Add until nothing changes. Without `pins` (what hangs with a weight of its own, and where) only what is borne
        grows."""
        grown, self.first = self.first, []
        for v, bits in pins.items() if pins is not None else ():
            new = bits & self.solver.there[v] & ~self.pinned[v]
            if new:
                self.pinned[v] |= new
                grown.append((self.pinned, v))
        pending: deque[Laid] = deque(self.solver.laid)
        queued = {id(laid) for laid in pending}
        while True:
            for values, v in self._over_contacts(grown):
                del values
                for laid in self.watching.get(v, ()):
                    if id(laid) not in queued:
                        queued.add(id(laid))
                        pending.append(laid)
            if not pending:
                return
            laid = pending.popleft()
            queued.discard(id(laid))
            grown = self._pull(laid, pins is not None)

    def joined(self) -> list[int]:
        """What is joined at all, over contacts and rope that isn't cut, to what is borne or to any ground: all
        else falls."""
        values = list(self.borne)
        changed = True
        log, self.log = self.log, []
        grown = []
        for v in self.structure.ends:
            if self.solver.there[v] & ~values[v]:
                values[v] = self.solver.there[v]
                grown.append((values, v))
        if grown:
            self._over_contacts(grown)
        while changed:
            changed = False
            for laid in self.solver.laid:
                if self._pass_on(laid, values):
                    changed = True
        self.log = log
        return values

    def _pass_on(self, laid: Laid, values: list[int]) -> bool:
        """Along one rope, whatever it runs through; whether anything came of it."""
        there, stops = self.solver.there, laid.line.stops
        here = [values[stop.v] for stop in stops]
        bits = 0
        grown: list[tuple[list[int], int]] = []
        behind = [0] * len(stops)
        for k in range(len(stops) - 1, 0, -1):
            behind[k - 1] = (behind[k] | here[k]) & laid.uncut[k - 1]
        for k, stop in enumerate(stops):
            new = (bits | behind[k]) & there[stop.v] & ~values[stop.v]
            if new:
                values[stop.v] |= new
                grown.append((values, stop.v))
            if k < len(laid.whole):
                bits = (bits | here[k]) & laid.uncut[k]
        if grown:
            self._over_contacts(grown)
        return bool(grown)

    def _over_contacts(self, grown: list[tuple[list[int], int]]) -> list[tuple[list[int], int]]:
        """Spread what grew; everything that grew."""
        structure, there, passing = self.structure, self.solver.there, self.solver.scene.passing
        owner, log, borne = structure.owner, self.log, self.borne
        told = list(grown)
        queue = deque(grown)
        while queue:
            values, v = queue.popleft()
            bits = values[v]
            mine = structure.guarded[v]
            inner = bits & passing.get(owner[v], 0) if mine else 0
            for near, here in ((structure.grounded[v] or structure.free[v], bits), (mine, inner)):
                for t in near if here else ():
                    new = here & there[t] & ~values[t]
                    if new:
                        values[t] |= new
                        log.append((v, t, values is borne, new, None))
                        queue.append((values, t))
                        told.append((values, t))
        return told

    def _pull(self, laid: Laid, pins: bool) -> list[tuple[list[int], int]]:
        """What one rope makes borne and pinned, given what is."""
        line, there = laid.line, self.solver.there
        grown: list[tuple[list[int], int]] = []
        count = len(line.stops)
        ways = ((self.borne, True), (self.pinned, False)) if pins else ((self.borne, True),)
        open_to = [
            (t, stop.v, values, up)
            for t, stop in enumerate(line.stops)
            if stop.v not in self.structure.ends  # ground ends a path
            for values, up in ways
            if there[stop.v] & ~values[stop.v] & ~laid.absent[t]
        ]
        if not open_to:
            return grown
        borne = [self.borne[s.v] & bears for s, bears in zip(line.stops, laid.bears, strict=True)]
        pinned = [self.pinned[s.v] & bears for s, bears in zip(line.stops, laid.bears, strict=True)]
        walk = Walk(laid, borne, pinned)
        for t, v, values, up in open_to:
            room = there[v] & ~values[v] & ~laid.absent[t]
            walks = [(walk, room)]
            if room and t in laid.twins:
                walks.append((Walk(laid, *_with_twins(laid, t, borne, pinned, up)), room & _twinned(laid, t)))
            for one, where in walks if room else ():
                before = one.forth(t - 1, not up) if t else 0
                after = one.back(t, up) if t < count - 1 else 0
                new = before & (after | laid.to_start[t]) | laid.to_end[t] & after
                new &= where & ~values[v]
                if new:
                    values[v] |= new
                    self.log.append((laid, t, up, new, one))
                    grown.append((values, v))
        if line.ring:
            grown += self._around(laid, borne, pinned, pins)
        return grown

    def _around(self, laid: Laid, borne: list[int], pinned: list[int], pins: bool) -> list[tuple[list[int], int]]:
        """A ring without ends: once round from each of its stops."""
        line, there = laid.line, self.solver.there
        grown: list[tuple[list[int], int]] = []
        for t in range(line.ring):
            v = line.stops[t].v
            if v in self.structure.ends:
                continue
            for values, up in ((self.borne, True), (self.pinned, False)) if pins else ((self.borne, True),):
                room = there[v] & ~values[v] & ~laid.absent[t]
                if not room:
                    continue
                sides = _with_twins(laid, t, borne, pinned, up) if t in laid.twins else (borne, pinned)
                walk = round_from(laid, t, *sides, up)
                new = walk.back(t, up) & room
                if new:
                    values[v] |= new
                    self.log.append((laid, t, up, new, walk))
                    grown.append((values, v))
        return grown


def _twinned(laid: Laid, t: int) -> int:
    """Where a stop has another of its rope on its own cluster."""
    found = 0
    for _, bits in laid.twins[t]:
        found |= bits
    return found


def _with_twins(laid: Laid, t: int, borne: list[int], pinned: list[int], up: bool) -> tuple[list[int], list[int]]:
    """What each stop of a rope withstands while it is asked whether it pulls one of them up (or down): others on that
    one's cluster need withstand no pull the same way."""
    own = list(pinned if up else borne)
    for k, bits in laid.twins[t]:
        own[k] |= bits & laid.bears[k]
    return (borne, own) if up else (own, pinned)
