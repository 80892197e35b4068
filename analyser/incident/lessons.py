"""Counterfactuals: which one addition would have kept people held in every explanation that is left.

Asked of the people who fell; of litters and loads where no person did.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice, product
from pathlib import Path

from analyser.incident.reconstruction import Explanation, Reconstruction
from analyser.mending.keeping import Keeping, keeping
from analyser.mending.ranking import MOST_SETS
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class Lessons:
    """What the mend search says. `left_out` sets of failures were not looked at: of later states, or
    with slips, for which no addition is known."""

    keeping: Keeping | None
    left_out: int


def lessons(made: Reconstruction, rig: Rig, text: str, file: str, folder: Path) -> Lessons:
    """`rig` and `text` are as read, without slips. Additions are known to the rig as first attached only."""
    known = {failure.id for failure in rig.failures}
    looked_at: list[tuple[tuple[str, ...], tuple[str, ...]]] = []
    for one in made.explanations:
        if 0 not in one.states:
            continue
        fallen = _people(rig, {*made.asked.fell, *one.others})
        for chosen in islice(_sets(one), MOST_SETS - len(looked_at)):
            if known.issuperset(chosen) and fallen:
                looked_at.append((chosen, fallen))
    if not looked_at:
        return Lessons(None, made.sets)
    return Lessons(keeping(rig, text, file, folder, looked_at), made.sets - len(looked_at))


def _people(rig: Rig, fallen: set[str]) -> tuple[str, ...]:
    people = {name for name in fallen if rig.parts[name].nature is Nature.PERSON}
    return tuple(sorted(people or fallen))


def _sets(one: Explanation) -> Iterator[tuple[str, ...]]:
    return (tuple(sorted(chosen)) for chosen in product(*one.choices))
