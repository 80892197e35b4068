"""More attachments are clipped than count: two of them share something that can fail.

Two clips into one ring look like two attachments and are one. Usual shared items: one master
ring, one big connector, one anchor, one sling, one edge, one operator, one harness point. Source:
common practice, no source (facts 8.6); that independent ways are counted as disjoint paths to the
ground follows Menger's theorem.
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

NAME = "fewer-independent"


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        independent = body.independent
        if body.kind != "person" or independent is None or not body.held:
            continue
        if 1 <= independent < body.attachments:
            shared = [cut[0] for cut in outcome.failure_sets[body.name] if len(cut) == 1]
            where = f": {shared[0]}, and all are lost" if shared else ""
            more = f" (and {len(shared) - 1} more)" if len(shared) > 1 else ""
            text = f"{body.name} has {body.attachments} attachments, {independent} independent{where}{more}"
            yield Finding(NAME, Severity.CAUTION, (body.name,), (body.name,), rig.parts[body.name].place, text)
