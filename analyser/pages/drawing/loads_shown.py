"""What each part and span carries, in words for the diagram: at rest, or after failures with its peak in time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyser.rig.figures import as_force, force_number
from analyser.rig.model import Nature, Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: a drawing never loads what solves them
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.carried import PartForce
    from analyser.forces.equilibrium import Equilibrium

UNTOLD = (Nature.KNOT, Nature.STOPPER, Nature.POINT)
"""What carries what its rope or its body does: the number stands there."""
LEAST = 5.0
"""Newtons under which a line is said to be slack, and of any other part nothing."""


def carried_words(
    rig: Rig, found: Equilibrium, parts: tuple[PartForce, ...], then: Aftermath | None = None
) -> dict[str, str]:
    """For each part and span by name: `0.84 kN`, `slack`; after failures with the peak in time, where that is told."""
    words = {
        one.name: _words(one.force, at_most=one.at_most)
        for one in parts
        if rig.parts[one.name].nature not in UNTOLD and one.force >= LEAST
    }
    peaks = [band.peak for band in then.lines] if then else [None] * len(found.lines)
    for line, peak, laid in zip(found.lines, peaks, found.solved.assembly.lines, strict=True):
        for name in (line.part,) if line.part else laid.spans:
            words[name] = _words(line.tension, peak)
    return words


def _words(newtons: float, peak: float | None = None, *, at_most: bool = False) -> str:
    if newtons < LEAST and (peak or 0.0) < LEAST:
        return "slack"
    up_to = f", peak {force_number(peak)}" if peak is not None and peak > 1.05 * newtons + 1 else ""
    return f"{'≤ ' if at_most else ''}{as_force(newtons)}{up_to}"
