"""What the forces say, laid over what follows from connections: who drops, by how much, and who lies on the ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from analyser.holding.fate import HELD, Fate, Kind, worst
from analyser.holding.outcome import FailureOutcome, Outcome
from analyser.language.identities import FailureId
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.loads import Loads

SLACK_OUT, LOWERED = 0.1, 1.0
"""Metres by which somebody comes to rest lower before it counts as a drop: where rope must first run out, and where
they are only lowered. Limits ours, no source; stretch alone is told as a figure."""


def with_drops(rig: Rig, outcome: Outcome, loads: Loads) -> Outcome:
    """The outcome with what is worked out at rest, and after single failures; what isn't is left as it is."""
    outcome = outcome.told_as(_at_rest(rig, outcome, loads))
    after = {one.failures[0]: one for one in loads.after or () if one.accepted and len(one.failures) == 1}
    if not after:
        return outcome
    failures = tuple(_told(one, after[one.id]) if one.id in after else one for one in outcome.failures)
    alone: dict[str, list[FailureId]] = {}
    for was, now in zip(outcome.failures, failures, strict=True):
        for name in set(now.falls).difference(was.falls):
            alone.setdefault(name, []).append(now.id)
    failures = tuple(
        replace(one, down_to_one=tuple(sorted({*one.down_to_one, *alone}.difference(one.falls)))) for one in failures
    )
    return replace(outcome, failures=failures).lost_after(alone)


def as_followed(outcome: Outcome, then: Aftermath | None) -> Outcome:
    """The outcome of a rig after some failures, with what the forces say follows them."""
    if then is None or not then.accepted:
        return outcome
    fates = {body.name: body.fate for body in outcome.bodies}
    return outcome.told_as({name: _after(fate, name, then) for name, fate in fates.items()})


def _at_rest(rig: Rig, outcome: Outcome, loads: Loads) -> dict[str, Fate]:
    """With nothing failed: who comes to rest lower than the file writes, or on the ground that it writes them above."""
    found = {}
    for body in outcome.bodies if loads.now.accepted else ():
        part, rest = rig.parts[body.name], loads.now.at.get(body.name)
        if part.at is None or rest is None or part.standing:
            continue
        grounded = loads.ground is not None and loads.ground.stops(part, part.at[2], rest[2])
        found[body.name] = _fate(body.fate, part.at[2] - rest[2], grounded=grounded)
    return found


def _told(failure: FailureOutcome, then: Aftermath) -> FailureOutcome:
    fates = dict(failure.fates)
    for moved in then.moved:
        fates[moved.name] = _after(fates.get(moved.name, HELD), moved.name, then)
    told = {name: fate for name, fate in sorted(fates.items()) if fate != HELD}
    slackens = tuple(name for name, fate in told.items() if fate.kind is Kind.SLACKENS)
    falls = tuple(name for name, fate in told.items() if fate.not_held)
    tips = tuple(name for name in failure.tips if name not in falls)
    return replace(failure, fates=tuple(told.items()), falls=falls, tips=tips, slackens=slackens)


def _after(fate: Fate, name: str, then: Aftermath) -> Fate:
    drops: Mapping[str, float] = {moved.name: moved.drop for moved in then.moved}
    return _fate(fate, drops[name], grounded=name in then.on_ground) if name in drops else fate


def _fate(fate: Fate, drop: float, *, grounded: bool) -> Fate:
    if grounded:
        return worst((fate, Fate(Kind.TO_THE_GROUND, drop=drop)))
    if fate.kind is Kind.SLACKENS:
        return Fate(Kind.DROPS, drop=drop) if drop > SLACK_OUT else HELD
    return Fate(Kind.DROPS, drop=drop) if fate.kind is Kind.HELD and drop > LOWERED else fate
