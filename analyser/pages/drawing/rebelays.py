"""Ground that a rope reaches on its way down: a bolt part way, below the ground it is tied to first.

It is drawn where the rope gets to it, just above the knot, and not in the top row.
"""

from __future__ import annotations

from collections import deque

from analyser.rig.model import Nature, Rig, Role, Rope

TIED = (Role.TIE, Role.GRIP)


def part_way(rig: Rig) -> dict[str, tuple[str, ...]]:
    """For each such ground part: the way from it to the knot, both included.

    Every knot on it is the middle of a rope that is fast to other ground on one side only; a part
    that shares what is attached to it with other ground stays where it is.
    """
    touching: dict[str, list[str]] = {}
    for contact in rig.contacts:
        touching.setdefault(contact.a, []).append(contact.b)
        touching.setdefault(contact.b, []).append(contact.a)
    grounds = [p.name for p in rig.parts.values() if p.holds_up]
    roped = {station.part for rope in rig.ropes for station in rope.stations}
    ways = {name: _ways(rig, touching, roped, name) for name in grounds}
    fast = {part for found in ways.values() for part in found if part in roped}
    reached: dict[str, tuple[str, ...]] = {}
    for name, found in ways.items():
        ties = [(rope, k) for rope in rig.ropes for k, one in enumerate(rope.stations) if one.part in found]
        shared = any(rig.parts[part].nature in (Nature.GROUND, Nature.FRAME) for part in found if part != name)
        if ties and name not in rig.stood_on and not shared and all(_middle(rope, k, fast) for rope, k in ties):
            rope, k = ties[0]
            reached[name] = found[rope.stations[k].part]
    return reached


def _ways(rig: Rig, touching: dict[str, list[str]], roped: set[str], start: str) -> dict[str, tuple[str, ...]]:
    """What is attached to a part, and the way there; no farther than a rope, a body or other ground."""
    found: dict[str, tuple[str, ...]] = {start: (start,)}
    queue = deque([start])
    while queue:
        here = queue.popleft()
        if here != start and (here in roped or rig.parts[here].nature is not Nature.JOINT):
            continue
        for there in touching.get(here, ()):
            if there not in found and not (rig.parts[there].is_body or rig.parts[there].body):
                found[there] = (*found[here], there)
                queue.append(there)
    return found


def _middle(rope: Rope, k: int, fast: set[str]) -> bool:
    """A tie, with other ground on one side of the rope and none on the other."""
    before, later = rope.stations[:k], rope.stations[k + 1 :]
    sides = [any(one.role in TIED and one.part in fast for one in side) for side in (before, later)]
    return rope.stations[k].role is Role.TIE and bool(before and later) and sides[0] != sides[1]
