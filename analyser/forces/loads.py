"""All that the forces say of one state: what carries what, and what each single failure would do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath, every_single
from analyser.forces.agreeing import Disagreement, disagreements
from analyser.forces.alike import Follow, in_time
from analyser.forces.anchors import AnchorPull, anchor_pulls
from analyser.forces.belaying import Belayed, belayed
from analyser.forces.carried import PartForce, part_forces
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.faring import Fares, Faring, faring
from analyser.forces.frames import FrameForce, frame_forces
from analyser.forces.grounds import Ground, ground_of
from analyser.forces.missing import Missing
from analyser.forces.overloads import Overload, overload, overload_at_rest
from analyser.forces.remembered import Remembered
from analyser.forces.spreading import MOST_CORNERS, Spread, spread
from analyser.forces.strength import Factor, Factors, factors
from analyser.forces.tracks import Track, tracks, worst_places
from analyser.language.identities import happened
from analyser.rig.model import Nature, Rig
from analyser.working.cases import Progress


@dataclass(frozen=True, slots=True)
class Loads:
    """`after` are the single failures that were looked into (None: not asked for in this state), those that decide
    something or rank first with what happens in time; of the others the figures are at rest."""

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
    """For each person, the greatest force after each single failure that was followed in time, over all starts, in
    newtons."""
    faring: tuple[Faring, ...] = ()
    """How everybody fares: as it hangs, then after each single failure that was looked into."""
    ground: Ground | None = None
    """The ground below, where the file tells its height."""
    tracks: tuple[Track, ...] = ()
    """Track lines as they come to rest."""
    worst_places: tuple[Track, ...] = ()
    """The same with their load where each pulls hardest."""
    belayed: tuple[Belayed, ...] = ()
    """What arrives at each device that somebody works."""
    spread: Spread | None = None
    """The same over the bands of the file, where it has any: all else is at their middle."""
    lessened: tuple[tuple[str, str], ...] = ()
    """What carries load after a failure that took some of the line that it stands in, and that failure."""

    def fares(self, body: str, failures: Sequence[str] = ()) -> Fares | None:
        """How a body fares after failures that were looked into."""
        return next((one.of(body) for one in self.faring if one.failures == tuple(failures)), None)

    def on(self, name: str) -> PartForce | None:
        return next((one for one in self.parts if one.name == name), None)

    def short_after(self, rig: Rig, least: float) -> list[tuple[str, Factor]]:
        """What has a smaller strength factor than `least` after a single failure, at the new rest or on the way there
        (over all starts), and after which failure."""
        found: list[tuple[str, Factor]] = []
        for one in self.after or ():
            if not one.accepted:
                continue
            rows = {row.name: row for row in factors(rig, one.equilibrium).rows}
            for told in one.motion.weakest if one.motion and one.motion.told else ():
                row = told.at_worst
                if row.name not in rows or row.factor < rows[row.name].factor:
                    rows[row.name] = row
            short = sorted((row for row in rows.values() if row.factor < least), key=lambda row: (row.factor, row.name))
            found += [(happened(one.failures), row) for row in short]
        return found


@dataclass(frozen=True, slots=True)
class Samples:
    """In how many samples the bands of a file are looked at: at rest, and with every single failure
    followed (None: in none)."""

    at_rest: int
    after: int | None
    corners: int = MOST_CORNERS
    """As many corners at most: else four, and from the worst of all one band after another."""
    progress: Progress | None = None
    processes: int | None = 1
    """How many may work on them (None: one a core). One in a library: whoever starts others must be able to
    be started again."""


def loads(
    rig: Rig,
    *,
    failures: bool,
    follow: Follow | None = None,
    samples: Samples | None = None,
    remembered: Remembered | None = None,
) -> Loads | Missing:
    """The forces of one state; `failures`: also what follows each single failure, of which `follow` says which are
    followed in time; `samples`: how the bands of its figures are looked at, if it has any (default: not);
    `remembered`: what was solved of other states."""
    statics = Statics.of(rig, remembered=remembered)
    if isinstance(statics, Missing):
        return statics
    rig, now = statics.rig, statics.equilibrium()
    ground = ground_of(rig)
    after = tuple(every_single(statics, ground)) if failures and now.accepted else None
    if after is not None:
        after = in_time(statics, now, after, ground, follow or Follow())
    here, parts = factors(rig, now), part_forces(rig, now)
    people = {body.name for body in rig.bodies if body.nature is Nature.PERSON}
    peaks: dict[str, dict[str, float]] = {name: {} for name in sorted(people)}
    breaking = [overload_at_rest(statics, now, here)] if now.accepted else []
    fares = [faring(statics, now)]
    without = {*here.without}
    lessened: list[tuple[str, str]] = []
    for one in after or ():
        fares.append(faring(statics, one.equilibrium, one.failures, now))
        if one.accepted:
            told = factors(rig, one.equilibrium, one.quick)
            without |= {*told.without}
            lessened += [(name, happened(one.failures)) for name in told.lessened]
            breaking.append(overload(statics, now, one))
        if one.motion is not None and one.motion.told:
            without |= {*one.motion.without}
            for name in people - {*one.falls}:
                hanging = next((part.force for part in parts if part.name == name), 0.0)
                _, high, _ = one.motion.parts.get(name, (0.0, 0.0, 0.0))
                peaks[name][happened(one.failures)] = max(hanging, high)
    return Loads(
        now,
        parts,
        here,
        frame_forces(rig, now),
        anchor_pulls(rig, now, after or ()),
        disagreements(rig, now),
        after,
        tuple(one for one in breaking if one),
        tuple(sorted(without)),
        peaks,
        tuple(fares),
        ground,
        tracks(rig, now) if now.accepted else (),
        worst_places(rig, now) if now.accepted else (),
        belayed(rig, now, after or ()) if now.accepted else (),
        _over_bands(rig, samples, after or ()) if samples and now.accepted else None,
        tuple(lessened),
    )


OVER_BANDS = 3
"""Failures that are followed in time over the bands: the hardest in the middle."""


def _over_bands(rig: Rig, samples: Samples, after: Sequence[Aftermath]) -> Spread | None:
    moving = hardest(after)[:OVER_BANDS] if samples.after is not None else []
    return spread(
        rig,
        samples.at_rest,
        samples.after,
        moving=moving,
        most_corners=samples.corners,
        progress=samples.progress,
        processes=samples.processes,
    )


def hardest(after: Sequence[Aftermath]) -> list[str]:
    """Failures that were followed in time, those first that bring something nearest to breaking, or pull hardest on
    somebody; of failures that move alike the first."""
    ranks: dict[tuple[float, float], str] = {}
    for one in after:
        if one.motion is not None and one.motion.told and one.motion.moved:
            weakest = min((row.at_worst.factor for row in one.motion.weakest), default=math.inf)
            pull = max((body.high for body in one.motion.bodies), default=0.0)
            ranks.setdefault((round(weakest, 6), -round(pull, 3)), happened(one.failures))
    return [ranks[key] for key in sorted(ranks)]
