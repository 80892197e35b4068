"""A body hangs only from a person, or from bare hands.

People hold nobody up in the answer: a harness point of another person is not an anchor, and hands
open. Attach the body to the rope system itself. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

NAME = "only-by-person"


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        if body.only_by_person:
            text = f"{body.name} is held only by a person or by bare hands, which is not counted as held"
            yield Finding(NAME, Severity.DANGER, (body.name,), (body.name,), rig.parts[body.name].place, text)
