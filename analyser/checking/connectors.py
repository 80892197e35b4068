"""Connectors: gates, directions of load, edges, crowding; textile on textile; loops made for gear."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from analyser.checking.finding import Asked, Finding, Rule, Severity, listed, verb
from analyser.checking.tracing import angle, concerned, to_ground
from analyser.holding.outcome import Outcome
from analyser.rig.index import Joined, reached
from analyser.rig.model import Nature, Part, Rig, Role

SAME_WAY = 30.0
"""Degrees within which two pulls on a connector count as one direction: common practice, no source."""


def connectors(rig: Rig) -> Iterator[Part]:
    """Everything that closes round two things: carabiners, screw links, shackles."""
    return (part for part in rig.parts.values() if "connector" in part.family)


def _loads(rig: Rig, name: str) -> list[str]:
    """What pulls on a part: what touches it, and the ropes that run through it."""
    return [*rig.touching[name], *rig.index.ropes_at(name, Role.RUN)]


def _people(rig: Rig, outcome: Outcome, *failures: str) -> tuple[str, ...]:
    return tuple(b for b in concerned(outcome, *failures) if rig.parts[b].nature is Nature.PERSON)


# -- gates


def _find_gate(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for part in connectors(rig):
        people = _people(rig, outcome, f"{part.name} fails")
        if part.locking is False and people:
            text = f"{listed(people)} {verb(people, 'hangs', 'hang')} on {part.name}, whose gate does not lock"
            yield GATE.told(text, (part.name,), part.place, people, mend=f"a locking one; then `{part.name}: locking`")


def _ask_gate(rig: Rig, outcome: Outcome) -> Iterator[Asked]:
    for part in connectors(rig):
        if part.locking is None and _people(rig, outcome, f"{part.name} fails"):
            yield Asked("gate", part.name, "`locking` or `not locking`")


GATE = Rule(
    name="gate-not-locking",
    severity=Severity.CAUTION,
    means="A person hangs on a connector whose gate does not lock.",
    matters="A rope, an edge or a device that lies across it opens an unlocked gate; open, it keeps about a third.",
    mends="A locking connector, locked, seen and touched by a second person.",
    source=(
        "gate open 5 to 8 kN against 18 to 25 kN shut: EN 12275, an extract seen (satra.com/ppe/EN12275.php); "
        "two reports of gates that opened, extracts seen (facts 11.18, 11.19, S114, S115)"
    ),
    wrong="""
anchor bolt
person sam
carabiner crab: not locking   # here
attach bolt - crab - sam
""",
    right="""
anchor bolt
person sam
carabiner crab: locking
attach bolt - crab - sam
""",
    find=_find_gate,
    asks=_ask_gate,
)


# -- directions of load


def _find_three_way(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    joined = rig.index.joined_by_ropes
    for part in connectors(rig):
        loads = _loads(rig, part.name)
        running = [one for one in loads if one in rig.index.ropes]
        if len(loads) - max(0, len(running) - 1) < 3:  # ropes that run through side by side pull as one
            continue
        widest = _widest(rig, part.name, loads)
        if widest is not None and widest <= SAME_WAY:
            continue
        if widest is None and not _held_two_ways(rig, joined, part.name, loads):
            continue
        text = f"{part.name} is pulled by {len(loads)} at once: {listed(loads)}"
        if widest is not None:
            text += f" (the two that pull alike most are {widest:.0f} deg apart)"
        bodies = concerned(outcome, f"{part.name} fails")
        yield THREE_WAY.told(text, (part.name,), part.place, bodies, mend="a ring or a plate in its place")


def _held_two_ways(rig: Rig, joined: Joined, name: str, loads: list[str]) -> bool:
    """Is it held from two sides, by different anchors? All that hangs from one side pulls one way, unless
    positions say otherwise."""
    closed = {name, *rig.index.with_points()}
    anchors = []
    for load in loads:
        ground = {one for one in reached(joined, [load], closed) if one in rig.parts and rig.parts[one].holds_up}
        if ground:
            anchors.append(ground)
    return any(one != two for one, two in combinations(anchors, 2))


def _widest(rig: Rig, name: str, loads: list[str]) -> float | None:
    """With three pulls whose places are known: the smallest angle between two of them, in degrees."""
    here = rig.parts[name].at
    places = [rig.parts[one].at for one in loads if one in rig.parts]
    if here is None or len(loads) != 3 or len(places) != 3 or not all(places):
        return None
    if here in places:
        return None
    vectors = [tuple(a - b for a, b in zip(place, here, strict=True)) for place in places if place]
    return min(angle(one, two) for one, two in combinations(vectors, 2))


THREE_WAY = Rule(
    name="three-way-load",
    severity=Severity.CAUTION,
    means="A connector is pulled in three or more directions.",
    matters="A connector is strong along its spine; a third pull loads the gate or the minor axis, a third of that.",
    mends="A ring or a rigging plate where three or more meet.",
    source="minor axis 7 kN of 20: EN 12275, an extract seen (satra.com/ppe/EN12275.php); the rest: common practice, "
    "no source",
    wrong="""
anchor left, right
person sam
carabiner crab   # here
attach left - sling a - crab
attach right - sling b - crab
attach crab - sam
""",
    right="""
anchor left, right
person sam
ring eye
attach left - sling a - eye
attach right - sling b - eye
attach eye - carabiner crab - sam
""",
    find=_find_three_way,
)


# -- edges and crowding


def _find_across(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for part in rig.parts.values():
        if part.across:
            text = f"{part.name} lies across {listed(part.across)}: loaded, it bends over the edge"
            bodies = concerned(outcome, f"{part.name} fails")
            mend = "lengthen or shorten what it hangs on, so that it clears the edge"
            yield ACROSS.told(text, (part.name, *part.across), part.place, bodies, mend=mend)


ACROSS = Rule(
    name="connector-over-edge",
    severity=Severity.CAUTION,
    means="A connector or a device lies across an edge.",
    matters="Bent over an edge it carries far less than its mark, and the edge may open its gate.",
    mends="A longer or shorter sling, so that it hangs clear.",
    source="common practice, no source",
    wrong="""
anchor bolt
edge lip
carabiner crab: across lip   # here
person sam
attach bolt - crab - sam
""",
    right="""
anchor bolt
edge lip
carabiner crab
person sam
rope red
    tied to crab
    over lip
    tied to sam
attach bolt - crab
""",
    find=_find_across,
)


def _find_crowded(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for part in rig.parts.values():
        if part.room is None:
            continue
        loads = _loads(rig, part.name)
        if len(loads) > part.room:
            text = f"{part.name} holds {len(loads)} ({listed(loads)}) and has room for {part.room}"
            bodies = concerned(outcome, f"{part.name} fails")
            yield CROWDED.told(text, (part.name,), part.place, bodies, mend="a plate, or a second connector")


CROWDED = Rule(
    name="crowded",
    severity=Severity.CAUTION,
    means="More parts hang on a connector, a ring or a swivel than it is made for.",
    matters="Parts lie on one another, the gate doesn't close or is loaded, a swivel's eye is pulled askew.",
    mends="A rigging plate, or a connector for each.",
    source="the maker's own figure, written as `room for 2`; its use: common practice, no source",
    wrong="""
anchor bolt
person sam: points waist, chest
swivel turn   # here
attach bolt - turn - strap a - sam.waist
attach turn - strap b - sam.chest
""",
    right="""
anchor bolt
person sam: points waist, chest
swivel turn
ring eye
attach bolt - turn - eye - strap a - sam.waist
attach eye - strap b - sam.chest
""",
    find=_find_crowded,
)


# -- textiles


def _sewn(one: Part, two: Part) -> bool:
    """An absorber and its lanyard come sewn together."""
    return any("absorber" in a.family and "lanyard" in b.family for a, b in ((one, two), (two, one)))


def _find_girth(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for contact in rig.bearing:
        one, two = rig.parts[contact.a], rig.parts[contact.b]
        if contact.given and one.textile and two.textile and not _sewn(one, two):
            text = f"{one.name} and {two.name} are looped into each other without a connector between"
            bodies = concerned(outcome, f"{one.name} fails", f"{two.name} fails")
            mend = f"`attach {one.name} - a carabiner - {two.name}`"
            yield GIRTH.told(text, (one.name, two.name), contact.place, bodies, mend=mend)


GIRTH = Rule(
    name="textile-on-textile",
    severity=Severity.CAUTION,
    means="Two slings, straps or cords are looped into each other, with no connector between.",
    matters="Drawn tight, one cuts into the other: a girth hitch of sling on sling has cut at body weight.",
    mends="A connector between them, or one sling that is long enough.",
    source="a report of a sling cut at a girth hitch, an extract seen (facts 11.17, S113)",
    wrong="""
anchor tree
person sam
attach tree - sling a - sling b - carabiner crab - sam   # here
""",
    right="""
anchor tree
person sam
attach tree - sling a - carabiner between - sling b - carabiner crab - sam
""",
    find=_find_girth,
)


# -- loops made for gear


def _find_gear(rig: Rig) -> Iterator[Finding]:
    weak = [part for part in rig.parts.values() if part.gear_only and "foot-loop" not in part.family]  # stepped in
    if not weak:
        return
    joined = rig.index.joined_by_ropes
    bodies = rig.index.with_points()
    for part in weak:
        for contact in rig.contacts:
            if not contact.given or part.name not in (contact.a, contact.b):
                continue
            other = contact.b if contact.a == part.name else contact.a
            if to_ground(rig, joined, [other], bodies - {other}):
                whose = (part.body,) if part.body else ()
                text = f"{other} is attached to {part.name}, which is made for gear: it counts as no attachment"
                mend = f"attach {other} to a point that is made for a person"
                yield GEAR.told(text, (part.name, other), contact.place, whose, mend=mend)


GEAR = Rule(
    name="gear-only",
    severity=Severity.DANGER,
    means="Something that should hold is attached to a loop or ring that is made for gear.",
    matters="Gear loops and accessory rings are made for 5 to 15 kg and tear off under a person.",
    mends="A harness point or a ring that is made for a person.",
    source="common practice, no source (facts 11.27)",
    wrong="""
anchor bolt, post
person sam: points waist, hip
sam.hip: gear only
attach post - strap s - sam.waist
attach bolt - strap t - sam.hip   # here
""",
    right="""
anchor bolt, post
person sam: points waist, hip, back
sam.hip: gear only
load bag
attach post - strap s - sam.waist
attach bolt - strap t - sam.back
attach sam.hip - cord u - bag
attach post - foot-loop step
""",
    find=_find_gear,
)
