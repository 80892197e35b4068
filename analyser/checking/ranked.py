"""Which parts the most hangs on: by the failure sets they are in, and by likelihoods where given.

Without likelihoods only the structure is ranked. With them, the probability that a body falls and
the importance of each failure are found from the failure sets that were searched: larger sets are
not in it, and failures are taken as independent of each other (a `cause` is how they are not).
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.holding.importance import Importance, importances, probability
from analyser.holding.outcome import Outcome
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class Ranked:
    """One part (a rope with its spans): in how many failure sets of each size it is, for whom.

    `counts[k]` is the number of sets of k + 1, each body's own counted; `alone` are the bodies that
    one failure of it drops.
    """

    part: str
    counts: tuple[int, ...]
    alone: tuple[str, ...]
    bodies: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Likely:
    """How likely one body falls. `missing` names failures without a likelihood: then no value."""

    body: str
    value: float | None
    exact: bool
    missing: tuple[str, ...]
    importances: tuple[Importance, ...]


def ranked(rig: Rig, outcome: Outcome) -> tuple[Ranked, ...]:
    """Every part that is in a failure set, the one on which the most hangs first.

    In order of: people it drops alone, bodies it drops alone, then sets of two, of three, …
    """
    part_of = {str(failure.id): failure.id.owner for failure in rig.failures}
    counts: dict[str, list[int]] = {}
    alone: dict[str, set[str]] = {}
    bodies: dict[str, set[str]] = {}
    for body, sets in outcome.failure_sets.items():
        for cut in sets:
            for part in {part_of[one] for one in cut}:
                counts.setdefault(part, [0] * outcome.order)[len(cut) - 1] += 1
                bodies.setdefault(part, set()).add(body)
                if len(cut) == 1:
                    alone.setdefault(part, set()).add(body)
    people = {body.name for body in rig.bodies if body.nature is Nature.PERSON}
    rows = [
        Ranked(part, tuple(numbers), tuple(sorted(alone.get(part, ()))), tuple(sorted(bodies[part])))
        for part, numbers in counts.items()
    ]
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                -len(people & set(row.alone)),
                -len(row.alone),
                *(-number for number in row.counts[1:]),
                row.part,
            ),
        )
    )


def likely(rig: Rig, outcome: Outcome) -> tuple[Likely, ...]:
    """For each body, how likely it falls; empty where the file gives no likelihood at all."""
    chances = {str(failure.id): failure.likelihood for failure in rig.failures if failure.likelihood is not None}
    if not chances:
        return ()
    found = []
    for body in rig.bodies:
        sets = [frozenset(cut) for cut in outcome.failure_sets[body.name]]
        missing = tuple(sorted({event for cut in sets for event in cut} - chances.keys()))
        if missing:
            found.append(Likely(body.name, None, False, missing, ()))
            continue
        whole = probability(sets, chances)
        found.append(Likely(body.name, whole.value, whole.exact, (), tuple(importances(sets, chances))))
    return tuple(found)
