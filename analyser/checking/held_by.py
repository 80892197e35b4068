"""A way of being held, in the rig's words: its legs, each from the ground towards the body."""

from __future__ import annotations

from collections import deque

from analyser.rig.model import Nature, Part, Rig

Legs = tuple[tuple[str, ...], ...]


def held_by(rig: Rig, body: str, way: tuple[str, ...]) -> Legs:
    """The legs of a way of being held: the first runs to the body, each further one to a part of
    a leg told before, which is its last word.

    `way` names the failures that must not happen. A rope's knots, spans and edges are told as the
    rope; parts that can't fail are told where the way runs through them.
    """
    failures = rig.index.failures
    named = {failures[one].part for one in way if one in failures}
    spans = {str(span): rope.name for rope in rig.ropes for span in rope.spans}
    can_fail = {failure.part for failure in rig.failures}
    own = {body, *rig.parts[body].points}
    usable = {
        p.name
        for p in rig.parts.values()
        if p.name in own or p.name in named or (p.name not in can_fail and not _of_a_person(rig, p))
    }
    neighbours: dict[str, set[str]] = {}
    for contact in rig.bearing:
        neighbours.setdefault(contact.a, set()).add(contact.b)
        neighbours.setdefault(contact.b, set()).add(contact.a)
    for rope in rig.ropes:
        before = ""
        for k, span in enumerate(rope.spans):
            whole = span in named or span not in can_fail
            touching = [rope.stations[k].part, rope.stations[k + 1].part]
            for other in [*touching, before] if whole else ():
                if other:
                    neighbours.setdefault(span, set()).add(other)
                    neighbours.setdefault(other, set()).add(span)
            usable |= {span} if whole else set()
            before = span if whole else ""
    for part in rig.parts.values():
        for need in part.needs:
            for foot in need.parts:
                neighbours.setdefault(part.name, set()).add(foot)
    toward: dict[str, str] = {}
    distance = {body: 0}
    queue = deque([body])
    while queue:
        here = queue.popleft()
        for there in sorted(neighbours.get(here, ())):
            if there in usable and there not in distance:
                distance[there] = distance[here] + 1
                toward[there] = here
                queue.append(there)

    def word(name: str) -> str | None:
        """How a part is told, or None where it is passed over."""
        part = rig.parts.get(name)
        if name in own or (part and part.nature in (Nature.EDGE, Nature.PAD, Nature.POINT)):
            return None
        if name in spans:
            return spans[name] if name in named else None
        return part.rope if part and part.rope else name

    told: set[str] = set()
    legs: list[tuple[str, ...]] = []
    for start in sorted(distance, key=lambda n: (n not in named, -distance[n], n)):
        if start in told or start not in named or word(start) is None:
            continue
        leg: list[str] = []
        at: str | None = start
        while at is not None and at not in told:
            told.add(at)
            name = word(at)
            if name and name not in leg:
                leg.append(name)
            at = toward.get(at)
        joins = word(at) if at else None
        if joins and joins not in leg:
            leg.append(joins)
        elif legs and not joins:
            while at is not None and joins is None:
                at = toward.get(at)
                joins = word(at) if at else None
            if joins and joins not in leg:
                leg.append(joins)
        if len(leg) > 1 or not legs:
            legs.append(tuple(leg))
    return tuple(leg for k, leg in enumerate(legs) if not any(set(leg) <= set(other) for other in legs[:k]))


def in_words(legs: Legs) -> str:
    """`left-bolt – red – master, with right-bolt – sling to master`."""
    if not legs or not legs[0]:
        return "what can't fail in this model"
    further = [f"{' – '.join(leg[:-1])} to {leg[-1]}" for leg in legs[1:]]
    return ", with ".join([" – ".join(legs[0]), *further])


def way_in_words(rig: Rig, body: str, way: tuple[str, ...]) -> str:
    """A way of being held as it is told: `bolt – strap s`, or `their own feet`."""
    if way == (f"{body} loses footing",):
        return "their own feet"
    return in_words(held_by(rig, body, way)) + after_running(rig, way)


def after_running(rig: Rig, way: tuple[str, ...]) -> str:
    """What a way must say of its stoppers: nobody is held by one before the rope has run to it."""
    parts = (rig.parts.get(rig.index.failures[one].part) for one in way)
    stoppers = [part.name for part in parts if part and part.nature is Nature.STOPPER]
    return f", after running to {' and '.join(stoppers)}" if stoppers else ""


def _of_a_person(rig: Rig, part: Part) -> bool:
    owner = rig.parts[part.body] if part.body else part
    return owner.nature is Nature.PERSON
