"""What reading the file showed and no failure does: idle parts, contacts said twice, and the like.

`unused-part`: nothing touches a declared part. `repeated-contact`: the same contact is said twice,
and is still one. `below-not-said`: whether an end worked from the ground lies under the bodies
decides whether it can hold them. `unknown-knot`: a knot that the catalogue does not know.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

NAME = "as-written"
SEVERITIES = {"unknown-knot": Severity.NOTE}


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for caution in rig.cautions:
        severity = SEVERITIES.get(caution.rule, Severity.CAUTION)
        bodies = tuple(name for name in caution.about if name in outcome.failure_sets)
        yield Finding(caution.rule, severity, caution.about, bodies, caution.place, caution.text)
