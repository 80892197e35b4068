"""What the forces say of single failures, laid over what follows from connections: who drops, and by how much."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from analyser.holding.fate import HELD, Fate, Kind
from analyser.holding.outcome import FailureOutcome, Outcome

if TYPE_CHECKING:
    from analyser.forces.loads import Loads

SLACK_OUT, LOWERED = 0.1, 1.0
"""Metres by which somebody comes to rest lower before it counts as a drop: where rope must first run out, and where
they are only lowered. Limits ours, no source; stretch alone is told as a figure."""


def with_drops(outcome: Outcome, loads: Loads) -> Outcome:
    """The outcome with the drops that are worked out after single failures; what isn't is left as it is."""
    after = {
        one.failures[0]: {moved.name: moved.drop for moved in one.moved}
        for one in loads.after or ()
        if one.accepted and len(one.failures) == 1
    }
    if not after:
        return outcome
    return replace(outcome, failures=tuple(_told(one, after.get(one.id)) for one in outcome.failures))


def _told(failure: FailureOutcome, drops: Mapping[str, float] | None) -> FailureOutcome:
    if drops is None:
        return failure
    fates = dict(failure.fates)
    for name, drop in drops.items():
        fates[name] = _fate(fates.get(name, HELD), drop)
    told = {name: fate for name, fate in sorted(fates.items()) if fate != HELD}
    slackens = tuple(name for name, fate in told.items() if fate.kind is Kind.SLACKENS)
    return replace(failure, fates=tuple(told.items()), slackens=slackens)


def _fate(fate: Fate, drop: float) -> Fate:
    if fate.kind is Kind.SLACKENS:
        return Fate(Kind.DROPS, drop=drop) if drop > SLACK_OUT else HELD
    return Fate(Kind.DROPS, drop=drop) if fate.kind is Kind.HELD and drop > LOWERED else fate
