"""How much hangs on each event: counts in failure sets, and probabilities where likelihoods are given.

With independent events of known likelihood, a goal's loss is the union of its minimal failure sets.
Its probability is found exactly by splitting on one event at a time (Shannon's expansion with every
part-result kept, as a decision diagram does), or bounded from above where that grows too large.

Birnbaum importance of an event: how much the probability of the loss changes between the event
surely happening and surely not. Fussell-Vesely importance: the probability that at least one
failure set with the event in it happens, as a share of the probability of the loss. Definitions:
from memory, as in the fault tree handbook NUREG-0492 and in IEC 61025.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

Cut = frozenset[str]
MOST_STEPS = 200_000


@dataclass(frozen=True, slots=True)
class Probability:
    """`exact` is False where `value` is only an upper bound (for the sets given)."""

    value: float
    exact: bool


@dataclass(frozen=True, slots=True)
class Importance:
    event: str
    birnbaum: float
    fussell_vesely: float


class _TooLarge(Exception):
    pass


def probability(cuts: Iterable[Cut], chances: Mapping[str, float], most_steps: int = MOST_STEPS) -> Probability:
    """The probability that at least one of the sets happens; events are independent.

    Raises KeyError for an event without a chance.

    >>> probability([frozenset("ab"), frozenset("c")], {"a": 0.5, "b": 0.5, "c": 0.5})
    Probability(value=0.625, exact=True)
    """
    sets = _minimal(cuts)
    for cut in sets:
        for event in cut:
            chances[event]
    try:
        return Probability(_Union(chances, most_steps).of(sets), True)
    except (_TooLarge, RecursionError):
        none = 1.0
        for cut in sorted(sets, key=sorted):
            none *= 1.0 - _product(cut, chances)
        return Probability(1.0 - none, False)  # an upper bound for independent events (Esary, Proschan)


def importances(cuts: Iterable[Cut], chances: Mapping[str, float]) -> list[Importance]:
    """Birnbaum and Fussell-Vesely importance of every event, the most important first."""
    sets = _minimal(cuts)
    total = probability(sets, chances).value
    found = []
    for event in sorted({event for cut in sets for event in cut}):
        with_it = probability(sets, {**chances, event: 1.0}).value
        without = probability(sets, {**chances, event: 0.0}).value
        through = probability([cut for cut in sets if event in cut], chances).value
        found.append(Importance(event, with_it - without, through / total if total else 0.0))
    return sorted(found, key=lambda one: (-one.fussell_vesely, -one.birnbaum, one.event))


def _product(cut: Cut, chances: Mapping[str, float]) -> float:
    product = 1.0
    for event in sorted(cut):
        product *= chances[event]
    return product


def _minimal(cuts: Iterable[Cut]) -> frozenset[Cut]:
    kept: list[Cut] = []
    for cut in sorted(set(cuts), key=lambda one: (len(one), sorted(one))):
        if not any(smaller <= cut for smaller in kept):
            kept.append(cut)
    return frozenset(kept)


class _Union:
    """The probability of a union of sets of independent events, part-results kept."""

    def __init__(self, chances: Mapping[str, float], most_steps: int) -> None:
        self.chances = chances
        self.left = most_steps
        self.known: dict[frozenset[Cut], float] = {}

    def of(self, cuts: frozenset[Cut]) -> float:
        if not cuts:
            return 0.0
        if frozenset() in cuts:
            return 1.0
        known = self.known.get(cuts)
        if known is not None:
            return known
        self.left -= len(cuts)
        if self.left < 0:
            raise _TooLarge
        pivot = self._pivot(cuts)
        happens = _minimal(cut - {pivot} for cut in cuts)
        stays = frozenset(cut for cut in cuts if pivot not in cut)
        chance = self.chances[pivot]
        value = chance * self.of(happens) + (1.0 - chance) * self.of(stays)
        self.known[cuts] = value
        return value

    @staticmethod
    def _pivot(cuts: frozenset[Cut]) -> str:
        """The event in most sets: what is left falls apart soonest."""
        counts: dict[str, int] = {}
        for cut in cuts:
            for event in cut:
                counts[event] = counts.get(event, 0) + 1
        return min(counts, key=lambda event: (-counts[event], event))
