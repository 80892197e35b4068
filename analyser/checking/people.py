"""People: how few attachments, where they are made, who can reach what."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import dist

from analyser.checking.finding import Finding, Rule, Severity, listed
from analyser.checking.tracing import to_ground
from analyser.holding.outcome import Outcome
from analyser.rig.figures import as_length
from analyser.rig.index import reached
from analyser.rig.model import Nature, Part, Rig, Role, Rope

REACH = 2.0
"""Metres between two things that one person can work without walking: common practice, no source."""


def _people(rig: Rig) -> Iterator[Part]:
    """Everybody who must stay held."""
    return (body for body in rig.bodies if body.nature is Nature.PERSON)


def _own(part: Part) -> set[str]:
    return {part.name, *part.points}


def _clips(rig: Rig, person: Part) -> list[tuple[str, str]]:
    """The person's own contacts: (point, what is attached there)."""
    own = _own(person)
    return [(point, other) for point in sorted(own) for other in rig.touching[point] if other not in own]


# -- how many, and where on the harness


def _find_one(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        part = rig.parts[body.name]
        if part.nature is Nature.PERSON and body.attachments == 1 and not (part.standing and part.exposed):
            yield ONE.told(f"{body.name} has one attachment", (body.name,), part.place, (body.name,))


ONE = Rule(
    name="one-attachment",
    severity=Severity.CAUTION,
    means="A person hangs on one attachment.",
    matters="Whatever fails of it, nothing else is there.",
    mends="A second attachment, on another harness point, to another anchor.",
    source=(
        "two lines, and the harness joined to both: Ireland, General Application Regulations 2007 reg. 111, an "
        "extract seen (facts 8.1, S77)"
    ),
    wrong="""
anchor bolt
person sam: points waist   # here
attach bolt - strap s - sam.waist
""",
    right="""
anchor bolt, post
person sam: points waist, chest
attach bolt - strap s - sam.waist
attach post - strap t - sam.chest
""",
    find=_find_one,
)


def _find_point(rig: Rig) -> Iterator[Finding]:
    grounded = rig.index.grounded
    for person in _people(rig):
        clips = [(point, clip) for point, clip in _clips(rig, person) if clip in grounded]
        points = {point for point, _ in clips}
        if len(clips) > 1 and len(points) == 1 and points != {person.name}:
            point = points.pop()
            every = "both" if len(clips) == 2 else f"all {len(clips)}"
            text = f"{every} attachments of {person.name} are at one point, {point}"
            yield POINT.told(text, (point,), person.place, (person.name,), mend="take one to another harness point")


POINT = Rule(
    name="one-harness-point",
    severity=Severity.CAUTION,
    means="All attachments of a person are made at one point of the harness.",
    matters="A worn or unbuckled point lets all of them go. Plain points are taken as not failing: nothing else tells.",
    mends="Chest and waist, or front and back.",
    source="a report of a harness loop that tore, an extract seen (facts 11.13, S108)",
    wrong="""
anchor bolt, post
person sam: points waist, chest   # here
attach bolt - strap s - sam.waist
attach post - strap t - sam.waist
""",
    right="""
anchor bolt, post
person sam: points waist, chest
attach bolt - strap s - sam.waist
attach post - strap t - sam.chest
""",
    find=_find_point,
)


# -- who hangs from whom


def _find_person_anchor(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    joined = rig.index.joined_by_ropes
    told = {body.name for body in outcome.bodies if body.only_by_person}
    people = rig.index.with_points((Nature.PERSON,))
    between: dict[tuple[str, frozenset[str]], list[tuple[Part, str, str]]] = {}
    for person in _people(rig):
        if person.name in told:
            continue
        own = _own(person)
        others = people - own
        for point, clip in _clips(rig, person):
            if rig.parts[point].carries_through or (own <= people and clip in rig.index.grounded):
                continue  # the other hangs by it, and is counted
            beyond = reached(joined, [clip], own)
            held_by = sorted(beyond & others)
            if held_by and not to_ground(rig, joined, [clip], own | others):
                other = rig.parts[held_by[0]].body or held_by[0]
                if rig.parts[other].nature is Nature.PERSON:
                    between.setdefault((clip, frozenset((person.name, other))), []).append((person, point, other))
    for (clip, _), ends in between.items():
        (person, point, other), whose = ends[0], "of either" if len(ends) > 1 else ""
        text = f"{clip}, at {point}, ends at {other}: a person is no anchor, and it counts as no attachment {whose}"
        both = tuple(sorted((person.name, other)))
        yield ON_A_PERSON.told(text.rstrip(), (clip, *both), rig.parts[clip].place, both)


ON_A_PERSON = Rule(
    name="person-as-anchor",
    severity=Severity.DANGER,
    means="An attachment of one person ends at another person.",
    matters="Whoever holds the other hangs on one attachment more, falls with them, or is pulled over the edge.",
    mends="Take it to an anchor, or to the part that holds the other person.",
    source="common practice, no source",
    wrong="""
anchor bolt, post
person sam, vic: points waist, chest
attach bolt - strap s - sam.waist
attach post - strap t - sam.chest
attach bolt - strap v - vic.waist
strap w   # here
attach sam.waist - w - vic.chest
""",
    right="""
anchor bolt, post
person sam, vic: points waist, chest
attach bolt - strap s - sam.waist
attach post - strap t - sam.chest
attach bolt - strap v - vic.waist
strap w
attach post - w - vic.chest
""",
    find=_find_person_anchor,
)


def _litters(rig: Rig) -> frozenset[str]:
    return rig.index.with_points((Nature.LITTER,))


def _find_patient(rig: Rig) -> Iterator[Finding]:
    litters = _litters(rig)
    if not litters:
        return
    joined = rig.index.joined_by_ropes
    bodies = rig.index.with_points((Nature.PERSON,))
    for person in _people(rig):
        own = _own(person)
        clips = [clip for _, clip in _clips(rig, person)]
        near = {rig.parts[one].body or one for clip in clips for one in reached(joined, [clip], bodies) & litters}
        if clips and near and not to_ground(rig, joined, clips, litters | (bodies - own)):
            names = listed(sorted(near))
            text = f"{person.name} is tied to {names} only, to nothing that holds without it"
            mend = f"a strap from {person.name}'s harness to the master point, or the long tail of a line"
            yield PATIENT.told(text, (person.name, *sorted(near)), person.place, (person.name,), mend=mend)


PATIENT = Rule(
    name="tied-to-litter-only",
    severity=Severity.CAUTION,
    means="A person is tied to a litter or its rail, and to nothing else.",
    matters="Lashing, rail, litter and bridle are then each a single point for whoever lies in it.",
    mends="A harness, and from it a strap of its own to the master point, or a line's tail; never only the rail.",
    source="common practice, no source (facts 10.5, 11.28)",
    wrong="""
anchor bolt, post
ring master
person vic   # here
litter basket
attach bolt - strap a - master
attach post - strap b - master
attach master - bridle legs - basket - strap lashing - vic
""",
    right="""
anchor bolt, post
ring master
person vic: points harness
litter basket
attach bolt - strap a - master
attach post - strap b - master
attach master - bridle legs - basket - strap lashing - vic
attach master - strap vic-strap - vic.harness
""",
    find=_find_patient,
)


def _find_attendant(rig: Rig) -> Iterator[Finding]:
    litters = _litters(rig)
    if not litters:
        return
    joined = rig.index.joined_by_ropes
    everybody = rig.index.with_points()
    ground = {p.name for p in rig.parts.values() if p.nature is Nature.GROUND}
    carrying = reached(joined, litters, everybody - litters | ground)
    for person in _people(rig):
        own = _own(person)
        clips = [clip for _, clip in _clips(rig, person)]
        if person.standing or not clips or any({clip, *rig.touching[clip]} & litters for clip in clips):
            continue
        shared = reached(joined, clips, everybody | ground) & carrying
        chains = {one for clip in clips for one in _chain(rig, clip, own)}
        chains |= {next_one for one in chains for next_one in _next_on_rope(rig, one)}
        if shared and not any(rig.parts[one].adjustable or rig.parts[one].nature is Nature.GRIP for one in chains):
            text = f"none of {person.name}'s attachments can be adjusted"
            mend = "an adjustable lanyard, or a descender on a tail"
            yield ATTENDANT.told(text, (person.name,), person.place, (person.name,), mend=mend)


def _next_on_rope(rig: Rig, knot: str) -> Iterator[str]:
    """What stands next to a knot on its rope: the hitch by which a cord's length is changed."""
    for rope in rig.ropes:
        for one, two in pairwise(rope.stations):
            if knot in (one.part, two.part):
                yield two.part if one.part == knot else one.part


def _chain(rig: Rig, clip: str, own: set[str]) -> list[str]:
    """What is clipped to a person, link by link, as far as one follows the other."""
    chain = [clip]
    while True:
        onward = [one for one in rig.touching[chain[-1]] if one not in own and one not in chain]
        if len(onward) != 1:
            return chain
        chain.append(onward[0])


ATTENDANT = Rule(
    name="attendant-not-adjustable",
    severity=Severity.NOTE,
    means="A person beside a litter hangs on what holds it, and no attachment of theirs can be adjusted.",
    matters="The attendant works above, beside and under the litter: without one they are stuck where they hang.",
    mends="An `adjustable-lanyard`, or a descender on a line's tail.",
    source="common practice, no source (facts 10.5)",
    wrong="""
anchor bolt, post
ring master
person sam: points waist, chest   # here
litter basket
attach bolt - strap a - master
attach post - strap b - master
attach master - bridle legs - basket
attach master - strap s - sam.waist
attach master - strap t - sam.chest
""",
    right="""
anchor bolt, post
ring master
person sam: points waist, chest
litter basket
attach bolt - strap a - master
attach post - strap b - master
attach master - bridle legs - basket
attach master - adjustable-lanyard s - sam.waist
attach master - strap t - sam.chest
""",
    find=_find_attendant,
)


# -- who works what


def jobs_of(rig: Rig) -> dict[str, list[str]]:
    """What each person has in hand: devices they operate or mind, and ropes they hold. A hand on the
    rope of one's own device is no second job."""
    found: dict[str, list[str]] = {}
    for part in rig.parts.values():
        for person in dict.fromkeys((part.operated_by, part.minded_by)):
            if person:
                found.setdefault(person, []).append(part.name)
    for rope in rig.ropes:
        worked = {station.part for station in rope.stations if station.role is Role.GRIP}
        for person in dict.fromkeys(s.part for s in rope.stations if s.role is Role.HAND):
            if not worked & set(found.get(person, ())):
                found.setdefault(person, []).append(rope.name)
    return found


def needs_a_hand(device: Part, person: str) -> bool:
    """A device that holds only while this person works it. What is minded grips once it is let go."""
    return device.operated_by == person and not device.self_locking


def _find_two_places(rig: Rig) -> Iterator[Finding]:
    holding = {rope.name for rope in rig.ropes for s in rope.stations if s.role is Role.HAND}
    for person, jobs in sorted(jobs_of(rig).items()):
        tied = [j for j in jobs if j in holding or (j in rig.parts and needs_a_hand(rig.parts[j], person))]
        minded = [j for j in jobs if j in rig.parts and rig.parts[j].minded_by == person and j not in tied]
        place = rig.parts[person].place
        placed = [(j, rig.parts[j].at) for j in jobs if j in rig.parts and rig.parts[j].at]
        far = [
            (a, b)
            for k, (a, at) in enumerate(placed)
            for b, bt in placed[k + 1 :]
            if at and bt and dist(at, bt) > REACH
        ]
        if len(tied) > 1:
            text = f"{person} is needed at {listed(tied)} at once: none of them holds without a hand"
            yield TWO_PLACES.told(
                text, (person, *tied), place, mend="a second person, or devices that lock by themselves"
            )
        elif tied and minded:
            text = f"{person} works {listed(tied)} and minds {listed(minded)}: who lets go of the one may hold on to "
            text += "the other, and then neither grips"
            yield TWO_PLACES.told(text, (person, *tied, *minded), place, mend="a second person on the back-up")
        elif far:
            one, two = far[0]
            text = f"{person} works {one} and {two}, which are more than {as_length(REACH, 'g')} apart"
            yield TWO_PLACES.told(text, (person, one, two), place, mend="a second person")


TWO_PLACES = Rule(
    name="needed-twice",
    severity=Severity.CAUTION,
    means="One person is needed at two places, or with both hands at two things, at once.",
    matters="One slip of that person is then one failure of both; and they can't tend the one while working the other.",
    mends="A second person, or devices that lock when they are let go.",
    source="common practice, no source (facts 9.13)",
    wrong="""
anchor left, right
load bag: points a, b
person jo: standing   # here
attach left - brake one
attach right - brake two
one, two: operated by jo
rope red
    stopper
    gripped by one
    tied to bag.a
rope green
    stopper
    gripped by two
    tied to bag.b
""",
    right="""
anchor left, right
load bag: points a, b
person jo: standing
attach left - brake one
attach right - brake two
one: operated by jo
two: operated by jo, self-locking
rope red
    stopper
    gripped by one
    tied to bag.a
rope green
    stopper
    gripped by two
    tied to bag.b
""",
    find=_find_two_places,
)


def _let_out(rope: Rope, device: str) -> list[str]:
    """What a one-way device lets out: the parts on its loaded side of the rope, up to the first knot."""
    found: list[str] = []
    for k, station in enumerate(rope.stations):
        if station.role is not Role.GRIP or station.part != device or station.to_start == station.to_end:
            continue
        for other in rope.stations[k + 1 :] if station.to_end else rope.stations[:k][::-1]:
            if other.role in (Role.TIE, Role.RUN, Role.GRIP):
                found.append(other.part)
            if other.role is Role.TIE:
                break
    return found


def _find_reach(rig: Rig) -> Iterator[Finding]:
    joined = rig.index.joined
    ground = {p.name for p in rig.parts.values() if p.nature is Nature.GROUND}
    for part in rig.parts.values():
        if part.operated_by is None:
            continue
        person = rig.parts[part.operated_by]
        let_out = [one for rope in rig.ropes for one in _let_out(rope, part.name)]
        if person.standing or not let_out:
            continue
        others = rig.index.with_points() - _own(person)
        beside = reached(joined, [part.name], ground | others)
        away_with_it = reached(joined, let_out, ground | others | {part.name})
        away = f"{part.name} is worked by {person.name}"
        if part.at and person.at:
            if dist(part.at, person.at) <= REACH:
                continue
            text = f"{away}, who hangs {as_length(dist(part.at, person.at), '.3g')} away"
        elif _own(person) & away_with_it - beside and reached(joined, [part.name], others) & ground:
            text = f"{away}, who hangs on the rope that it lets out, and not beside it"
        else:
            continue
        yield OUT_OF_REACH.told(text, (part.name, person.name), part.place, (person.name,))


OUT_OF_REACH = Rule(
    name="out-of-reach",
    severity=Severity.CAUTION,
    means="A device is worked by somebody who hangs on a rope away from it.",
    matters="Whoever hangs below a fixed device can neither work it nor let themselves down when it jams.",
    mends="Somebody who stands beside it; or a device on the person's own harness.",
    source="common practice, no source",
    wrong="""
anchor bolt, post
person sam: points waist, chest
attach post - strap s - sam.chest
brake bar   # here
attach bolt - bar
bar: operated by sam, self-locking
rope red
    stopper
    gripped by bar
    tied to sam.waist
""",
    right="""
anchor bolt, post
person sam: points waist, chest
attach post - strap s - sam.chest
descender bar
attach sam.waist - bar
bar: operated by sam, self-locking
rope red
    tied to bolt
    gripped by bar
    stopper
""",
    find=_find_reach,
)


def _find_exposed(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for body in outcome.bodies:
        part = rig.parts[body.name]
        if part.standing and part.exposed and body.attachments == 0:
            text = f"{body.name} stands exposed with nothing on"
            text += ": only their own feet hold them" if body.held else ""
            yield EXPOSED.told(text, (body.name,), part.place, (body.name,), mend="a line from an anchor of its own")


EXPOSED = Rule(
    name="exposed-without-line",
    severity=Severity.DANGER,
    means="Somebody stands exposed, at an edge, with no attachment at all.",
    matters="Edge attendants look at the litter and the ropes, not at their feet, and are pulled by what they hold.",
    mends="A line of their own, before anything else is done at the edge.",
    source="an investigation report of helpers unroped at the lip, an extract seen (facts 11.5, S95)",
    wrong="""
anchor bolt
person edie: standing, exposed   # here
person sam
attach bolt - strap s - sam
""",
    right="""
anchor bolt, post
person edie: standing, exposed
person sam
attach bolt - strap s - sam
attach post - strap e - edie
""",
    find=_find_exposed,
)
