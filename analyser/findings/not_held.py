"""A body is not held although nothing has failed.

It matters because no failure is needed. Usually a contact is missing in the file, a rope's loaded
side is the other one, or the body hangs only from a person. Source: the rules of holding; that
every person must be attached before weighting is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

NAME = "not-held"


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        if not body.held and not body.only_by_person:
            text = f"{body.name} is held by nothing: it falls with nothing failed"
            yield Finding(NAME, Severity.DANGER, (body.name,), (body.name,), rig.parts[body.name].place, text)
