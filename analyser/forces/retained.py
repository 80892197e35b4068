"""How much of a rope's strength a knot leaves: an input with its source, never a constant of nature.

Sources differ by 10 to 20 points, and most print neither the number of tests nor their spread
(facts 5.1). A caller may give another table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Retained:
    """The share of the unknotted rope's strength that is left, and who says so."""

    share: float
    source: str


_KNOTS = "Strengths of common rescue knots, dcrescue.com (an extract seen)"

KNOTS: Mapping[str, Retained] = {
    "figure-eight": Retained(0.80, _KNOTS),
    "bowline": Retained(0.60, _KNOTS),
    "butterfly": Retained(0.75, _KNOTS),
    "double-fishermans": Retained(0.68, _KNOTS),
    "water-knot": Retained(0.64, _KNOTS),
    "round-turn": Retained(0.75, _KNOTS),
    "tensionless-hitch": Retained(1.00, _KNOTS),
    "splice": Retained(0.90, "Encyclopedia of knots (Avery) p. 125: up to 90 % (an extract seen)"),
    "sewn-eye": Retained(1.00, "a sewn eye is no knot: the maker's mark is of rope and eye together, no source"),
    "clove-hitch": Retained(0.75, "Encyclopedia of knots (Avery) p. 125 (an extract seen)"),
}
HITCHES: Mapping[str, Retained] = {
    "choked": Retained(
        0.75,
        "choker hitch, 120 degrees or more: Choker hitch angles, fulcrumlifting.com (an extract seen); others say 0.80",
    ),
}
"""What is left of a sling by how it lies round something. In a basket it would carry twice as much with its legs
upright, and as much as one leg with them up to 120 degrees apart: as much as one leg is counted."""
OTHER = Retained(0.67, "any dressed end knot keeps two thirds: common practice, no source")


def held_round(hitch: str) -> Retained | None:
    """What a hitch leaves of a sling; None for one that takes nothing."""
    return HITCHES.get(hitch)


def retained(knot: str, table: Mapping[str, Retained] | None = None) -> Retained:
    """What a kind of knot leaves; a knot that nothing is said of leaves two thirds."""
    return (KNOTS if table is None else table).get(knot, OTHER)
