"""Parts that hold nobody whatever else fails: dead weight, or a back-up that never works."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from analyser.checking.below_and_above import AT_THE_FEET
from analyser.checking.finding import Finding, Rule, Severity, listed, place_of, verb
from analyser.holding.by_class import FailureSets
from analyser.holding.outcome import Outcome
from analyser.holding.reviewing import Review
from analyser.rig.index import ON_THE_ROPE, Joined, reached
from analyser.rig.model import Nature, Part, Rig, Role

HARDWARE = (Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.GRIP, Nature.KNOT, Nature.HARNESS)
MOST_EVENTS = 80
MOST_SETS = 400
"""Failures that a body depends on, and sets of them, that are looked at; where there are more, nothing is said."""

WITHOUT = "Without it somebody may drop or swing first, which connections alone don't show"


def find(plan: Rig, first: Outcome) -> Iterator[Finding]:
    """Of the rig as first attached: what a stage needs later, or no more, is not told again."""
    rig = plan
    idle = _idle(rig, first)
    if not idle:
        return
    noted = {name for caution in rig.cautions for name in caution.about}
    around = rig.index.joined_by_ropes
    joined = {name: others & idle for name, others in around.items()}
    taken_up = _taken_up(rig, around)
    left = set(idle)
    while left:
        group = reached(joined, [min(left)])
        left -= group
        parts = sorted((name for name in group if name in rig.parts), key=lambda name: rig.parts[name].place)
        ropes = [name for name in rig.index.ropes if name in group]
        told = [name for name in parts if not rig.parts[name].rope]
        if (
            not told
            or group & taken_up
            or noted & set(parts)
            or all(_tells_the_ground(rig.parts[name]) for name in parts)
            or _keeps_clear(rig, group)
            or _steers(rig, parts)
            or _beside_a_body(rig, parts, idle)
        ):
            continue
        names = [*told, *ropes]
        turned = facing_wrong(rig, parts)
        text = f"{listed(names)} {verb(names, 'holds', 'hold')} nobody, whatever else fails"
        mine = [(r.name, s.part in group) for r in rig.ropes for s in r.stations if s.role is Role.RUN]
        running = [name for name, here in mine if here or name in group]
        if running and not ropes:
            text += f": {listed(list(dict.fromkeys(running)))} only {verb(running, 'runs', 'run')} through. {WITHOUT}"
        elif running or _at_a_frame(rig, parts, ropes):
            text += f". {WITHOUT}"
        severity, mend = None, None
        if lies := _a_little_under(rig, parts):
            text += f": by its place {lies[0]} lies under {lies[1]}, and what lies under somebody holds nobody up"
            severity, mend = Severity.CAUTION, f"`{lies[0]}: not below`, if {lies[1]} hangs under it once over the edge"
        if turned:
            text += f": {turned[0]} faces the wrong way, turned round it would help to hold {listed(turned[1])}"
            severity, mend = Severity.CAUTION, f"turn {turned[0]} round, and `load from` its other side"
        yield RULE.told(text, names, place_of(rig, told[0]), severity=severity, mend=mend)


def _a_little_under(rig: Rig, names: list[str]) -> tuple[str, str] | None:
    """Ground that is at the feet of somebody by its place, of which nobody said whether it is below; and of whom."""
    for name in names:
        part = rig.parts[name]
        if part.nature is Nature.GROUND and part.below is None and part.at and not part.below_for:
            for body in rig.bodies:
                if body.at and 0 < body.at[2] - part.at[2] <= AT_THE_FEET:
                    return name, body.name
    return None


def _at_a_frame(rig: Rig, parts: list[str], ropes: list[str]) -> bool:
    """Does any of these touch a frame, or a rope of them end there: a guy?"""
    there = {*parts, *(station.part for name in ropes for station in rig.index.ropes[name].stations)}
    return any(rig.parts[other].nature is Nature.FRAME for one in there for other in rig.touching[one])


def _tells_the_ground(part: Part) -> bool:
    """Does it lie below and have a place? It tells how high the ground is, whatever it holds."""
    return bool(part.below and part.at)


def _taken_up(rig: Rig, around: Joined) -> set[str]:
    """What a stage joins to something, or lays: idle at first, and there for what comes."""
    later = (step.rig.index.joined_by_ropes for stage in rig.stages for step in stage.steps)
    return {name for one in later for name, others in one.items() if others - around.get(name, set())}


def _keeps_clear(rig: Rig, group: set[str]) -> bool:
    """Does a group belong to what keeps ropes off an edge: the anchor of a deviation, its connector?"""
    guards = {guard for part in rig.parts.values() for guard in part.guards}
    guards |= {guard for rope in rig.ropes for station in rope.stations for guard in station.guards}
    return any(other in guards for name in group if name in rig.parts for other in rig.touching[name])


def _steers(rig: Rig, parts: list[str]) -> bool:
    """Is it the far end of a tag line, which is to hold nobody?"""
    knots = {at.part for at in rig.index.stations(*ON_THE_ROPE) if at.rope.tag_line}
    return any(name in knots or not knots.isdisjoint(rig.touching[name]) for name in parts)


def _beside_a_body(rig: Rig, parts: list[str], idle: set[str]) -> bool:
    """Does a group join a body to what holds it? It is idle then only because the body also touches that
    part itself, which can't fail in the model."""
    around = {other for name in parts for other in rig.touching[name]} - idle
    bodies = {name for name in around if rig.parts[name].is_body or rig.parts[name].body}
    return bool(bodies) and bool(around - bodies)


def _idle(rig: Rig, outcome: Outcome) -> set[str]:
    """Hardware, and ropes, that no way of being held of any body needs."""
    used = {failure for body in outcome.bodies for way in body.ways for failure in way}
    used |= {failure for sets in outcome.failure_sets.values() for failure in sets.names}
    failing = _failing(rig)
    candidates = _unneeded(rig, failing, used)
    if not candidates or any(not body.held for body in outcome.bodies) or not outcome.bodies:
        return set()
    events = _events(rig, candidates)
    review = outcome.review
    for body in outcome.bodies:
        doubtful = set().union(*(events[name] for name in candidates)) - used
        needed, complete = _needed(review, body.name, doubtful, outcome.failure_sets[body.name])
        more = needed if complete else doubtful & {f.id for fs in review.where[body.name].classes for f in fs}
        used |= more
        candidates -= _needed_for(rig, failing, candidates, more)
    return candidates


def _needed(review: Review, body: str, wanted: set[str], cuts: FailureSets | None = None) -> tuple[set[str], bool]:
    """Those of the wanted failures that some minimal way of holding a body needs, and whether these are all:
    False where there is too much to look at. `cuts` are failure sets that are known already.

    A way that needs one of them differs from every known way in an event of that one: each of these fails
    in turn, a whole level of such sets at once, until all are found or no way is left.
    """
    one = review.where[body]
    number = {str(failure.id): k for k, failures in enumerate(one.classes) for failure in failures}
    fatal: dict[int, set[int]] = {}
    for groups in cuts.groups if cuts else ():
        events = {
            number[names[0]] for names in groups if names[0] in number
        }  # others bring it down by the forces alone
        for event in events if len(groups) == len(events) < 3 else ():
            fatal.setdefault(event, set()).update(events - {event} or {event})
    left = {number[failure] for failure in wanted if failure in number}
    found: set[int] = set()
    seen: set[frozenset[int]] = {frozenset()}
    fallen: list[frozenset[int]] = []
    level = [frozenset[int]()]
    while level and left - found:
        if len(one.classes) > MOST_EVENTS or len(seen) > MOST_SETS:
            return {failure.id for event in found for failure in one.classes[event]}, False
        ways = one.search.ways_kept([(body, failed) for failed in level])
        found |= {event for way in ways if way for event in way} & left
        following = {
            failed | {event}
            for failed, way in zip(level, ways, strict=True)
            for event in way or ()
            if fatal.get(event, set()).isdisjoint({*failed, event})
        }
        fallen += [failed for failed, way in zip(level, ways, strict=True) if way is None]
        level = sorted((s for s in following - seen if not any(cut <= s for cut in fallen)), key=sorted)
        seen.update(level)
    return {failure.id for event in found for failure in one.classes[event]}, True


def _events(rig: Rig, names: set[str]) -> dict[str, set[str]]:
    """The failures that take each of these parts and ropes."""
    found: dict[str, set[str]] = {name: set() for name in names}
    spans: dict[str, str] = {span: rope.name for rope in rig.ropes for span in rope.spans}
    for failure in rig.failures:
        cut = {spans[span] for span in failure.effects.cut if span in spans}
        for name in {failure.part, *failure.effects.gone, *cut} & found.keys():
            found[name].add(failure.id)
    return found


def _failing(rig: Rig) -> dict[str, set[str]]:
    """The failures that take each part and each span."""
    failing: dict[str, set[str]] = {}
    for failure in rig.failures:
        for name in (*failure.effects.gone, *failure.effects.cut):
            failing.setdefault(name, set()).add(failure.id)
    return failing


def _needed_for(rig: Rig, failing: Mapping[str, set[str]], names: set[str], used: set[str]) -> set[str]:
    """Those of some parts and ropes of which a failure is among `used`."""
    needed = {rig.index.failures[one].part for one in used}
    ropes = {name: rig.index.ropes[name].spans for name in names & rig.index.ropes.keys()}
    return {
        name
        for name in names
        if name in needed or any(failing.get(one, set()) & used for one in ropes.get(name, (name,)))
    }


def _unneeded(rig: Rig, failing: Mapping[str, set[str]], used: set[str]) -> set[str]:
    """The parts and ropes of which no failure is among `used`, and that can fail."""
    needed = {failure.part for failure in rig.failures if failure.id in used}
    found = set()
    for part in rig.parts.values():
        events = failing.get(part.name, set())
        if part.nature in HARDWARE and events and not events & used and part.name not in needed and not part.gear_only:
            found.add(part.name)
    for rope in rig.ropes:
        if rope.spans and not any(failing.get(span, set()) & used or span not in failing for span in rope.spans):
            found.add(rope.name)
    for part in rig.parts.values():  # what a frame stands on, and what guards an edge, is not idle
        found.difference_update(part.needed)
        found -= set(part.guards)
    for rope in rig.ropes:
        for station in rope.stations:
            found -= set(station.guards)
    return found


def facing_wrong(rig: Rig, parts: Iterable[str]) -> tuple[str, tuple[str, ...]] | None:
    """The first one-way grip of an idle group that would help, turned round, and whom."""
    for name in parts:
        if name not in rig.parts or rig.parts[name].nature is not Nature.GRIP:
            continue
        ropes = tuple(
            replace(
                rope,
                stations=tuple(
                    replace(s, to_start=s.to_end, to_end=s.to_start) if s.part == name and s.role is Role.GRIP else s
                    for s in rope.stations
                ),
            )
            for rope in rig.ropes
        )
        if ropes == rig.ropes:
            continue
        review = Review(replace(rig, ropes=ropes))
        own: set[str] = {f.id for f in rig.index.failures_of(name)}
        helped = [body.name for body in rig.bodies if _needed(review, body.name, own)[0] & own]
        if helped:
            return name, tuple(helped)
    return None


RULE = Rule(
    name="holds-nobody",
    severity=Severity.NOTE,
    means="Parts that no way of holding anybody needs: taken out, nobody would be held less.",
    matters=(
        "A back-up that never works is worse than none: it is trusted. Often a one-way grip faces the wrong way, "
        "or a line ends where it can't help. Tag lines and tool lines are told here too, and may stay."
    ),
    mends="Turn the grip round, take the line past what the main line needs, or leave it as what it is.",
    source="common practice, no source (a back-up fitted the wrong way round: facts 11.29)",
    wrong="""
anchor bolt
person sam: points waist, chest
attach bolt - strap s - sam.waist
rope-grab grab   # here
attach grab - sam.chest
anchor beam
rope red
    tied to beam
    gripped by grab, load from end
""",
    right="""
anchor bolt
person sam: points waist, chest
attach bolt - strap s - sam.waist
rope-grab grab
attach grab - sam.chest
anchor beam
rope red
    tied to beam
    gripped by grab, load from start
""",
    find=find,
)
