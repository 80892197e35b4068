"""A body is not held although nothing has failed."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.fates import who
from analyser.checking.finding import Finding, Rule, Severity
from analyser.holding.fate import Kind
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        if body.fate.kind in (Kind.FALLS, Kind.BY_ANOTHERS_WEIGHT):
            text = f"with nothing failed {who((body.name,), body.fate)}"
            yield Finding(RULE.name, RULE.severity, (body.name,), (body.name,), rig.parts[body.name].place, text)


RULE = Rule(
    name="not-held",
    severity=Severity.DANGER,
    means="A body is not held although nothing has failed.",
    matters=(
        "No failure is needed: it falls as the file stands. Usually a contact is missing in the file, "
        "a rope's loaded side is the other one, or an anchor is marked `below`."
    ),
    mends="Attach one of its points to something that is held; look at `stillheld why`.",
    source=("the rules of holding; that everybody is attached before weighting is common practice, no source"),
    wrong="""
anchor bolt
person sam: points waist   # here
attach bolt - strap s
""",
    right="""
anchor bolt
person sam: points waist
attach bolt - strap s - sam.waist
""",
    find=find,
)
