"""In which states the work may stop, and the way back from each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyser.checking.judging import speaks_of
from analyser.checking.results import Result, State
from analyser.rig.model import Part, Rig, Role, Step
from analyser.uses.procedure.steps import undone


@dataclass(frozen=True, slots=True)
class Stop:
    """May the work stop in this state? Only where something is asked, every bit of it is met, and no device waits in a
    hand: one that is held open, or one that somebody works and that doesn't lock by itself.

    `broken` and `unchecked` are the requirements, as written, that are broken or not fully checked.
    """

    state: int
    may_stop: bool
    asked: int
    broken: tuple[str, ...]
    unchecked: tuple[str, ...]
    in_hands: tuple[str, ...] = ()
    """Devices that wait in a hand: to be locked off, or let grip, first."""


@dataclass(frozen=True, slots=True)
class Undoing:
    """One step taken back: its number, in words, and by whom where the file says."""

    state: int
    words: str
    by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WayBack:
    """The way to the nearest state before in which the work may stop (`sure`); where there is none, to
    the nearest in which nothing that is asked is known to be broken; or to nowhere (`to` None)."""

    to: int | None
    sure: bool
    undo: tuple[Undoing, ...]
    onward: int | None
    """The next state ahead in which the work may stop."""


def stops(result: Result) -> tuple[Stop, ...]:
    """One for each state."""
    return tuple(_stop(result, state) for state in result.states)


def _stop(result: Result, state: State) -> Stop:
    asked = [one for one in result.requirements if speaks_of(one.requirement, state.stage)]
    broken = tuple(one.requirement.text for one in asked if one.met is False and state.number in one.states)
    unchecked = tuple(one.requirement.text for one in asked if state.number in one.unchecked)
    in_hands = tuple(one.name for one in state.rig.parts.values() if _waits(state.rig, one))
    may = bool(asked) and not broken and not unchecked and not in_hands
    return Stop(state.number, may, len(asked), broken, unchecked, in_hands)


def _waits(rig: Rig, device: Part) -> bool:
    """Does a device wait in a hand? One that somebody works and that doesn't lock by itself does, while it grips a
    rope."""
    grips = (one.station for one in rig.index.at(device.name, Role.GRIP))
    worked = device.in_hand or (device.operated_by and any(one.to_start or one.to_end for one in grips))
    return device.held_open or bool(worked and not device.self_locking)


def way_back(result: Result, steps: Sequence[Step], stop: Sequence[Stop], number: int) -> WayBack:
    """The way back from one state. `steps[k]` makes state k + 1."""
    onward = next((one.state for one in stop[number + 1 :] if one.may_stop), None)
    to = next((k for k in range(number - 1, -1, -1) if stop[k].may_stop), None)
    sure = to is not None
    if to is None:
        to = next((k for k in range(number - 1, -1, -1) if stop[k].asked and not stop[k].broken), None)
    if to is None:
        return WayBack(None, False, (), onward)
    found = []
    for k in range(number, to, -1):
        before = result.states[k - 1].rig
        words = undone(steps[k - 1], before)
        if words:
            found.append(Undoing(k, words, steps[k - 1].done_by(before)))
    return WayBack(to, sure, tuple(found), onward)
