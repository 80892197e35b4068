"""Counterfactuals: which one addition would have kept people held in every explanation that is left.

Asked of the people who fell; of litters and loads where no person did.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice, product

from analyser.rig.model import Nature, Rig
from analyser.rig.plan import Plan
from analyser.uses.incident.reconstruction import Explanation, Reconstruction
from analyser.uses.mending.keeping import Keeping, Scenario, keeping
from analyser.uses.mending.ranking import MOST_SETS


@dataclass(frozen=True, slots=True)
class Lessons:
    """What the mend search says, of each set of failures in each state that it fits. `left_out` of those were not
    looked at: too many, or with a contact never made."""

    keeping: Keeping | None
    left_out: int

    @property
    def kept(self) -> Keeping:
        """What was looked at; nothing, where there was nothing to look at."""
        return self.keeping or Keeping((), 0, 0, 0)


def lessons(made: Reconstruction, rig: Plan) -> Lessons:
    """`rig` is as read, without slips."""
    states = rig.states
    scenarios: list[Scenario] = []
    left_out = 0
    for one in made.explanations:
        for state in (moment.numbers[0] for moment in made.moments if moment.numbers[0] in one.states):
            known = {failure.id for failure in states[state].failures}
            fallen = _people(states[state], {*made.asked.fell, *made.asked.caught, *one.others, *one.runs})
            if not fallen or not all(known.issuperset(choice) for choice in one.choices):
                left_out += one.sets
                continue
            chosen = list(islice(_sets(one), MOST_SETS - len(scenarios)))
            scenarios += [Scenario(failures, fallen, state) for failures in chosen]
            left_out += one.sets - len(chosen)
    if not scenarios:
        return Lessons(None, left_out)
    return Lessons(keeping(rig, scenarios), left_out)


def _people(rig: Rig, fallen: set[str]) -> tuple[str, ...]:
    people = {name for name in fallen if rig.parts[name].nature is Nature.PERSON}
    return tuple(sorted(people or fallen))


def _sets(one: Explanation) -> Iterator[tuple[str, ...]]:
    return (tuple(sorted(chosen)) for chosen in product(*one.choices))
