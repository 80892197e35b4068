"""What the forces say, laid over what follows from connections: who drops, by how much, and who lies on the ground."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import TYPE_CHECKING

from analyser.checking.off_their_feet import footing_lost
from analyser.holding.fate import HELD, Fate, Kind, worst
from analyser.holding.outcome import FailureOutcome, Outcome, assess
from analyser.language.identities import FailureId
from analyser.language.syntax import LENGTHS
from analyser.rig.model import Effects, Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.equilibrium import Equilibrium
    from analyser.forces.loads import Loads

SLACK_OUT, LOWERED = 0.1, 1.0
"""Metres by which somebody comes to rest lower before it counts as a drop: where rope must first run out, and where
they are only lowered. Limits ours, no source; stretch alone is told as a figure."""


MOST_PAIRS = 20_000
"""Pairs of failures asked after of which the first takes somebody off their feet."""
LOWERING = frozenset((*LENGTHS, "move", "slide", "land", "lift"))
"""Steps that bring somebody elsewhere on purpose: where they come to rest is no drop."""


def with_drops(rig: Rig, outcome: Outcome, loads: Loads, once: Mapping[str, float]) -> Outcome:
    """The outcome with what is worked out at rest, and after single failures; what isn't is left as it is. `once`: how
    high each body was before, in metres: as the file writes it, or at rest before a step; whoever isn't in it was
    brought elsewhere."""
    lost = footing_lost(rig, loads.now, loads.faring[0] if loads.faring else None)
    if lost.unfooted:
        outcome = assess(rig, outcome.order, lost, before=outcome)
    outcome = outcome.told_as(_at_rest(rig, outcome, loads, once, lost.unfooted))
    after = {one.failures[0]: one for one in loads.after or () if one.accepted and len(one.failures) == 1}
    if not after:
        return outcome
    lost_after = dict(_footing_lost_after(rig, loads, after))
    feet = _without_feet(outcome, lost_after)
    failures = tuple(
        _told(one, after[one.id], loads.now, feet.get(one.id, {})) if one.id in after else one
        for one in outcome.failures
    )
    alone: dict[str, list[FailureId]] = {}
    for was, now in zip(outcome.failures, failures, strict=True):
        for name in set(now.falls).difference(was.falls):
            alone.setdefault(name, []).append(now.id)
    failures = tuple(
        replace(one, down_to_one=tuple(sorted({*one.down_to_one, *alone}.difference(one.falls)))) for one in failures
    )
    outcome = replace(outcome, failures=failures).lost_after(alone)
    return outcome.lost_after_two(_second_failures(rig, outcome, lost_after)) if lost_after else outcome


def as_followed(outcome: Outcome, then: Aftermath | None, now: Equilibrium | None) -> Outcome:
    """The outcome of a rig after some failures, with what the forces say follows them; `now`: at rest before."""
    if then is None or not then.accepted:
        return outcome
    fates = {body.name: body.fate for body in outcome.bodies}
    ran = now is not None and _slack_ran(now, then)
    return outcome.told_as({name: _after(fate, name, then, ran=ran) for name, fate in fates.items()})


def as_written(rig: Rig) -> dict[str, float]:
    """How high the file writes each body."""
    return {body.name: body.at[2] for body in rig.bodies if body.at is not None}


def at_rest(loads: Loads | None) -> dict[str, float]:
    """How high each body hangs at rest; nothing where that isn't told."""
    now = loads.now if loads and loads.now.accepted else None
    return {name: place[2] for name, place in now.at.items()} if now else {}


def _footing_lost_after(rig: Rig, loads: Loads, after: Mapping[str, Aftermath]) -> Iterator[tuple[FailureId, Effects]]:
    """The failures after which the forces take somebody off their feet, and what befalls the rig then."""
    faring = {one.failures: one for one in loads.faring}
    for name, then in after.items():
        lost, failure = footing_lost(rig, then.equilibrium, faring.get(then.failures)), rig.index.failures[name]
        if lost.unfooted:
            yield failure.id, failure.effects | lost


def _without_feet(outcome: Outcome, lost: Mapping[FailureId, Effects]) -> dict[FailureId, dict[str, Fate]]:
    """What becomes of those who are off their feet then."""
    told = outcome.after(list(lost.values()))
    return {
        failure: {name: scenario.fate(name) for name in sorted(lost[failure].unfooted)}
        for failure, scenario in zip(lost, told, strict=True)
    }


def _second_failures(
    rig: Rig, outcome: Outcome, lost: Mapping[FailureId, Effects]
) -> dict[str, list[tuple[FailureId, FailureId]]]:
    """For each body, the pairs of failures that bring it down as the first takes it off its feet."""
    asked = [(one, other) for one in lost for other in rig.failures if other.id != one][:MOST_PAIRS]
    told = outcome.after([lost[one] | other.effects for one, other in asked])
    found: dict[str, list[tuple[FailureId, FailureId]]] = {}
    for (one, other), scenario in zip(asked, told, strict=True):
        for name in scenario.falls:
            alone = outcome.failure_sets[name].singles
            if name in lost[one].unfooted and one not in alone and other.id not in alone:
                found.setdefault(name, []).append((one, other.id))
    return found


def _at_rest(
    rig: Rig, outcome: Outcome, loads: Loads, once: Mapping[str, float], off: AbstractSet[str]
) -> dict[str, Fate]:
    """With nothing failed: who comes to rest lower than before, or on ground that they were above; of those who stand,
    those `off` their feet."""
    found = {}
    for body in outcome.bodies if loads.now.accepted else ():
        part, rest = rig.parts[body.name], loads.now.at.get(body.name)
        if body.name not in once or rest is None or (part.standing and body.name not in off):
            continue
        grounded = loads.ground is not None and loads.ground.stops(part, once[body.name], rest[2])
        found[body.name] = _fate(body.fate, once[body.name] - rest[2], grounded=grounded)
    return found


def _told(failure: FailureOutcome, then: Aftermath, now: Equilibrium, feet: Mapping[str, Fate]) -> FailureOutcome:
    fates, ran = dict(failure.fates), _slack_ran(now, then)
    fates |= {name: worst((fates.get(name, HELD), fate)) for name, fate in feet.items()}
    for moved in then.moved:
        fates[moved.name] = _after(fates.get(moved.name, HELD), moved.name, then, ran=ran)
    told = {name: fate for name, fate in sorted(fates.items()) if fate != HELD}
    slackens = tuple(name for name, fate in told.items() if fate.kind is Kind.SLACKENS)
    falls = tuple(name for name, fate in told.items() if fate.not_held)
    tips = tuple(name for name in failure.tips if name not in falls)
    return replace(failure, fates=tuple(told.items()), falls=falls, tips=tips, slackens=slackens)


def _after(fate: Fate, name: str, then: Aftermath, *, ran: bool) -> Fate:
    drops: Mapping[str, float] = {moved.name: moved.drop for moved in then.moved}
    return _fate(fate, drops[name], grounded=name in then.on_ground, ran=ran) if name in drops else fate


def _slack_ran(now: Equilibrium, then: Aftermath) -> bool:
    """Does a line carry after a failure that hung loose before it, by more than a drop is: by the lengths in the file,
    of which the connections know nothing?"""
    loose = {one.name for one in now.lines if one.slack and one.rest - one.length > SLACK_OUT}
    return any(one.name in loose and not one.slack for one in then.equilibrium.lines)


def _fate(fate: Fate, drop: float, *, grounded: bool, ran: bool = False) -> Fate:
    if grounded:
        return worst((fate, Fate(Kind.TO_THE_GROUND, drop=drop)))
    if fate.kind is Kind.SLACKENS:
        return Fate(Kind.DROPS, drop=drop) if drop > SLACK_OUT else HELD
    limit = SLACK_OUT if ran else LOWERED
    return Fate(Kind.DROPS, drop=drop) if fate.kind is Kind.HELD and drop > limit else fate
