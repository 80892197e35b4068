"""A rope with other stations: its labels and spans told anew, what was said of it kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise

from analyser.language.identities import Label, Span
from analyser.rig.elements import Quantity, Rope, Station
from analyser.rig.figures import as_length


def labelled(parts: Iterable[str]) -> list[Label]:
    """The stations at these parts, in their order, as spans call them."""
    seen: Counter[str] = Counter()
    labels = []
    for part in parts:
        seen[part] += 1
        labels.append(Label(part, seen[part]))
    return labels


def spanned(rope: str, labels: Iterable[Label]) -> tuple[Span, ...]:
    """The stretches of a rope between its stations."""
    return tuple(Span(rope, a, b) for a, b in pairwise(labels))


def without(stations: list[Station], k: int) -> list[Station]:
    """Stations less one: what was said of the span before it is said of the longer span that is left."""
    gone, left = stations[k], [*stations[:k], *stations[k + 1 :]]
    if 0 < k < len(left):
        after = left[k]
        left[k] = replace(
            after,
            near=tuple(dict.fromkeys((*gone.near, *after.near))),
            inside=tuple(dict.fromkeys((*gone.inside, *after.inside))),
            slack=_together(gone.slack, after.slack),
        )
    return left


def _together(one: Quantity | None, two: Quantity | None) -> Quantity | None:
    if one is None or two is None:
        return one or two
    total = one.si + two.si
    band = (one.least + two.least, one.most + two.most) if one.band or two.band else None
    return Quantity(as_length(total, ".4g"), total, "m", band=band)


def along(rope: Rope, what: str) -> tuple[str, ...]:
    """The hazards or sleeves of every span of a rope: those of the rope itself."""
    rows: list[tuple[str, ...]] = [getattr(station, what) for station in rope.stations[1:]]
    return tuple(name for name in rows[0] if all(name in row for row in rows)) if rows else ()


def same(rope: Rope, before: Rope) -> Rope:
    """A rope laid anew is the same rope: what was said of it holds, unless it is said anew."""
    quantities = {key: one for key, one in (*before.quantities, *rope.quantities) if key != "let out"}
    return replace(
        rope,
        quantities=tuple(quantities.items()),
        note=rope.note or before.note,
        kind=before.kind if rope.kind == "rope" else rope.kind,
        source=rope.source or before.source,
        tag_line=rope.tag_line or before.tag_line,
    )


def relaid(rope: Rope, stations: list[Station]) -> Rope:
    """A rope with other stations, its labels and spans told anew."""
    labels = labelled(station.part for station in stations)
    made = tuple(replace(station, label=label) for station, label in zip(stations, labels, strict=True))
    return replace(rope, stations=made, spans=spanned(rope.name, labels))


def parted(ropes: Mapping[str, Rope], knots: Iterable[str]) -> dict[str, Rope]:
    """The ropes that were in some of these knots, without them: a knot that joins two ropes is in both."""
    off = set(knots)
    return {
        name: relaid(rope, [one for one in rope.stations if one.part not in off])
        for name, rope in ropes.items()
        if any(one.part in off for one in rope.stations)
    }


def slid(rope: Rope, at: int, past: int) -> Rope:
    """A rope with one of its stations past another one of them: where it divides a span, what is said of that
    is said of both halves."""
    stations = without(list(rope.stations), at)
    moved = replace(rope.stations[at], near=along(rope, "near"), inside=along(rope, "inside"), slack=None)
    if past < len(stations):
        halved = stations[past]
        if past == 0:
            stations[0] = replace(halved, near=along(rope, "near"), inside=along(rope, "inside"), slack=None)
        else:
            moved = replace(moved, near=halved.near, inside=halved.inside)
    return relaid(rope, [*stations[:past], moved, *stations[past:]])
