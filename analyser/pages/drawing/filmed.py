"""A motion as a film, a strip, or a strip as a PNG: where everything is at which moments, and then drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyser.pages.drawing.motion_view import FRAMES, SIDE, motion_film, motion_strip
from analyser.pages.drawing.placed import Placed
from analyser.pages.drawing.svg import Sheet

if TYPE_CHECKING:  # the forces are worked out elsewhere: a drawing never loads what solves them
    from analyser.forces.equilibrium import Equilibrium, Statics
    from analyser.forces.grounds import Ground
    from analyser.forces.motion import Motion


def film_of(
    statics: Statics,
    base: Equilibrium,
    told: Motion,
    ground: Ground | None,
    across: int = SIDE,
    play: str | None = None,
) -> str:
    """An SVG that moves, of a motion followed with its way kept; `play`: the id of the button that starts it."""
    from analyser.forces.stills import moments, stills

    frames = stills(statics, told, moments(told, FRAMES))
    called = {one.name: base.called(one) for one in base.lines}
    return motion_film(statics.rig, told, frames, ground, base.at, called, across, play)


def strip_of(statics: Statics, base: Equilibrium, told: Motion, ground: Ground | None, across: int = SIDE) -> str:
    """An SVG of the moments that tell it."""
    sheet = _strip(statics, base, told, ground, across, Sheet)
    assert isinstance(sheet, Sheet)
    return sheet.svg()


def strip_png(statics: Statics, base: Equilibrium, told: Motion, ground: Ground | None, across: int = SIDE) -> bytes:
    """The strip as a PNG. Raises `rendering.NotDrawn`."""
    from analyser.pages.drawing.rendering import render

    sheet = _strip(statics, base, told, ground, across, Placed)
    assert isinstance(sheet, Placed)
    return render(sheet.source(), "png", placed=True)


def _strip(
    statics: Statics, base: Equilibrium, told: Motion, ground: Ground | None, across: int,
    sheet_of: type[Sheet] | type[Placed],
) -> Sheet | Placed:  # fmt: skip
    from analyser.forces.stills import stills, telling

    chosen = stills(statics, told, telling(told))
    called = {one.name: base.called(one) for one in base.lines}
    return motion_strip(statics.rig, told, chosen, ground, base.at, called, across, sheet_of)
