"""What each anchor carries: its share of the load, the angle of its pull, and the same when another has gone."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath
from analyser.forces.equilibrium import Equilibrium
from analyser.forces.frames import on_the_ground
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class AnchorPull:
    """`force` in newtons at rest; `share` of all plumb load; `from_plumb` in degrees (None: it carries nothing).

    `without`: newtons at the new rest once another anchor has failed, None where that rest isn't told."""

    name: str
    force: float
    share: float
    from_plumb: float | None
    without: Mapping[str, float | None]


def anchor_pulls(rig: Rig, now: Equilibrium, after: Sequence[Aftermath]) -> tuple[AnchorPull, ...]:
    """Every anchor that carries anything at rest or after another has failed, in order of the file."""
    names = [part.name for part in rig.parts.values() if part.nature is Nature.GROUND]
    gone = {f"{name} fails": name for name in names}
    then = {gone[one.failures[0]]: one for one in after if one.failures[0] in gone and len(one.failures) == 1}
    here = on_the_ground(rig, now)
    there = {name: on_the_ground(rig, one.equilibrium) for name, one in then.items()}
    total = sum(max(-pull[2], 0.0) for pull in here.values())
    told = []
    for name in names:
        pull = here.get(name, (0.0, 0.0, 0.0))
        force = math.hypot(*pull)
        without = {
            other: (math.hypot(*there[other].get(name, (0.0, 0.0, 0.0))) if one.accepted else None)
            for other, one in then.items()
            if other != name
        }
        if force > 1 or any((value or 0.0) > 1 for value in without.values()):
            angle = math.degrees(math.atan2(math.hypot(pull[0], pull[1]), -pull[2])) if force > 1 else None
            told.append(AnchorPull(name, force, max(-pull[2], 0.0) / total if total else 0.0, angle, without))
    return tuple(told)
