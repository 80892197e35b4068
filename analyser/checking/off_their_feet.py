"""Whose feet hold them no more, by the forces: off the deck, or on one that slopes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyser.checking.required_standing import LEVEL
from analyser.rig.model import Effects, Part, Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.equilibrium import Equilibrium
    from analyser.forces.faring import Faring


def off_their_feet(rig: Rig, found: Equilibrium, faring: Faring | None) -> Iterator[tuple[Part, float | None]]:
    """Who stands on what hangs, and by the forces doesn't; by how many degrees it hangs off level, of who isn't lifted
    off it. Nobody where the forces don't balance."""
    for body in rig.bodies if found.accepted else ():
        if body.name in found.lifted_feet:
            yield body, None
            continue
        under = faring.of(body.stands_on) if faring and body.stands_on in rig.parts else None
        if under is None or under.lies is None:
            continue
        off = 180.0 if under.over else under.lies.off_level
        if off > LEVEL:  # as for a litter that is to lie level
            yield body, off


def footing_lost(rig: Rig, found: Equilibrium | None, faring: Faring | None) -> Effects:
    """The same as what befalls the rig."""
    if found is None:
        return Effects()
    return Effects(unfooted=frozenset(body.name for body, _ in off_their_feet(rig, found, faring)))
