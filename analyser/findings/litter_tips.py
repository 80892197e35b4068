"""A litter is held at one of its ends only: it tips.

It stays connected but swings head-up or foot-up, with whoever lies in it. Source: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity, place_of
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

NAME = "litter-tips"


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    tipped = {body.name for body in outcome.bodies if body.tips}
    for name in sorted(tipped):
        text = f"{name} is held at one end only: it tips with nothing failed"
        yield Finding(NAME, Severity.DANGER, (name,), (name,), rig.parts[name].place, text)
    accepted = {one.failure: one.reason for one in rig.accepted}
    for failure in outcome.failures:
        for name in failure.tips:
            if name not in tipped:
                text = f"{failure.id}: {name} is held at one end only and tips"
                place = place_of(rig, failure.part)
                yield Finding(NAME, Severity.CAUTION, (failure.part,), (name,), place, text, accepted.get(failure.id))
