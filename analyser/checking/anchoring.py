"""Anchors: one structure behind them, too weak for what they may have to hold, pulled the wrong way."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Asked, Finding, Rule, Severity, listed
from analyser.checking.tracing import angle, concerned
from analyser.checking.worst_loads import plumb
from analyser.holding.outcome import Outcome
from analyser.rig.model import Nature, Part, Rig

HOUSE_FACTOR = 10.0
"""Taught widely for rescue (facts 5.9, S63, S53): used where the file asks for no strength factor."""
Vector = tuple[float, float, float]


# -- one structure


def _find_structure(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for part in rig.parts.values():
        if part.nature is not Nature.STRUCTURE:
            continue
        alone = (f"{part.name} fails",)
        members = [one.name for one in rig.parts.values() if part.name in one.part_of]
        people = tuple(name for name, cuts in outcome.failure_sets.items() if alone in cuts)
        if "vehicle" not in part.family:  # a lone anchor in a rock is a single point, and told as one
            each = {f"{one} fails" for one in members}
            people = tuple(name for name in people if each.isdisjoint(outcome.failure_sets[name].singles))
        if people:
            text = f"all that holds {listed(people)} is part of {part.name} ({listed(members)})"
            yield STRUCTURE.told(text, (part.name,), part.place, people, mend="an anchor in something else")


STRUCTURE = Rule(
    name="one-structure",
    severity=Severity.DANGER,
    means="Everything that holds somebody is part of one structure: one block, one pipe, one vehicle.",
    matters="Two bolts in one loose block are one anchor; a vehicle that is moved takes all its anchors along.",
    mends="An anchor in something that can't move with the first; for a vehicle: keys out, wheels blocked, a guard.",
    source="two reports, extracts seen (facts 11.1, 11.8, S96, S101); blocks: common practice, no source",
    wrong="""
anchor left, right: part of loose-block   # here
person sam: points waist, chest
attach left - strap a - sam.waist
attach right - strap b - sam.chest
""",
    right="""
anchor left: part of loose-block
anchor right
person sam: points waist, chest
attach left - strap a - sam.waist
attach right - strap b - sam.chest
""",
    find=_find_structure,
)


# -- one place


def _find_place(rig: Rig) -> Iterator[Finding]:
    at: dict[Vector, list[Part]] = {}
    for part in rig.parts.values():
        if part.nature is Nature.GROUND and part.at is not None:
            at.setdefault(part.at, []).append(part)
    for place, parts in at.items():
        if len(parts) > 1:
            names = tuple(part.name for part in parts)
            text = f"{listed(names)} are written at one place, ({', '.join(f'{v:g}' for v in place)})"
            yield PLACE.told(text, names, parts[1].place, ())


PLACE = Rule(
    name="anchors-at-one-place",
    severity=Severity.NOTE,
    means="Two anchors have exactly the same place.",
    matters="Two bolts have a distance: forces and angles come out wrong, and one of the places may be a copied line.",
    mends="The place of each, measured; or one anchor, where there is one.",
    source="common practice, no source",
    wrong="""
anchor left: at (0, 0, 10)
anchor right: at (0, 0, 10)   # here
person sam: points waist, chest
attach left - strap a - sam.waist
attach right - strap b - sam.chest
""",
    right="""
anchor left: at (0, 0, 10)
anchor right: at (0.6, 0, 10)
person sam: points waist, chest
attach left - strap a - sam.waist
attach right - strap b - sam.chest
""",
    find=_find_place,
)


# -- strength


def _find_weak(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    asked = [one.limits[0] for one in rig.requirements if one.rule == "strength" and one.limits]
    wanted = max(asked, default=HOUSE_FACTOR)
    for part in rig.parts.values():
        strength = dict(part.quantities).get("strength")
        if not part.holds_up or not strength:
            continue
        load = plumb(rig, concerned(outcome, f"{part.name} fails"))
        if load.newtons and strength.least < wanted * load.newtons:
            asks = f"the file asks for {wanted:g}" if asked else f"{wanted:g} are widely taught"
            text = (
                f"{part.name} ({strength.text}) may come to hold {listed(load.bodies)}, {load.words}: "
                f"{strength.least / load.newtons:.2g} times that, where {asks}"
            )
            yield WEAK.told(text, (part.name,), part.place, load.bodies)


WEAK = Rule(
    name="weak-anchor",
    severity=Severity.CAUTION,
    means="An anchor's given strength is less than the wished multiple of the weight that it may come to hold.",
    matters=(
        "After another failure one anchor may hold everybody. Only plumb weight is counted here: angles and a drop "
        "ask for more. The multiple is that of `require strength factor at least N`, else 10."
    ),
    mends="A stronger anchor, or several joined to one.",
    source="a static factor of 10 widely taught for rescue, extracts seen (facts 5.9, S53, S63)",
    wrong="""
anchor bolt: strength 8 kN   # here
person sam: 90 kg
attach bolt - strap s - sam
""",
    right="""
anchor bolt: strength 9 kN
person sam: 90 kg
attach bolt - strap s - sam
""",
    find=_find_weak,
)


# -- direction of pull


def _find_direction(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for part in rig.parts.values():
        if not part.directions or part.at is None:
            continue
        for name, place in _pulling(rig, part.name):
            angle = _off(part, place)
            if angle > part.within + 1e-9:
                text = (
                    f"{part.name} is pulled towards {name}, {angle:.0f} deg off the direction given "
                    f"(within {part.within:g} deg)"
                )
                yield DIRECTION.told(text, (part.name, name), part.place, concerned(outcome, f"{part.name} fails"))


def _off(part: Part, place: Vector) -> float:
    """How far a pull towards `place` lies off the nearest of the given directions, in degrees."""
    here = part.at
    assert here is not None
    pull = [a - b for a, b in zip(place, here, strict=True)]
    return min(angle(pull, one) for one in part.directions)


def _pulling(rig: Rig, anchor: str) -> list[tuple[str, Vector]]:
    """The nearest placed things that pull on an anchor, along contacts and ropes through what has no place."""
    along: dict[str, list[str]] = {name: list(others) for name, others in rig.touching.items()}
    for rope in rig.ropes:
        for one, two in zip(rope.stations, rope.stations[1:], strict=False):
            along[one.part].append(two.part)
            along[two.part].append(one.part)
    seen, stack = {anchor}, [anchor]
    found: list[tuple[str, Vector]] = []
    grounds: list[tuple[str, Vector]] = []
    somebody = False
    here = rig.parts[anchor].at
    while stack:
        for name in sorted(along[stack.pop()]):
            if name in seen:
                continue
            seen.add(name)
            part = rig.parts[name]
            place = part.at or (rig.parts[part.body].at if part.body else None)
            somebody = somebody or part.is_body or part.body is not None
            if place is None and part.nature is not Nature.GROUND:
                stack.append(name)
            elif place is not None and place != here:
                (grounds if part.nature is Nature.GROUND else found).append((name, place))
    # what hangs between two anchors pulls on them, and they on each other only where nobody hangs there
    return sorted(found if found or somebody else grounds)


def _ask_places(rig: Rig) -> Iterator[Asked]:
    for part in rig.parts.values():
        if part.directions and (part.at is None or not _pulling(rig, part.name)):
            yield Asked("places to tell the direction of pull", part.name, "`at (x, y, z)`, and to what pulls on it")


DIRECTION = Rule(
    name="pulled-aside",
    severity=Severity.CAUTION,
    means="An anchor is pulled in another direction than the one it is given for.",
    matters="A post, a picket or a cam holds one way and lifts or levers out another.",
    mends="Another anchor, a back-tie against the pull, or a redirect. `directions down within 30 deg` tells its use.",
    source="common practice, no source (facts 12.1)",
    wrong="""
anchor post: at (0, 0, 10), directions down within 30 deg   # here
person sam: at (8, 0, 6)
attach post - strap s - sam
""",
    right="""
anchor post: at (0, 0, 10), directions down within 30 deg
person sam: at (1, 0, 6)
attach post - strap s - sam
""",
    find=_find_direction,
    asks=_ask_places,
)
