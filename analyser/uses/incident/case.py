"""Everything about one incident: what was observed, what is consistent with it, what to look at, what to learn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analyser.checking.delivered import Delivered
from analyser.checking.results import On
from analyser.rig.model import Observation
from analyser.rig.plan import Plan
from analyser.uses.incident.conflict import Conflict, conflict
from analyser.uses.incident.evidence import Item
from analyser.uses.incident.lessons import Lessons, lessons
from analyser.uses.incident.next_looks import Look, looks
from analyser.uses.incident.reconstruction import (
    CONTRADICTED,
    Explanation,
    Reconstruction,
    reconstruct,
    standing_of,
)
from analyser.uses.incident.sequences import Chain, Sequences, sequences

LIMITS = (
    "These are explanations of a rig as it was described, from facts as they were told. To be consistent with them is "
    "not to be what happened, and nothing here is a finding of fault. What the file does not describe is not among "
    "them."
)
AT_ONCE = "What broke only in the fall, after the first failure, counts as if it had failed at once."
NO_FORCES = "Forces, drops and what one failure overloads next are not looked at"
UNDER_LOAD = (
    "In a sequence, loads come from places, masses, lengths and stretch as written, and from energy that nothing takes "
    "up on the way. Peaks come from following the motion in time, from one start, with nothing damped: real ropes "
    "damp, and a start a centimetre aside may pull harder, so that what does not follow here may have followed. "
    "Friction at edges, wear, knots that slip and bands in the file (taken at their middle) are not in it. A sequence "
    "begins with one failure, or with those of an explanation."
)


@dataclass(frozen=True, slots=True)
class Explained:
    """An explanation, which of its failures can be slips in the rigging, and how each fact stands to it."""

    explanation: Explanation
    as_slips: dict[str, str]
    facts: dict[str, str]


@dataclass(frozen=True, slots=True)
class Consistent:
    """A sequence of overloads, and how each fact stands to it."""

    chain: Chain
    facts: dict[str, str]


@dataclass(frozen=True, slots=True)
class Without:
    """How many sets explain everything but some facts, one of each group that cannot be, and the first of them."""

    facts: tuple[Item, ...]
    sets: int
    first: Explained | None


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Groups of facts that cannot all be; `with_any_number_of_failures`: no more failures would change that; `enough`
    failures together would explain everything."""

    cannot_all_be: tuple[tuple[Item, ...], ...]
    enough: int | None
    with_any_number_of_failures: bool
    without: tuple[Without, ...]


@dataclass(frozen=True, repr=False)
class Case(Delivered):
    """One incident. `conflict` is there when there is no explanation at all, and `lessons` when there is one."""

    SHAPE = "analyser.uses.incident.case_shapes.Reconstructed"

    rig: Plan
    """As read, without slips."""
    made: Reconstruction
    conflict: Conflict | None
    looks: tuple[Look, ...]
    lessons: Lessons | None
    sequences: Sequences
    supposed: tuple[str, ...] = ()
    supposed_after: int = 0
    """The last line of the file itself: facts below it are supposed."""

    @property
    def shown(self) -> tuple[tuple[Explanation, tuple[Item, ...]], ...]:
        """The explanations; where there is none, the first of what explains all facts but some, and those facts."""
        if self.conflict is None:
            return tuple((one, ()) for one in self.made.explanations)
        return tuple((side.explanations[0], side.given_up) for side in self.conflict.sides if side.explanations)

    @property
    def limits(self) -> str:
        why = self.sequences.why_not
        return f"{LIMITS} {AT_ONCE} {NO_FORCES}: {why}." if why else f"{LIMITS} {UNDER_LOAD}"

    @property
    def on(self) -> On:
        return "connections only" if self.sequences.why_not else "connections and forces"

    def standing(self, one: Explanation, item: Item, against: tuple[Item, ...]) -> str:
        return CONTRADICTED if item in against else standing_of(one, item)

    def is_supposed(self, fact: Observation) -> bool:
        return fact.place.file == self.rig.place.file and fact.place.line > self.supposed_after

    def slip(self, failure: str) -> str:
        """A failure as a slip in the rigging, where it can be one and slips are included."""
        return self.made.slipped.words.get(failure, "") if self.made.slipped else ""

    @property
    def remarks(self) -> tuple[Observation, ...]:
        return tuple(fact for fact in self.rig.observations if fact.verb == "note")

    @property
    def including_slips(self) -> bool:
        return self.made.slipped is not None

    @property
    def explained(self) -> tuple[Explained, ...]:
        """The explanations with their slips and how every fact stands to them."""
        return tuple(map(self._explained, self.made.explanations))

    def _explained(self, one: Explanation) -> Explained:
        slips = {failure: said for choice in one.choices for failure in choice if (said := self.slip(failure))}
        return Explained(one, slips, {item.words: standing_of(one, item) for item in self.made.observed})

    @property
    def consistent(self) -> tuple[Consistent, ...]:
        """The sequences of overloads with how every fact stands to them."""
        return tuple(
            Consistent(one, {item.words: one.standing(item) for item in self.made.observed})
            for one in self.sequences.chains
        )

    @property
    def why_none(self) -> str | None:
        """Why no loads were looked at."""
        return self.sequences.why_not or None

    @property
    def contradiction(self) -> Contradiction | None:
        """What cannot all be, and what there is without each of those facts."""
        if self.conflict is None:
            return None
        without = tuple(
            Without(one.given_up, one.sets, self._explained(one.explanations[0]) if one.explanations else None)
            for one in self.conflict.sides
        )
        return Contradiction(self.conflict.cores, self.conflict.enough, self.conflict.at_any_order, without)

    @property
    def short(self) -> str:
        count = len(self.made.explanations)
        return f"{count} explanation{'' if count == 1 else 's'} consistent with what was observed"


def last_line(plan: Plan) -> int:
    """The last line of the file itself that says anything."""
    lines = plan.document.sources[plan.place.file]
    return max((number for number, line in enumerate(lines, 1) if line.strip()), default=1)


def open_case(rig: Plan, *, order: int = 2, slips: bool = False, supposed: Iterable[str] = ()) -> Case:
    """Work out a whole case. What is observed below the file's own last line is supposed."""
    made = reconstruct(rig, order, slips=slips)
    if not made.explanations:
        against = conflict(made.rig, made.observed, order)
        return Case(rig, made, against, (), None, sequences(made, rig), tuple(supposed), last_line(rig))
    learnt = lessons(made, rig)
    return Case(rig, made, None, tuple(looks(made)), learnt, sequences(made, rig), tuple(supposed), last_line(rig))
