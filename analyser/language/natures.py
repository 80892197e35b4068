"""What a part does, whatever its kind is called (`holding/rules.md` section 1): the kinds' kinds."""

from __future__ import annotations

from enum import StrEnum


class Nature(StrEnum):
    """What a part does. Three are no kinds of the catalogue: a point is named by its body, a stopper and
    a knot stand in their rope."""

    GROUND = "ground"
    JOINT = "joint"
    PULLEY = "pulley"
    GRIP = "grip"
    KNOT = "knot"
    STOPPER = "stopper"
    EDGE = "edge"
    PAD = "pad"
    FRAME = "frame"
    PERSON = "person"
    LITTER = "litter"
    LOAD = "load"
    POINT = "point"
    HARNESS = "harness"
    STRUCTURE = "structure"
    ROPE = "rope"


BODIES = (Nature.PERSON, Nature.LITTER, Nature.LOAD)
"""The natures of what must stay held."""
HARDWARE = (Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.GRIP, Nature.FRAME, Nature.PAD, Nature.STRUCTURE)
"""What can be part of something, and go with it."""
