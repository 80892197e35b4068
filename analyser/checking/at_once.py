"""What one person would have to do at once: three hands, two places, eyes on two edges.

`needed-twice` tells of what a person has in hand all the time; here is what a step asks of them on top of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import dist

from analyser.checking.finding import Finding, Rule, Severity, listed
from analyser.checking.people import REACH, jobs_of, needs_a_hand
from analyser.rig.figures import as_length
from analyser.rig.model import Nature, Rig, Role, Step

HANDS = 2


def find(rig: Rig, step: Step | None = None, before: Rig | None = None) -> Iterator[Finding]:
    yield from _eyes(rig)
    if step is not None and before is not None:
        yield from _crowded(before, step)


def _eyes(rig: Rig) -> Iterator[Finding]:
    """Whoever is named as what keeps ropes off two edges, which are not beside one another."""
    watched: dict[str, dict[str, None]] = {}
    for at in rig.index.stations(Role.OVER):
        for guard in (*at.station.guards, *rig.parts[at.part].guards):
            if rig.parts[guard].nature is Nature.PERSON:
                watched.setdefault(guard, {})[at.part] = None
    for person, edges in sorted(watched.items()):
        places = [rig.parts[edge].at for edge in edges]
        beside = all(a and b and dist(a, b) <= REACH for a in places for b in places)
        if len(edges) > 1 and not beside:
            text = f"{person} watches {listed(list(edges))} at once: nobody has eyes on two edges"
            mend = "an edge attendant for each, or protection that stays by itself"
            yield AT_ONCE.told(text, (person, *edges), rig.parts[person].place, mend=mend)


def _crowded(before: Rig, step: Step) -> Iterator[Finding]:
    """What a step asks of somebody who has their hands full, in the rig before it."""
    for person in () if step.still else step.done_by(before):
        busy = [job for job in jobs_of(before).get(person, ()) if _ties(before, job, person)]
        worked = step.about
        if not busy or worked in busy or _on_the_rope_of(before, worked, busy):
            continue
        mend = "somebody else does this step, or what they hold is locked off first"
        if len(busy) + 1 > HANDS:
            text = f"`{step.words}` needs a third hand of {person}, who has {listed(busy)} in hand"
            yield AT_ONCE.told(text, (person, worked, *busy), step.place, mend=mend)
        elif worked and (far := _far(before, person, worked, busy)):
            text = f"`{step.words}`: {person} is needed at {far[0]} too, {as_length(far[1], '.3g')} away"
            yield AT_ONCE.told(text, (person, worked, far[0]), step.place, mend=mend)


def _ties(rig: Rig, job: str, person: str) -> bool:
    """Does this job keep a hand on it?"""
    part = rig.parts.get(job)
    return part is None or needs_a_hand(part, person) or part.minded_by == person


def _on_the_rope_of(rig: Rig, worked: str, busy: list[str]) -> bool:
    """A hand on a rope, and on the device that it runs through, is one job."""
    for rope in rig.ropes:
        on = {rope.name, *(station.part for station in rope.stations)}
        if worked in on and on & set(busy):
            return True
    return False


def _far(rig: Rig, person: str, worked: str, busy: list[str]) -> tuple[str, float] | None:
    """What they have in hand out of reach of what the step works."""
    here = _at(rig, worked, person)
    for job in busy:
        there = _at(rig, job, person)
        if here and there and dist(here, there) > REACH:
            return job, dist(here, there)
    return None


def _at(rig: Rig, job: str, person: str) -> tuple[float, float, float] | None:
    """Where a device is, or a rope's device that the person works; bare hands are where they stand."""
    if job in rig.parts:
        return rig.parts[job].at
    devices = (at.part for at in rig.index.stations(Role.GRIP) if at.rope.name == job)
    worked = (device for device in devices if rig.parts[device].operated_by == person)
    return rig.parts[next(worked, person)].at


AT_ONCE = Rule(
    name="too-much-at-once",
    severity=Severity.CAUTION,
    means="A step needs a third hand of somebody, or takes them away from what they hold; or one watches two edges.",
    matters="Something is let go of to do it: a hand leaves a brake, or an edge lies unwatched while the rope moves.",
    mends="Somebody else does the step, or what is held is locked off first; an attendant for each edge.",
    source="common practice, no source (facts 9.13)",
    wrong="""
anchor left, right, third
load bag: points a, b, c
person jo: standing
attach left - brake one
attach right - brake two
attach third - brake back-up
one, two: operated by jo
back-up: operated by jo, self-locking
rope red
    stopper
    gripped by one
    tied to bag.a
rope green
    stopper
    gripped by two
    tied to bag.b
rope blue
    stopper
    gripped by back-up
    tied to bag.c
stage "Lower"
    pay out blue by 1 m   # here
""",
    right="""
anchor left, right, third
load bag: points a, b, c
person jo, kim: standing
attach left - brake one
attach right - brake two
attach third - brake back-up
one, two: operated by jo
back-up: operated by kim, self-locking
rope red
    stopper
    gripped by one
    tied to bag.a
rope green
    stopper
    gripped by two
    tied to bag.b
rope blue
    stopper
    gripped by back-up
    tied to bag.c
stage "Lower"
    pay out blue by 1 m
""",
    find=find,
)
