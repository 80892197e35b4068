"""Numbers with units: read at the edge, kept as written, SI inside."""

from __future__ import annotations

from dataclasses import replace

from analyser.language.syntax import Measure
from analyser.rig.elements import Quantity
from analyser.rig.figures import FACTORS, USUAL, number, units

GRAVITY = 9.80665
"""Standard gravity, m/s2."""


def quantity(measure: Measure) -> Quantity:
    """A measure as written, with its value in newtons, kilograms, metres or degrees.

    Where the file asks for another unit the text has both: `4946 lbf (22 kN)`.
    """
    found = _as_written(measure)
    what, _ = FACTORS[measure.unit]
    asked = getattr(units(), what, None)
    if asked == getattr(USUAL, what, None) or measure.unit in (asked, "mm", "in"):
        return found
    told = " to ".join(dict.fromkeys(number(end, str(asked), "g") for end in (found.least, found.most)))
    return replace(found, text=f"{told} {asked} ({measure.text})")


def _as_written(measure: Measure) -> Quantity:
    _, factor = FACTORS[measure.unit]
    low = float(measure.number) * factor
    if measure.upper is None:
        return Quantity(measure.text, low, measure.unit, numbers=(measure.number,))
    high = float(measure.upper) * factor
    numbers = (measure.number, measure.upper)
    return Quantity(measure.text, (low + high) / 2, measure.unit, band=(low, high), numbers=numbers)


def ends(given: Quantity) -> tuple[Quantity, ...]:
    """A figure, or the two ends of a band, each as a figure of its own."""
    if given.band is None:
        return (given,)
    pairs = zip(given.numbers, given.band, strict=True)
    return tuple(Quantity(f"{n} {given.unit}", si, given.unit, given.percent_at, numbers=(n,)) for n, si in pairs)


def measures(measure: Measure) -> str:
    """What a unit measures: force, mass, length, angle or share."""
    return FACTORS[measure.unit][0]


def let_out(quantities: tuple[tuple[str, Quantity], ...]) -> float:
    """Metres that steps let out; less than nothing where they took in."""
    out = dict(quantities).get("let out")
    return out.si if out else 0.0
