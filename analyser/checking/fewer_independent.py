"""More attachments are clipped than count: they share something that can fail."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig

MOST = 4
"""Shared things that are named."""


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        independent = body.independent
        if body.kind != "person" or independent is None or not body.held:
            continue
        if 1 <= independent < body.attachments:
            told = [_words(rig, one) for one in outcome.failure_sets[body.name].singles]
            shared = list(dict.fromkeys(words for words in told if words))
            more = f", and {len(shared) - MOST} more" if len(shared) > MOST else ""
            where = f": all of them need {listed(shared[:MOST])}{more}" if shared else ""
            if told and not shared:
                where = f": {outcome.failure_sets[body.name].singles[0]}, and all are lost"
            count = f"{body.attachments} attachments, {independent} independent"
            if independent > 1:
                where = ": some of them share what can fail"
            severity = Severity.CAUTION if independent == 1 else Severity.NOTE
            place = rig.parts[body.name].place
            yield RULE.told(f"{body.name} has {count}{where}", (body.name,), place, (body.name,), severity=severity)


def _words(rig: Rig, failure: str) -> str:
    """What is shared, with its kind: `the ring master`, `the rope red`, `the hands of jo`; a cause
    is nothing that attachments need, and has no word here."""
    event = rig.index.failures[failure]
    if event.mode in ("lets go", "holds on"):
        return f"the hands of {event.part}"
    if event.mode == "loses footing":
        return f"the footing of {event.part}"
    part = rig.parts.get(event.part)
    if part:
        return f"the {part.kind} {part.name}" if part.kind != "knot" else f"the knot {part.name}"
    if event.mode == "is cut":
        return f"the rope {event.id.owner}"
    return ""


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
