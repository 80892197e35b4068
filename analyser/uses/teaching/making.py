"""Questions made from a result, each with its answer. Which are asked depends on the rig and the seed alone.

First come failures that one can follow with a finger on the drawing, then what needs a second look: single
points to find, pairs, states between two steps, hands off, what would mend it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import combinations

from analyser.checking.calling import At
from analyser.checking.finding import listed
from analyser.checking.held_by import way_in_words
from analyser.checking.results import Result, State
from analyser.checking.scenario import After, after_failures
from analyser.holding.outcome import FailureOutcome, after_each, assess
from analyser.rig.model import Effects, Rig
from analyser.rig.plan import Plan
from analyser.uses.teaching.mends import mend_questions
from analyser.uses.teaching.question import Asks, Drill, Kind, Question, Told
from analyser.uses.teaching.telling import ALL_WAYS, after_failures_told, bodies_told, names_on, spoken

SEED = 1
"""The seed where none is given: a class that says nothing gets the same questions."""
USUAL = 8
TURNS = (
    *("as it stands", "falls", "critical", "tips", "nobody", "pair", "by what", "in between", "hands off"),
    *("mend", "falls", "harmless pair", "critical", "in between", "pair"),
)
"""In which order the sorts of question are taken until there are enough; then from the first again."""
PAIRS_TRIED = 120
LEVELS = list(Kind)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A question that could be made. `about` is what it is about: one drill does not ask twice after it."""

    key: str
    about: tuple[object, ...]
    make: Callable[[], Question | None]


def drill(result: Result, file: str, seed: int = SEED, wished: int = USUAL) -> Drill:
    """Up to `wished` questions of a result, easy ones first; the same seed gives the same questions."""
    sorts = {name: _shuffled(make(result), seed) for name, make in SORTS.items()}
    chosen: list[Question] = []
    asked: set[tuple[object, ...]] = set()
    turns = list(TURNS)
    while len(chosen) < wished and any(sorts.values()):
        sort = turns.pop(0)
        turns = turns or list(TURNS)
        made = _next(sorts[sort], asked)
        if made:
            chosen.append(made)
    chosen.sort(key=lambda one: LEVELS.index(one.kind))  # a stable sort: within a kind as they were chosen
    return Drill(result, file, seed, wished, tuple(chosen))


def _shuffled(candidates: Iterable[_Candidate], seed: int) -> list[_Candidate]:
    """In an order that depends on the seed and the question alone, whatever Python or machine."""
    return sorted(candidates, key=lambda one: sha256(f"{seed} {one.key}".encode()).digest())


def _next(candidates: list[_Candidate], asked: set[tuple[object, ...]]) -> Question | None:
    """The next one that is about something new; taken out of the list."""
    while candidates:
        one = candidates.pop(0)
        if one.about in asked:
            continue
        made = one.make()
        if made:
            asked.add(one.about)
            return made
    return None


# -- who falls


def _held(state: State) -> tuple[str, ...]:
    """Who is held with nothing failed: of the others one asks nothing more."""
    return tuple(body.name for body in state.outcome.bodies if body.held)


def _fall(state: State, failure: FailureOutcome) -> tuple[str, ...]:
    """Who is held, and falls after a single failure."""
    held = _held(state)
    return tuple(name for name in failure.falls if name in held)


def _as_it_stands(result: Result) -> Iterator[_Candidate]:
    for state in result.states:
        before = result.states[state.number - 1] if state.number else None
        loose = tuple(body.name for body in state.outcome.bodies if not body.held)
        same = before is not None and loose == tuple(body.name for body in before.outcome.bodies if not body.held)
        if loose and not same:

            def make(state: State = state, loose: tuple[str, ...] = loose) -> Question:
                why = bodies_told(state.rig, state.outcome, state.outcome, ())
                return _who(Kind.AS_IT_STANDS, state, "Nothing has failed. Who is not held?", loose, why)

            yield _Candidate(f"stands {state.number}", ("stands", state.number), make)


def _falls(result: Result) -> Iterator[_Candidate]:
    state = result.states[0]
    for failure in state.outcome.failures:
        falls = _fall(state, failure)
        if falls:
            about = ("alone", falls, failure.id.owner)
            yield _Candidate(f"alone {failure.id}", about, _after(Kind.ALONE, state, [failure.id]))


def _nobody(result: Result) -> Iterator[_Candidate]:
    state = result.states[0]
    counts = {name for cuts in state.outcome.failure_sets.values() for cut in cuts for name in cut}
    quiet = [failure for failure in state.outcome.failures if _held(state) and not _fall(state, failure)]
    for failure in [one for one in quiet if one.id in counts] or quiet:  # first what others hang on as well
        yield _Candidate(
            f"alone {failure.id}", ("alone", (), failure.id.owner), _after(Kind.ALONE, state, [failure.id])
        )


def _pair(result: Result) -> Iterator[_Candidate]:
    state = result.states[0]
    pairs = {cut for cuts in state.outcome.failure_sets.values() for cut in cuts if len(cut) == 2}
    for pair in sorted(pairs):
        about = ("pair", frozenset(state.rig.index.failures[one].id.owner for one in pair))
        yield _Candidate(f"pair {pair}", about, _after(Kind.PAIR, state, pair))


def _harmless_pair(result: Result) -> Iterator[_Candidate]:
    """Two failures that each help to drop somebody, and together drop nobody."""
    state = result.states[0]
    held = _held(state)
    cuts = {cut for sets in state.outcome.failure_sets.values() for cut in sets}
    names = sorted({name for cut in cuts if len(cut) == 2 for name in cut})
    pairs = [pair for pair in combinations(names, 2) if not any(set(cut) <= set(pair) for cut in cuts)]
    pairs = sorted(pairs, key=lambda pair: sha256(" ".join(pair).encode()).digest())[:PAIRS_TRIED]
    known = state.rig.index.failures
    effects = [Effects.joint(known[one].effects for one in pair) for pair in pairs]
    for pair, scenario in zip(pairs, after_each(state.rig, effects), strict=True):
        if held and not set(scenario.falls) & set(held):
            about = ("pair", frozenset(known[one].id.owner for one in pair))
            yield _Candidate(f"harmless {pair}", about, _after(Kind.PAIR, state, pair))


def _in_between(result: Result) -> Iterator[_Candidate]:
    """In states after a step: what drops somebody there, and did not in the state before."""
    new: list[_Candidate] = []
    old: list[_Candidate] = []
    for before, state in zip(result.states, result.states[1:], strict=False):
        was = {failure.id: failure.falls for failure in before.outcome.failures}
        for failure in state.outcome.failures:
            fresh = set(_fall(state, failure)) - set(was.get(failure.id, ()))
            about = ("between", state.number)
            one = _Candidate(
                f"between {state.number} {failure.id}", about, _after(Kind.IN_BETWEEN, state, [failure.id])
            )
            if fresh:
                new.append(one)
            elif _matters(state, failure):
                old.append(one)
    yield from new or old


def _matters(state: State, failure: FailureOutcome) -> bool:
    return any(failure.id in cut for cuts in state.outcome.failure_sets.values() for cut in cuts)


def _hands_off(result: Result) -> Iterator[_Candidate]:
    """Every hand off at once: as first attached, and in states in which that does something else."""
    answer: tuple[str, ...] | None = None
    for state in result.states:
        falls = tuple(name for name in state.outcome.hands_off_falls if name in _held(state))
        hands = [failure.id for failure in state.rig.failures if failure.mode == "lets go"]
        if not _held(state) or not (hands or falls) or falls == answer:
            continue
        answer = falls

        def make(state: State = state, falls: tuple[str, ...] = falls, hands: Sequence[str] = hands) -> Question:
            after = assess(state.rig, 2, state.rig.hands_off)
            why = bodies_told(state.rig, state.outcome, after, hands)
            text = f"Everybody takes their hands off at once. {_asked(state)}"
            return _who(Kind.HANDS_OFF, state, text, falls, why)

        yield _Candidate(f"hands {state.number}", ("hands", state.number), make)


def _asked(state: State) -> str:
    return (
        "Who is not held?"
        if all(body.held for body in state.outcome.bodies)
        else "Who was held before, and is not held?"
    )


def _after(kind: Kind, state: State, ids: Sequence[str]) -> Callable[[], Question]:
    def make() -> Question:
        after = _what_if(state.rig, ids)
        said = "; ".join(spoken(state.rig, one) for one in ids)
        why = after_failures_told(state.rig, state.outcome, after)
        falls = tuple(name for name in after.falls if name in _held(state))
        return _who(kind, state, f"{'Both at once: ' if len(ids) > 1 else ''}{said}. {_asked(state)}", falls, why, ids)

    return make


def _who(
    kind: Kind, state: State, text: str, falls: Sequence[str], why: Sequence[Told], failures: Sequence[str] = ()
) -> Question:
    rig = state.rig
    names = tuple(body.name for body in rig.bodies)
    if kind is not Kind.AS_IT_STANDS:
        names = _held(state)
    parts = [rig.index.failures[one].id.owner for one in failures]
    hint = {
        Kind.AS_IT_STANDS: "follow each line up to the ground; people, and bare hands, do not count as ground",
        Kind.HANDS_OFF: "a device that is not self-locking runs when its hand is gone; bare hands hold nothing",
    }.get(kind, f"take {listed(parts)} out of the drawing, and look which lines still lead to the ground")
    return _question(kind, Asks.ALL, state, _at(state, text), tuple(falls), names, why, hint, failures=tuple(failures))


def _at(state: State, text: str) -> str:
    """A question, with the state where it is not the first one."""
    if not state.number:
        return text
    return f"In “{state.stage}”, after the step “{state.step}” (state {state.number}). {text}"


def _question(
    kind: Kind,
    asks: Asks,
    state: State,
    text: str,
    right: tuple[str, ...],
    names: tuple[str, ...],
    why: Sequence[Told],
    hint: str,
    *,
    failures: tuple[str, ...] = (),
    body: str | None = None,
    ways: tuple[tuple[str, ...], ...] = (),
) -> Question:
    return Question(
        kind=kind,
        asks=asks,
        text=text,
        rig=state.rig,
        state=state.number,
        right=right,
        names=names,
        why=tuple(why),
        hint=hint,
        failures=failures,
        body=body,
        stage=state.stage,
        step=state.step,
        line=state.line,
        ways=ways,
    )


def _tips(result: Result) -> Iterator[_Candidate]:
    """A failure after which a body with two ends hangs from one of them, or doesn't."""
    state = result.states[0]
    ended = tuple(body.name for body in state.rig.bodies if body.ends)
    level = {name for name in ended if not state.outcome.body(name).tips}
    for failure in state.outcome.failures if level == set(ended) and ended else ():
        if not failure.falls and (failure.tips or _matters(state, failure)):

            def make(failure: FailureOutcome = failure) -> Question:
                after = _what_if(state.rig, [failure.id])
                tips = tuple(sorted(body.name for body in after.outcome.bodies if body.tips))
                why = after_failures_told(state.rig, state.outcome, after)
                text = f"{spoken(state.rig, failure.id)}. What tips?"
                hint = "a litter that is held at one end only tips"
                return _question(Kind.TIPS, Asks.ALL, state, text, tips, ended, why, hint, failures=(failure.id,))

            about = ("tips", failure.tips, failure.id.owner)
            yield _Candidate(f"tips {failure.id}", about, make)


# -- by what, and which point


def _by_what(result: Result) -> Iterator[_Candidate]:
    """After a failure that drops not everybody: by what is one of those still held?"""
    state = result.states[0]
    for failure in state.outcome.failures:
        for body in state.outcome.bodies:
            if not body.held or body.name in failure.falls or not _matters_to(state, failure, body.name):
                continue

            def make(failure: FailureOutcome = failure, body: str = body.name) -> Question | None:
                return _held_by(state, failure.id, body)

            yield _Candidate(f"by what {failure.id} {body.name}", ("by what", failure.id.owner), make)


def _matters_to(state: State, failure: FailureOutcome, body: str) -> bool:
    return any(failure.id in cut for cut in state.outcome.failure_sets[body])


def _held_by(state: State, failure: str, body: str) -> Question | None:
    rig = state.rig
    after = _what_if(rig, [failure])
    if body in after.falls:  # under the load that is left
        return None
    ways, complete = after.outcome.review.ways(body, ALL_WAYS)
    named = tuple(dict.fromkeys(names for way in ways if (names := names_on(rig, body, way))))
    if not complete or not named:
        return None
    best = after.outcome.body(body).ways
    right = tuple(way_in_words(rig, body, way) for way in best)
    names = tuple(name for name in rig.index.names if name != body)
    text = f"{spoken(rig, failure)}, and {body} is still held. By what? Name one part on the way, or several."
    why = after_failures_told(rig, state.outcome, after)
    hint = f"start at {body} and go up, and stay off {rig.index.failures[failure].id.owner}"
    return _question(
        *(Kind.BY_WHAT, Asks.WAY, state, text, right, names, why, hint), failures=(failure,), body=body, ways=named
    )


def _critical(result: Result) -> Iterator[_Candidate]:
    """Which single failure drops a body: in the first state, and where the answer changes."""
    answers: dict[str, tuple[str, ...]] = {}
    for state in result.states:
        for body in state.outcome.bodies:
            if not body.held:
                continue
            singles = tuple(cut[0] for cut in state.outcome.failure_sets[body.name] if len(cut) == 1)
            if answers.get(body.name) == singles:
                continue
            answers[body.name] = singles

            def make(state: State = state, body: str = body.name, singles: tuple[str, ...] = singles) -> Question:
                return _find(state, body, singles)

            yield _Candidate(f"critical {state.number} {body.name}", ("critical", body.name, bool(singles)), make)


def _find(state: State, body: str, singles: tuple[str, ...]) -> Question:
    rig = state.rig
    names = [*rig.index.names, *rig.index.failures]
    text = f"Which part, failing alone, drops {body}? Name one, or say `none`."
    if singles:
        why = after_failures_told(rig, state.outcome, _what_if(rig, [singles[0]]))
        why = tuple(one for one in why if one.body == body)
    else:
        why = tuple(one for one in bodies_told(rig, state.outcome, state.outcome, ()) if one.body == body)
    hint = f"two lines to {body} that meet in one thing, or run over one thing, are one line there"
    return _question(Kind.CRITICAL, Asks.ONE, state, _at(state, text), singles, tuple(names), why, hint, body=body)


def _mend(result: Result) -> Iterator[_Candidate]:
    for key, body, make in mend_questions(result.states[0], result.rig) if isinstance(result.rig, Plan) else ():
        yield _Candidate(key, ("mend", body), make)


# -- small things


def _what_if(rig: Rig, ids: Sequence[str]) -> After:
    return after_failures(At(rig), [rig.index.failures[one] for one in ids])


SORTS: dict[str, Callable[[Result], Iterator[_Candidate]]] = {
    "as it stands": _as_it_stands,
    "falls": _falls,
    "nobody": _nobody,
    "critical": _critical,
    "tips": _tips,
    "by what": _by_what,
    "pair": _pair,
    "harmless pair": _harmless_pair,
    "in between": _in_between,
    "hands off": _hands_off,
    "mend": _mend,
}
