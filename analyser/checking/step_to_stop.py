"""The step to stop before: which it is, what it breaks, and what is taken off from there on. Plain data."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.checking.foremost import broken
from analyser.checking.opened import ON_A_DEVICE
from analyser.checking.results import Result, State
from analyser.rig.model import Rig

UNDONE = ("detach", *ON_A_DEVICE)


@dataclass(frozen=True, slots=True)
class At:
    """After which step it is so: its number (`2.1`), its words and its line; `during`: not after, but within it;
    `undone`: what it does can be undone: it takes something off, or opens it."""

    number: str
    words: str
    line: int
    during: bool = False
    undone: bool = False
    state: int = 0
    """The number of the state that it leads to."""


@dataclass(frozen=True, slots=True)
class Off:
    """What one step takes off, and off what, with the step's number; `where` is empty where that is all that it
    touches."""

    what: tuple[str, ...]
    where: tuple[str, ...]
    step: str
    on_again: str = ""
    """The step that puts it on something again so that nothing is broken, where one does."""
    opened: bool = False
    """Is it not taken off, but opened?"""


@dataclass(frozen=True, slots=True)
class Breaks:
    """The first step after which what is `asked` is not met that was before, in the words of the file; what is taken
    off by it and until the last that does so."""

    at: At
    asked: tuple[str, ...]
    taken_off: tuple[Off, ...]


def breaks_at(result: Result) -> Breaks | None:
    """The first step that breaks what was met as first attached; None where something is broken then already."""
    if result.of_a_state:  # there is no before
        return None
    states = {one.requirement.text: one.states for one in broken(result) if one.states}
    firsts = {text: min(several) for text, several in states.items()}
    first = min(firsts.values(), default=0)
    at = at_step(result, result.states[first]) if first else None
    if at is None:
        return None
    last = max(number for several in states.values() for number in several)
    asked = tuple(text for text, number in firsts.items() if number == first)
    return Breaks(at, asked, tuple(taken_off(result, first, last)))


def taken_off(result: Result, first: int, last: int) -> Iterator[Off]:
    """What the steps take off, or open, that lead to the states from one to another."""
    steps = [step.line for stage in result.rig.stages for step in stage.steps]  # that to state 1 is the first
    for number in range(first, last + 1):
        state = result.states[number]
        if state.verb in UNDONE:
            told = steps[state.number - 1]
            what, where = (tuple(word.text for word in several) for several in (told.names, told.others))
            opened = state.verb in ON_A_DEVICE
            yield Off(what, where, state.numbered, "" if opened else _on_again(result, what, number), opened)


def _on_again(result: Result, what: tuple[str, ...], number: int) -> str:
    """The first step after one that takes something off, after which it touches as much as before and nothing is
    broken."""
    broken_in = {*result.broken_states}
    before = {name: _held_by(result.states[number - 1].rig, name) for name in what}
    for state in result.states[number + 1 :]:
        if state.number not in broken_in and all(_held_by(state.rig, name) >= count for name, count in before.items()):
            return state.numbered
    return ""


def _held_by(rig: Rig, name: str) -> int:
    """How much a part touches, and on how many places of ropes it is."""
    return len(rig.touching.get(name, ())) + sum(one.part == name for rope in rig.ropes for one in rope.stations)


def at_step(result: Result, state: State) -> At | None:
    if state.step is None or result.of_a_state:  # of one state alone there is no before
        return None
    return At(state.numbered, state.step, state.line, bool(state.when), state.verb in UNDONE, state.number)
