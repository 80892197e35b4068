"""From whom somebody hangs that hangs only from a person."""

from __future__ import annotations

from analyser.rig.index import reached
from analyser.rig.model import Nature, Rig


def holder(rig: Rig, body: str) -> str:
    """The one person from whom a body hangs, over contacts alone; empty where it may be several, or hands."""
    return holder_and_straps(rig, body)[0]


def holder_and_straps(rig: Rig, body: str) -> tuple[str, tuple[str, ...]]:
    """That person, and what leads there and ends at them, in the order of the file; where something else that is held
    lies between, what the body itself is clipped by."""
    own = {body, *rig.parts[body].points}
    others = rig.index.with_points((Nature.PERSON,)) - own
    ground = {part.name for part in rig.parts.values() if part.holds_up}
    near = reached(rig.index.joined, own, others | ground)
    people = {rig.parts[name].body or name for name in others if not near.isdisjoint(rig.index.joined[name])}
    if len(people) != 1:
        return "", ()
    short = reached(rig.index.joined, own, rig.index.with_points() - own | ground)
    straps = {name for name in short - own if not others.isdisjoint(rig.index.joined[name])}
    straps = straps or {name for name in near - own if not own.isdisjoint(rig.index.joined[name])}
    return people.pop(), tuple(name for name in rig.parts if name in straps - others)
