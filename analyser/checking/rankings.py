"""The answers to why and how likely: of whom, in which state."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.calling import At
from analyser.checking.consequences import shaken
from analyser.checking.delivered import Delivered
from analyser.checking.fates import briefly
from analyser.checking.finding import in_few, verb
from analyser.checking.ranked import Likely, Ranked, likely, ranked
from analyser.checking.reasons import Reasons, reasons
from analyser.checking.results import Result
from analyser.rig.model import Rig


@dataclass(frozen=True, slots=True, repr=False)
class Reasoning(Delivered):
    """Why failure sets drop some bodies."""

    SHAPE = "analyser.checking.shapes.Why"

    at: At
    bodies: tuple[Reasons, ...]

    @property
    def rig(self) -> Rig:
        return self.at.rig

    @property
    def short(self) -> str:
        return ", ".join(f"{one.body} held in {len(one.ways)} ways" for one in self.bodies)


def reasoning(at: At, names: tuple[str, ...], order: int = 2) -> Reasoning:
    """Every way in which each of these bodies is held, and what breaks it, for sets up to `order` failures."""
    return Reasoning(at, tuple(reasons(at.rig, name, order) for name in names))


@dataclass(frozen=True, slots=True, repr=False)
class Ranking(Delivered):
    """Parts by how much hangs on them, and how likely bodies fall. `result` is that of the one state."""

    SHAPE = "analyser.checking.shapes.Rank"

    result: Result
    at: At
    parts: tuple[Ranked, ...]
    likelihoods: tuple[Likely, ...]

    @property
    def complete_to_order(self) -> int:
        return self.result.complete_to_order

    @property
    def short(self) -> str:
        alone = [row.part for row in self.parts if row.alone]
        if not alone:
            if those := shaken([self.result.states[0].outcome]):
                return f"{briefly(those)} after some single failures; everybody is held in the end"
            return "after any one failure everybody is held"
        return f"{in_few(alone)} alone {verb(alone, 'leaves', 'leave')} somebody not held"


def ranking(result: Result, at: At) -> Ranking:
    """The ranking of one state of a result."""
    one = result.at(at.number, at.during)
    outcome = one.states[0].outcome
    return Ranking(one, at, ranked(one.rig, outcome), likely(one.rig, outcome))
