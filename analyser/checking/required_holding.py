"""Requirements of who is held: how many ways apart, after how many failures, with every hand off, level."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from analyser.checking.finding import listed
from analyser.checking.judging import Reason
from analyser.checking.runs_to_stopper import hands_off_on_stoppers
from analyser.holding.outcome import Outcome, tipping_sets
from analyser.holding.reviewing import Review, Watch
from analyser.rig.model import Effects, Nature, Requirement, Rig


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
            if number is not None:
                yield from _independent_without_running(rig, name, wanted, accepted)
            continue
        if not exact:
            yield Reason(f"not fully checked: {name} has at least {number}, the search was cut short", open=True)
            continue
        singles = [cut[0] for cut in outcome.failure_sets[name] if len(cut) == 1 and cut[0] not in accepted]
        why = f": {_some(singles)} drops {name}" if singles else ""
        yield Reason(f"{name} has {number}{why}")


def _not_running(rig: Rig, accepted: Collection[str]) -> Review | None:
    """The rig as if its stoppers were not there: whom only a stopper keeps has run down the rope to it
    first. None where there are none."""
    stoppers = frozenset(name for name, part in rig.parts.items() if part.nature is Nature.STOPPER)
    if not stoppers:
        return None
    failures = [f for f in rig.failures if f.id not in accepted and f.part not in stoppers]
    return Review(rig, failures=failures, already=Effects(gone=stoppers))


def _independent_without_running(rig: Rig, name: str, wanted: int, accepted: Collection[str]) -> Iterator[Reason]:
    review = _not_running(rig, accepted)
    number = review.independent(name).number if review else None
    if number and number < wanted:  # at 0 the stopper is what it hangs on with nothing failed
        yield Reason(f"{name} has {number} that does not first run to a stopper")


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
        sets = {name: tuple(cuts) for name, cuts in searched.found.items()}
        complete = searched.complete_to
    for name in names:
        for cut in sets[name]:
            if len(cut) <= wanted and not set(cut) & set(accepted):
                yield Reason(f"{' + '.join(cut)}: {name} falls" if cut else f"{name} falls with nothing failed")
    review = _not_running(rig, accepted)
    running = review.failure_sets(names, wanted, watch) if review else None
    for name, cuts in running.found.items() if running else ():
        fallen = [set(cut) for cut in sets[name]]
        for cut in cuts:
            if cuts != [()] and not any(one <= set(cut) for one in fallen):
                yield Reason(f"{' + '.join(cut)}: {name} first runs to a stopper, how far is not told")
    complete = min(complete, running.complete_to if running else complete)
    if complete < wanted:
        words = f"not fully checked: the search was stopped, it is complete to {complete} together"
        yield Reason(words, open=True)


def hands_off(rig: Rig, outcome: Outcome, names: Sequence[str]) -> Iterator[Reason]:
    for name in outcome.hands_off_falls:
        if name in names:
            yield Reason(f"{name} falls when every hand lets go")
    running, stoppers = hands_off_on_stoppers(rig, outcome)
    for name in running:
        if name in names:
            yield Reason(f"{name} runs to {listed(stoppers)} when every hand lets go")


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
        if rig.parts[name].ends is None:
            words = f"{name} has no two ends; give it points named head… and foot…, or `ends a, b | c, d`"
            yield Reason(f"not checked: {words}", open=True)
        elif body.tips or not body.held:
            yield Reason(f"{name} {'tips' if body.tips else 'falls'} with nothing failed")
        elif wanted > 2:
            yield Reason(f"not checked: tipping is searched for up to 2 failures, not {wanted}", open=True)
        else:
            failures = [f for f in rig.failures if f.id not in accepted]
            for bad in tipping_sets(rig, name, failures, wanted):
                yield Reason(f"{' + '.join(bad)}: {name} tips or falls")


def _some(names: list[str]) -> str:
    if len(names) == 1:
        return f"{names[0]} alone"
    if len(names) == 2:
        return f"either of {names[0]} and {names[1]}"
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"any one of {len(names)} ({', '.join(names[:3])}{more})"
