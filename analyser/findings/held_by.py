"""A way of being held, in the rig's words: the parts it runs through, from the ground to the body."""

from __future__ import annotations

from collections import deque

from analyser.rig.model import Nature, Part, Rig


def held_by(rig: Rig, body: str, way: tuple[str, ...]) -> tuple[str, ...]:
    """The parts and ropes of a way of being held, farthest from the body first.

    `way` names the failures that must not happen. A rope's knots, spans and edges are told as the
    rope; parts that can't fail are told where the way runs through them.
    """
    failures = {failure.id: failure for failure in rig.failures}
    named = {failures[one].part for one in way if one in failures}
    spans = {span: rope.name for rope in rig.ropes for span in rope.spans}
    can_fail = {failure.part for failure in rig.failures}
    own = {body, *rig.parts[body].points}
    usable = {
        p.name
        for p in rig.parts.values()
        if p.name in own or p.name in named or (p.name not in can_fail and not _of_a_person(rig, p))
    }
    neighbours: dict[str, set[str]] = {}
    for contact in rig.contacts:
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
    distance = {body: 0}
    queue = deque([body])
    while queue:
        here = queue.popleft()
        for there in sorted(neighbours.get(here, ())):
            if there in usable and there not in distance:
                distance[there] = distance[here] + 1
                queue.append(there)
    told: list[str] = []
    for name in sorted(distance, key=lambda n: (-distance[n], n)):
        part = rig.parts.get(name)
        if name in own or (part and part.nature in (Nature.EDGE, Nature.PAD)):
            continue
        if name not in named and name in spans:
            continue
        word = spans.get(name) or (part.rope if part and part.rope else name)
        if (name in named or (part and part.nature is not Nature.POINT)) and word not in told:
            told.append(word)
    return tuple(told)


def _of_a_person(rig: Rig, part: Part) -> bool:
    owner = rig.parts[part.body] if part.body else part
    return owner.nature is Nature.PERSON

