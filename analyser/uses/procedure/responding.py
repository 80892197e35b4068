"""What to do if a single part fails in a state: who is still held, by what, and who has the load.

Failures that do the same to everybody are told together, and states in which everything is alike
share one table.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.fates import loud
from analyser.checking.finding import listed, verb
from analyser.checking.results import Result, State
from analyser.checking.sentences import either
from analyser.uses.procedure.holds import Loss, losses


@dataclass(frozen=True, slots=True)
class Response:
    """Failures with one and the same loss, and what follows from it."""

    failures: tuple[str, ...]
    effect: Loss
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
    groups: dict[Loss, list[str]] = {}
    for failure, loss in losses(state):
        if loss.anything:
            groups.setdefault(loss, []).append(failure)
    answers: dict[str, list[Response]] = {}
    for loss, failures in sorted(groups.items(), key=lambda item: (-len(item[0].left_on_one), item[1])):
        answers.setdefault(answer_to(loss), []).append(Response(tuple(failures), loss, then(loss)))
    return tuple(Answer(do, tuple(answers[do])) for do in DO if do in answers)


def falling(loss: Loss) -> list[str]:
    """What happens to whom, in words: who falls, runs, hangs only from a person, tips, drops first, is
    free to run along a line."""
    return [*(loud(one) for one in loss.what), *(one.text for one in loss.free)]


def losing(loss: Loss) -> list[str]:
    """Who loses one way of being held and has two at least, in words."""
    if not loss.weakened:
        return []
    return [f"{listed(loss.weakened)} {verb(loss.weakened, 'loses', 'lose')} one way of being held"]


def then(loss: Loss) -> tuple[str, ...]:
    """What follows, a sentence each: who falls, tips, is left on one, and by what they are held then."""
    words = falling(loss)
    for left in loss.left:
        if left.legs:
            comma = "," if len(left.legs) > 1 else ""
            words.append(f"{listed(left.bodies)} {verb(left.bodies, 'hangs', 'hang')} on {left.chain}{comma} alone")
        else:
            words.append(f"{listed(left.bodies)} {verb(left.bodies, 'is', 'are')} not held if {either(left.next)} too")
        words += [f"{one.person} has the load on {one.device}" for one in left.devices]
    return tuple(words + losing(loss))


DO = (
    "Somebody is not held: the rescue plan begins.",
    "Something tips: steady it, look to whoever lies in it. Open nothing.",
    "Somebody drops before they are held: stand clear, look to them and to what caught them. Open nothing.",
    "Somebody is free to run along a line: hold who can be reached, stand clear of the line. Open nothing. They get a "
    "second line before anything goes on.",
    "Somebody is left on one: open nothing. They get another attachment, or firm ground, before anything goes on.",
    "A way of being held is lost, two at least are left: mend it before the next step.",
)
"""What those who stand by do, the gravest loss first: common practice, no source."""


def answer_to(loss: Loss) -> str:
    """What those who stand by do after a failure: common practice, no source."""
    drops = any(not one.fate.not_held for one in loss.what)
    grave = (loss.falls, loss.tips, drops, loss.free, loss.left)
    return DO[next((k for k, so in enumerate(grave) if so), len(grave))]
