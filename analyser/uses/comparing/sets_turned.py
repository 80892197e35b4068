"""The failure sets that one revision has, body by body, and the other hasn't."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from analyser.holding.outcome import Outcome
from analyser.uses.comparing.mixing import Doing

BY_HAND = ("lets go", "holds on", "loses footing")
"""What a person does: newly deadly, it isn't one more link in a line."""
Told = Callable[[tuple[str, ...]], frozenset[str]]
"""Failures as they are compared (`stretches.py`)."""


@dataclass(frozen=True, slots=True)
class SetTurned:
    """A failure set of one body that one revision has and the other hasn't.

    `worse` is False where the other has a smaller one in it, or one that it stands in line with.
    """

    body: str
    failures: tuple[str, ...]
    within: bool
    """Does the other revision fall after fewer of these already?"""
    in_line: bool
    did: Doing

    @property
    def worse(self) -> bool:
        return not (self.within or self.in_line)


def sets_turned(first: Outcome, last: Outcome, of_first: Told, of_last: Told) -> list[SetTurned]:
    """The sets of `last` that `first` hasn't, body by body, smaller ones first."""
    known: frozenset[str] = frozenset().union(*(of_first((one.id,)) for one in first.failures))
    by_hand = {one.id for one in last.failures if one.mode in BY_HAND}
    found = []
    for body, cuts in last.failure_sets.items():
        if body not in first.failure_sets:
            continue
        before = {of_first(cut) for cut in first.failure_sets[body]}
        fewest = min(map(len, cuts), default=0)
        for cut in cuts:
            key = of_last(cut)
            if key in before:
                continue
            common = key & known
            within = any(one < key for one in before)
            in_line = len(cut) > 1 and any(common <= one and len(one) <= len(key) for one in before)
            in_line = in_line or (common < key and min(map(len, before), default=9) < fewest)
            in_line = in_line and not by_hand & (key - common)
            found.append(SetTurned(body, cut, within, in_line and not within, Doing((), True)))
    return sorted(found, key=lambda one: (len(one.failures), one.body, one.failures))
