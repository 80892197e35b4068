"""What single failures, and sets of them, do to people, as values: failures that do the same stand together."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from analyser.checking.fates import Together, together
from analyser.holding.by_class import Groups, brought_down_by
from analyser.holding.fate import HELD, Fate, Kind, worst
from analyser.holding.outcome import FailureOutcome, Outcome

NOT_HELD = Fate(Kind.FALLS)
AT_ONCE = 4_000
"""Failure sets that are asked after together: more would need more memory, and be no faster."""
LABELS = {
    Kind.TURNS_OVER: "turns over",
    Kind.TIPS: "tips",
    Kind.DROPS: "drops",
    Kind.SLACKENS: "drops, held",
    Kind.HELD: "held",
}
"""What stands before a line that tells of somebody who is held all the same."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What a failure does that was not so before it: `what` happens to those who are worse off by it, the worst
    first, and `on_one` are those who are newly left one failure from not being held."""

    what: tuple[Together, ...]
    on_one: tuple[str, ...]

    def those(self, *kinds: Kind) -> tuple[str, ...]:
        """To whom one of these happens, by name."""
        return tuple(sorted(name for one in self.what if one.fate.kind in kinds for name in one.bodies))

    @property
    def drops(self) -> tuple[str, ...]:
        """Those who are no longer held."""
        return tuple(sorted(name for one in self.what if one.fate.not_held for name in one.bodies))

    @property
    def loud(self) -> bool:
        """Does anything worse happen than that somebody drops first?"""
        return any(one.loud for one in self.what)

    @property
    def label(self) -> str:
        """The worst of it in a word or two."""
        return LABELS.get(self.what[0].fate.kind, "not held") if self.what else ""


def not_held(outcome: Outcome) -> tuple[str, ...]:
    """Who is not held with nothing failed, by name."""
    return tuple(sorted(body.name for body in outcome.bodies if not body.held))


def effects(outcome: Outcome) -> Iterator[tuple[FailureOutcome, Effect]]:
    """Every single failure of an outcome, and what it does to those who are held with nothing failed."""
    before = {body.name: body.fate.kind.rank for body in outcome.bodies if body.held}
    already = on_one_already(outcome)
    for failure in outcome.failures:
        worse = ((n, fate) for n, fate in failure.fates if n in before and fate.kind.rank < before[n])
        yield failure, Effect(together(worse), newly_on_one(failure, already))


def on_one_already(outcome: Outcome) -> frozenset[str]:
    """Who is not held, or hangs on one, with nothing failed."""
    return frozenset(body.name for body in outcome.bodies if body.smallest_failure_set in (0, 1))


def newly_on_one(failure: FailureOutcome, already: Collection[str]) -> tuple[str, ...]:
    """Who hangs on one after a failure, and didn't before."""
    return tuple(sorted(set(failure.down_to_one).difference(already)))


def singles(outcome: Outcome) -> tuple[tuple[Effect, tuple[str, ...]], ...]:
    """The single failures after which somebody is no longer held, by what they do: the most failures first."""
    before = set(not_held(outcome))
    return _alike((what, one.id) for one, what in effects(outcome) if not before.issuperset(one.falls))


def unsettling(outcome: Outcome) -> tuple[tuple[Effect, tuple[str, ...]], ...]:
    """The single failures after which everybody is held who was before, and somebody tips or drops first."""
    before = set(not_held(outcome))
    told = ((what, one.id) for one, what in effects(outcome) if before.issuperset(one.falls))
    return _alike((Effect(what.what, ()), name) for what, name in told if what.what)


def shaken(outcomes: Iterable[Outcome], without: Collection[str] = ()) -> tuple[Together, ...]:
    """Who is held all the same after a single failure, and tips, turns over or drops: in any of them, at the worst;
    `without`: failures that are not asked after."""
    every = (told for outcome in outcomes for told in effects(outcome))
    told = (one for failure, effect in every if failure.id not in without for one in effect.what)
    return _at_worst((name, one.fate) for one in told if not one.fate.not_held for name in one.bodies)


def shaken_already(outcomes: Iterable[Outcome]) -> tuple[Together, ...]:
    """The same with nothing failed, in any of them."""
    told = (body for outcome in outcomes for body in outcome.bodies)
    return _at_worst((body.name, body.fate) for body in told if body.held and body.fate != HELD)


def by_kind(fate: Fate) -> Fate:
    """A fate by what it is alone: of a drop how far too, of anything else neither how far nor to what."""
    return Fate(fate.kind, drop=fate.drop if fate.kind is Kind.DROPS else None)


def _at_worst(told: Iterable[tuple[str, Fate]]) -> tuple[Together, ...]:
    """Of what is told of each body the worst: the deepest drop, and of anything else not how far."""
    found: dict[str, Fate] = {}
    for name, fate in told:
        one = by_kind(fate)
        was = found.get(name, HELD)
        deeper = one.kind is was.kind and (one.drop or 0) > (was.drop or 0)
        found[name] = one if deeper else worst((was, one))
    return together(found.items())


def worst_hands_off(outcome: Outcome) -> tuple[Together, ...]:
    """The worst that happens when hands let go, to those who were better off before."""
    before = {body.name: body.fate for body in outcome.bodies}
    return together((n, fate) for n, fate in outcome.hands_off.fates if fate.kind.rank < before[n].kind.rank)


def _alike(told: Iterable[tuple[Effect, str]]) -> tuple[tuple[Effect, tuple[str, ...]], ...]:
    groups: dict[Effect, list[str]] = {}
    for what, name in told:
        groups.setdefault(what, []).append(name)
    ordered = sorted(groups.items(), key=lambda item: (not item[0].loud, -len(item[1]), item[1]))
    return tuple((what, tuple(failures)) for what, failures in ordered)


def after_sets(
    outcome: Outcome, sets: Iterable[tuple[str, ...]], bodies: Sequence[str]
) -> dict[tuple[str, ...], tuple[Together, ...]]:
    """What happens to those of `bodies` who are not held, after each of some minimal failure sets of theirs."""
    whose: dict[tuple[str, ...], list[str]] = {}
    for name in bodies:
        for one in outcome.failure_sets[name]:
            whose.setdefault(one, []).append(name)
    return _after(outcome, {names: whose.get(names, ()) for names in sets})


def after_alike(outcome: Outcome, size: int) -> dict[Groups, tuple[Together, ...]]:
    """The same after all minimal failure sets of one size, told together where they do the same: one of each
    of some groups of failures."""
    first = outcome.review.one_for_each
    whose = brought_down_by(outcome.failure_sets, size, lambda name: first.get(name, name))
    by_first = {tuple(names[0] for names in groups): groups for groups in whose}
    told = _after(outcome, {one: whose[groups] for one, groups in by_first.items()})
    return {by_first[one]: what for one, what in told.items()}


def _after(
    outcome: Outcome, whose: Mapping[tuple[str, ...], Sequence[str]]
) -> dict[tuple[str, ...], tuple[Together, ...]]:
    found: dict[tuple[str, ...], tuple[Together, ...]] = {}
    known: dict[tuple[Together, ...], tuple[Together, ...]] = {}
    falling: dict[tuple[str, ...], tuple[Together, ...]] = {}
    chosen = list(whose)
    for start in range(0, len(chosen), AT_ONCE):
        some = {names: whose[names] for names in chosen[start : start + AT_ONCE]}
        for names, fates in outcome.fates_after(some).items():
            bodies = tuple(some[names])
            if fates or bodies not in falling:
                what = together((name, fates.get(name, NOT_HELD)) for name in bodies)
                found[names] = known.setdefault(what, what)
                if not fates:
                    falling[bodies] = found[names]
            else:
                found[names] = falling[bodies]
    return found


def only_accepted(outcome: Outcome, body: str, accepted: Iterable[str]) -> bool:
    """Is every single failure that drops a body one that the file accepts?"""
    return set(outcome.failure_sets[body].singles) <= set(accepted)


def left_singles(outcome: Outcome, body: str) -> tuple[str, ...]:
    """The single failures that drop a body."""
    return outcome.failure_sets[body].singles


def newly_dropping(before: Outcome, outcome: Outcome) -> tuple[tuple[tuple[Together, ...], tuple[str, ...]], ...]:
    """(what happens to whom, failures): single failures of a state after which those are no longer held whom they,
    or nothing failed, did not drop in the state before it."""
    was = {(body, cut) for body, cuts in before.failure_sets.items() for cut in cuts.up_to(1)}
    drops: dict[tuple[Together, ...], list[str]] = {}
    for failure in outcome.failures:
        fresh = (name for name in failure.falls if (name, (failure.id,)) not in was and (name, ()) not in was)
        falls = tuple(name for name in fresh if () not in outcome.failure_sets[name])
        if falls:
            drops.setdefault(together((name, failure.fate(name)) for name in falls), []).append(failure.id)
    return tuple((what, tuple(failures)) for what, failures in drops.items())
