"""What stands on the ground without any rope: what is fixed, and what hangs on a frame."""

from __future__ import annotations

from analyser.rig.index import reached
from analyser.rig.model import Nature, Rig


def grounded(rig: Rig) -> frozenset[str]:
    """Every part that is joined over contacts to the ground or to a frame, through nobody and along no rope."""
    frames = [part.name for part in rig.parts.values() if part.nature is Nature.FRAME]
    return rig.index.fixed | reached(rig.index.joined, frames, rig.index.with_points())
