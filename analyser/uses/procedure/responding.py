"""What to do if a single part fails in a state: who is still held, by what, and who has the load.

Failures that do the same to everybody are told together, and states in which everything is alike
share one table.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.finding import listed, verb
from analyser.checking.results import Result, State
from analyser.uses.procedure.holds import Effect, effects


@dataclass(frozen=True, slots=True)
class Response:
    """Failures with one and the same effect, and what follows from it."""

    failures: tuple[str, ...]
    effect: Effect
    then: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What those who stand by do, and the responses for which they do it: common practice, no source."""

    do: str
    responses: tuple[Response, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """The answers of one or more states that are alike in this, the gravest first. After any single
    failure that is not in it everybody is held as before."""

    number: int
    states: tuple[int, ...]
    answers: tuple[Answer, ...]


def tables(result: Result) -> tuple[Table, ...]:
    """The tables in order of the first state of each."""
    found: dict[tuple[Answer, ...], list[int]] = {}
    last: tuple[Answer, ...] = ()
    for state, before in zip(result.states, (None, *result.states), strict=False):
        if before is None or before.outcome is not state.outcome:
            last = _answers(state)
        found.setdefault(last, []).append(state.number)
    return tuple(Table(number, tuple(states), answers) for number, (answers, states) in enumerate(found.items(), 1))


def _answers(state: State) -> tuple[Answer, ...]:
    groups: dict[Effect, list[str]] = {}
    for failure, effect in effects(state):
        if effect.anything:
            groups.setdefault(effect, []).append(failure)
    answers: dict[str, list[Response]] = {}
    for effect, failures in sorted(groups.items(), key=lambda item: (-len(item[0].left_on_one), item[1])):
        answers.setdefault(_do(effect), []).append(Response(tuple(failures), effect, then(effect)))
    return tuple(Answer(do, tuple(answers[do])) for do in DO if do in answers)


def falling(effect: Effect) -> list[str]:
    """Who falls, hangs only from a person, or tips, in words."""
    words = []
    hand = [name for name in effect.falls if name in effect.only_by_person]
    plain = [name for name in effect.falls if name not in hand]
    if plain:
        words.append(f"{listed(plain)} {verb(plain, 'FALLS', 'FALL')}")
    if hand:
        words.append(f"{listed(hand)} {verb(hand, 'FALLS, or hangs', 'FALL, or hang')} only from a person")
    if effect.tips:
        words.append(f"{listed(effect.tips)} {verb(effect.tips, 'TIPS', 'TIP')}")
    return words


def losing(effect: Effect) -> list[str]:
    """Who loses one way of being held and has two at least, in words."""
    if not effect.weakened:
        return []
    return [f"{listed(effect.weakened)} {verb(effect.weakened, 'loses', 'lose')} one way of being held"]


def then(effect: Effect) -> tuple[str, ...]:
    """What follows, a sentence each: who falls, tips, is left on one, and by what they are held then."""
    words = falling(effect)
    for left in effect.left:
        if left.on:
            words.append(f"{listed(left.bodies)} {verb(left.bodies, 'hangs', 'hang')} on {' – '.join(left.on)} alone")
        else:
            words.append(f"{listed(left.bodies)} {verb(left.bodies, 'falls', 'fall')} if {' or '.join(left.next)} too")
        words += [f"{one.person} has the load on {one.device}" for one in left.devices]
    return tuple(words + losing(effect))


DO = (
    "Somebody falls: the rescue plan begins.",
    "Something tips: steady it, look to whoever lies in it. Open nothing.",
    "Somebody is left on one: open nothing. They get another attachment, or firm ground, before anything goes on.",
    "A way of being held is lost, two at least are left: mend it before the next step.",
)
"""What those who stand by do, the gravest effect first: common practice, no source."""


def _do(effect: Effect) -> str:
    return DO[0 if effect.falls else 1 if effect.tips else 2 if effect.left else 3]
