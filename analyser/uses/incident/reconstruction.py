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

from analyser.checking.results import TAKEN
from analyser.holding.cuts import Reading
from analyser.holding.system import RigSystem
from analyser.rig.model import Effects, Rig
from analyser.uses.incident.evidence import Asked, Item, Moment, Witnessed, among, items, moments
from analyser.uses.incident.slips import Slipped, with_slips
from analyser.uses.incident.smallest import smallest_sets


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
    """Who stayed, and only because a person held them."""
    others: tuple[str, ...]
    """Of whom nothing was observed, and who fall as well."""
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

    @property
    def sets(self) -> int:
        return sum(one.sets for one in self.explanations)

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
        said = {*self.asked.fell, *self.asked.stayed}
        return tuple(sorted({body.name for one in self.moments for body in one.rig.bodies} - said))


def reconstruct(rig: Rig, order: int = 2, *, slips: bool = False) -> Reconstruction:
    """Every smallest explanation of a rig's observations. `slips` adds slips in the rigging to what may
    have failed: the rig of the file may not be the rig of the day."""
    observed = items(rig.observations)
    slipped = with_slips(rig) if slips else None
    rig = slipped.rig if slipped else rig
    when = next((item.fact.states for item in observed if item.verb == "at"), None)
    found = tuple(moments(rig, when))
    return Reconstruction(rig, observed, found, order, tuple(explanations(found, observed, order)), slipped)


def explanations(when: Sequence[Moment], observed: Iterable[Item], order: int) -> list[Explanation]:
    """Every explanation, in order."""
    return explained(when, Asked.of(observed), order)


def explained(when: Sequence[Moment], asked: Asked, order: int) -> list[Explanation]:
    """Every explanation of what is asked, in order."""
    merged: dict[object, Explanation] = {}
    for moment in when:
        for one in _in_state(moment, asked, order):
            same = (one.choices, one.by_person, one.others)
            before = merged.get(same)
            merged[same] = replace(before, states=(*before.states, *one.states)) if before else one
    return sorted(merged.values(), key=lambda one: one.key)


def any_explanation(when: Sequence[Moment], observed: Iterable[Item], order: int) -> bool:
    """Is there an explanation at all?"""
    asked = Asked.of(observed)
    for moment in when:
        system = Witnessed(moment.rig, asked)
        if not system.impossible and smallest_sets(
            system, system.fell, system.stayed, free=system.free, order=order, any_one=True
        ):
            return True
    return False


def _in_state(moment: Moment, asked: Asked, order: int) -> Iterator[Explanation]:
    system = Witnessed(moment.rig, asked)
    if system.impossible:
        return
    found = smallest_sets(system, system.fell, system.stayed, free=system.free, order=order)
    after = _after(system.system, [_effects(system, one) for one in found])
    for one, fallen in zip(found, after, strict=True):
        choices = tuple(tuple(f.id for f in system.classes[event]) for event in sorted(one))
        yield Explanation(
            choices,
            moment.numbers,
            moment.words,
            len(one & system.free),
            tuple(sorted(fallen & set(asked.stayed))),
            tuple(sorted(fallen - set(asked.fell) - set(asked.stayed))),
            _likelihood(system, one),
        )


def _effects(system: Witnessed, events: Iterable[int]) -> Effects:
    return Effects.joint(system.system.failures[event].effects for event in events)


def _after(system: RigSystem, scenarios: Sequence[Effects]) -> list[set[str]]:
    """Who is not held, strictly, after each scenario."""
    found: list[set[str]] = []
    for start in range(0, len(scenarios), system.columns):
        some = scenarios[start : start + system.columns]
        rows = [(effects, 1 << k) for k, effects in enumerate(some)]
        every = dict.fromkeys(system.goals, (1 << len(some)) - 1)
        held = system.read(Reading.HELD, rows, len(some), every)
        found += [{name for name, bits in held.items() if not bits >> k & 1} for k in range(len(some))]
    return found


def _likelihood(system: Witnessed, events: Iterable[int]) -> float | None:
    product = 1.0
    for event in events:
        given = [failure.likelihood for failure in system.classes[event] if failure.likelihood is not None]
        if len(given) < len(system.classes[event]):
            return None
        product *= max(given)
    return product


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
    if item.verb == "stayed":
        return BY_A_PERSON if item.name in by_person else EXPLAINED
    if item.verb == "found":
        return TAKEN_UP if among(item.name, happened) else BROUGHT_ABOUT
    return RESPECTED
