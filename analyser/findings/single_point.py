"""One failure, and somebody falls: a single point of failure.

The critical-point test walks the system and asks of every item "if this lets go, what then?"; it
fails if one item, human or kit, brings the whole down. A second, separate way to another anchor
mends it; a second connector to the same ring does not. Source: county manual quoted at
firehouse.com/forums t125939, of which an extract was seen (facts 9.12, S93).
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity, listed, place_of, verb
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

NAME = "single-point"


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    already = {body.name for body in outcome.bodies if not body.held}
    accepted = {one.failure: one.reason for one in rig.accepted}
    for failure in outcome.failures:
        falls = tuple(name for name in failure.falls if name not in already)
        if not falls:
            continue
        text = f"{failure.id}: {listed(falls)} {verb(falls, 'falls', 'fall')}"
        by_person = [name for name in falls if name in failure.only_by_person]
        if by_person:
            text += f" ({listed(by_person)} then held only by a person)"
        yield Finding(
            NAME,
            Severity.DANGER,
            (failure.part,),
            falls,
            place_of(rig, failure.part),
            text,
            accepted.get(failure.id),
        )
