"""Everything the holding rules say of one state of a rig, by name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from analyser.holding.reviewing import Review, Watch
from analyser.holding.structure import positions
from analyser.holding.system import RigSystem
from analyser.language.identities import FailureId
from analyser.rig.model import Effects, Failure, Rig


@dataclass(frozen=True, slots=True)
class BodyOutcome:
    """One body with nothing failed. `independent` is None where no failure can drop it."""

    name: str
    kind: str
    held: bool
    only_by_person: bool
    tips: bool
    attachments: int
    independent: int | None
    independent_exact: bool
    smallest_failure_set: int | None
    """0: it falls with nothing failed. None: no set exists up to the order searched."""
    ways: tuple[tuple[str, ...], ...]
    """As many ways of being held as are independent: the failures that must not happen in each."""


@dataclass(frozen=True, slots=True)
class FailureOutcome:
    """One single failure: who falls, who hangs only from a person, who tips, who is down to one."""

    id: FailureId
    part: str
    mode: str
    falls: tuple[str, ...]
    only_by_person: tuple[str, ...]
    tips: tuple[str, ...]
    down_to_one: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One state of a rig. `failure_sets` holds the minimal sets up to `order`, complete up to
    `complete_to`; `share` is the share of the next order's candidates that was searched."""

    order: int
    complete_to: int
    share: float | None
    bodies: tuple[BodyOutcome, ...]
    failures: tuple[FailureOutcome, ...]
    failure_sets: dict[str, tuple[tuple[str, ...], ...]]
    hands_off_falls: tuple[str, ...]
    hands_off_only_by_person: tuple[str, ...]
    review: Review = field(repr=False, compare=False)
    """What it was worked out with: another state shares it."""

    def up_to(self, order: int) -> Outcome:
        """The same outcome as a search up to a lower order tells it."""
        if order >= self.order:
            return self
        sets = {name: tuple(cut for cut in cuts if len(cut) <= order) for name, cuts in self.failure_sets.items()}
        bodies = tuple(
            replace(body, smallest_failure_set=min((len(cut) for cut in sets[body.name]), default=None))
            for body in self.bodies
        )
        complete = min(order, self.complete_to)
        share = self.share if complete < order else None
        return replace(self, order=order, complete_to=complete, share=share, bodies=bodies, failure_sets=sets)

    def body(self, name: str) -> BodyOutcome:
        return next(body for body in self.bodies if body.name == name)


@dataclass(frozen=True, slots=True)
class Scenario:
    """Who falls, hangs only from a person, tips, and is held, after one set of failures."""

    falls: tuple[str, ...]
    only_by_person: tuple[str, ...]
    tips: tuple[str, ...]
    held: tuple[str, ...]


def assess(
    rig: Rig,
    order: int = 2,
    already: Effects | None = None,
    watch: Watch | None = None,
    before: Outcome | None = None,
) -> Outcome:
    """Apply the holding rules to a rig: every single failure, and failure sets up to `order`.

    Sets of two are always searched, as being down to one asks for them. `already` has befallen
    the rig before anything else fails. `watch` is told of progress and may stop the search.
    `before` is the outcome of another state of the same rig, whose work is shared.
    """
    system = RigSystem(rig, already=already)
    review = Review(rig, system.strict, already=already, before=before.review if before else None)
    failures = system.failures
    scenarios = [Effects(), *(failure.effects for failure in failures), rig.hands_off]
    states = _scenarios(system, scenarios, review)
    base, after, hands = states[0], states[1:-1], states[-1]
    searched = review.failure_sets(system.goals, max(order, 2), watch)
    cuts = searched.found
    complete = searched.complete_to
    if complete == 0:  # stopped at once: the single failures are all known all the same
        complete = 1
        for goal in cuts:
            alone: list[tuple[str, ...]] = [
                (f.id,) for f, state in zip(failures, after, strict=True) if goal in state.falls
            ]
            cuts[goal] = alone if goal in base.held else [()]
    fragile = {goal: {name for cut in sets if len(cut) == 2 for name in cut} for goal, sets in cuts.items()}
    singles = {goal for goal, sets in cuts.items() if any(len(cut) == 1 for cut in sets)}
    bodies = []
    for part in rig.bodies:
        ways = review.independent(part.name)
        sizes = [len(cut) for cut in cuts[part.name] if len(cut) <= order]
        bodies.append(
            BodyOutcome(
                name=part.name,
                kind=str(part.nature),
                held=part.name in base.held,
                only_by_person=part.name in base.only_by_person,
                tips=part.name in base.tips,
                attachments=review.attachments(part.name),
                independent=ways.number,
                independent_exact=ways.exact,
                smallest_failure_set=min(sizes, default=None),
                ways=ways.ways,
            )
        )
    outcomes = tuple(
        FailureOutcome(
            failure.id,
            failure.part,
            failure.mode,
            state.falls,
            state.only_by_person,
            state.tips,
            tuple(sorted(g for g in state.held if g in singles or failure.id in fragile[g])),
        )
        for failure, state in zip(failures, after, strict=True)
    )
    found = {goal: tuple(cut for cut in sets if len(cut) <= order) for goal, sets in sorted(cuts.items())}
    complete = min(order, complete)
    share = searched.share if complete < order else None
    return Outcome(order, complete, share, tuple(bodies), outcomes, found, hands.falls, hands.only_by_person, review)


def what_if(rig: Rig, failures: Iterable[Failure]) -> Scenario:
    """One scenario: these failures together, in the state as it is."""
    return after_each(rig, [Effects.joint(failure.effects for failure in failures)])[0]


def after_each(rig: Rig, effects: Sequence[Effects]) -> list[Scenario]:
    """Several scenarios of one rig, each by itself, asked together."""
    return _scenarios(RigSystem(rig), [Effects(), *effects])[1:]


def _scenarios(system: RigSystem, scenarios: list[Effects], review: Review | None = None) -> list[Scenario]:
    """Judge each scenario; the first must be the one in which nothing failed.

    With a review, each portion is asked by itself, and only where it was not asked the same before.
    """
    width = len(scenarios)
    rows = [(effects, 1 << column) for column, effects in enumerate(scenarios)]
    full = (1 << width) - 1
    strict = (
        review.held(scenarios) if review else system.read(system.strict, rows, width, dict.fromkeys(system.goals, full))
    )
    for goal, held in strict.items():
        if not held & 1:  # not held to begin with: falls in every scenario
            strict[goal] = 0
    fallen = 0
    for held in strict.values():
        fallen |= full & ~held
    columns = positions(fallen)
    loosely: dict[str, set[int]] = {goal: set() for goal in system.goals}
    if columns:
        again = [(scenarios[column], 1 << k) for k, column in enumerate(columns)]
        asked = dict.fromkeys(system.goals, (1 << len(columns)) - 1)
        for goal, held in system.read(system.loose, again, len(columns), asked).items():
            loosely[goal] = {columns[k] for k in positions(held)}
    tipping = review.tips(scenarios, strict) if review else system.tips(rows, strict, width)
    found = []
    for column in range(width):
        falls = sorted(goal for goal, held in strict.items() if not held >> column & 1)
        found.append(
            Scenario(
                falls=tuple(falls),
                only_by_person=tuple(goal for goal in falls if column in loosely[goal]),
                tips=tuple(sorted(goal for goal, tips in tipping.items() if tips >> column & 1)),
                held=tuple(sorted(goal for goal, held in strict.items() if held >> column & 1)),
            )
        )
    return found


def tipping_sets(rig: Rig, body: str, failures: Iterable[Failure], number: int) -> list[tuple[str, ...]]:
    """The minimal sets of at most `number` (1 or 2) failures after which a body tips or falls."""
    events = list(failures)
    sets: list[tuple[Failure, ...]] = [(one,) for one in events]
    if number > 1:
        sets += [(a, b) for k, a in enumerate(events) for b in events[k + 1 :]]
    system = RigSystem(rig, events)
    bad: list[tuple[str, ...]] = []
    for start in range(0, len(sets), 50_000):
        group = sets[start : start + 50_000]
        scenarios = [Effects(), *(Effects.joint(member.effects for member in members) for members in group)]
        for members, state in zip(group, _scenarios(system, scenarios)[1:], strict=True):
            names = tuple(sorted(member.id for member in members))
            if (body in state.tips or body in state.falls) and not any(set(b) < set(names) for b in bad):
                bad.append(names)
    return bad
