"""The answers to why and how likely: of whom, in which state."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.delivered import Delivered
from analyser.checking.finding import in_few
from analyser.checking.ranked import Likely, Ranked, likely, ranked
from analyser.checking.reasons import Reasons, reasons
from analyser.checking.results import Result
from analyser.rig.model import Rig


@dataclass(frozen=True, slots=True, repr=False)
class Reasoning(Delivered):
    """Why failure sets drop some bodies. `rig` is the rig in the state numbered `state`."""

    SHAPE = "analyser.checking.shapes.Why"

    rig: Rig
    state: int
    bodies: tuple[Reasons, ...]

    @property
    def short(self) -> str:
        return ", ".join(f"{one.body} held in {len(one.ways)} ways" for one in self.bodies)


def reasoning(rig: Rig, names: tuple[str, ...], order: int = 2, state: int = 0) -> Reasoning:
    """Every way in which each of these bodies is held, and what breaks it, for sets up to `order` failures."""
    return Reasoning(rig, state, tuple(reasons(rig, name, order) for name in names))


@dataclass(frozen=True, slots=True, repr=False)
class Ranking(Delivered):
    """Parts by how much hangs on them, and how likely bodies fall. `result` is that of the one state."""

    SHAPE = "analyser.checking.shapes.Rank"

    result: Result
    state: int
    parts: tuple[Ranked, ...]
    likelihoods: tuple[Likely, ...]

    @property
    def complete_to_order(self) -> int:
        return self.result.complete_to_order

    @property
    def short(self) -> str:
        alone = [row.part for row in self.parts if row.alone]
        return f"{f'{in_few(alone)} alone drop somebody' if alone else 'nothing alone drops anybody'}"


def ranking(result: Result, state: int = 0) -> Ranking:
    """The ranking of one state of a result."""
    one = result.at(state)
    outcome = one.states[0].outcome
    return Ranking(one, state, ranked(one.rig, outcome), likely(one.rig, outcome))
