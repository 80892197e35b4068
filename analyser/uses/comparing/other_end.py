"""A rope that the new revision writes from its other end is the same rope: the old one is read that way round."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace
from difflib import SequenceMatcher
from itertools import pairwise
from typing import Any

from analyser.language.identities import Label, Span
from analyser.rig.model import Rig, Rope, Station
from analyser.rig.plan import Plan
from analyser.uses.comparing.renamed import Renaming


def from_the_same_end(old: Rig, new: Rig) -> Rig:
    """The old revision, in the new names, with each rope from the end from which the new one tells it."""
    first = {rope.name: rope for state in reversed(_states(new)) for rope in state.ropes}
    told = {rope.name: rope for state in reversed(_states(old)) for rope in state.ropes}
    turned = {name for name, rope in told.items() if name in first and _turned(rope, first[name])}
    if not turned:
        return old
    spans: dict[Span, Span] = {}
    for state in _states(old):
        for rope in state.ropes:
            if rope.name in turned:
                spans |= dict(zip(rope.spans, reversed(_from_its_end(rope).spans), strict=True))
    return _Turning(turned, spans).rig(old)


def _states(rig: Rig) -> tuple[Rig, ...]:
    return rig.states if isinstance(rig, Plan) else (rig,)


def _turned(was: Rope, now: Rope) -> bool:
    """Does the old rope read more like the new one from its end?"""
    before, after = ([(one.role, one.part) for one in rope.stations] for rope in (was, now))
    forward, back = (SequenceMatcher(None, one, after, autojunk=False).ratio() for one in (before, before[::-1]))
    return back > forward


def _from_its_end(rope: Rope) -> Rope:
    """The rope from its end to its start. What is said of the span before a station moves to the other side of it."""
    stations = tuple(_stations(rope))
    labels = [one.label for one in stations]
    spans = tuple(Span(rope.name, a, b) for a, b in pairwise(labels))
    return replace(rope, stations=stations, spans=spans, grounded=(rope.grounded[1], rope.grounded[0]))


def _stations(rope: Rope) -> Iterator[Station]:
    count: Counter[str] = Counter()
    for k in reversed(range(len(rope.stations))):
        one = rope.stations[k]
        after = rope.stations[k + 1] if k + 1 < len(rope.stations) else None
        count[one.part] += 1
        yield replace(
            one,
            label=Label(one.part, count[one.part]),
            to_start=one.to_end,
            to_end=one.to_start,
            loaded=one.loaded and (one.loaded[1], one.loaded[0]),
            slack=after.slack if after else None,
            near=after.near if after else (),
            inside=after.inside if after else (),
        )


class _Turning(Renaming):
    """The rig with these ropes from their ends, and their spans by the names that they have then."""

    def __init__(self, turned: set[str], spans: Mapping[Span, Span]) -> None:
        super().__init__({})
        self.turned, self.spans = turned, spans

    def under(self, value: Any) -> Any:
        if isinstance(value, Span):
            return self.spans.get(value, value)
        if isinstance(value, Rope):
            return _from_its_end(value) if value.name in self.turned else value
        return super().under(value)
