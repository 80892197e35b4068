"""Which of two parts is drawn higher: the ground's side above, the bodies' side below.

First comes what is attached to the ground, then what ropes run over and through, then what is
attached to the bodies, last what lies below them. Within each of these a part takes the mean height
of its neighbours, with the ground held at the top and the bodies at the bottom, so that lines run
down on their way from what holds to what is held.
"""

from __future__ import annotations

from collections import deque
from itertools import pairwise

from analyser.pages.drawing.rebelays import part_way
from analyser.rig.model import Nature, Part, Rig, Role, Rope

TOP, FRAMES, LITTERS, PEOPLE, UNDER = 1.0, 0.95, 0.05, 0.0, -0.2
MIDDLE = 0.5
GROUND, ROPES, BODIES, BELOW = range(4)
"""The belts of the drawing, from the top down."""
JUST_ABOVE = 0.0001
SWEEPS, WORK = 300, 1_500_000


def owner(part: Part) -> str:
    """The part in whose drawing this one is shown: a body for its points and harnesses."""
    return part.body or part.name


def depths(rig: Rig) -> dict[str, int]:
    """The place of each part from the top (0) down. Points and harnesses stand with their body."""
    nodes = [part for part in rig.parts.values() if part.body is None]
    neighbours = _neighbours(rig)
    reached = part_way(rig)
    fixed = {part.name: None if part.name in reached else _fixed(part) for part in nodes}
    from_ground = _steps(neighbours, [name for name, given in fixed.items() if given == TOP])
    height = _settled(fixed, neighbours, from_ground)
    height |= {part.name: UNDER for part in nodes if part.nature is Nature.STOPPER}  # a rope's free end
    belt = _belts(rig, fixed)
    for *above, knot in reached.values():
        for steps, name in enumerate(reversed(above), 1):
            height[name] = height[knot] + steps * JUST_ABOVE
            belt[name] = belt[knot]
    far = len(neighbours)
    order = sorted(
        range(len(nodes)),
        key=lambda k: (
            belt[nodes[k].name],
            -round(height[nodes[k].name], 5),
            from_ground.get(nodes[k].name, far),
            k,
        ),
    )
    place = {nodes[k].name: position for position, k in enumerate(order)}
    return {part.name: place[owner(part)] for part in rig.parts.values()}


def _belts(rig: Rig, fixed: dict[str, float | None]) -> dict[str, int]:
    """The belt of each part, by what its contacts lead to without passing where a rope runs through."""
    run = {s.part for rope in rig.ropes for s in rope.stations if s.role in (Role.RUN, Role.OVER)}
    touching: dict[str, list[str]] = {name: [] for name in fixed}
    for contact in rig.contacts:
        a, b = owner(rig.parts[contact.a]), owner(rig.parts[contact.b])
        if a != b and not run & {a, b}:
            touching[a].append(b)
            touching[b].append(a)
    high = _steps(touching, [name for name, given in fixed.items() if given in (TOP, FRAMES)])
    low = _steps(touching, [name for name, given in fixed.items() if given in (LITTERS, PEOPLE)])
    found = {}
    for name, given in fixed.items():
        if rig.parts[name].nature is Nature.STOPPER:
            found[name] = BODIES
        elif given is None:
            found[name] = ROPES + (name in low) - (name in high)
        else:
            found[name] = BELOW if given == UNDER else GROUND if given >= FRAMES else BODIES
    return found


def _fixed(part: Part) -> float | None:
    if part.nature is Nature.GROUND:
        return UNDER if part.below else TOP
    if part.nature is Nature.FRAME:
        return FRAMES
    if part.nature is Nature.PERSON and not (part.standing and not part.exposed):
        return PEOPLE
    return LITTERS if part.nature in (Nature.LITTER, Nature.LOAD) else None


def _neighbours(rig: Rig) -> dict[str, list[str]]:
    """Over an edge each rope goes its own way: its passage is a place of its own."""
    found: dict[str, list[str]] = {part.name: [] for part in rig.parts.values() if part.body is None}
    pairs = [(owner(rig.parts[contact.a]), owner(rig.parts[contact.b])) for contact in rig.contacts]
    for rope in rig.ropes:
        way = [_passage(rig, rope, k) for k in range(len(rope.stations))]
        pairs += pairwise(way)
    for a, b in pairs:
        if a != b:
            found.setdefault(a, []).append(b)
            found.setdefault(b, []).append(a)
    return found


def _passage(rig: Rig, rope: Rope, k: int) -> str:
    station = rope.stations[k]
    if station.role is Role.OVER:
        return f"{station.part} {rope.name} {k}"
    return owner(rig.parts[station.part])


def _steps(neighbours: dict[str, list[str]], start: list[str]) -> dict[str, int]:
    steps = dict.fromkeys(start, 0)
    queue = deque(start)
    while queue:
        here = queue.popleft()
        for there in neighbours[here]:
            if there not in steps:
                steps[there] = steps[here] + 1
                queue.append(there)
    return steps


def _settled(
    fixed: dict[str, float | None], neighbours: dict[str, list[str]], from_ground: dict[str, int]
) -> dict[str, float]:
    """Heights in which each loose place is at the mean of its neighbours, as nearly as it pays.

    An edge is as high as the highest passage over it.
    """
    from_bodies = _steps(neighbours, [name for name, given in fixed.items() if given in (LITTERS, PEOPLE)])
    height: dict[str, float] = {}
    for name in {**fixed, **neighbours}:
        up, down, given = from_ground.get(name), from_bodies.get(name), fixed.get(name)
        guess = MIDDLE if up is None or down is None else down / max(up + down, 1)
        height[name] = guess if given is None else given
    loose = [name for name in height if fixed.get(name) is None and neighbours[name]]
    for _ in range(min(SWEEPS, WORK // (len(height) + 1))):
        for name in loose:
            around = neighbours[name]
            height[name] = sum(height[other] for other in around) / len(around)
    passed: dict[str, float] = {}
    for name, value in height.items():
        edge, passage, _ = name.partition(" ")
        if passage:
            passed[edge] = max(value, passed.get(edge, value))
    return height | passed
