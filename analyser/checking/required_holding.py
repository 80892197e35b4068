"""Requirements of who is held: how many ways apart, after how many failures, with every hand off, level."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from analyser.checking.consequences import AT_ONCE, NOT_HELD
from analyser.checking.fates import together, who
from analyser.checking.judging import Reason
from analyser.checking.sentences import either
from analyser.holding.outcome import Outcome, after_each, tipping_sets
from analyser.holding.reviewing import Review, Watch
from analyser.holding.tipping import Pair, pairs_of
from analyser.language.identities import spoken
from analyser.rig.model import Effects, Part, Requirement, Rig

MOST_TOLD = 200
"""Failure sets of which it is told what happens; after further ones somebody is told as not held."""


def independent(
    requirement: Requirement, rig: Rig, outcome: Outcome, names: Sequence[str], accepted: Collection[str]
) -> Iterator[Reason]:
    wanted = requirement.number
    review: Review | None = None
    for name in names:
        number, exact = outcome.body(name).independent, outcome.body(name).independent_exact
        if accepted and number is not None and number < wanted:
            if review is None:
                review = Review(rig, failures=[f for f in rig.failures if f.id not in accepted])
            ways = review.independent(name)
            number, exact = ways.number, ways.exact
        if number is None or number >= wanted:
            continue
        if not exact:
            yield Reason(f"not fully checked: {name} has at least {number}, the search was cut short", open=True)
            continue
        singles = [one for one in outcome.failure_sets[name].singles if one not in accepted]
        why = f", and isn't held after {_some(singles)}" if singles else ""
        yield Reason(f"{name} has {number}{why}", rank=number)


def held(
    requirement: Requirement,
    rig: Rig,
    outcome: Outcome,
    names: Sequence[str],
    accepted: Collection[str],
    watch: Watch | None,
) -> Iterator[Reason]:
    wanted = requirement.number
    sets, complete = outcome.failure_sets, outcome.complete_to
    if wanted > outcome.order:
        searched = Review(rig).failure_sets(names, wanted, watch)
        sets, complete = searched.found, searched.complete_to
    left, taken = list(reversed(names)), set(accepted)
    while left:
        mine: dict[str, list[tuple[str, ...]]] = {}
        many = 0
        while left and many < AT_ONCE:
            name = left.pop()
            mine[name] = [cut for cut in sets[name].up_to(wanted) if taken.isdisjoint(cut)]
            many += len(mine[name][:MOST_TOLD])
        told: dict[tuple[str, ...], list[str]] = {}
        for name, cuts in mine.items():
            for cut in cuts[:MOST_TOLD]:
                told.setdefault(cut, []).append(name)
        then = outcome.fates_after(told)
        for name, cuts in mine.items():
            for k, cut in enumerate(cuts):
                words = who((name,), then[cut].get(name, NOT_HELD) if k < MOST_TOLD else NOT_HELD)
                yield Reason(f"{' + '.join(map(spoken, cut)) or 'nothing failed'}: {words}", rank=len(cut))
    if complete < wanted:
        words = f"not fully checked: the search was stopped, it is complete to {complete} together"
        yield Reason(words, open=True)


def hands_off(outcome: Outcome, names: Sequence[str]) -> Iterator[Reason]:
    for one in together(outcome.hands_off.fates):
        mine = tuple(name for name in one.bodies if name in names)
        for name in mine if one.fate.not_held else ():
            yield Reason(f"when hands let go: {who((name,), one.fate)}")


def not_by_person(outcome: Outcome) -> Iterator[Reason]:
    for body in outcome.bodies:
        if body.only_by_person:
            yield Reason(f"{body.name} is held only by a person or by bare hands")


def level(
    requirement: Requirement, rig: Rig, outcome: Outcome, names: Sequence[str], accepted: Collection[str]
) -> Iterator[Reason]:
    wanted = requirement.number
    for name in names:
        body = outcome.body(name)
        if not pairs_of(rig.parts[name]):
            words = f"{name} has no two ends; give it points named head… and foot…, or `ends a, b | c, d`"
            yield Reason(f"not checked: {words}", open=True)
        elif body.tips or not body.held:
            yield Reason(f"with nothing failed {who((name,), body.fate)}")
        elif (pair := held_at_neither(rig.parts[name], outcome)) is not None:
            ends = either([point for end in pair for point in end])
            words = f"nothing holds {name} at {ends}: name the points that what holds it is attached at"
            yield Reason(f"not checked: {words}, `attach … - {pair[0][0]}`", open=True)
        elif (end := held_at_one(rig, rig.parts[name], outcome)) is not None:
            yield Reason(f"with nothing failed {name} hangs by {either(list(end))} alone: it doesn't lie level")
        elif wanted > 2:
            yield Reason(f"not checked: tipping is searched for up to 2 failures, not {wanted}", open=True)
        else:
            failures = [f for f in rig.failures if f.id not in accepted]
            for bad in tipping_sets(rig, name, failures, wanted):
                yield Reason(f"{' + '.join(map(spoken, bad))}: {name} tips or is not held", rank=len(bad))


def held_at_neither(part: Part, outcome: Outcome) -> Pair | None:
    """Two ends of a body, or its two sides, of which nothing holds either: of those it can't be told to be level."""
    had = outcome.review.had.get(part.name, ())
    return next((pair for pair, held in zip(pairs_of(part), had, strict=False) if not any(held)), None)


def held_at_one(rig: Rig, part: Part, outcome: Outcome) -> tuple[str, ...] | None:
    """The end, or the side, of a body by which alone it hangs with nothing failed: nothing holds it anywhere else."""
    had, given = outcome.review.had.get(part.name, ()), (part.ends, part.sides)
    for pair, held in zip((pair for pair in given if pair), had, strict=False):  # corners across come after these
        if held[0] != held[1]:
            end = pair[0 if held[0] else 1]
            (without,) = after_each(rig, [Effects(gone=frozenset(end))])
            if part.name in without.falls:
                return end
    return None


def _some(names: list[str]) -> str:
    said = [spoken(name) for name in names]
    if len(said) == 1:
        return f"{said[0]} alone"
    if len(said) == 2:
        return f"{said[0]} or {said[1]}, either alone"
    more = f" and {len(said) - 3} more" if len(said) > 3 else ""
    return f"any one of {len(said)} failures ({', '.join(said[:3])}{more})"
