"""A beam that hangs by its middle, with somebody under its ends: level by what they weigh, not by what holds it."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed
from analyser.holding.outcome import Outcome
from analyser.holding.system import RigSystem
from analyser.holding.tipping import tippable
from analyser.rig.index import reached
from analyser.rig.model import Nature, Part, Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    held = [body.name for body in outcome.bodies if body.held]
    tips = {body.name for body in outcome.bodies if body.tips or not body.held}
    beams = {part: bodies for part in tippable(rig) if part.name not in tips and (bodies := _under(rig, part, held))}
    tipping = RigSystem(rig).tipping if beams else None
    for part, bodies in beams.items():
        if tipping is None or any(tipping.supported(part.name)[0]):
            continue
        text = (
            f"{part.name} hangs by its middle, and {listed(bodies)} at its ends: it is level only while both bear alike"
        )
        yield RULE.told(f"{text}; with one let go, the other drops", (part.name,), part.place, bodies)


def _under(rig: Rig, part: Part, held: list[str]) -> list[str]:
    """The bodies that hang at one of its ends and not at the other, where something hangs at both."""
    border = {part.name, *part.points} | {one.name for one in rig.index.natured(Nature.GROUND, Nature.FRAME)}
    joined = rig.index.joined_by_ropes
    near = [reached(joined, end, border.difference(end)).difference(end) for end in part.ends or ()]
    if not all(near):
        return []
    return [name for name in held if name != part.name and (name in near[0]) != (name in near[1])]


RULE = Rule(
    name="level-by-its-middle",
    severity=Severity.CAUTION,
    means="A beam, bar or litter that hangs by its middle alone, with somebody under its ends.",
    matters=(
        "It is level by what hangs at its ends, not by what holds it: when one end is let go, or bears less, that end "
        "goes up and the other down, up to the beam's length. Nobody counts as falling, and whoever hangs there drops."
    ),
    mends="Two lines to the beam, one at each end; or who hangs there on a line of their own.",
    source="statics of a beam on one pick",
    wrong="""
anchor bolt
bar beam: points left, mid, right, ends left | right   # here
attach bolt - strap pick - beam.mid
person ann, ben: points back
attach beam.left - lanyard ann-line - ann.back
attach beam.right - lanyard ben-line - ben.back
""",
    right="""
anchor bolt, other
bar beam: ends left | right
attach bolt - strap pick - beam.left
attach other - strap second - beam.right
person ann, ben: points back
attach beam.left - lanyard ann-line - ann.back
attach beam.right - lanyard ben-line - ben.back
""",
    find=find,
)
