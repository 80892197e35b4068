"""One failure, and somebody falls."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.consequences import effects
from analyser.checking.fates import in_words
from analyser.checking.finding import Finding, Rule, Severity, place_of
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    accepted = {one.failure: one.reason for one in rig.accepted}
    for failure, effect in effects(outcome):
        what = [one for one in effect.what if one.fate.not_held]
        falls = tuple(sorted(name for one in what for name in one.bodies))
        if not falls:
            continue
        yield Finding(
            RULE.name,
            RULE.severity,
            (failure.part,),
            falls,
            place_of(rig, failure.part),
            f"{failure.id.spoken}: {in_words(what)}",
            accepted.get(failure.id),
        )


RULE = Rule(
    name="single-point",
    severity=Severity.DANGER,
    means="One failure, and somebody falls.",
    matters=(
        "The critical-point test walks the system and asks of every item: if this lets go, what then? "
        "It fails if one item, human or kit, brings the whole down."
    ),
    mends=(
        "A second, separate way to another anchor. A second connector to the same ring is none. "
        "`stillheld mend` ranks what one addition would do."
    ),
    source="county manual quoted at firehouse.com/forums t125939, an extract seen (facts 9.12, S93)",
    wrong="""
anchor bolt, post
ring master   # here
person sam: points waist
attach bolt - master
attach post - master
attach master - strap one - sam.waist
attach master - strap two - sam.waist
""",
    right="""
anchor bolt, post
ring master
person sam: points waist
attach bolt - master
attach master - strap one - sam.waist
attach post - strap two - sam.waist
""",
    find=find,
)
