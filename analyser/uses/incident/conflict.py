"""Where nothing explains everything: which facts cannot all be so, in the rig as described.

Facts are left out one at a time; one without which there is still no explanation is left out for good.
What remains is minimal: without any one of it there is an explanation of the rest of it. It need not be
the only such group. Facts that are only inferred are left out last, so that what is told is more often
something that can be doubted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyser.rig.model import Rig
from analyser.uses.incident.evidence import Asked, Item, Witnessed, moments
from analyser.uses.incident.reconstruction import Explanation, any_explanation, explanations
from analyser.uses.incident.smallest import out_of_reach

SURENESS = ("seen", "said", "inferred")


@dataclass(frozen=True, slots=True)
class Doubt:
    """One fact, and what explains all others: how many sets of failures, and the first of them."""

    item: Item
    explanations: tuple[Explanation, ...]

    @property
    def sets(self) -> int:
        return sum(one.sets for one in self.explanations)


@dataclass(frozen=True, slots=True)
class Conflict:
    """A smallest group of facts with no explanation up to the order, and for each fact of it what there
    would be without that one fact."""

    core: tuple[Item, ...]
    at_any_order: bool
    """Is it so with any number of failures, not only up to the order?"""
    doubts: tuple[Doubt, ...]


def conflict(rig: Rig, observed: Sequence[Item], order: int) -> Conflict:
    """Why nothing explains all that was observed. There must be no explanation."""
    kept = list(observed)
    for item in sorted(observed, key=_weakest_last):
        rest = [one for one in kept if one is not item]
        if not _explained(rig, rest, order):
            kept = rest
    doubts = []
    for item in kept:
        others = [one for one in observed if one is not item]
        doubts.append(Doubt(item, tuple(explanations(moments(rig, _when(others)), others, order))))
    return Conflict(tuple(kept), all(_out_of_reach(one.rig, kept) for one in moments(rig, _when(kept))), tuple(doubts))


def _out_of_reach(rig: Rig, observed: Sequence[Item]) -> bool:
    system = Witnessed(rig, Asked.of(observed))
    return bool(system.impossible) or out_of_reach(system, system.fell)


def _explained(rig: Rig, observed: Sequence[Item], order: int) -> bool:
    return any_explanation(moments(rig, _when(observed)), observed, order)


def _when(observed: Sequence[Item]) -> tuple[int, ...] | None:
    return next((item.fact.states for item in observed if item.verb == "at"), None)


def _weakest_last(item: Item) -> int:
    told = [SURENESS.index(one.sure) for one in item.fact.told]
    return min(told, default=0)
