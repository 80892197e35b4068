"""The ground below, where the file places something that lies on it."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.rig.figures import as_length
from analyser.rig.model import Nature, Part, Rig

FEET = 1.0
"""Metres from a person's harness down to the feet: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Ground:
    """Its height in metres, and the part that tells it."""

    height: float
    by: str

    @property
    def words(self) -> str:
        height, feet = as_length(self.height, "g"), as_length(FEET, "g")
        return f"the ground taken as level, at the height of {self.by}, {height}; feet {feet} under a harness"

    def feet(self, body: Part) -> float:
        """Metres by which a body reaches lower than its place."""
        return FEET if body.nature is Nature.PERSON else 0.0

    def stops(self, body: Part, begin: float, rest: float) -> bool:
        """Does a body that was above the ground come to rest there, on its way from one height to another?"""
        feet = self.feet(body)
        return rest - feet <= self.height < begin - feet


def ground_of(rig: Rig) -> Ground | None:
    """The highest place of what lies `below`; None where the file places nothing there."""
    found = [(part.at[2], part.name) for part in rig.parts.values() if part.below and part.at is not None]
    if not found:
        return None
    height, name = max(found, key=lambda one: (one[0], one[1]))
    return Ground(height, name)
