"""What moves with a body though no contact joins them: lashed to it by rope alone, as a hitch on a tied split tail.

Nothing else holds it, with nothing failed: no ground and nobody touches its cluster, and rope only runs there, is
gripped there, or goes from a knot there to the next knot, on a body's cluster. So what it grips it grips for that body.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from analyser.rig.model import Rig, Role


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


@dataclass(frozen=True, slots=True)
class Clusters:
    """Of a rig with nothing failed: each part's number and its cluster, those with loads and litters, those that are
    people's own, those that ground touches."""

    index: Mapping[str, int]
    cluster: Sequence[int]
    carriers: Collection[int]
    movers_of: Mapping[int, Sequence[int]]
    footing: Collection[int]


def lashings(rig: Rig, clusters: Clusters) -> dict[int, Lashing]:
    """The clusters that are lashed to a body, and how."""
    found: dict[int, list[Tail]] = {}
    otherwise = {*clusters.carriers, *clusters.footing, *clusters.movers_of}
    for cluster, tail in _ties(rig, clusters):
        if tail is None:
            otherwise.add(cluster)
        else:
            found.setdefault(cluster, []).append(tail)
    told = {}
    for cluster, tails in found.items():
        whose = None if cluster in otherwise else _whose(clusters, tails)
        if whose is not None:
            told[cluster] = whose
    return told


def _whose(clusters: Clusters, tails: list[Tail]) -> Lashing | None:
    """For whom these lash something, all of them; None for nobody."""
    people: frozenset[int] | None = None
    for cluster in {clusters.cluster[tail.there] for tail in tails} - {*clusters.carriers}:
        those = frozenset(clusters.movers_of.get(cluster, ()))
        people = those if people is None else people & those
    return None if people is not None and not people else Lashing(tuple(tails), people)


def _ties(rig: Rig, clusters: Clusters) -> Iterator[tuple[int, Tail | None]]:
    """For every knot, by its cluster, and both ways along its rope: the tail to the next station, None where that is
    no knot on another cluster."""
    index, number = clusters.index, clusters.cluster
    for rope in rig.ropes:
        for k, station in enumerate(rope.stations if not rope.tag_line else ()):
            v = index.get(station.part, -1)
            if station.role is not Role.TIE or number[v] < 0:
                continue
            for n in (k - 1, k + 1):
                if not 0 <= n < len(rope.stations):
                    continue
                w = index.get(rope.stations[n].part, -1)
                tied = rope.stations[n].role is Role.TIE and number[w] not in (-1, number[v])
                yield number[v], Tail(v, w, rope.name, rope.spans[min(k, n)]) if tied else None
