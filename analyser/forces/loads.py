"""All that the forces say of one state: what carries what, and what each single failure would do."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath, every_single
from analyser.forces.agreeing import Disagreement, disagreements
from analyser.forces.carried import PartForce, part_forces
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.frames import FrameForce, frame_forces
from analyser.forces.missing import Missing
from analyser.forces.strength import Factors, factors
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class Loads:
    """`after` are the single failures that were looked into (None: not asked for in this state)."""

    now: Equilibrium
    parts: tuple[PartForce, ...]
    factors: Factors
    frames: tuple[FrameForce, ...]
    disagreements: tuple[Disagreement, ...]
    after: tuple[Aftermath, ...] | None
    people_after: dict[str, dict[str, float]]
    """For each person, the peak force after each single failure, in newtons."""

    def on(self, name: str) -> PartForce | None:
        return next((one for one in self.parts if one.name == name), None)


def loads(rig: Rig, *, failures: bool) -> Loads | Missing:
    """The forces of one state; `failures`: also what follows each single failure."""
    statics = Statics.of(rig)
    if isinstance(statics, Missing):
        return statics
    now = statics.equilibrium()
    after = tuple(every_single(statics)) if failures and now.accepted else None
    people = [body.name for body in rig.bodies if body.nature is Nature.PERSON]
    peaks: dict[str, dict[str, float]] = {name: {} for name in people}
    for one in after or ():
        if one.accepted:
            for force in part_forces(rig, one.equilibrium, one.peaks):
                if force.name in peaks and force.name not in one.falls:
                    peaks[force.name]["; ".join(one.failures)] = force.force
    return Loads(
        now,
        part_forces(rig, now),
        factors(rig, now),
        frame_forces(rig, now),
        disagreements(rig, now),
        after,
        peaks,
    )
