"""A rig as a monotone system: named failures, bodies that must stay held, scenarios in columns.

`search.py` works on the protocol `System` alone and knows nothing of rigs, so that it can be
checked against published fault trees.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from analyser.holding.solving import Sets, Solver, Wanted
from analyser.holding.structure import Batch, Structure, pick_runs, positions, runs, spread
from analyser.rig.model import Effects, Failure, Rig

MOST_COLUMNS = 1 << 17
MOST_BITS = 1 << 28
"""All variables of one sweep together: wide enough to be fast, narrow enough for a laptop."""


class System(Protocol):
    """Goals that stay true while few enough events happen."""

    @property
    def events(self) -> Sequence[str]: ...

    @property
    def goals(self) -> Sequence[str]: ...

    @property
    def columns(self) -> int:
        """How many columns a sweep should have at most."""
        ...

    def sweep(self, bits: Sequence[int], width: int, asked: Mapping[str, int]) -> dict[str, int]:
        """For each goal asked for, the columns in which it is still true.

        `bits[e]` are the columns in which event e happens, out of `width` columns; `asked` gives for
        each goal the columns in which the answer matters (elsewhere it may be anything).
        """
        ...


class RigSystem:
    """The failures of a rig and its bodies, in the strict reading.

    A body's own failure is left out where that body is asked after (`holding/rules.md` section 2).
    """

    def __init__(
        self,
        rig: Rig,
        failures: Iterable[Failure] | None = None,
        already: Effects | None = None,
        structure: Structure | None = None,
    ) -> None:
        """`failures` are the events (all of the rig's by default); `already` has befallen it before;
        `structure` is the rig's strict structure where it is known."""
        self.rig = rig
        self.already = already or Effects()
        self.failures = tuple(rig.failures if failures is None else failures)
        self.events = [failure.id for failure in self.failures]
        self.goals = [body.name for body in rig.bodies]
        self.strict = structure or Structure(rig, loose=False)
        self._loose: Structure | None = None

    @property
    def columns(self) -> int:
        return min(MOST_COLUMNS, MOST_BITS // max(1, self.strict.count))

    @property
    def loose(self) -> Structure:
        if self._loose is None:
            self._loose = Structure(self.rig, loose=True)
        return self._loose

    def sweep(self, bits: Sequence[int], width: int, asked: Mapping[str, int]) -> dict[str, int]:
        rows = [(f.effects, b) for f, b in zip(self.failures, bits, strict=True)]
        return self.read(self.strict, rows, width, asked)

    def read(
        self, structure: Structure, rows: list[tuple[Effects, int]], width: int, asked: Mapping[str, int]
    ) -> dict[str, int]:
        """For each body asked for, the columns in which it is held in one reading (see `sweep`)."""
        rows = [*rows, (self.already, (1 << width) - 1)]
        batch = Batch(rows, width)
        sets = Solver(structure, batch).solve(held_wanted(structure, asked))
        found = {name: sets.held[structure.index[name]] for name in asked}
        struck = {name: batch.gone.get(name, 0) & columns for name, columns in asked.items()}
        struck = {name: bits for name, bits in struck.items() if bits}
        if struck:
            self._own_left_out(structure, batch, rows, struck, found)
        return found

    def _own_left_out(
        self,
        structure: Structure,
        batch: Batch,
        rows: list[tuple[Effects, int]],
        struck: dict[str, int],
        found: dict[str, int],
    ) -> None:
        """Ask again for each body, without its own failure, in the columns in which that happened:
        all bodies together, each in columns of its own."""
        own = {part: name for name in struck for part in (name, *self.rig.parts[name].points)}
        apart = dict.fromkeys(own, 0)  # for each part of a body, where it is gone by itself
        for effects, bits in rows:
            for part in effects.gone & own.keys() if bits else ():
                if own[part] not in effects.gone:
                    apart[part] |= bits
        blocks: dict[str, tuple[int, list[int]]] = {}
        columns: list[int] = []
        for name, bits in struck.items():
            mine = positions(bits)
            blocks[name] = (len(columns), mine)
            columns += mine
        again = batch.select(columns)
        asked: dict[str, int] = {}
        for name, (start, mine) in blocks.items():
            asked[name] = ((1 << len(mine)) - 1) << start
            for part in (name, *self.rig.parts[name].points):
                left = pick_runs(apart[part], runs(mine), batch.width) << start if apart[part] else 0
                again.gone[part] = again.gone.get(part, 0) & ~asked[name] | left
        sets = Solver(structure, again).solve(held_wanted(structure, asked))
        for name, (start, mine) in blocks.items():
            held = sets.held[structure.index[name]] >> start & ((1 << len(mine)) - 1)
            found[name] = found[name] & ~struck[name] | spread(held, mine)

    def tips(self, rows: list[tuple[Effects, int]], held: dict[str, int], width: int) -> dict[str, int]:
        """For each body of `held` with two ends, the columns in which it is held at one of them only.

        `held` are the columns in which each is held at all. An end is held where one of its points
        is held without the help of the body itself.
        """
        found: dict[str, int] = {}
        rows = [*rows, (self.already, (1 << width) - 1)]
        for body in self.rig.bodies:
            if body.ends is None or body.name not in held:
                continue
            apart = [(without(effects, self.rig, body.name), bits) for effects, bits in rows]
            batch = Batch(apart, width)
            batch.gone[body.name] = batch.full
            points = [point for end in body.ends for point in end]
            sets = Solver(self.strict, batch).solve(held_wanted(self.strict, dict.fromkeys(points, batch.full)))
            sides = []
            for end in body.ends:
                side = 0
                for point in end:
                    side |= sets.held[self.strict.index[point]]
                sides.append(side)
            found[body.name] = (sides[0] ^ sides[1]) & held[body.name]
        return found


def held_wanted(structure: Structure, asked: Mapping[str, int]) -> Wanted:
    """Only whether these parts are held, each in the columns asked for."""
    held = [0] * structure.count
    for name, columns in asked.items():
        held[structure.index[name]] = columns
    return Wanted([0] * structure.count, held)


def without(effects: Effects, rig: Rig, body: str) -> Effects:
    """The same effects, less the body itself (and its points) being gone."""
    if body not in effects.gone:
        return effects
    own = {body, *rig.parts[body].points}
    return replace(effects, gone=effects.gone - own)


def sets_with(rig: Rig, effects: Effects, *, loose: bool = False) -> tuple[frozenset[str], frozenset[str]]:
    """The names (anchored, held) when one set of effects has befallen the rig: for tests and notebooks."""
    structure = Structure(rig, loose=loose)
    sets: Sets = Solver(structure, Batch([(effects, 1)], 1)).solve()
    return (
        frozenset(name for name, value in zip(structure.names, sets.anchored, strict=True) if value),
        frozenset(name for name, value in zip(structure.names, sets.held, strict=True) if value),
    )
