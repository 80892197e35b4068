"""Everything the holding rules say of one state of a rig, by name."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from functools import reduce
from itertools import chain, combinations
from operator import or_

from analyser.holding.batch import bits_at
from analyser.holding.by_class import FailureSets
from analyser.holding.fate import HELD, Fate, Hold, Kind, worst
from analyser.holding.happening import Scenario, fates_in, judged
from analyser.holding.reviewing import Review, Watch
from analyser.holding.system import RigSystem
from analyser.language.identities import FailureId
from analyser.rig.model import Effects, Failure, Rig

MOST_SUBSETS = 6
"""Failures of which every subset is tried for `what_if`; of more only each alone, and all together."""
MOST_PEOPLE = 4
"""People of whom every subset lets go; of more each, each two, and all."""


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
    fate: Fate
    ways: tuple[tuple[str, ...], ...]
    """As many ways of being held as are independent: the failures that must not happen in each."""


@dataclass(frozen=True, slots=True)
class FailureOutcome:
    """One single failure: who is not held after it (`falls`, of them who runs to a knot or stopper and who hangs only
    from a person), who tips, who slackens, who is down to one."""

    id: FailureId
    part: str
    mode: str
    falls: tuple[str, ...]
    runs: tuple[str, ...]
    only_by_person: tuple[str, ...]
    tips: tuple[str, ...]
    slackens: tuple[str, ...]
    down_to_one: tuple[str, ...]
    fates: tuple[tuple[str, Fate], ...]
    """What happens to each body that is not simply held, by name."""

    def fate(self, body: str) -> Fate:
        return self.fated.get(body, HELD)

    @property
    def fated(self) -> dict[str, Fate]:
        """The same by name."""
        return dict(self.fates)


@dataclass(frozen=True, slots=True)
class Outcome:
    """One state of a rig. `failure_sets` holds the minimal sets up to `order`, complete up to
    `complete_to`; `share` is the share of the next order's candidates that was searched."""

    order: int
    complete_to: int
    share: float | None
    bodies: tuple[BodyOutcome, ...]
    failures: tuple[FailureOutcome, ...]
    failure_sets: dict[str, FailureSets]
    hands_off_falls: tuple[str, ...]
    hands_off_only_by_person: tuple[str, ...]
    hands_off: Scenario
    """The worst of what happens when some of the people, or all, let go."""
    review: Review = field(repr=False, compare=False)
    """What it was worked out with: another state shares it."""
    _brought_down: dict[str, set[str]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _by_name: dict[str, BodyOutcome] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def brought_down(self) -> Mapping[str, AbstractSet[str]]:
        """For each failure that is in some failure set, the bodies that such a set brings down."""
        if not self._brought_down:
            for body, cuts in self.failure_sets.items():
                for name in cuts.names:
                    self._brought_down.setdefault(name, set()).add(body)
        return self._brought_down

    def up_to(self, order: int) -> Outcome:
        """The same outcome as a search up to a lower order tells it."""
        if order >= self.order:
            return self
        sets = {name: cuts.up_to(order) for name, cuts in self.failure_sets.items()}
        bodies = tuple(replace(body, smallest_failure_set=sets[body.name].smallest) for body in self.bodies)
        complete = min(order, self.complete_to)
        share = self.share if complete < order else None
        return replace(self, order=order, complete_to=complete, share=share, bodies=bodies, failure_sets=sets)

    def body(self, name: str) -> BodyOutcome:
        if not self._by_name:
            self._by_name.update({body.name: body for body in reversed(self.bodies)})
        return self._by_name[name]

    def fates_after(self, whose: Mapping[tuple[str, ...], Sequence[str]]) -> dict[tuple[str, ...], dict[str, Fate]]:
        """What happens to some bodies after each of some failure sets (by the failures' names), asked together: to
        those who aren't held then and do not simply fall. Sets of failures that do the same are asked once."""
        rig = self.review.rig
        events, first = rig.index.failures, self.review.one_for_each
        columns: dict[tuple[str, ...], int] = {}
        column_of = {
            names: columns.setdefault(tuple(sorted(first.get(one, one) for one in names)), len(columns) + 1)
            for names in whose
        }
        effects = [Effects.joint(events[one].effects for one in names) for names in columns]
        columns_of: dict[tuple[str, ...], list[int]] = {}
        for names, bodies in whose.items():
            columns_of.setdefault(tuple(bodies), []).append(column_of[names])
        asked: dict[str, int] = {}
        for bodies, mine in columns_of.items():
            bits = bits_at(mine)
            for body in bodies:
                asked[body] = asked.get(body, 0) | bits
        if not asked:
            return {names: {} for names in whose}
        system = RigSystem(rig, already=self.review.already)
        system.had = self.review.once
        falls, found = fates_in(system, [Effects(), *effects], asked, self.review)
        unlike = reduce(or_, (bits & ~falls[body] for body, bits in asked.items()))
        known: dict[tuple[str, ...], dict[str, Fate]] = {(): {one.name: one.fate for one in self.bodies}}
        known |= {(one.id,): one.fated for one in self.failures}
        told: dict[tuple[str, ...], dict[str, Fate]] = {names: {} for names in whose}
        for names, bodies in whose.items():
            column = column_of[names]
            if unlike >> column & 1:
                sure = known.get(names, {})  # what the forces say of it is known too
                unlike_here = (body for body in bodies if not falls[body] >> column & 1)
                both = ((body, worst((found[body].get(column, HELD), sure.get(body, HELD)))) for body in unlike_here)
                told[names] = {body: fate for body, fate in both if fate.not_held}
        return told

    def after(self, effects: Sequence[Effects]) -> list[Scenario]:
        """What happens to everybody after each of these, as one failure each."""
        if not effects:
            return []
        system = RigSystem(self.review.rig, already=self.review.already)
        system.had = self.review.once
        return judged(system, [Effects(), *effects], self.review)[1:]

    def no_better_than(self, told: Scenario) -> Outcome:
        """The same, where a body is told to fare worse (a failure that happens to help is not counted on): as told."""
        fates = ((one.name, worst((one.fate, told.fate(one.name)))) for one in self.bodies)
        return self.told_as(dict(fates))

    def told_as(self, fates: Mapping[str, Fate]) -> Outcome:
        """The same with what else is known to happen to some bodies, with nothing more failed."""
        made = {one.name: _as_told(one, fates[one.name]) for one in self.bodies if one.name in fates}
        fallen = {name: FailureSets.of([()]) for name, one in made.items() if not one.held}
        bodies = tuple(made.get(one.name, one) for one in self.bodies)
        return replace(self, bodies=bodies, failure_sets=self.failure_sets | fallen)

    def lost_after(self, alone: Mapping[str, Collection[FailureId]]) -> Outcome:
        """The same where some bodies are known not to be held after further failures alone, by body."""
        sets = dict(self.failure_sets)
        for name, more in alone.items():
            if () not in sets[name]:
                left = (cut for cut in sets[name] if not set(more) & set(cut))
                sets[name] = FailureSets.of((*((one,) for one in more), *left))
        bodies = tuple(
            replace(one, smallest_failure_set=1, independent=1, ways=one.ways[:1])
            if one.held and alone.get(one.name)
            else one
            for one in self.bodies
        )
        return replace(self, bodies=bodies, failure_sets=sets)

    def lost_after_two(self, pairs: Mapping[str, Collection[tuple[FailureId, FailureId]]]) -> Outcome:
        """The same where some bodies are known not to be held after two further failures together, by body."""
        sets = dict(self.failure_sets)
        frail: dict[FailureId, set[str]] = {}
        for name, more in pairs.items():
            told = {frozenset(one) for one in more}.difference(map(frozenset, sets[name]))
            left = (cut for cut in sets[name] if not any(two < {*cut} for two in told))
            sets[name] = FailureSets.of(
                sorted((*(tuple(sorted(two)) for two in told), *left), key=lambda s: (len(s), s))
            )
            for failure in (one for two in more for one in two):
                frail.setdefault(failure, set()).add(name)
        failures = tuple(
            replace(one, down_to_one=tuple(sorted({*one.down_to_one, *frail[one.id]}.difference(one.falls))))
            if one.id in frail
            else one
            for one in self.failures
        )
        bodies = tuple(
            replace(one, smallest_failure_set=min(one.smallest_failure_set or 2, 2)) if pairs.get(one.name) else one
            for one in self.bodies
        )
        return replace(self, bodies=bodies, failures=failures, failure_sets=sets)

    def hold(self, body: str, failures: Iterable[Failure] = ()) -> Hold | None:
        """By what a body is held, with nothing failed or after some failures; None where it isn't."""
        return self.review.hold(body, Effects.joint(failure.effects for failure in failures))


def _as_told(body: BodyOutcome, fate: Fate) -> BodyOutcome:
    """A body that fares as is told; who is not held then has no way of being held left."""
    if fate == body.fate:
        return body
    if fate.not_held:
        by_person = fate.kind is Kind.BY_A_PERSON
        body = replace(body, held=False, only_by_person=by_person, independent=0, smallest_failure_set=0, ways=())
    return replace(body, tips=fate.kind is Kind.TIPS, fate=fate)


def assess(
    rig: Rig,
    order: int = 2,
    already: Effects | None = None,
    watch: Watch | None = None,
    before: Outcome | None = None,
    remembered: Sequence[Outcome] = (),
) -> Outcome:
    """Apply the holding rules to a rig: every single failure, and failure sets up to `order`.

    Sets of two are always searched, as being down to one asks for them. `already` has befallen
    the rig before anything else fails. `watch` is told of progress and may stop the search.
    `before` is the outcome of another state of the same rig, whose work is shared, and so is that of `remembered`,
    the outcomes of another text.
    """
    system = RigSystem(rig, already=already)
    earlier = before.review if before else None
    known = [one for old in remembered for one in (*old.review.portions, *old.review.apart)]
    review = Review(rig, system.strict, already=already, before=earlier, remembered=known)
    system.had = review.once
    failures = system.failures
    letting_go = hands_off_sets(rig)
    scenarios = [Effects(), *(failure.effects for failure in failures), *letting_go]
    states = judged(system, scenarios, review)
    base, after, hands = states[0], states[1 : 1 + len(failures)], _worst_of(states[1 + len(failures) :])
    searched = review.failure_sets(system.goals, max(order, 2), watch)
    cuts = searched.found
    complete = searched.complete_to
    if complete == 0:  # stopped at once: the single failures are all known all the same
        complete = 1
        for goal in cuts:
            alone = [(f.id,) for f, state in zip(failures, after, strict=True) if goal in state.falls]
            cuts[goal] = FailureSets.of(alone if goal in base.held else [()])
    fragile: dict[str, set[str]] = {}
    for goal, sets in cuts.items():
        for name in {name for groups in sets.of_size(2) for names in groups for name in names}:
            fragile.setdefault(name, set()).add(goal)
    singles = {goal for goal, sets in cuts.items() if any(sets.of_size(1))}
    bodies = []
    review.pack([part.name for part in rig.bodies])
    for part in rig.bodies:
        ways = review.independent(part.name)
        bodies.append(
            BodyOutcome(
                name=part.name,
                kind=str(part.nature),
                held=part.name in base.held,
                only_by_person=part.name in base.only_by_person,
                tips=part.name in base.tips,
                fate=base.fate(part.name),
                attachments=review.attachments(part.name),
                independent=ways.number,
                independent_exact=ways.exact,
                smallest_failure_set=cuts[part.name].up_to(order).smallest,
                ways=ways.ways,
            )
        )
    outcomes = tuple(
        FailureOutcome(
            failure.id,
            failure.part,
            failure.mode,
            state.falls,
            state.runs,
            state.only_by_person,
            state.tips,
            state.slackens,
            tuple(sorted((singles | fragile.get(failure.id, set())).difference(state.falls))),
            tuple(state.amiss()),
        )
        for failure, state in zip(failures, after, strict=True)
    )
    found = {goal: sets.up_to(order) for goal, sets in sorted(cuts.items())}
    complete = min(order, complete)
    share = searched.share if complete < order else None
    off = hands.falls, hands.only_by_person, hands
    return Outcome(order, complete, share, tuple(bodies), outcomes, found, *off, review)


def what_if(rig: Rig, failures: Iterable[Failure]) -> Scenario:
    """One scenario: these failures together, in the state as it is; the worst of what happens after each of their
    subsets (of many failures: after none, each alone, and all)."""
    events = list(failures)
    sizes = range(len(events) + 1) if len(events) <= MOST_SUBSETS else (0, 1, len(events))
    some = chain.from_iterable(combinations(events, size) for size in sizes)
    return _worst_of(after_each(rig, [Effects.joint(one.effects for one in several) for several in some]))


def after_each(rig: Rig, effects: Sequence[Effects]) -> list[Scenario]:
    """Several scenarios of one rig, each by itself, asked together. Each is taken as one failure."""
    system = RigSystem(rig)
    review = Review(rig, system.strict)
    system.had = review.once
    return judged(system, [Effects(), *effects], review)[1:]


def hands_off_sets(rig: Rig) -> list[Effects]:
    """What happens when some people let go at once: every set of up to four of them, else each, each two, and all."""
    people = sorted(rig.hands_off.open_hands)
    doing = {}
    for person in people:
        worked = {name for name in rig.hands_off.ungripped if rig.parts[name].operated_by == person}
        if worked or any(s.part == person for rope in rig.ropes for s in rope.stations):
            doing[person] = Effects(open_hands=frozenset({person}), ungripped=frozenset(worked))
    names = sorted(doing)
    sizes = range(1, len(names)) if len(names) <= MOST_PEOPLE else (1, 2)
    some = chain.from_iterable(combinations(names, size) for size in sizes)
    return [*(Effects.joint(doing[name] for name in several) for several in some), rig.hands_off]


def _worst_of(scenarios: Sequence[Scenario]) -> Scenario:
    """For each body the worst that happens to it in any of these."""
    fates = dict(scenarios[0].fates)
    for scenario in scenarios[1:]:
        for name, fate in scenario.amiss():
            fates[name] = worst((fates[name], fate))
    return Scenario.of(fates, sorted({bar for one in scenarios for bar in one.tips if bar not in fates}))


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
        for members, state in zip(group, judged(system, scenarios)[1:], strict=True):
            names = tuple(sorted(member.id for member in members))
            if (body in state.tips or body in state.falls) and not any(set(b) < set(names) for b in bad):
                bad.append(names)
    return bad
