"""More attachments are clipped than count: they share something that can fail."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Rule, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


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
            yield Finding(RULE.name, RULE.severity, (body.name,), (body.name,), rig.parts[body.name].place, text)


RULE = Rule(
    name="fewer-independent",
    severity=Severity.CAUTION,
    means="More attachments are clipped than count: they share something that can fail.",
    matters=(
        "Two clips into one ring look like two attachments and are one. Usual shared items: one "
        "master ring, one big connector, one anchor, one sling, one edge, one operator, one harness "
        "point."
    ),
    mends="Take the second attachment past the shared item, to another anchor.",
    source=(
        "common practice, no source (facts 8.6); independent ways are counted as disjoint ways to the "
        "ground, after Menger's theorem"
    ),
    wrong="""
anchor bolt
person sam: points waist, chest   # here
attach bolt - strap one - sam.waist
attach bolt - strap two - sam.chest
""",
    right="""
anchor bolt, post
person sam: points waist, chest
attach bolt - strap one - sam.waist
attach post - strap two - sam.chest
""",
    find=find,
)
