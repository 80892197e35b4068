"""How the worst within the bands of a file was sought, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analyser.checking.sentences import in_few

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads
    from analyser.forces.spreading import Spread

AT_WORST = "at worst within the bands"
BAND_BY_BAND = "from the worst of them one band after another put to its other end"


def how_at_rest(spread: Spread) -> str:
    return _corners(spread) or f"{spread.samples + spread.corners} cases, and {BAND_BY_BAND}"


def how_after(spread: Spread) -> str | None:
    """The same after failures; None where none was looked at."""
    if not spread.after:
        return None
    return _corners(spread) or f"{spread.after} cases, and {BAND_BY_BAND}"


def how_in_time(spread: Spread) -> str | None:
    """The same of what happens in time after failures; None where none was followed."""
    if not spread.after or not spread.moving:
        return None
    more = f", and {BAND_BY_BAND}, {spread.timed} times" if spread.timed else ""
    return f"after {in_few(spread.moving)}, hardest in the middle, in {spread.after} cases{more}"


def _corners(spread: Spread) -> str:
    """Where all corners were brought to rest."""
    if not spread.every:
        return ""
    if not spread.acting:
        return "the lower end of each strength"
    if spread.acting == 1:
        return "both ends of the band"
    strengths = ", strengths at their lower end," if spread.acting < len(spread.banded) else ""
    corners = f"all {spread.corners} corners of {spread.acting} bands{strengths}"
    return f"{corners} brought to rest, the worst worked out in full"


def worst_sought(loads: Sequence[Loads], *, after: bool, in_time: bool) -> str:
    """How the worst was sought in the first state that has bands; empty where none has."""
    spread = next((one.spread for one in loads if one.spread), None)
    if spread is None:
        return ""
    rest, then = how_at_rest(spread), how_after(spread) if after else None
    words = rest if then in (None, rest) else f"at rest {rest}; after failures {then}"
    timed = how_in_time(spread) if in_time and then else None
    return f"worst sought: {words}" + (f"; in time {timed}" if timed else "")
