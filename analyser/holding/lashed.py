"""What moves with a body though no contact joins them: lashed to it by rope alone, as a hitch on a tied split tail.

Nothing else holds it, with nothing failed: no ground and nobody touches its cluster, and rope only runs there, is
gripped there, or goes from a knot there to the next knot, on a body's cluster. So what it grips it grips for that body.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyser.rig.model import Role

if TYPE_CHECKING:
    from analyser.holding.structure import Structure


@dataclass(frozen=True, slots=True)
class Tail:
    """Rope from a knot on the cluster to the next knot, on a body's: the span between."""

    here: int
    there: int
    rope: str
    span: str


@dataclass(frozen=True, slots=True)
class Lashing:
    """`people`: for whom it holds (None: it leads to loads and litters, and holds for everybody)."""

    tails: tuple[Tail, ...]
    people: frozenset[int] | None


def lashings(structure: Structure) -> dict[int, Lashing]:
    """The clusters that are lashed to a body, and how."""
    found: dict[int, list[Tail]] = {}
    otherwise = {*structure.carriers, *structure.footing, *structure.movers_of}
    for cluster, tail in _ties(structure):
        if tail is None:
            otherwise.add(cluster)
        else:
            found.setdefault(cluster, []).append(tail)
    told = {}
    for cluster, tails in found.items():
        whose = None if cluster in otherwise else _whose(structure, tails)
        if whose is not None:
            told[cluster] = whose
    return told


def _whose(structure: Structure, tails: list[Tail]) -> Lashing | None:
    """For whom these lash something, all of them; None for nobody."""
    people: frozenset[int] | None = None
    for cluster in {structure.cluster[tail.there] for tail in tails} - {*structure.carriers}:
        those = frozenset(structure.movers_of.get(cluster, ()))
        people = those if people is None else people & those
    return None if people is not None and not people else Lashing(tuple(tails), people)


def _ties(structure: Structure) -> Iterator[tuple[int, Tail | None]]:
    """For every knot, by its cluster, and both ways along its rope: the tail to the next station, None where that is
    no knot on another cluster."""
    for rope in structure.rig.ropes:
        for k, station in enumerate(rope.stations if not rope.tag_line else ()):
            v = structure.index.get(station.part, -1)
            if station.role is not Role.TIE or structure.cluster[v] < 0:
                continue
            for n in (k - 1, k + 1):
                if not 0 <= n < len(rope.stations):
                    continue
                w = structure.index.get(rope.stations[n].part, -1)
                tied = rope.stations[n].role is Role.TIE and structure.cluster[w] not in (-1, structure.cluster[v])
                yield structure.cluster[v], Tail(v, w, rope.name, rope.spans[min(k, n)]) if tied else None
