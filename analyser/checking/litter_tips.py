"""A litter is held at one of its ends only: it tips."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.fates import who
from analyser.checking.finding import Finding, Rule, Severity, place_of
from analyser.checking.required_holding import held_at_one
from analyser.checking.sentences import either
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    tipped = {body.name for body in outcome.bodies if body.tips}
    for name in sorted(tipped):
        text = f"{name} has lost the support of an end or a side: it tips with nothing failed"
        yield Finding(RULE.name, Severity.DANGER, (name,), (name,), rig.parts[name].place, text)
    stood_on = {body.stands_on for body in rig.bodies}  # told of who stands there
    for body in outcome.bodies:
        if (
            body.held
            and not body.tips
            and body.name not in stood_on
            and (end := held_at_one(rig, rig.parts[body.name], outcome))
        ):
            text = f"{body.name} hangs by {either(list(end))} alone, with nothing failed: it doesn't lie level"
            yield Finding(RULE.name, RULE.severity, (body.name,), (body.name,), rig.parts[body.name].place, text)
    bodies = {body.name for body in outcome.bodies}
    accepted = {one.failure: one.reason for one in rig.accepted}
    for failure in outcome.failures:
        for name in failure.tips:
            if name not in tipped:
                text = f"{failure.id.spoken}: {who((name,), failure.fate(name))}"
                if name not in bodies:
                    text = f"{failure.id.spoken}: {name} tips"
                place = place_of(rig, failure.part)
                yield Finding(
                    RULE.name, Severity.CAUTION, (failure.part,), (name,), place, text, accepted.get(failure.id)
                )


RULE = Rule(
    name="litter-tips",
    severity=Severity.CAUTION,
    means="A litter is held at one of its ends only: it tips.",
    matters="It stays connected but swings head up or foot up, with whoever lies in it.",
    mends="A leg at each end that does not share a connector with the legs of the other end.",
    source="common practice, no source",
    wrong="""
anchor bolt
litter basket: points head, foot
attach bolt - strap one - basket.head
attach bolt - strap two - basket.foot
strap three
attach bolt - three
""",
    right="""
anchor bolt
litter basket: points head, foot, head-right, foot-right
attach bolt - strap one - basket.head
attach bolt - strap two - basket.foot
attach bolt - strap three - basket.head-right
attach bolt - strap four - basket.foot-right
""",
    find=find,
)
