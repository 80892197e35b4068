"""What goes with somebody or something that is brought down, and others hang on it: no failure of its own.

The hands of people who hang or stand on what hangs: they let go once they are not held, or are off their feet. (Who
stands on the ground lets go with their footing: that is a failure of its own, and has its effects.) Frames that stand
on what hangs: they go over with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from analyser.holding.batch import Rows, WithWhatGoes
from analyser.rig.failing import letting_go
from analyser.rig.index import reached
from analyser.rig.model import Effects, Nature, Rig, Role


@dataclass(frozen=True, slots=True)
class Going:
    """What goes once somebody is not held, or once what is stood on is not held, level and still."""

    effects: Effects
    by: frozenset[str]
    """The devices and ropes, or the frame, by which others hang."""
    on: str | None
    """The body or bar that is stood on."""


def goes_with(rig: Rig) -> dict[str, Going]:
    """By person, or frame."""
    found = {}
    bodies = {body.name for body in rig.bodies}
    ground = {part.name for part in rig.index.natured(Nature.GROUND, Nature.FRAME)}
    for person, effects in letting_go(rig).items():
        by = _worked_by(rig, person, effects)
        near = reached(rig.index.joined_by_ropes, by, ground | {person})
        if bodies & near - {person}:
            found[person] = Going(effects, frozenset(by), rig.parts[person].stands_on)
    for frame in rig.index.natured(Nature.FRAME):
        decks = {deck for foot in frame.needed if (deck := _deck(rig, foot))}
        for deck in sorted(decks):
            gone = Effects(gone=frozenset({frame.name, *frame.points}))
            found[frame.name] = Going(gone, frozenset({frame.name}), deck)
    return found


def _deck(rig: Rig, foot: str) -> str | None:
    """The body or bar that a foot is, or is a point of."""
    part = rig.parts[foot]
    deck = rig.parts[part.body] if part.body else part
    return deck.name if (deck.is_body and deck.nature is not Nature.PERSON) or deck.ends else None


def _worked_by(rig: Rig, person: str, effects: Effects) -> set[str]:
    """The devices that a person's hand works, and the ropes that they are on or that it holds."""
    held = {
        rope.name
        for rope in rig.ropes
        for s in rope.stations
        if (s.role is Role.HAND and s.part == person) or (s.role is Role.GRIP and s.part in effects.ungripped)
    }
    return held | effects.ungripped


class Brought:
    """What goes so in one rig."""

    def __init__(self, rig: Rig, unsteady: Callable[[str, WithWhatGoes, int], int]) -> None:
        """`unsteady`: where somebody is not held, or not on their feet, or a frame not on its."""
        self.of = goes_with(rig)
        self._unsteady = unsteady
        self._last: tuple[Rows, int, WithWhatGoes] | None = None
        """The scenarios last asked after, and the same with what goes in them."""

    def added(self, rows: Rows, width: int) -> Rows:
        """The same scenarios, with what goes in them."""
        if self._last is None or self._last[:2] != (rows, width):
            found, grown = dict.fromkeys(self.of, 0), True
            while grown:
                told = WithWhatGoes(rows, ((self.of[name].effects, bits) for name, bits in found.items() if bits))
                now = {name: bits | self._unsteady(name, told, width) for name, bits in found.items()}
                grown, found = now != found, now
            self._last = list(rows), width, told
        return self._last[2]
