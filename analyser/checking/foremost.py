"""What is worst in a result, and the sentence that every page of it begins and ends with."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from analyser.checking.consequences import shaken, shaken_already
from analyser.checking.fates import Together, already, briefly, ending, in_words, together
from analyser.checking.free_along import freed
from analyser.checking.judging import Judged
from analyser.checking.requirements import CHECKS
from analyser.checking.results import Result, State
from analyser.checking.sentences import counted
from analyser.holding.outcome import FailureOutcome, Outcome
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class Drop:
    """Who falls in a state: with nothing failed, where `failure` is None, else after it alone. `others` counts
    the single failures that drop somebody of these too; `accepted`: the file accepts this one, and the rest."""

    state: State
    names: tuple[str, ...]
    what: tuple[Together, ...]
    failure: str | None
    others: int = 0
    accepted: bool = False


def broken(result: Result) -> tuple[Judged, ...]:
    """The requirements that are broken, in the order of the file."""
    return tuple(one for one in result.requirements if one.met is False)


def unchecked(result: Result) -> tuple[Judged, ...]:
    """The requirements that were not, or not fully, checked."""
    return tuple(one for one in result.requirements if one.met is None)


def about_holding(judged: Judged) -> bool:
    """Does a requirement ask who is held, rather than for parts or forces?"""
    check = CHECKS[judged.requirement.rule]
    return not (check.of_parts or check.forces)


def foremost(result: Result) -> Drop | None:
    """Who falls worst, over all states: with nothing failed before after one failure, what is accepted last,
    people before others, most of them first, and then the earliest state."""
    drops = [one for state in result.every_state for one in _drops(state)]
    return min(drops, key=lambda one: one[0])[1]() if drops else None


def _drops(state: State) -> Iterator[tuple[tuple[int, ...], Callable[[], Drop]]]:
    """What drops somebody in a state, each with its rank: the lowest is the worst, and only that is made."""
    outcome, rig = state.outcome, state.rig
    fallen = tuple(body.name for body in outcome.bodies if not body.held)
    if fallen:
        yield (
            (0, 0, *_people(rig, fallen), state.number, 0),
            lambda: Drop(state, fallen, _standing(outcome, fallen), None),
        )
    accepted = {str(one.failure) for one in rig.accepted}
    for number, failure in enumerate(sorted(outcome.failures, key=lambda one: one.mode == "is cut")):
        names = tuple(name for name in failure.falls if name not in fallen)
        if names:
            taken = failure.id in accepted
            rank = (1, int(taken), *_people(rig, names), state.number, number)
            yield rank, partial(_by_failure, state, names, failure, accepted)


def _by_failure(state: State, names: tuple[str, ...], failure: FailureOutcome, accepted: set[str]) -> Drop:
    taken, fates = failure.id in accepted, failure.fated
    others = _others(state.outcome, set(names), accepted if not taken else set()) - 1
    return Drop(state, names, together((n, fates[n]) for n in names), failure.id, others, taken)


def _standing(outcome: Outcome, names: tuple[str, ...]) -> tuple[Together, ...]:
    return together((name, outcome.body(name).fate) for name in names)


def _people(rig: Rig, names: tuple[str, ...]) -> tuple[int, int]:
    """Fewer is worse: how many people, then how many bodies, with their signs turned."""
    return -sum(rig.parts[name].nature is Nature.PERSON for name in names), -len(names)


def _others(outcome: Outcome, names: set[str], without: set[str]) -> int:
    """How many single failures drop any of these."""
    return sum(one.id not in without and not names.isdisjoint(one.falls) for one in outcome.failures)


# -- the sentence


def verdict_line(result: Result) -> str:
    """The verdict in a line, never bare: how many requirements, what that rests on, who falls and after what.

    `NOT MET 2 of 4 on connections only, 3 accepted, 0 assumed: sam falls when sam-crab fails, or any one of 3 more`.
    """
    dangers = f", {counted(result.dangers, 'danger')} to look at" if result.dangers and result.met else ""
    resting = f"on {result.on}, {result.accepted} accepted, {result.assumed} assumed"
    return f"{verdict_count(result)} {resting}{dangers}: {worst_words(result)}"


def verdict_count(result: Result) -> str:
    """`met 4 of 4`, `NOT MET 2 of 4 (1 not fully checked)`."""
    every, no, open_ = len(result.requirements), len(broken(result)), len(unchecked(result))
    if result.met:
        return f"met {every} of {every}"
    if not no:
        return f"NOT MET ({open_} of {every} not fully checked)"
    return f"NOT MET {no} of {every}" + (f" ({open_} not fully checked)" if open_ else "")


def worst_words(result: Result) -> str:
    """What is worst, in a sentence that names who and what: who falls, where a requirement asks for that, or
    nothing else is broken; else why the first requirement is broken, or not checked."""
    drop = foremost(result)
    wrong = broken(result)
    falling = drop is not None and not drop.accepted
    if wrong and not (falling and any(map(about_holding, wrong))):
        return _because(wrong[0])
    if not wrong and not result.met and not falling:
        return _because(unchecked(result)[0])
    if drop is None:
        return _nobody(result)
    if drop.accepted:
        return f"accepted that {_falls(drop)}"
    return _falls(drop)


def _because(judged: Judged) -> str:
    return f"{judged.requirement.text}: {judged.because[0]}" if judged.because else judged.requirement.text


def _nobody(result: Result) -> str:
    if not any(state.outcome.bodies for state in result.states):
        return "nobody and nothing has to be held"
    held = "everybody is held after any single failure in the file"
    already_so = shaken_already(state.outcome for state in result.every_state)
    told = [briefly(those)] if (those := shaken(state.outcome for state in result.every_state)) else []
    told += dict.fromkeys(one.text for state in result.every_state for one in freed(state.rig, state.outcome))
    first = [f"with nothing failed {briefly(already_so)}"] if already_so else []
    return "; ".join([held, *first, *([f"after some of them {'; '.join(told)}"] if told else [])])


def _at(state: State) -> str:
    if state.when:
        return f", {state.after}"
    return f" in state {state.number}, {state.after}" if state.step else ""


def _falls(drop: Drop) -> str:
    at = _at(drop.state)
    if drop.failure is None:
        return f"{already(drop.what)}{at}, with nothing failed"
    more = f", or any one of {drop.others} more" if drop.others > 1 else ", or one more" if drop.others else ""
    comma = "," if any(ending(one.fate) for one in drop.what) else ""
    return f"{in_words(drop.what)}{comma} when {drop.failure}{more}{at}"
