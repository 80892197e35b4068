"""All that the forces say of one state: what carries what, and what each single failure would do."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath, every_single
from analyser.forces.agreeing import Disagreement, disagreements
from analyser.forces.anchors import AnchorPull, anchor_pulls
from analyser.forces.carried import PartForce, part_forces
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.frames import FrameForce, frame_forces
from analyser.forces.grounds import Ground, ground_of
from analyser.forces.missing import Missing
from analyser.forces.overloads import Overload, overload, overload_at_rest
from analyser.forces.remembered import Remembered
from analyser.forces.spreading import Progress, Spread, spread
from analyser.forces.strength import Factor, Factors, factors
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class Loads:
    """`after` are the single failures that were looked into (None: not asked for in this state)."""

    now: Equilibrium
    parts: tuple[PartForce, ...]
    factors: Factors
    frames: tuple[FrameForce, ...]
    anchors: tuple[AnchorPull, ...]
    disagreements: tuple[Disagreement, ...]
    after: tuple[Aftermath, ...] | None
    overloads: tuple[Overload, ...]
    """What breaks under its load, at rest and after what was looked into."""
    without: tuple[str, ...]
    """What carries load at rest or then, and has no strength given."""
    people_after: dict[str, dict[str, float]]
    """For each person, the peak force after each single failure, in newtons."""
    ground: Ground | None = None
    """The ground below, where the file tells its height."""
    spread: Spread | None = None
    """The same over the bands of the file, where it has any: all else is at their middle."""

    def on(self, name: str) -> PartForce | None:
        return next((one for one in self.parts if one.name == name), None)

    def short_after(self, rig: Rig, least: float) -> list[tuple[str, Factor]]:
        """What has a smaller strength factor than `least` at rest after a single failure, and after which."""
        return [
            (one.failures[0], row)
            for one in self.after or ()
            if one.accepted
            for row in factors(rig, one.equilibrium).rows
            if row.factor < least
        ]


@dataclass(frozen=True, slots=True)
class Samples:
    """In how many samples the bands of a file are looked at: at rest, and with every single failure
    followed (None: in none)."""

    at_rest: int
    after: int | None
    corners: int = 16
    """As many corners at most: else four."""
    progress: Progress | None = None
    processes: int | None = 1
    """How many may work on them (None: one a core). One in a library: whoever starts others must be able to
    be started again."""


def loads(
    rig: Rig, *, failures: bool, samples: Samples | None = None, remembered: Remembered | None = None
) -> Loads | Missing:
    """The forces of one state; `failures`: also what follows each single failure; `samples`: how the bands
    of its figures are looked at, if it has any (default: not); `remembered`: what was solved of other states."""
    statics = Statics.of(rig, remembered=remembered)
    if isinstance(statics, Missing):
        return statics
    now = statics.equilibrium()
    ground = ground_of(rig)
    after = tuple(every_single(statics, ground)) if failures and now.accepted else None
    here = factors(rig, now)
    people = {body.name for body in rig.bodies if body.nature is Nature.PERSON}
    peaks: dict[str, dict[str, float]] = {name: {} for name in sorted(people)}
    breaking = [overload_at_rest(statics, now, here)] if now.accepted else []
    without = {*here.without}
    for one in after or ():
        if one.accepted:
            forces = part_forces(rig, one.equilibrium, one.peaks, angles=False)
            for force in forces:
                if force.name in people and force.name not in one.falls:
                    peaks[force.name]["; ".join(one.failures)] = force.force
            told = factors(rig, one.equilibrium, one.peaks, forces=forces)
            without |= {*told.without}
            breaking.append(overload(statics, now, one, told))
    return Loads(
        now,
        part_forces(rig, now),
        here,
        frame_forces(rig, now),
        anchor_pulls(rig, now, after or ()),
        disagreements(rig, now),
        after,
        tuple(one for one in breaking if one),
        tuple(sorted(without)),
        peaks,
        ground,
        _over_bands(rig, samples) if samples and now.accepted else None,
    )


def _over_bands(rig: Rig, samples: Samples) -> Spread | None:
    return spread(
        rig,
        samples.at_rest,
        samples.after,
        most_corners=samples.corners,
        progress=samples.progress,
        processes=samples.processes,
    )
