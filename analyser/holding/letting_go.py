"""Hands that others hang on, of people who hang or stand on what hangs: they let go once they are not held themselves.

(Who stands on the ground lets go with their footing: that is a failure of its own, and has its effects.)
"""

from __future__ import annotations

from collections.abc import Callable

from analyser.holding.batch import LetGo, Rows
from analyser.rig.failing import letting_go
from analyser.rig.index import reached
from analyser.rig.model import Effects, Nature, Rig, Role


def leaned_on(rig: Rig) -> dict[str, Effects]:
    """What happens when each of these lets go: those of whose devices or hands others may hang."""
    found = {}
    bodies = {body.name for body in rig.bodies}
    ground = {part.name for part in rig.index.natured(Nature.GROUND, Nature.FRAME)}
    for person, effects in letting_go(rig).items():
        near = reached(rig.index.joined_by_ropes, worked_by(rig, person, effects), ground | {person})
        if bodies & near - {person}:
            found[person] = effects
    return found


def worked_by(rig: Rig, person: str, effects: Effects) -> set[str]:
    """The devices that a person's hand works, and the ropes that they are on or that it holds."""
    held = {
        rope.name
        for rope in rig.ropes
        for s in rope.stations
        if (s.role is Role.HAND and s.part == person) or (s.role is Role.GRIP and s.part in effects.ungripped)
    }
    return held | effects.ungripped


class Hands:
    """The hands of one rig on which others hang."""

    def __init__(self, rig: Rig, unsteady: Callable[[str, LetGo, int], int]) -> None:
        """`unsteady`: where somebody is not held, or is off the deck that they stand on."""
        self.of = leaned_on(rig)
        self._unsteady = unsteady
        self._last: tuple[Rows, int, LetGo] | None = None
        """The scenarios last asked after, and the same with the hands that are let go in them."""

    def let_go(self, rows: Rows, width: int) -> Rows:
        """The same scenarios, in which those let go who are not steady."""
        if self._last is None or self._last[:2] != (rows, width):
            found, grown = dict.fromkeys(self.of, 0), True
            while grown:
                told = LetGo(rows, ((self.of[name], bits) for name, bits in found.items() if bits))
                now = {name: bits | self._unsteady(name, told, width) for name, bits in found.items()}
                grown, found = now != found, now
            self._last = list(rows), width, told
        return self._last[2]
