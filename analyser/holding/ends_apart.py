"""The ends that drop in what hangs together, each body's asked in its own portion, in the scenarios that touch that.

What drops elsewhere can't come to bear on it there (`portions.py`), and a row of a hundred teams has a hundred litters.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from analyser.holding.batch import Rows, WithWhatGoes, disjoint, either, positions, union
from analyser.holding.portions import Portion
from analyser.holding.structure import Structure
from analyser.rig.model import Effects

FEW = 20
"""What befalls so many parts at most is asked of a portion as it is; of more (all hands off) only what is there."""


class Dropping(Protocol):
    """A rig whose ends may drop (`system.RigSystem`)."""

    def dropped(
        self, rows: Rows, width: int, names: Iterable[str] | None = None, *, once: bool = False
    ) -> dict[str, int]: ...


class Portioned(Protocol):
    """A portion that can be asked; `names` are its parts and spans."""

    @property
    def portion(self) -> Portion: ...

    @property
    def system(self) -> Dropping: ...

    @property
    def names(self) -> set[str]: ...


class EndsApart:
    """The portions of what hangs together, to be asked what of their own bodies drops."""

    def __init__(self, whole: Structure, portions: Sequence[Portioned]) -> None:
        """`whole`: the structure of all that hangs together."""
        tipping = {part.name for part in whole.rig.parts.values() if part.is_body and (part.ends or part.sides)}
        self._of: dict[str, Portioned] = {}
        """With each body that has ends, and all of whose cluster is in its portion, that portion."""
        ropes_at: dict[str, set[str]] = {}
        for rope in whole.rig.ropes if tipping else ():
            for station in rope.stations:
                ropes_at.setdefault(station.part, set()).add(rope.name)
        for one in portions:
            if len(one.portion.rig.parts) == len(whole.rig.parts):
                continue  # it may be the very same
            for body in tipping.intersection(one.portion.bodies):
                inside = {whole.names[v] for v in whole.members.get(whole.cluster[whole.index[body]], ())}
                ropes: set[str] = set().union(*(ropes_at.get(name, ()) for name in inside))
                if inside and inside <= one.names and ropes <= {rope.name for rope in one.portion.rig.ropes}:
                    self._of[body] = one
        self._last: tuple[Rows, dict[str, list[int]]] | None = None

    def dropped(self, rows: Rows, width: int, names: Iterable[str], *, once: bool) -> tuple[dict[str, int], list[str]]:
        """The points of lost ends as far as they are told here, and the bodies and bars of which that is still to be
        asked in the whole (as all are where something else goes with what is brought down, or several failures are in
        one scenario)."""
        every = list(names)
        if not self._of or isinstance(rows, WithWhatGoes) or not disjoint(bits for _, bits in rows):
            return {}, every
        found: dict[str, int] = {}
        asked: dict[int, tuple[Portioned, list[str]]] = {}
        for name in every:
            if name in self._of:
                one = self._of[name]
                asked.setdefault(id(one), (one, []))[1].append(name)
        befallen = self._befallen(rows) if asked else {}
        for one, mine in asked.values():
            found = either(found, self._in(one, mine, rows, width, befallen, once=once))
        return found, [name for name in every if name not in self._of]

    @staticmethod
    def _in(
        one: Portioned, names: list[str], rows: Rows, width: int, befallen: Mapping[str, list[int]], *, once: bool
    ) -> dict[str, int]:
        """What drops of these in their portion: asked once for all scenarios that don't touch it."""
        touching = sorted(set().union(*(befallen[name] for name in one.names if name in befallen)))
        mine = [(Effects(), 1), *((within(rows[k][0], one.names), 2 << at) for at, k in enumerate(touching))]
        others = (1 << width) - 1 & ~union(rows[k][1] for k in touching)
        found = {}
        for point, bits in one.system.dropped(mine, len(mine), names, once=once).items():
            where = union(rows[touching[at - 1]][1] for at in positions(bits) if at)
            found[point] = where | (others if bits & 1 else 0)
        return found

    def _befallen(self, rows: Rows) -> dict[str, list[int]]:
        """For each part or span that anything befalls, the rows in which it does."""
        if self._last is None or self._last[0] is not rows:
            found: dict[str, list[int]] = {}
            for k, (effects, bits) in enumerate(rows):
                for group in effects.groups if bits else ():
                    for name in group:
                        found.setdefault(name, []).append(k)
            self._last = rows, found
        return self._last[1]


def within(effects: Effects, names: set[str]) -> Effects:
    """What of some effects befalls these, where they befall many."""
    return effects if sum(map(len, effects.groups)) <= FEW else effects.within(names)
