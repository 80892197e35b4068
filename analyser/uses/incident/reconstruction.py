"""All smallest explanations of what was observed, in every state in which it can have happened.

An *explanation* is a smallest set of failures that is consistent with every fact (`evidence.py` says
how each is taken, `smallest.py` how the sets are found and why none is missed). Failures in series
have the same consequence for everybody and everything observed, so they are told as one choice: an
explanation says "one of these, and one of those", and stands for every combination.

Order, and never more than an order: fewest failures first; of as many, those first of which more was
found; then those that need nobody to have been held by a person; then, where the file gives a
likelihood for each failure of both, the likelier. No explanation is called the cause.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

from analyser.checking.results import TAKEN
from analyser.holding.reading import Reading
from analyser.holding.system import RigSystem
from analyser.rig.model import Effects, Rig
from analyser.uses.incident.evidence import Asked, Item, Moment, Witnessed, among, items, moments, when
from analyser.uses.incident.slips import Slipped, with_slips
from analyser.uses.incident.smallest import smallest_sets

MOST_COUNTED = 20_000
"""Sets of failures that are told apart one by one when they are counted."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """One failure of each class of `choices`, all together. `states` are the numbers of the states in
    which they are consistent with what was seen; `words` tells the first."""

    choices: tuple[tuple[str, ...], ...]
    states: tuple[int, ...]
    words: str
    spoken_of: int
    """How many of the classes something found speaks of; the others are assumed."""
    by_person: tuple[str, ...]
    """Who stayed or was caught, and only because a person held them."""
    others: tuple[str, ...]
    """Of whom nothing was observed, and who fall as well."""
    runs: tuple[str, ...]
    """Who is not held, and runs until a stopper or a knot catches them."""
    likelihood: float | None = None
    """The product of the file's likelihoods (the greatest choice), where it gives all of them."""

    @property
    def size(self) -> int:
        return len(self.choices)

    @property
    def assumed(self) -> int:
        return self.size - self.spoken_of

    @property
    def sets(self) -> int:
        """For how many sets of failures it stands."""
        return math.prod(len(choice) for choice in self.choices)

    @property
    def first(self) -> tuple[str, ...]:
        """One set of it."""
        return tuple(choice[0] for choice in self.choices)

    @property
    def key(self) -> tuple[object, ...]:
        likely = -(self.likelihood or 0.0)
        return (self.size, self.assumed, len(self.by_person), likely, self.choices, self.states)


@dataclass(frozen=True)
class Reconstruction:
    """What was observed of a rig, and every smallest explanation up to `order` assumed failures."""

    rig: Rig
    observed: tuple[Item, ...]
    moments: tuple[Moment, ...]
    order: int
    explanations: tuple[Explanation, ...]
    slipped: Slipped | None = None

    @cached_property
    def sets(self) -> int:
        """How many sets of failures they stand for, each counted once, in however many states it can have been."""
        return sets_of(self.explanations)

    @property
    def complete(self) -> str:
        more = "failure" if self.order == 1 else "failures"
        states = len({number for one in self.moments for number in one.numbers})
        where = "the rig as first attached" if states == 1 and not self.rig.stages else _counted(states, "state")
        return (
            f"Complete for {where}, to {self.order} {more} beyond those that something found speaks of, and for the "
            f"failures that this file can express: {TAKEN}"
        )

    @cached_property
    def asked(self) -> Asked:
        return Asked.of(self.observed)

    @cached_property
    def unsaid(self) -> tuple[str, ...]:
        """The bodies of which nobody says whether they fell."""
        said = {*self.asked.fell, *self.asked.caught, *self.asked.stayed}
        return tuple(sorted({body.name for one in self.moments for body in one.rig.bodies} - said))


def reconstruct(rig: Rig, order: int = 2, *, slips: bool = False) -> Reconstruction:
    """Every smallest explanation of a rig's observations. `slips` adds slips in the rigging to what may
    have failed: the rig of the file may not be the rig of the day."""
    observed = items(rig.observations)
    slipped = with_slips(rig) if slips else None
    rig = slipped.rig if slipped else rig
    found = tuple(moments(rig, when(observed)))
    return Reconstruction(rig, observed, found, order, tuple(explanations(found, observed, order)), slipped)


def explanations(found: Sequence[Moment], observed: Iterable[Item], order: int) -> list[Explanation]:
    """Every explanation, in order."""
    return explained(found, Asked.of(observed), order)


def sets_of(several: Iterable[Explanation]) -> int:
    """For how many different sets of failures some explanations stand; where they are very many, those of each."""
    choices = {one.choices: one for one in several}
    if sum(one.sets for one in choices.values()) > MOST_COUNTED:
        return sum(one.sets for one in choices.values())
    return len({frozenset(chosen) for each in choices for chosen in product(*each)})


def explained(found: Sequence[Moment], asked: Asked, order: int) -> list[Explanation]:
    """Every explanation of what is asked, in order; none where somebody both fell and stayed."""
    merged: dict[object, Explanation] = {}
    for moment in () if asked.contradicted else found:
        for one in _in_state(moment, asked, order):
            same = (one.choices, one.by_person, one.others, one.runs)
            before = merged.get(same)
            merged[same] = replace(before, states=(*before.states, *one.states)) if before else one
    return sorted(merged.values(), key=lambda one: one.key)


def any_explanation(found: Sequence[Moment], observed: Iterable[Item], order: int) -> bool:
    """Is there an explanation at all?"""
    asked = Asked.of(observed)
    for moment in () if asked.contradicted else found:
        system = moment.asking(asked)
        if not system.impossible and smallest_sets(
            system, system.fell, system.stayed, free=system.free, order=order, any_one=True
        ):
            return True
    return False


def _in_state(moment: Moment, asked: Asked, order: int) -> Iterator[Explanation]:
    system = moment.asking(asked)
    if system.impossible:
        return
    found = smallest_sets(system, system.fell, system.stayed, free=system.free, order=order)
    after = _after(system.system, [_effects(system, one) for one in found])
    said = {*asked.fell, *asked.caught, *asked.stayed}
    for one, (fallen, runs) in zip(found, after, strict=True):
        choices = tuple(tuple(f.id for f in system.classes[event]) for event in sorted(one))
        yield Explanation(
            choices,
            moment.numbers,
            moment.words,
            len(one & system.free),
            tuple(sorted((fallen - runs) & {*asked.stayed, *asked.caught})),
            tuple(sorted(fallen - runs - said)),
            tuple(sorted(runs)),
            _likelihood(system, one),
        )


def _effects(system: Witnessed, events: Iterable[int]) -> Effects:
    return Effects.joint(system.system.failures[event].effects for event in events)


def _after(system: RigSystem, scenarios: Sequence[Effects]) -> list[tuple[set[str], set[str]]]:
    """Who is not held, strictly, after each scenario; and who of them runs until something catches them."""
    found: list[tuple[set[str], set[str]]] = []
    for start in range(0, len(scenarios), system.columns):
        some = scenarios[start : start + system.columns]
        rows = [(effects, 1 << k) for k, effects in enumerate(some)]
        every = dict.fromkeys(system.goals, (1 << len(some)) - 1)
        held, caught = (system.read(reading, rows, len(some), every) for reading in (Reading.HELD, Reading.CAUGHT))
        for k in range(len(some)):
            fallen = {name for name, bits in held.items() if not bits >> k & 1}
            found.append((fallen, {name for name in fallen if caught[name] >> k & 1}))
    return found


def _likelihood(system: Witnessed, events: Iterable[int]) -> float | None:
    """The product of the file's likelihoods, the greatest of each class; None where it doesn't give all of them, and
    where nothing need have failed."""
    greatest = []
    for event in events:
        given = [failure.likelihood for failure in system.classes[event] if failure.likelihood is not None]
        if len(given) < len(system.classes[event]):
            return None
        greatest.append(max(given))
    return math.prod(greatest) if greatest else None


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


# -- what each explanation says of each fact


EXPLAINED, BY_A_PERSON, TAKEN_UP, BROUGHT_ABOUT, RESPECTED, CONTRADICTED = (
    *("explained", "held by a person", "taken up", "brought about", "respected", "contradicted"),
)


def standing_of(one: Explanation, item: Item) -> str:
    """How an explanation stands to a fact that it is consistent with.

    Who fell or stayed is explained (or stayed only because a person held them). What was found is taken
    up, as one of the failures, or brought about by one that does as much. What was found whole, what was
    ruled out and when it was are respected: nothing against them is assumed.
    """
    alone = [choice[0] for choice in one.choices if len(choice) == 1]
    return standing_in(alone, one.by_person, item)


def standing_in(happened: Sequence[str], by_person: Sequence[str], item: Item) -> str:
    """The same of failures that are known to be the ones, and of those held by a person only."""
    if item.verb == "fell":
        return EXPLAINED
    if item.verb in ("stayed", "caught"):
        return BY_A_PERSON if item.name in by_person else EXPLAINED
    if item.verb == "found":
        return TAKEN_UP if among(item.name, happened) else BROUGHT_ABOUT
    return RESPECTED
