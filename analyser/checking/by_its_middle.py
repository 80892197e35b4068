"""What hangs by no end of it: a beam by its middle, with somebody under its ends; what is held at its bare name."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed, verb
from analyser.holding.outcome import Outcome
from analyser.holding.system import RigSystem
from analyser.holding.tipping import tippable
from analyser.rig.index import reached
from analyser.rig.model import Nature, Part, Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    held = [body.name for body in outcome.bodies if body.held]
    tips = {body.name for body in outcome.bodies if body.tips or not body.held}
    level = [part for part in tippable(rig) if part.name not in tips]
    asked = [(part, _at_its_name(rig, part), _under(rig, part, held)) for part in level]
    tipping = RigSystem(rig).tipping if any(by or bodies for _, by, bodies in asked) else None
    for part, by, bodies in asked:
        if tipping is None or not (by or bodies) or any(tipping.supported(part.name)[0]):
            continue
        if by:
            yield _bare(part, by)
            continue
        text = (
            f"{part.name} hangs by its middle, and {listed(bodies)} at its ends: it is level only while both bear alike"
        )
        yield RULE.told(f"{text}; with one let go, the other drops", (part.name,), part.place, bodies)


def _bare(part: Part, by: list[str]) -> Finding:
    (first, *_), _ = part.ends or part.sides or ((part.name,), ())
    text = f"{part.name} has ends, and {listed(by)} {verb(by, 'holds', 'hold')} it by its name, at no point of it: "
    text += "that it tips when one that holds it is gone can't be told"
    return RULE.told(text, (part.name, *by), part.place, mend=f"write at which point: `attach {by[0]} - {first}`")


def _at_its_name(rig: Rig, part: Part) -> list[str]:
    """What leads from the ground to a part and is attached at none of its points; not what gathers several legs."""
    ground = {one.name for one in rig.index.natured(Nature.GROUND, Nature.FRAME)}
    bodies = {name for one in rig.bodies for name in (one.name, *one.points)} | {part.name, *part.points}
    near = [name for name in rig.index.meeting.get(part.name, ()) if name not in bodies]
    there = [name for name in near if "bridle" not in rig.parts[name].family]
    joined = rig.index.joined_by_ropes
    return [name for name in there if name in ground or not ground.isdisjoint(reached(joined, (name,), bodies))]


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
    means=(
        "A beam, bar or litter that hangs by its middle alone, with somebody under its ends; or something that has "
        "ends, and what holds it is attached to its bare name, at neither of them."
    ),
    matters=(
        "It is level by what hangs at its ends, not by what holds it: when one end is let go, or bears less, that end "
        "goes up and the other down, up to the beam's length. Nobody counts as falling, and whoever hangs there drops. "
        "And what is attached to the bare name may lie anywhere along it: with one of two slings gone it tips, or "
        "slides out of the other, and nothing in the file says so."
    ),
    mends=(
        "Two lines to the beam, one at each end; or who hangs there on a line of their own. What is attached to the "
        "bare name: the point in its stead."
    ),
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
