"""How everybody is held while a step is being done, where that is a state of its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.checking.sentences import listed
from analyser.holding.outcome import Outcome, assess
from analyser.holding.reviewing import Watch
from analyser.rig.laying import How, Within, within
from analyser.rig.model import Rig, Step


@dataclass(frozen=True, slots=True)
class Meanwhile:
    """A state within a step, and how everybody is held in it."""

    within: Within
    outcome: Outcome

    @property
    def words(self) -> str:
        return in_words(self.within)


def in_words(one: Within) -> str:
    """`while red is laid anew`, `while grab is off red`, `while red is out of wheel`."""
    parts = listed(one.parts)
    match one.how:
        case How.LAID_ANEW:
            return f"while {one.rope} is laid anew"
        case How.DEVICE_OFF:
            return f"while {parts} is off {one.rope}"
        case How.ROPE_OUT:
            return f"while {one.rope} is out of {parts}"


def meanwhile(before: Rig, step: Step, was: Outcome, order: int = 2, watch: Watch | None = None) -> Iterator[Meanwhile]:
    """What is true within a step, in its order. `was`: how everybody is held before it."""
    for one in within(before, step):
        yield Meanwhile(one, assess(one.rig, order, watch=watch, before=was))
