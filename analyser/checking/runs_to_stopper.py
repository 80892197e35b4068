"""After a device lets the rope run, only a knot or stopper catches: somebody runs to the end of the rope first."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.consequences import worst_hands_off
from analyser.checking.fates import Together, happens, together
from analyser.checking.finding import Finding, Rule, Severity, place_of
from analyser.holding.fate import Kind
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    held = {body.name for body in outcome.bodies if body.held}
    at_first = together((body.name, body.fate) for body in outcome.bodies)
    for one in _running(at_first):
        yield RULE.told(f"with nothing failed {happens(one)}", one.bodies, rig.parts[one.bodies[0]].place, one.bodies)
    for one in _running(worst_hands_off(outcome)):
        about = one.fate.to or one.bodies
        yield RULE.told(f"with hands off {happens(one)}", about, rig.parts[about[0]].place, one.bodies)
    accepted = {judged.failure: judged.reason for judged in rig.accepted}
    for failure in outcome.failures:
        for one in _running(together((name, fate) for name, fate in failure.fates if name in held)):
            about = one.fate.to or (failure.part,)
            place, text = place_of(rig, about[0]), f"{failure.id.spoken}: {happens(one)}"
            yield Finding(RULE.name, RULE.severity, about, one.bodies, place, text, accepted.get(failure.id))


def _running(several: tuple[Together, ...]) -> Iterator[Together]:
    return (one for one in several if one.fate.kind is Kind.RUNS)


RULE = Rule(
    name="runs-to-stopper",
    severity=Severity.CAUTION,
    means="After a device slips or a hand lets go, only a knot or stopper further along the rope catches.",
    matters=(
        "Whoever hangs there runs down the rope until the knot jams: how far and how hard the file does not say. It "
        "counts as not held; the knot is a last catch, and a good habit."
    ),
    mends="A second attachment that does not run, or a device that locks by itself.",
    source="common practice, no source",
    wrong="""
anchor bolt
person sam: points waist
rope line
    tied to bolt with figure-eight
    gripped by descender device - sam.waist
    stopper   # here
""",
    right="""
anchor bolt
person sam: points waist
rope line
    tied to bolt with figure-eight
    gripped by descender device - sam.waist
""",
    find=find,
)
