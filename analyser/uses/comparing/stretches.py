"""Spans of a rope that was laid differently: which of the old spans a new one stands in the place of.

Stations that both layings have, in the same order, divide the rope into stretches. A span of one
laying that lies in a stretch answers to every span of the other in the same stretch.
"""

from __future__ import annotations

from difflib import SequenceMatcher
from itertools import pairwise

from analyser.rig.model import Rig, Rope


class Stretches:
    """Names of failures and spans as they are compared: a span by its stretch, all else by itself."""

    def __init__(self, old: Rig, new: Rig) -> None:
        self.old: dict[str, str] = {}
        self.new: dict[str, str] = {}
        later = {rope.name: rope for rope in new.ropes}
        for rope in old.ropes:
            if rope.name in later and rope.spans != later[rope.name].spans:
                self._divide(rope, later[rope.name])

    def _divide(self, was: Rope, now: Rope) -> None:
        before, after = ([(one.role, one.part) for one in rope.stations] for rope in (was, now))
        blocks = SequenceMatcher(None, before, after, autojunk=False).get_matching_blocks()
        both = [(one.a + k, one.b + k) for one in blocks for k in range(one.size)]
        for (a, b), (c, d) in pairwise(both):
            name = f"{now.name}[{now.stations[b].label}..{now.stations[d].label}]"
            self.old |= dict.fromkeys(was.spans[a:c], name)
            self.new |= dict.fromkeys(now.spans[b:d], name)

    def of_old(self, cut: tuple[str, ...]) -> frozenset[str]:
        return _told(cut, self.old)

    def of_new(self, cut: tuple[str, ...]) -> frozenset[str]:
        return _told(cut, self.new)


def _told(names: tuple[str, ...], places: dict[str, str]) -> frozenset[str]:
    """Failures or names, each span by its stretch."""
    found = []
    for name in names:
        head, space, mode = name.partition(" ")
        found.append(places.get(head, head) + space + mode)
    return frozenset(found)
