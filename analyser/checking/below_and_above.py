"""Ground that is said to lie below somebody and is placed above them: one of the two is wrong."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity
from analyser.rig.figures import as_length
from analyser.rig.model import Nature, Part, Rig

AT_THE_FEET = 2.0
"""m: who stands has a harness so much higher than the ground at their feet at most (limit ours, no source)."""


def find(rig: Rig) -> Iterator[Finding]:
    yield from _not_below(rig)
    for ground in rig.parts.values():
        if ground.nature is not Nature.GROUND or not ground.at or not (ground.below or ground.below_for):
            continue
        least = ground.at[2] - ground.off[2]
        for body in rig.bodies:
            if ground.below_for and body.name not in ground.below_for:
                continue
            most = _highest(rig, body)
            if most is not None and least > most:
                text = (
                    f"{ground.name} is said to be below {body.name}, and its place is {as_length(least - most)} above"
                )
                yield RULE.told(text, (ground.name,), ground.place, (body.name,))
                break


def _not_below(rig: Rig) -> Iterator[Finding]:
    """Ground of which the file says that it is not below, and that it places far under somebody."""
    for ground in rig.parts.values():
        if ground.nature is Nature.GROUND and ground.below is False and ground.at:
            above = (
                (most - ground.at[2], body.name) for body in rig.bodies if (most := _highest(rig, body)) is not None
            )
            deepest, name = max(above, default=(0.0, ""))
            if deepest > AT_THE_FEET:
                text = f"{ground.name} is said not to be below, and its place is {as_length(deepest)} under {name}"
                yield RULE.told(f"{text}: it is taken to hold", (ground.name,), ground.place, (name,))


def _highest(rig: Rig, body: Part) -> float | None:
    """How high a body may be at most, where the file says: itself, else the highest of its points."""
    told = [body] if body.at else [rig.parts[point] for point in body.points]
    return max((part.at[2] + part.off[2] for part in told if part.at), default=None)


RULE = Rule(
    name="below-and-above",
    severity=Severity.DANGER,
    means=(
        "Ground is said to lie below somebody, and the places that the file gives put it above them; or it is said not "
        "to, and they put it far under them. The word counts, and not the place."
    ),
    matters=(
        "What lies below pulls down and holds nobody up, what lies above holds: who is held hangs on which of the two "
        "is so, and the file says both."
    ),
    mends="Take `below` away, or put the place right; look at the rope in the hand for which it is.",
    source="common practice, no source",
    wrong="""
anchor bolt: at (0, 0, 10)
anchor stake: below, at (1, 0, 8)   # here
person sam: points waist, chest, at (0, 0, 5)
attach bolt - strap one - sam.waist
attach stake - strap two - sam.chest
""",
    right="""
anchor bolt: at (0, 0, 10)
anchor stake: below, at (1, 0, 0)
person sam: points waist, chest, at (0, 0, 5)
attach bolt - strap one - sam.waist
attach stake - strap two - sam.chest
""",
    find=find,
)
