"""What stands on the ground without any rope: what is fixed, and what hangs on a frame."""

from __future__ import annotations

from analyser.checking.tracing import fixed_parts, neighbours, reached, with_points
from analyser.rig.model import Nature, Rig


def grounded(rig: Rig) -> set[str]:
    """Every part that is joined over contacts to the ground or to a frame, through nobody and along no rope."""
    frames = [part.name for part in rig.parts.values() if part.nature is Nature.FRAME]
    return fixed_parts(rig) | reached(neighbours(rig, ropes=False), frames, with_points(rig))
