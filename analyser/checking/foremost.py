"""What is worst in a result, and the sentence that every page of it begins and ends with."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from analyser.checking.consequences import shaken, shaken_already
from analyser.checking.fates import Together, already, briefly, ending, happens_to, in_words, together
from analyser.checking.finding import Finding
from analyser.checking.free_along import Free, free_already, freed
from analyser.checking.hanging_from import holder
from analyser.checking.judging import Judged
from analyser.checking.requirements import CHECKS
from analyser.checking.results import Result, State
from analyser.checking.sentences import counted, do_in_few
from analyser.checking.shaking import Shaking, people_first, worst_shaking
from analyser.holding.fate import Kind
from analyser.holding.outcome import FailureOutcome, Outcome
from analyser.language.identities import FailureId, spoken
from analyser.rig.model import Nature


@dataclass(frozen=True, slots=True)
class Drop:
    """Who falls in a state: with nothing failed, where `failure` is None, else after it alone. `others` counts
    the further single failures that drop all of these, `alike`: each of them in the same way; `accepted`: the file
    accepts this one, and the rest."""

    state: State
    names: tuple[str, ...]
    what: tuple[Together, ...]
    failure: FailureId | None
    others: int = 0
    alike: bool = True
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
            (0, 0, *people_first(rig, fallen), state.number, 0),
            lambda: Drop(state, fallen, _standing(outcome, fallen), None),
        )
    accepted = {str(one.failure) for one in rig.accepted}
    for number, failure in enumerate(sorted(outcome.failures, key=lambda one: one.mode == "is cut")):
        names = tuple(name for name in failure.falls if name not in fallen)
        if names:
            taken = failure.id in accepted
            rank = (1, int(taken), *people_first(rig, names), state.number, number)
            yield rank, partial(_by_failure, state, names, failure, accepted)


def _by_failure(state: State, names: tuple[str, ...], failure: FailureOutcome, accepted: set[str]) -> Drop:
    taken, fates = failure.id in accepted, failure.fated
    others = [
        one
        for one in state.outcome.failures
        if one.id != failure.id and (taken or one.id not in accepted) and set(one.falls).issuperset(names)
    ]
    alike = all(one.fate(name) == fates[name] for one in others for name in names)
    return Drop(state, names, together((n, fates[n]) for n in names), failure.id, len(others), alike, taken)


def worst_state(result: Result) -> State:
    """The state to look at first: where somebody falls worst, if the plan is not met and that is later; else the
    first."""
    drop = None if result.met else foremost(result)
    return drop.state if drop and not drop.accepted else result.states[0]


def worst_place(result: Result) -> tuple[int, int]:
    """That state as `Result.at` takes it: its number, and which within its step."""
    worst = worst_state(result)
    within = [one.within for one in result.states[worst.number].meanwhile]
    return worst.number, within.index(worst.within) + 1 if worst.within else 0


def on_one(result: Result) -> tuple[str, ...]:
    """Who is not held any more after some single failure that the file does not accept, in any state: people first,
    then in the order of the file."""
    accepted = {str(one.failure) for one in result.rig.accepted}
    found: dict[str, int] = {}
    for state in result.every_state:
        fallen = {body.name for body in state.outcome.bodies if not body.held}
        names = {name for one in state.outcome.failures if one.id not in accepted for name in one.falls}
        for body in state.rig.bodies:
            if body.name in names and body.name not in fallen:
                found.setdefault(body.name, int(body.nature is not Nature.PERSON))
    return tuple(sorted(found, key=lambda name: found[name]))


def _standing(outcome: Outcome, names: tuple[str, ...]) -> tuple[Together, ...]:
    return together((name, outcome.body(name).fate) for name in names)


# -- the sentence


def verdict_line(result: Result) -> str:
    """The verdict in a line, never bare: who hangs on one, and what drops them; then on what that rests.

    `NOT MET: sam hangs on ONE: falls when sam-crab fails, or any one of 3 more; 2 dangers more (2 of 4
    requirements broken; on connections only; 3 accepted, 0 assumed)`.
    """
    return f"{verdict_head(result)} ({verdict_rest(result)})"


TOLD_AS_WORST = ("free-to-run", "step-drops")
"""Rules whose dangers the worst that happens tells already."""
ONLY_BY_A_PERSON, OPENED = "only-by-person", "detached-while-needed"
TOLD_AS_FALLING = ("not-held", ONLY_BY_A_PERSON, "single-point", OPENED)
"""Rules that tell who is not held, or would not be after one failure: the words for it tell that already."""
WHY_FROM_A_PERSON = "person-as-anchor"
"""That tells why somebody is held only by a person, where that is told."""


def verdict_head(result: Result, *, told_below: bool = False) -> str:
    """What a reader needs first: is it met, who hangs on one, on what; `told_below`: on what follows by itself."""
    worst = worst_words(result, told_below=told_below)
    if not result.met:
        rules = [one.rule for one in result.open_dangers]
        told = {*TOLD_AS_FALLING, *([WHY_FROM_A_PERSON] if ONLY_BY_A_PERSON in rules else [])}
        beside = sum(rule not in told for rule in rules)
        more = f"; {counted(beside, 'danger')} more" if beside else ""
        return f"NOT MET: {worst}{more}"
    dangers = f", {counted(result.dangers, 'danger')} to look at" if result.dangers else ""
    first = next((one for one in result.open_dangers if one.rule not in TOLD_AS_WORST), None)
    looked_at = f"{_first_so(result, first)}{first.text}; " if first else ""
    return f"met{dangers}: {looked_at}{worst}"


def _first_so(result: Result, danger: Finding) -> str:
    """After which step a danger is first told, to stand before it; empty as first attached."""
    told = (one for one in result.states if any(each.text == danger.text for each in one.findings))
    return next((f"{_at(state)} ".lstrip() for state in told), "")


def verdict_rest(result: Result) -> str:
    """On what the verdict rests: how many requirements, connections or forces, accepted risks, assumptions."""
    every, no, open_ = len(result.requirements), len(broken(result)), len(unchecked(result))
    told = [f"{no} of {every} requirements broken"] if no else []
    told += [f"{open_} not fully checked" if no else f"{open_} of {every} requirements not fully checked"] * bool(open_)
    idle = sum(bool(one.met and one.of_nobody) for one in result.requirements)
    told = told or [f"{every} of {every} requirements met" + (f", {idle} of them of nobody" if idle else "")]
    return f"{', '.join(told)}; on {result.on}; {result.accepted} accepted, {result.assumed} assumed"


def verdict_count(result: Result) -> str:
    """`met 4 of 4`, `NOT MET 2 of 4 (1 not fully checked)`."""
    every, no, open_ = len(result.requirements), len(broken(result)), len(unchecked(result))
    if result.met:
        return f"met {every} of {every}"
    if not no:
        return f"NOT MET ({open_} of {every} not fully checked)"
    return f"NOT MET {no} of {every}" + (f" ({open_} not fully checked)" if open_ else "")


def worst_words(result: Result, *, told_below: bool = False) -> str:
    """What is worst, in a sentence that names who and what: who falls, where a requirement asks for that, or
    nothing else is broken; else why the first requirement is broken, or not checked, and who hangs on one behind it."""
    drop = foremost(result)
    wrong = broken(result)
    falls = ""
    if drop and not drop.accepted:
        sooner = _sooner(result, drop) if drop.failure is None else None
        falls = _falls(drop, on_one(result), sooner, told_below=told_below)
    if falls and any(map(about_holding, wrong)):
        told = () if drop is None or drop.failure is not None else drop.names
        return "; ".join((falls, *_already_shaken(result, told)))
    because = wrong or (() if result.met else unchecked(result))
    if because:
        return "; ".join(filter(None, (_because(because[0]), falls)))
    if drop is None:
        return _nobody(result)
    return falls or f"accepted that {_dropped(drop)}{_at(drop.state)}; {_otherwise(result)}"


def _because(judged: Judged) -> str:
    return f"{judged.requirement.text}: {judged.because[0]}" if judged.because else judged.requirement.text


def _nobody(result: Result) -> str:
    if not any(state.outcome.bodies for state in result.states):
        return "nobody and nothing has to be held"
    first, after, loud = _shaken(result)
    ends = "everybody is held in the end, after any single failure in the file"
    if after and loud:
        return "; ".join((*first, after, ends))
    held = "everybody is held after any single failure in the file"
    return "; ".join((*first, held, *([after] if after else [])))


def _otherwise(result: Result) -> str:
    """What happens after the single failures that are not accepted, where those drop nobody."""
    first, after, loud = _shaken(result, {one.failure for one in result.rig.accepted})
    ends = "after any other everybody is held"
    if after and loud:
        return "; ".join((*first, after, f"{ends} in the end"))
    return "; ".join((*first, ends, *([after] if after else [])))


def _shaken(result: Result, accepted: Collection[str] = ()) -> tuple[tuple[str, ...], str, bool]:
    """Who tips or drops and is held all the same: with nothing failed, and after single failures but for those; is
    it more than a drop of which nobody told how far?"""
    those = shaken((state.outcome for state in result.every_state), accepted)
    worst = worst_shaking(result, accepted)
    told = [] if worst is None else [shaken_when(worst)]
    more = [one for one in (_without(each, worst.what.bodies) for each in those) if one.bodies] if worst else []
    told += [briefly(more)] if more else []
    running = {one.bodies for _, one in _running(result)}
    free = dict.fromkeys(
        one.text
        for state in result.every_state
        for one, failures in freed(state.rig, state.outcome).items()
        if one.sure and one.bodies not in running and not set(failures).issubset(accepted)
    )
    loud = bool(free) or (worst is not None and worst.what.loud)
    return _already_shaken(result), "; ".join((*told, *free)), loud


def _without(one: Together, names: Collection[str]) -> Together:
    return Together(one.fate, tuple(name for name in one.bodies if name not in names))


def shaken_when(one: Shaking) -> str:
    """`sam drops 5.1 m when near fails, or less after any one of 3 more`, in its state."""
    when, more = spoken(one.failures[0]), len(one.failures) - 1
    at, many = _at(one.state), _any_of(more)
    if one.drop is None:
        comma = "," if ending(one.what.fate) or not one.what.loud else ""
        return f"{briefly((one.what,))}{comma}{at} when {when}{f', or {many}' if more else ''}"
    return f"{briefly((one.what,))}{at} when {when}{f', or less after {many}' if more else ''}"


def _any_of(more: int) -> str:
    return f"any one of {more} more" if more > 1 else "one more"


def _already_shaken(result: Result, told: Collection[str] = ()) -> tuple[str, ...]:
    """Who tips or drops with nothing failed and is held all the same, but for those of whom worse is told; and after
    which step, where it is not so from the first."""
    every = shaken_already(state.outcome for state in result.every_state)
    since: dict[str, list[Together]] = {}
    for one in every:
        for name in one.bodies:
            if name not in told:
                since.setdefault(_since(result, name, one.fate.kind), []).append(Together(one.fate, (name,)))
    some = {at: together((name, one.fate) for one in mine for name in one.bodies) for at, mine in since.items()}
    left = [f"{briefly(mine)}{at}" for at, mine in sorted(some.items(), key=lambda item: bool(item[0]))]
    left += _free_already(result)
    return (f"with nothing failed {'; '.join(left)}",) if left else ()


def _free_already(result: Result) -> Iterator[str]:
    """Who runs along a line with nothing failed, each told once, in the first state in which it is so."""
    known: set[str] = set()
    for state, one in _running(result):
        if known.isdisjoint(one.bodies):
            known.update(one.bodies)
            yield f"{one.text}{_at(state)}"


def _running(result: Result) -> Iterator[tuple[State, Free]]:
    """Who runs along a line with nothing failed, and in which states."""
    every = ((state, one) for state in result.every_state for one in free_already(state.rig, state.outcome))
    return ((state, one) for state, one in every if one.sure)


def _since(result: Result, name: str, kind: Kind) -> str:
    """In which state this happens to a body first; empty as first attached."""
    own = ((state, body) for state in result.every_state for body in state.outcome.bodies if body.name == name)
    first = next(state for state, body in own if body.fate.kind is kind)
    return f" {first.at_step}" if first.step else ""


def _at(state: State, *, told_below: bool = False) -> str:
    """In which state, by its step; its line for who has the file before them, not on paper."""
    if not state.step:
        return ""
    line = "" if told_below else f" (line {state.line})"
    return f" {state.at_step}{line}" + (f", {state.when}" if state.when and not told_below else "")


def _sooner(result: Result, drop: Drop) -> State | None:
    """The first step after which those who are not held with nothing failed all hang on one, before they do worse."""
    firsts: dict[str, State] = {}
    accepted = {str(one.failure) for one in result.rig.accepted}
    for state in result.held_otherwise:
        alone = {name for one in state.outcome.failures if one.id not in accepted for name in one.falls}
        for name in alone.intersection(drop.names):
            firsts.setdefault(name, state)
    first = firsts.get(drop.names[0])
    if first is None or not first.step or first.when or first.number >= drop.state.number:
        return None
    return first if len(firsts) == len(drop.names) and all(one is first for one in firsts.values()) else None


def _falls(drop: Drop, hanging: Sequence[str], sooner: State | None, *, told_below: bool) -> str:
    """Who is not held, or who hangs on one, and, where that does not follow by itself, what drops them."""
    if drop.failure is None:
        others = [name for name in hanging if name not in drop.names]
        also = f"; {_hangs(others)}" if others else ""
        at = _at(drop.state, told_below=told_below) or " as rigged"
        already_on_one = f"; on ONE already {sooner.at_step}" if sooner else ""
        return f"{already(drop.what, partial(holder, drop.state.rig), at)}{already_on_one}{also}"
    known = len(drop.what) == 1 and set(hanging) == set(drop.names)
    hangs = _hangs(hanging)
    if told_below:
        return f"{hangs}{_at(drop.state, told_below=True)}" if known else hangs
    at = _at(drop.state)
    if known:
        return f"{hangs}{at}: {_dropped(drop, named=False)}"
    return f"{hangs}: {f'{at[1:]}, ' if at else ''}{_dropped(drop)}"


def _hangs(names: Sequence[str]) -> str:
    """The one wording for who is held, and would not be after one failure."""
    return f"{do_in_few(names, 'hangs', 'hang')} on ONE{' each' if len(names) > 1 else ''}"


def _dropped(drop: Drop, *, named: bool = True) -> str:
    """`sam falls when sam-crab fails, or any one of 4 more`; without the name where it is told before."""
    many = _any_of(drop.others)
    or_else = f", or {many}" if drop.others and drop.alike else ""
    also = f"; not held after {many}" if drop.others and not drop.alike else ""
    comma = "," if any(ending(one.fate) for one in drop.what) else ""
    does = in_words(drop.what) if named else happens_to(drop.what[0])
    return f"{does}{comma} when {spoken(drop.failure or '')}{or_else}{also}"
