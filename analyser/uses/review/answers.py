"""The answers of one state, stored so that they can be read again for any few failures together.

A page that is opened without the analysis at hand shows what was worked out, and works nothing out. What is
stored is small because holding is monotone: a further failure never makes a body held that was not. So

- a body **falls** after some failures exactly where one of its minimal failure sets lies within them. The
  sets are complete up to an order; so is this answer. Beyond it only a fall is ever certain.
- a body that is held is **down to one** exactly where all but one of some minimal set have happened. That is
  certain for one failure fewer than the order.
- a body is held **by** every stored way that none of the failures is part of. As many ways are stored as it takes
  that one is left after any pair of failures which leaves the body held.

What isn't monotone (who hangs only from a person, what runs or tips) is stored for each failure alone, and for two
together that drop somebody whom neither drops alone: of those who are dropped so. It is told for nothing more.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from analyser.checking.consequences import after_sets
from analyser.checking.fates import loudly
from analyser.checking.held_by import in_short, way_in_words
from analyser.holding.fate import Fate, Kind
from analyser.holding.outcome import BodyOutcome, Outcome
from analyser.rig.model import Rig

WAYS_AFTER = 2
"""After so many failures together one of the stored ways is left, where a body is held."""
TWO = 2
"""For so many failures together at most it is stored what happens to whom."""

FALLS = loudly(Fate(Kind.FALLS))
Numbers = tuple[int, ...]
"""Failures, by their places in the list of all of a file."""


@dataclass(frozen=True, slots=True)
class StoredWay:
    """One way of being held: the failures that must not happen, and the way in the rig's words, all of them and by
    rope and anchor."""

    needs: Numbers
    words: str
    short: str


@dataclass(frozen=True, slots=True)
class FatesOfTwo:
    """What happens to whom, in words, after two failures neither of which drops them alone."""

    failures: Numbers
    fates: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Answers:
    """All that is stored of one state.

    `possible` are the failures that can happen in it; `sets` and `ways` are by body. `fates` are what
    happens to whom, in words, by failure, for one failure alone; `fates_of_two` the same of two that drop somebody
    only together, where that isn't `FALLS`.
    """

    complete_to: int
    possible: Numbers
    bodies: tuple[BodyOutcome, ...]
    sets: Mapping[str, tuple[Numbers, ...]]
    ways: Mapping[str, tuple[StoredWay, ...]]
    fates: Mapping[int, Mapping[str, str]]
    fates_of_two: tuple[FatesOfTwo, ...]

    def told(self, failed: Collection[int]) -> Told:
        """What is known after these failures together. The page's script reads the stored answers in the same way."""
        happened = set(failed)
        falls, down, held, by = [], [], [], {}
        for body in self.bodies:
            sets = self.sets[body.name]
            if any(happened.issuperset(cut) for cut in sets):
                falls.append(body.name)
                continue
            held.append(body.name)
            if any(len(set(cut) - happened) == 1 for cut in sets):
                down.append(body.name)
            by[body.name] = tuple(way.words for way in self.ways[body.name] if happened.isdisjoint(way.needs))
        return Told(
            falls=tuple(falls),
            held=tuple(held) if len(happened) <= self.complete_to else None,
            down_to_one=tuple(down) if len(happened) < self.complete_to else None,
            by=by,
            fates=self._fates(tuple(sorted(happened))),
        )

    def _fates(self, failed: Numbers) -> Mapping[str, str] | None:
        """What happens to whom, as far as it is stored for so many failures."""
        if len(failed) == 1:
            return self.fates.get(failed[0], {})
        if len(failed) != TWO:
            return None
        told = next((one.fates for one in self.fates_of_two if one.failures == failed), {})
        return {name: told.get(name, FALLS) for name, sets in self.sets.items() if failed in sets}


@dataclass(frozen=True, slots=True)
class Told:
    """What is known after some failures; None where the stored answers do not say it for so many together."""

    falls: tuple[str, ...]
    held: tuple[str, ...] | None
    down_to_one: tuple[str, ...] | None
    by: Mapping[str, tuple[str, ...]]
    """For each body not known to fall, the stored ways that are left."""
    fates: Mapping[str, str] | None
    """What happens to whom, in words; of two failures together, to those whom they drop only together."""


def answers(rig: Rig, outcome: Outcome, numbers: Mapping[str, int]) -> Answers:
    """What there is to store of one state; `numbers` are the places of the failures in the list of all."""

    def told(names: Sequence[str]) -> Numbers:
        return tuple(sorted(numbers[name] for name in names))

    return Answers(
        complete_to=outcome.complete_to,
        possible=told([one.id for one in outcome.failures]),
        bodies=tuple(sorted(outcome.bodies, key=lambda body: body.name)),
        sets={name: tuple(told(cut) for cut in sets) for name, sets in sorted(outcome.failure_sets.items())},
        ways={
            body.name: tuple(
                StoredWay(told(way), way_in_words(rig, body.name, way), in_short(rig, body.name, way))
                for way in outcome.review.enough_ways(body.name, WAYS_AFTER)
            )
            for body in sorted(outcome.bodies, key=lambda one: one.name)
        },
        fates={numbers[f.id]: {name: loudly(fate) for name, fate in f.fates} for f in outcome.failures if f.fates},
        fates_of_two=_of_two(outcome, numbers),
    )


def _of_two(outcome: Outcome, numbers: Mapping[str, int]) -> tuple[FatesOfTwo, ...]:
    """What two failures together do to those whom neither drops alone, where they don't fall."""
    pairs = {cut for sets in outcome.failure_sets.values() for cut in sets if len(cut) == TWO}
    found = []
    for cut, what in after_sets(outcome, sorted(pairs), list(outcome.failure_sets)).items():
        fates = {name: loudly(one.fate) for one in what for name in one.bodies if one.fate.kind is not Kind.FALLS}
        if fates:
            found.append(FatesOfTwo(tuple(sorted(numbers[name] for name in cut)), dict(sorted(fates.items()))))
    return tuple(sorted(found, key=lambda one: one.failures))
