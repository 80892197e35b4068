"""Spans of a rope that was laid differently: which of the old spans a new one stands in the place of.

Stations that both layings have, in the same order, divide the rope into stretches. A span of one
laying that lies in a stretch answers to every span of the other in the same stretch.
"""

from __future__ import annotations

from difflib import SequenceMatcher
from itertools import pairwise

from analyser.language.identities import CUT, FailureId, Span
from analyser.rig.model import Rig, Rope


class Stretches:
    """Names of failures and spans as they are compared: a span by its stretch, all else by itself."""

    def __init__(self, old: Rig, new: Rig) -> None:
        self.old: dict[str, str] = {}
        self.new: dict[str, str] = {}
        for rope in old.ropes:
            later = new.index.ropes.get(rope.name)
            if later and rope.spans != later.spans:
                self._divide(rope, later)

    def _divide(self, was: Rope, now: Rope) -> None:
        before, after = ([(one.role, one.part) for one in rope.stations] for rope in (was, now))
        blocks = SequenceMatcher(None, before, after, autojunk=False).get_matching_blocks()
        both = [(one.a + k, one.b + k) for one in blocks for k in range(one.size)]
        for (a, b), (c, d) in pairwise(both):
            stretch = Span(now.name, now.stations[b].label, now.stations[d].label)
            for places, spans in ((self.old, was.spans[a:c]), (self.new, now.spans[b:d])):
                for span in spans:
                    places |= {span: stretch, FailureId(span, CUT): FailureId(stretch, CUT)}

    def of_old(self, cut: tuple[str, ...]) -> frozenset[str]:
        return frozenset(self.old.get(name, name) for name in cut)

    def of_new(self, cut: tuple[str, ...]) -> frozenset[str]:
        return frozenset(self.new.get(name, name) for name in cut)
