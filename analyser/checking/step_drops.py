"""A step after which somebody comes to rest far lower than before it, and nothing failed or was paid out."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.fates import happens, together
from analyser.checking.finding import Finding, Rule, Severity
from analyser.holding.fate import Kind
from analyser.holding.outcome import Outcome
from analyser.rig.model import Step

MEND = "take in what shall carry instead until it does, then open this one"
DROPPED = (Kind.DROPS, Kind.TO_THE_GROUND)


def find(step: Step, outcome: Outcome) -> Iterator[Finding]:
    """By the forces, at rest before and after the step."""
    dropping = together(
        (body.name, body.fate) for body in outcome.bodies if body.fate.kind in DROPPED and body.fate.drop is not None
    )
    for one in dropping:
        text = f"`{step.words}`: {happens(one)}, though nothing fails"
        yield RULE.told(text, (step.words,), step.place, one.bodies, mend=MEND)


RULE = Rule(
    name="step-drops",
    severity=Severity.DANGER,
    means="After a step, with nothing failed, somebody hangs far lower than before it, and nothing was paid out.",
    matters=(
        "What they hung on was opened before the next line had their weight: they fall as far as that line is slack, "
        "on purpose. The places and lengths in the file say so; the catch is a shock as after any failure."
    ),
    mends="Take in what shall carry instead until it does, then open this one.",
    source="common practice, no source (facts 12.5: on before off); what counts as a drop: limits ours, no source",
    wrong="""
anchor near: at (0, 0, 10)
anchor other: at (0.3, 0, 10)
person sam: 80 kg, at (0, 0, 9), points waist, chest
lanyard long
attach near - lanyard short - sam.waist
attach long - sam.chest
short: length 1 m
long: length 6 m
stage "Change over"
    attach long - other
    detach short from near   # here
""",
    right="""
anchor near: at (0, 0, 10)
anchor other: at (0.3, 0, 10)
person sam: 80 kg, at (0, 0, 9), points waist, chest
lanyard long
attach near - lanyard short - sam.waist
attach long - sam.chest
short: length 1 m
long: length 1.1 m
stage "Change over"
    attach long - other
    detach short from near
""",
    find=find,
)
