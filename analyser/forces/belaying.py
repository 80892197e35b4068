"""The belay's view: what arrives at each person's device and in each person's hands, before and after each failure.

At a device: the pull of its rope, the larger of its two sides. In bare hands: what they would have to hold, worked
out with the hands closed (everywhere else they are open). What a hand on a device's tail feels is not told: that is
the device's own friction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath
from analyser.forces.assembling import Case
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.language.identities import happened
from analyser.rig.model import Nature, Rig, Role


@dataclass(frozen=True, slots=True)
class Arriving:
    """After one failure: newtons at the new rest, and at the most on the way there (None: not followed in time)."""

    failure: str
    rest: float
    peak: float | None


@dataclass(frozen=True, slots=True)
class Belayed:
    """One place where a rope comes to a person: a device that they work or mind, or bare hands (`device` None)."""

    person: str
    device: str | None
    rope: str
    before: float
    after: tuple[Arriving, ...]


def belayed(rig: Rig, now: Equilibrium, after: Sequence[Aftermath]) -> tuple[Belayed, ...]:
    """Every device that somebody works or minds, by person."""
    told = []
    for rope in rig.ropes:
        for station in rope.stations:
            part = rig.parts[station.part]
            person = part.operated_by or part.minded_by
            if part.nature is not Nature.GRIP or station.role is not Role.GRIP or person is None:
                continue
            rows = []
            for one in after:
                if one.accepted and part.name in one.equilibrium.solved.assembly.lumps.of:
                    rest = _pull(one.equilibrium, rope.name, station.label)
                    rows.append(Arriving(happened(one.failures), rest, _peak(one, rope.name, station.label, rest)))
            told.append(Belayed(person, part.name, rope.name, _pull(now, rope.name, station.label), tuple(rows)))
    return tuple(sorted(told, key=lambda one: (one.person, one.device or "", one.rope)))


def in_hands(statics: Statics) -> tuple[Belayed, ...]:
    """Every rope in bare hands, by person; `statics` must have been read with `hands=True`."""
    rig = statics.rig
    held = [(rope, station) for rope in rig.ropes for station in rope.stations if station.role is Role.HAND]
    if not held:
        return ()
    now = statics.equilibrium(Case(hands=True))
    after = [(failure, statics.equilibrium(Case(failure.effects, hands=True), now)) for failure in rig.failures]
    told = []
    for rope, station in held:
        rows = tuple(
            Arriving(failure.id, _pull(found, rope.name, station.label), None)
            for failure, found in after
            if found.accepted and station.part not in failure.effects.open_hands
        )
        told.append(Belayed(station.part, None, rope.name, _pull(now, rope.name, station.label), rows))
    return tuple(sorted(told, key=lambda one: (one.person, one.rope)))


def _pull(found: Equilibrium, rope: str, label: str) -> float:
    """The larger pull of a rope on the two sides of one of its stations."""
    return max((line.tension for line in found.lines if line.rope == rope and label in line.labels), default=0.0)


def _peak(one: Aftermath, rope: str, label: str, rest: float) -> float | None:
    """The peak on the two sides of a station, where it is told of both."""
    mine = {line.name for line in one.equilibrium.lines if line.rope == rope and label in line.labels}
    peaks = [band.peak for band in one.lines if band.name in mine]
    return max([rest, *(peak for peak in peaks if peak is not None)]) if None not in peaks else None
