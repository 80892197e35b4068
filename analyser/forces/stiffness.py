"""How far things stretch: EA (newtons per unit of strain) as written, or a default of the kind.

A stretch written as `stretch 3 % at 150 kg` gives EA = 150 kg x g / 0.03. Where none is written the
kind's default is taken, and the result says for which lines that was done.
"""

from __future__ import annotations

from analyser.rig.model import Part, Quantity, Rope
from analyser.rig.quantities import GRAVITY

__all__ = ["DEFAULTS", "GRAVITY", "STIFFEST", "line_kind", "stiffness"]

DEFAULTS: dict[str, tuple[float, str]] = {
    "rope": (30e3, "low-stretch rope: inside the bracket 19.6 to 41.2 kN of facts 6.5"),
    "sling": (100e3, "common practice, no source"),
    "strap": (100e3, "common practice, no source"),
    "bridle": (100e3, "common practice, no source"),
    "lanyard": (60e3, "common practice, no source"),
    "absorber": (60e3, "not torn open: common practice, no source"),
    "cord": (20e3, "common practice, no source"),
    "wire": (2000e3, "common practice, no source"),
}
"""Kind -> EA in newtons and where it is from. These kinds have a length and can only pull."""

STIFFEST = 1e8
"""EA in newtons that stands for `stretch 0 %`: nothing in a rig is stiffer."""


def line_kind(of: Part | Rope) -> str | None:
    """The kind in `DEFAULTS` that something is or stands on; None when it stands on none of them."""
    kinds = of.family if isinstance(of, Part) else (of.kind, "rope")
    return next((kind for kind in kinds if kind in DEFAULTS), None)


def stiffness(of: Part | Rope) -> tuple[float, bool]:
    """EA in newtons, and whether it is a default."""
    stretch: Quantity | None = dict(of.quantities).get("stretch")
    if stretch is not None and stretch.percent_at is not None:
        at = stretch.percent_at
        force = at.si if at.unit in ("kN", "N", "lbf") else at.si * GRAVITY
        return (min(force / stretch.si, STIFFEST) if stretch.si > 0 else STIFFEST), False
    return DEFAULTS[line_kind(of) or "sling"][0], True
