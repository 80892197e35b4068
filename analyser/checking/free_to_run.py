"""One failure frees somebody to run along a line on which nothing else keeps their place."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, in_few, place_of
from analyser.checking.free_along import freed
from analyser.holding.outcome import Outcome
from analyser.language.identities import spoken
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    accepted = {str(one.failure): one.reason for one in rig.accepted}
    for free, failures in freed(rig, outcome).items():
        about = tuple(dict.fromkeys(rig.index.failures[one].part for one in failures))
        text = f"{'; '.join(map(spoken, failures))}: {free.text}, and nothing else keeps the place"
        if len(failures) > 1:
            text = f"after any of these ({in_few(failures)}) {free.text}: nothing else keeps the place"
        reason = accepted.get(failures[0]) if len(failures) == 1 else None
        yield Finding(RULE.name, RULE.severity, about, free.bodies, place_of(rig, about[0]), text, reason)


RULE = Rule(
    name="free-to-run",
    severity=Severity.CAUTION,
    means="After one failure somebody hangs from a line on which they only run, and nothing keeps their place on it.",
    matters=(
        "They are held, and run along the line to where it lets them: to the lowest place of a sagging one, or against "
        "its end. How far and how fast the connections don't say; with places the forces do."
    ),
    mends="A second line that keeps the place, or a grip on the line itself, each to an anchor of its own.",
    source="common practice, no source",
    wrong="""
anchor near, far, post
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
rope control
    tied to max.waist with figure-eight
    gripped by descender brake - post   # here
    stopper
brake: self-locking
""",
    right="""
anchor near, far, post
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
rope control
    tied to max.waist with figure-eight
    gripped by descender brake - post
    stopper
brake: self-locking
rope second
    tied to max.waist with figure-eight
    tied to far with figure-eight
""",
    find=find,
)
