"""What was asked of parts in the rig without some ropes, kept for one scene and all that is picked out of it.

Whether a bend keeps its place is asked without its rope, and of each bend that this comes upon again, without that one
too. A rope that can't come to bear on a part makes no difference to it, removed or not: so the second question is the
same for every bend further down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyser.holding.batch import bits_at, positions, spread
from analyser.holding.reading import Reading

if TYPE_CHECKING:
    from analyser.holding.structure import Structure

Key = tuple[int, Reading, bool, frozenset[str]]
"""A part, the reading, whether bends in it are asked in *held*, and the ropes that are out."""


class AskedBefore:
    """What is known of a scene; `columns`: those of it that are picked (all where it is None)."""

    def __init__(self, known: dict[Key, tuple[int, int]] | None = None, columns: list[int] | None = None) -> None:
        self.known = {} if known is None else known
        """Where the part is anchored so, and where that was looked at."""
        self.columns = columns

    def picked(self, columns: list[int]) -> AskedBefore:
        mine = self.columns
        return AskedBefore(self.known, columns if mine is None else [mine[column] for column in columns])

    def found(self, key: Key, asked: int) -> tuple[int, int]:
        """Of the columns asked, those in which it is known to be so, and those that are still to be asked."""
        known, looked = self.known.get(key, (0, 0))
        if not looked or self.columns is None:
            return known & asked, asked & ~looked
        places = [(at, self.columns[at]) for at in positions(asked)]
        return (
            bits_at([at for at, column in places if known >> column & 1]),
            bits_at([at for at, column in places if not looked >> column & 1]),
        )

    def keep(self, key: Key, asked: int, found: int) -> None:
        known, looked = self.known.get(key, (0, 0))
        if self.columns is not None:
            asked, found = spread(asked, self.columns), spread(found, self.columns)
        self.known[key] = known | found, looked | asked


def can_matter(structure: Structure, v: int, out: frozenset[str]) -> frozenset[str]:
    """The ropes that can come to bear on a part where some are out: those that meet what hangs together with it without
    ground, and these."""
    known = structure.mattering.get((v, out))
    if known is None:
        found, seen, stack = set(out), {v}, [v]
        while stack:
            here = stack.pop()
            near = [*structure.free[here], *structure.guarded[here]]
            for line in structure.lines_at.get(here, {}).values():
                if line.rope.name not in found:
                    found.add(line.rope.name)
                    near += [stop.v for stop in line.stops]
            new = {t for t in near if t not in structure.ends} - seen
            seen |= new
            stack += new
        known = structure.mattering[v, out] = frozenset(found)
    return known
