"""A body hangs only from a person, or from bare hands."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity
from analyser.checking.hanging_from import holder
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        if body.only_by_person:
            by = holder(rig, body.name) or "a person or by bare hands"
            text = f"{body.name} is held only by {by}: that does not count as held"
            yield Finding(RULE.name, RULE.severity, (body.name,), (body.name,), rig.parts[body.name].place, text)


RULE = Rule(
    name="only-by-person",
    severity=Severity.DANGER,
    means="A body hangs only from a person, or from bare hands.",
    matters=(
        "People hold nobody up in the answer: a harness point of another person is not an anchor, and hands open."
    ),
    mends="Attach the body to the rope system itself.",
    source="common practice, no source",
    wrong="""
anchor bolt
person vic: points waist, chest
person sam: points waist   # here
attach bolt - strap s - vic.waist
attach vic.chest - strap t - sam.waist
""",
    right="""
anchor bolt
person vic: points waist, chest
person sam: points waist
attach bolt - strap s - vic.waist
attach s - strap t - sam.waist
""",
    find=find,
)
