"""Something held at two points and more of which the file names no ends: that it tips can't be told."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed, verb
from analyser.holding.outcome import Outcome
from analyser.holding.tipping import pairs_of
from analyser.rig.index import outward
from analyser.rig.model import Nature, Part, Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    held = {body.name for body in outcome.bodies if body.held}
    ground = {one.name for one in rig.index.natured(Nature.GROUND, Nature.FRAME)}
    for part in rig.parts.values():
        if not _asked(part, held):
            continue
        if part.ends and not part.sides:
            yield from _without_sides(rig, part, held, ground)
        if pairs_of(part):
            continue
        points = _held_at(rig, part, ground)
        if len(points) > 1:
            on_it = [name for name in sorted(held) if name != part.name and _rests_on(rig, name, part)]
            there = f": {listed(on_it)} {verb(on_it, 'counts', 'count')} as held there all the same" if on_it else ""
            text = f"{part.name} is held at {listed(points)}, and the file names no ends of it: that it tips when one "
            text += f"of them lets go isn't told{there}"
            severity = Severity.DANGER if on_it else Severity.CAUTION
            bodies = (part.name, *on_it)
            yield RULE.told(text, (part.name,), part.place, bodies, severity=severity, mend=_mend(part, points))


def _asked(part: Part, held: set[str]) -> bool:
    """Is it a bar, or a load or a litter that is held and doesn't stand?"""
    if part.nature is Nature.JOINT:
        return "bar" in part.family and len(part.points) > 1
    return part.nature in (Nature.LOAD, Nature.LITTER) and not part.standing and part.name in held


def _without_sides(rig: Rig, part: Part, held: set[str], ground: set[str]) -> Iterator[Finding]:
    """Of what somebody stands on, and two hold at one end: which of them lies at which side."""
    standing = [name for name in sorted(held) if rig.parts[name].stands_on == part.name]
    points = _held_at(rig, part, ground) if standing else []
    if any(len([point for point in points if point in end]) > 1 for end in part.ends or ()):
        text = f"{part.name} is held at {listed(points)}, and the file names no sides of it: that it goes over "
        text += "sideways when one of them lets go isn't told: "
        text += f"{listed(standing)} {verb(standing, 'counts', 'count')} as held there all the same"
        own = [point[len(part.name) + 1 :] for point in points]
        mend = f"`{part.name}: sides … | …`, with which of {listed(own)} lie at which side"
        yield RULE.told(text, (part.name,), part.place, (part.name, *standing), severity=Severity.DANGER, mend=mend)


def _mend(part: Part, points: list[str]) -> str:
    own = [point[len(part.name) + 1 :] for point in points]  # `deck.west` is written `west` at the deck
    if len(own) == 2:
        return f"`{part.name}: ends {own[0]} | {own[1]}`"
    return f"`{part.name}: ends … | …`, with which of {listed(own)} lie at which end"


def _held_at(rig: Rig, part: Part, ground: set[str]) -> list[str]:
    """The points of something from which it is held: by what leads from them to the ground, and not by way of it."""
    own, joined = {part.name, *part.points}, rig.index.joined_by_ropes
    ways = {point: {name for name in joined.get(point, ()) if name not in own} for point in part.points}

    def leads(near: set[str]) -> bool:
        return any(one in ground for one in outward(near, lambda one: joined.get(one, ()), lambda one: one not in own))

    return [point for point, near in ways.items() if leads(near)]


def _rests_on(rig: Rig, name: str, part: Part) -> bool:
    """Does somebody stand on it, or hang from it, no ground between?"""
    body, clump = rig.parts[name], rig.index.clump
    own = {clump[one] for one in (part.name, *part.points)}
    return body.stands_on == part.name or any(clump[one] in own for one in (body.name, *body.points))


RULE = Rule(
    name="ends-not-written",
    severity=Severity.CAUTION,
    means=(
        "A load, a litter or a bar is held at two of its points or more, and the file does not say which lie at which "
        "end; or somebody stands on it, two points hold one end of it, and it does not say which lie at which side."
    ),
    matters=(
        "When what holds one end goes, it swings down by that end: whoever stands on it loses their feet, what hangs "
        "from it drops. Without its ends nothing of that is told, and it counts as held and level. A danger where "
        "somebody stands on it or hangs from it."
    ),
    mends="`ends west | east`; of four corners `ends a, b | c, d` and `sides`. A litter's points: head…, foot….",
    source="common practice, no source",
    wrong="""
anchor one, two
load deck: points west, east   # here
attach one - strap left - deck.west
attach two - strap right - deck.east
""",
    right="""
anchor one, two
load deck: points west, east, ends west | east
attach one - strap left - deck.west
attach two - strap right - deck.east
""",
    find=find,
)
