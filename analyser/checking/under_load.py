"""What forces say that is worth telling, as values: bodies that come to rest elsewhere, lines that carry more."""

from __future__ import annotations

from dataclasses import dataclass
from math import dist
from typing import TYPE_CHECKING

from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath, Band, Moved
    from analyser.forces.loads import Loads

Point = tuple[float, float, float]
APART = 0.5
"""Metres between a body's written place and its rest from which that is said."""
SEEN = 0.01
"""Metres down or across from which a move is told."""


@dataclass(frozen=True, slots=True)
class RestsApart:
    """A body that comes to rest well away from where the file writes it: `apart` in metres."""

    body: str
    rest: Point
    apart: float


def resting_apart(rig: Rig, loads: Loads) -> tuple[RestsApart, ...]:
    """Bodies whose written places and lengths say two things; the figures are those of the rest."""
    found = []
    for body in rig.bodies:
        rest = loads.now.at.get(body.name)
        if body.at is None or rest is None or body.name in loads.now.falls:
            continue
        apart = dist(body.at, rest)
        if apart > APART:
            found.append(RestsApart(body.name, rest, apart))
    return tuple(found)


def moves(one: Moved) -> bool:
    """Does a body go down or across by as much as is told?"""
    return one.drop >= SEEN or one.swing >= SEEN


def grown(aftermath: Aftermath) -> Band | None:
    """The line whose pull grows the most after a failure (in time where that was followed, else at rest), where that
    is more than a twentieth."""
    most = max(aftermath.lines, key=lambda band: band.most - band.before, default=None)
    return most if most and most.most > most.before * 1.05 + 1 else None
