"""After one failure somebody is held, and one more would drop them."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity
from analyser.holding.outcome import Outcome
from analyser.language.identities import FailureId, spoken
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    on_one: dict[str, list[FailureId]] = {
        body.name: [] for body in outcome.bodies if body.smallest_failure_set not in (0, 1)
    }
    for failure in outcome.failures if on_one else ():
        for name in failure.down_to_one:
            if name in on_one:
                on_one[name].append(failure.id)
    for body in outcome.bodies:
        after = on_one.get(body.name)
        if after:
            more = f" and {len(after) - 3} more" if len(after) > 3 else ""
            such = f"{', '.join(map(spoken, after[:3]))}{more}"
            text = f"after any one of {len(after)} failures {body.name} is left on one: {such}"
            yield RULE.told(text, (body.name,), rig.parts[body.name].place, (body.name,))


RULE = Rule(
    name="down-to-one",
    severity=Severity.NOTE,
    means="After one failure somebody is held, and after one more they would not be.",
    matters="With two lines that is so by design: the first failure ends the job, and nobody goes on on one line.",
    mends="Have a plan for that moment; a third way where it can last long.",
    source="the meaning of a single-failure criterion: one failure is survived, not two (facts 9.2, S91)",
    wrong="""
anchor bolt, post
person sam: points waist, chest   # here
attach bolt - strap s - sam.waist
attach post - strap t - sam.chest
""",
    right="""
anchor bolt, post, beam
person sam: points waist, chest, back
attach bolt - strap s - sam.waist
attach post - strap t - sam.chest
attach beam - strap u - sam.back
""",
    find=find,
)
