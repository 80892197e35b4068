"""Somebody held by a lanyard or a sling that lies round something, with both its ends on their harness."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.failing import baskets
from analyser.rig.model import Nature, Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    ends = baskets(rig.parts, rig.contacts)
    for part in rig.parts.values():
        if part.laid_round is None or part.name not in ends:
            continue
        reached = [rig.parts[name] for name, those in ends.items() if part.name in those]
        on = [one.body or one.name for one in reached if one.body or one.is_body]
        people = {name for name in on if rig.parts[name].nature is Nature.PERSON}
        if len(on) < 2 or len({*on}) > 1 or not people:
            continue
        (person,) = people
        alone = any(one.part == part.name and person in one.falls for one in outcome.failures)
        text = f"{part.name} lies round {part.laid_round} with both ends on {person}, and counts as holding: that it "
        text += f"doesn't slide along {part.laid_round}, as round a smooth pole, isn't told"
        yield RULE.told(
            text, (part.name,), part.place, (person,), severity=Severity.DANGER if alone else Severity.CAUTION
        )


RULE = Rule(
    name="slides-along",
    severity=Severity.CAUTION,
    means=(
        "A lanyard or a sling lies in a basket round something, with both its ends on one person, and counts as one of "
        "the ways by which they are held. A danger where they are not held without it."
    ),
    matters=(
        "It positions who leans into it with their feet against what it goes round. Once the feet come off, a lanyard "
        "round a smooth pole slides down as far as it can, with whoever hangs on it. Connections know nothing of that."
    ),
    mends=(
        "A second line to something above; a device that is made to choke the pole; what it lies above (a branch, a "
        "step, a collar) written as the anchor that it would come to."
    ),
    source="statics (a strand round a cylinder holds by friction alone); common practice, no source",
    wrong="""
anchor pole
person sam: points left, right
lanyard flip: basket round pole   # here
attach sam.left - flip - sam.right
""",
    right="""
anchor pole
person sam: points left, right
lanyard flip: choked round pole
attach sam.left - flip - sam.right
""",
    find=find,
)
