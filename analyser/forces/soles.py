"""Where somebody who stands on a rigid body presses on it.

Whoever stands keeps upright over their feet: their weight comes on the deck there, and not at the height of the harness
as if they were bolted to it, which would make every plank top-heavy.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.forces.drawn import Drawn
from analyser.forces.grounds import FEET
from analyser.forces.lumps import Lumps
from analyser.forces.points import Point
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Effects, Rig


@dataclass(frozen=True, slots=True)
class Sole:
    """Where the weight of somebody who stands on a rigid body comes down on it, from its centre; and where that is
    drawn."""

    lump: int
    weight: float
    offset: Point
    at: Point | None


def soles_of(rig: Rig, said: Drawn, already: Effects, lumps: Lumps) -> dict[str, Sole]:
    """By whose feet: a harness's height under their place, and not under what they stand on."""
    found = {}
    for name, k in lumps.of.items():
        part, body = rig.parts[name], lumps.lumps[k].body
        mass = dict(part.quantities).get("mass")
        if mass is None or body is None or body != part.stands_on or body not in said.shapes:
            continue
        if name in already.unfooted:
            continue
        x, y, z = said.shapes[body].of(lumps.lumps[k].parts)
        down = min(FEET, max(z, 0.0))
        drawn = said.at.get(name)
        at = (drawn[0], drawn[1], drawn[2] - down) if drawn else None
        found[f"{name}'s feet"] = Sole(k, mass.si * GRAVITY, (x, y, z - down), at)
    return found
