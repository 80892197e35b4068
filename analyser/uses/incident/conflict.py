"""Where nothing explains everything: which facts cannot all be so, in the rig as described, and what each side leaves.

Facts are left out one at a time; one without which there is still no explanation is left out for good.
What remains is a *core*, and minimal: without any one of it there is an explanation of the rest of it. Facts that are
only inferred are left out last, so that what is told is more often something that can be doubted. Two that contradict
each other by their words alone (who fell, stayed) are a core by themselves.

A *side* is what must be given up for an explanation of all the rest: one fact of each core. Where a core is left when
one fact is given up, it is looked for in turn, up to `MOST_CORES`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from analyser.rig.model import Rig
from analyser.uses.incident.evidence import Asked, Item, Moment, against, moments, when
from analyser.uses.incident.reconstruction import Explanation, any_explanation, explanations, sets_of
from analyser.uses.incident.smallest import out_of_reach

SURENESS = ("seen", "said", "inferred")
MOST_CORES, MOST_SIDES = 16, 12
MOST_GIVEN_UP = 5
MOST_TOGETHER = 4
"""How many failures together are tried where fewer are not enough."""


@dataclass(frozen=True, slots=True)
class Side:
    """Facts that are given up, and what explains all others."""

    given_up: tuple[Item, ...]
    explanations: tuple[Explanation, ...]

    @property
    def sets(self) -> int:
        return sets_of(self.explanations)


@dataclass(frozen=True, slots=True)
class Conflict:
    """Smallest groups of facts with no explanation up to the order, and what there would be without one fact of each.

    `enough`: with so many failures together there is an explanation of everything, so that no fact stands against
    another; None where up to `MOST_TOGETHER` none was found."""

    cores: tuple[tuple[Item, ...], ...]
    at_any_order: bool
    """Is it so with any number of failures, not only up to the order?"""
    sides: tuple[Side, ...]
    enough: int | None = None

    @property
    def core(self) -> tuple[Item, ...]:
        return self.cores[0]


def conflict(rig: Rig, observed: Sequence[Item], order: int) -> Conflict:
    """Why nothing explains all that was observed. There must be no explanation."""
    cores: list[tuple[Item, ...]] = []
    sides: list[tuple[Item, ...]] = []
    waiting: list[tuple[Item, ...]] = [()]
    while waiting and len(cores) < MOST_CORES and len(sides) < MOST_SIDES:
        given_up = waiting.pop(0)
        if any(set(side) <= set(given_up) for side in sides):
            continue
        rest = [one for one in observed if one not in given_up]
        core = _core(rig, rest, order)
        if not core:
            sides.append(given_up)
            continue
        cores += [core] if core not in cores else []
        if len(given_up) < MOST_GIVEN_UP:
            further = [tuple(one for one in observed if one in {*given_up, more}) for more in core]
            waiting += [one for one in further if one not in waiting]
    told = tuple(Side(side, tuple(_explanations(rig, observed, side, order))) for side in sides)
    if not told:  # too much is wrong at once: what each fact of the first core leaves
        told = tuple(Side((one,), tuple(_explanations(rig, observed, (one,), order))) for one in cores[0])
    out = any(all(_out_of_reach(one, core) for one in moments(rig, when(core))) for core in cores)
    return Conflict(tuple(cores), out, told, None if out else _enough(rig, observed, order))


def _core(rig: Rig, observed: Sequence[Item], order: int) -> tuple[Item, ...]:
    """Facts that cannot all be, none of them to spare; none where everything is explained."""
    for pair in combinations(observed, 2):
        if against(*pair):
            return pair
    if _explained(rig, observed, order):
        return ()
    kept = list(observed)
    for item in sorted(observed, key=_weakest_last):
        rest = [one for one in kept if one is not item]
        if not _explained(rig, rest, order):
            kept = rest
    return tuple(kept)


def _enough(rig: Rig, observed: Sequence[Item], order: int) -> int | None:
    """How many failures together explain everything."""
    more = range(order + 1, MOST_TOGETHER + 1)
    return next((one for one in more if _explained(rig, observed, one)), None)


def _explanations(rig: Rig, observed: Sequence[Item], side: Sequence[Item], order: int) -> list[Explanation]:
    others = [one for one in observed if one not in side]
    return explanations(moments(rig, when(others)), others, order)


def _out_of_reach(moment: Moment, observed: Sequence[Item]) -> bool:
    asked = Asked.of(observed)
    system = moment.asking(asked)
    whole = [way for ways in system.kept.values() for way in ways]
    if any(all(any(kept <= way for kept in whole) for way in ways) for ways in system.ways.values()):
        return True  # what was found can only be so in ways that break what was found whole
    return asked.contradicted or bool(system.impossible) or out_of_reach(system, system.fell)


def _explained(rig: Rig, observed: Sequence[Item], order: int) -> bool:
    return any_explanation(moments(rig, when(observed)), observed, order)


def _weakest_last(item: Item) -> int:
    told = [SURENESS.index(one.sure) for fact in item.facts for one in fact.told]
    return min(told, default=0)
