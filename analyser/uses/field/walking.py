"""The as-built check, part by part in the order in which a person walks it: ground, rope, edge, load.

What is looked at on each part is common practice, no source (facts 12.1); a knot's tail of ten diameters too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from analyser.checking.no_stopper import open_ends
from analyser.checking.results import Result
from analyser.rig.figures import as_small
from analyser.rig.frames_on import standing_on
from analyser.rig.model import BODIES, Maker, Nature, Part, Quantity, Rig, Role, Rope, Station
from analyser.uses.field.critical import Critical, criticals, followed
from analyser.uses.field.grounded import grounded
from analyser.uses.field.said import Said, said
from analyser.uses.procedure.kit import NOT_FIGURES

GROUND, ROPE, EDGE, LOAD, LATER = "ground", "rope", "edge", "load", "later"
SECTIONS = (GROUND, ROPE, EDGE, LOAD, LATER)
"""In the order of the walk; what later steps bring is looked at when it goes on."""
TAIL = 10
"""Rope diameters that a knot's tail is long at least: common practice, no source (facts 12.1)."""
ENDS = {"start": "end-start", "end": "end-end"}
FIGURES = {
    "strength": "figure-strength",
    "diameter": "figure-diameter",
    "length": "figure-length",
    "width": "figure-width",
    "minor axis": "figure-minor-axis",
    "gate open": "figure-gate-open",
    "stretch": "figure-stretch",
    "mass": "figure-mass",
}
"""What is known of a part and stands on it, or can be measured."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to see and touch: a part or a rope. `touches` are its neighbours as written, `see` what
    must be found, `otherwise` the lines in which a difference would be written down."""

    name: str
    kind: str
    section: str
    figures: tuple[Said, ...]
    touches: tuple[str, ...]
    see: tuple[Said, ...]
    critical: Critical
    otherwise: tuple[str, ...]
    step: str | None
    """The step that brings it, where it is not there from the beginning."""
    line: int
    then: tuple[str, ...] = ()
    """What it touches where a later step makes a single point of it, if that is something else."""


def walk(result: Result) -> tuple[Item, ...]:
    """Every part and rope once: by section, in each as one thing leads to the next."""
    grades = criticals(followed(result))
    rig = result.states[0].rig
    found = list(_Walk(rig, grades).items())
    seen = {item.name for item in found}
    stages = enumerate(result.rig.stages, 1)
    steps = [(f"{at}.{k}", step) for at, stage in stages for k, step in enumerate(stage.steps, 1)]
    for number, step in steps:
        fresh = set(step.rig.parts) | {rope.name for rope in step.rig.ropes}
        if fresh - seen:
            for item in _Walk(step.rig, grades).items():
                if item.name not in seen:
                    found.append(replace(item, section=LATER, step=number, otherwise=()))
            seen |= fresh
    found = [_as_single(result, item) for item in found]
    return tuple(sorted(found, key=lambda item: SECTIONS.index(item.section)))


def _as_single(result: Result, item: Item) -> Item:
    """With what it touches where it is a single point."""
    state = result.states[item.critical.state]
    if not item.critical.falls or item.name not in state.rig.parts:
        return item
    then = _Walk(state.rig, {})._touches(state.rig.parts[item.name])
    return item if {*then} == {*item.touches} else replace(item, then=then)


class _Walk:
    """One state of a rig on foot."""

    def __init__(self, rig: Rig, grades: Mapping[str, Critical]) -> None:
        self.rig = rig
        self.grades = grades
        self.fixed = grounded(rig)
        self.over = {edge: [r for r in rig.ropes if any(s.part == edge for s in r.stations)] for edge in rig.parts}
        self.stations: dict[str, list[tuple[Rope, Station]]] = {}
        for rope in rig.ropes:
            for station in rope.stations:
                self.stations.setdefault(station.part, []).append((rope, station))
        self.told: set[str] = set()

    def items(self) -> Iterator[Item]:
        yield from self._ground()
        for rope in sorted(self.rig.ropes, key=lambda rope: rope.place):
            yield self._rope(rope)
            for station in self._from_the_ground(rope):
                part = self.rig.parts[station.part]
                if part.nature in (Nature.KNOT, Nature.STOPPER):
                    yield from self._once(part, ROPE)
        for part in self.rig.parts.values():
            if part.nature is Nature.EDGE:
                yield from self._once(part, EDGE)
                for guard in self._guards(part):
                    if self.rig.parts[guard].nature is Nature.PAD:
                        yield from self._once(self.rig.parts[guard], EDGE)
        for part in self.rig.parts.values():
            if part.nature is Nature.PAD:
                yield from self._once(part, EDGE)
        yield from self._load()

    def _once(self, part: Part, section: str) -> Iterator[Item]:
        """A part, unless it was told, is nothing to touch, or is a point of a body."""
        hidden = part.nature is Nature.POINT or part.made_by is Maker.LANDING
        hidden = hidden or (part.is_body and part.standing and not self._touches(part))
        if part.name in self.told or hidden:
            return
        self.told.add(part.name)
        grade = self.grades.get(part.name, Critical())
        see = tuple(SEEING[part.nature](self, part))
        yield Item(
            part.name,
            part.kind,
            section,
            tuple(_figures(part.quantities)),
            self._touches(part),
            see,
            grade,
            tuple(self._otherwise(part)),
            None,
            part.place.line,
        )

    # -- the order

    def _ground(self) -> Iterator[Item]:
        """Each anchor, and from it link by link what hangs on it, up to bodies and ropes."""
        for part in self.rig.parts.values():
            if part.nature is Nature.STRUCTURE:
                yield from self._once(part, GROUND)
        for part in self.rig.parts.values():
            if part.nature in (Nature.GROUND, Nature.FRAME):
                for name in self._outward([part.name], self.fixed):
                    yield from self._once(self.rig.parts[name], GROUND)

    def _load(self) -> Iterator[Item]:
        """From where the ropes end: rings and legs, litters, then each person from the harness on."""
        ends = [s.part for rope in self.rig.ropes for s in self._from_the_ground(rope) if s.part not in self.fixed]
        for name in self._outward(ends, set(self.rig.parts)):
            if self.rig.parts[name].nature not in BODIES:
                yield from self._once(self.rig.parts[name], LOAD)
        for part in self.rig.parts.values():
            if part.nature not in BODIES:
                yield from self._once(part, LOAD)
        for part in sorted(self.rig.parts.values(), key=lambda p: (p.nature is Nature.PERSON, p.place)):
            if part.nature in BODIES:
                for point in part.points:
                    yield from self._once(self.rig.parts[point], LOAD)
                yield from self._once(part, LOAD)

    def _outward(self, start: list[str], inside: Collection[str]) -> Iterator[str]:
        """Parts one after another over contacts, depth first, in the order of the file."""
        own = self.rig.index.with_points()
        seen: set[str] = set()
        stack = [name for name in reversed(start) if self.rig.parts[name].nature is not Nature.EDGE]
        while stack:
            name = stack.pop()
            if name in seen:
                continue
            seen.add(name)
            yield name
            further = [n for n in self.rig.touching[name] if n in inside and n not in own and n not in seen]
            further = [n for n in further if self.rig.parts[n].nature not in (Nature.KNOT, Nature.GROUND)]
            stack += sorted(further, key=lambda n: self.rig.parts[n].place, reverse=True)

    def _from_the_ground(self, rope: Rope) -> tuple[Station, ...]:
        """A rope's stations from the end that is fixed, where only one is."""
        first, last = rope.stations[0], rope.stations[-1]
        turned = self._is_fixed(last) and not self._is_fixed(first)
        return rope.stations[::-1] if turned else rope.stations

    def _is_fixed(self, station: Station) -> bool:
        return station.part in self.fixed

    # -- what is told of each

    def _touches(self, part: Part) -> tuple[str, ...]:
        own = [
            n for n in self.rig.touching[part.name] if self.rig.parts[n].nature is not Nature.POINT or not part.is_body
        ]
        ropes = [r.name for r, s in self.stations.get(part.name, ()) if s.role in (Role.RUN, Role.GRIP, Role.HAND)]
        if part.nature is Nature.EDGE:
            ropes = [rope.name for rope in self.over[part.name]]
        if part.nature is Nature.PAD:
            own = [e for e in self.rig.parts if self.over[e] and part.name in self._guards(self.rig.parts[e])]
        if part.is_body:
            own = [n for point in (part.name, *part.points) for n in self.rig.touching[point]]
        if part.nature is Nature.STOPPER and part.rope:
            ropes = [part.rope]
        return tuple(dict.fromkeys([*own, *ropes, *standing_on(self.rig, part.name)]))

    def _guards(self, edge: Part) -> tuple[str, ...]:
        found = list(edge.guards)
        for rope in self.rig.ropes:
            for station in rope.stations:
                if station.part == edge.name:
                    found += station.guards
        return tuple(dict.fromkeys(found))

    def _rope(self, rope: Rope) -> Item:
        see = [said("see-rope")]
        over = [s.part for s in rope.stations if s.role is Role.OVER]
        if over:
            see.append(said("see-rope-over", edges=tuple(dict.fromkeys(over))))
        order = tuple(station.label for station in self._from_the_ground(rope))
        see.append(said("see-rope-order", stations=" – ".join(order)))
        for end in open_ends(self.rig):
            if end.rope == rope.name:
                see.append(
                    said("see-open-end-device", end=said(ENDS[end.side]), device=end.device)
                    if end.device
                    else said("see-open-end")
                )
        hands = tuple(dict.fromkeys(s.part for s in rope.stations if s.role is Role.HAND))
        if hands:
            see.append(said("see-in-hands", people=hands))
        grade = self.grades.get(rope.name, Critical())
        touches = tuple(dict.fromkeys(s.part for s in rope.stations))
        figures = tuple(_figures(rope.quantities))
        otherwise = (f"found {rope.name} missing",)
        return Item(rope.name, rope.kind, ROPE, figures, touches, tuple(see), grade, otherwise, None, rope.place.line)

    def _otherwise(self, part: Part) -> Iterator[str]:
        """The differences that can be written down of a part (`found.py`)."""
        name = part.name
        if part.nature in BODIES:
            for point in (name, *part.points):
                if self.rig.parts[point].nature is Nature.HARNESS:
                    continue
                for other in self.rig.touching[point]:
                    yield f"found {other} not on {point}"
            return
        if part.nature is Nature.EDGE:
            return
        if "connector" in part.family and part.locking is not False:
            yield f"found {name} unlocked"
        if part.nature in (Nature.KNOT, Nature.STOPPER, Nature.HARNESS):
            yield f"found {name} loose"
        own = [s for _, s in self.stations.get(name, ()) if s.role is Role.GRIP]
        if any(s.to_start != s.to_end for s in own):
            yield f"found {name} reversed"
        elif own:
            yield f"found {name} loose"
        yield f"found {name} missing"
        for other in self.rig.touching[name]:
            if self.rig.parts[other].nature is not Nature.KNOT:
                yield f"found {name} not on {other}"

    # -- what is to be seen, by what a part does

    def ground(self, part: Part) -> Iterator[Said]:
        foot = "footing" in part.family and standing_on(self.rig, part.name)
        yield said("see-footing" if foot else "see-anchor")
        if part.directions:
            yield said("see-direction")
        if part.part_of:
            yield said("see-part-of", whole=part.part_of)
        if part.below and not foot:
            yield said("see-below")

    def structure(self, part: Part) -> Iterator[Said]:
        yield said("see-structure")

    def frame(self, part: Part) -> Iterator[Said]:
        laced = all(need.laced for need in part.needs)
        yield said("see-laced" if laced else "see-frame", feet=part.needed)

    def joint(self, part: Part) -> Iterator[Said]:
        if "connector" in part.family:
            yield said("see-gate-plain" if part.locking is False else "see-gate")
        elif part.textile:
            yield said("see-textile")
        else:
            yield said("see-joint")
        for edge in part.across:
            yield said("see-across", edge=edge)

    def pulley(self, part: Part) -> Iterator[Said]:
        yield said("see-pulley")

    def grip(self, part: Part) -> Iterator[Said]:
        for rope, station in self.stations.get(part.name, ()):
            if station.role is Role.GRIP:
                yield from self._loaded(rope, station)
        if part.takes:
            yield said("see-takes", thin=part.takes[0].text, thick=part.takes[1].text)
        if part.operated_by:
            key = "see-worked-locks" if part.self_locking else "see-worked-hand"
            yield said(key, person=part.operated_by)
        if part.minded_by:
            yield said("see-minded", person=part.minded_by)

    def _loaded(self, rope: Rope, station: Station) -> Iterator[Said]:
        if station.to_start is station.to_end:
            yield said("see-grips-both" if station.to_start else "see-grips-none", rope=rope.name)
            return
        at = rope.stations.index(station)
        side = at - 1 if station.to_start else at + 1
        label = rope.stations[side].label if 0 <= side < len(rope.stations) else ""
        if label:
            yield said("see-loaded-side", rope=rope.name, towards=label)
        else:
            yield said("see-loaded-end", rope=rope.name)

    def knot(self, part: Part) -> Iterator[Said]:
        at = [(rope, s) for rope, s in self.stations.get(part.name, ()) if s.role is Role.TIE]
        yield said("see-eye" if part.made_before else "see-knot", knot=part.kind, rope=part.rope or "")
        for rope, station in at[:1] if not part.made_before else ():
            diameter = dict(rope.quantities).get("diameter")
            if station.tail:
                yield said("see-tail", length=station.tail.text)
            elif diameter:
                yield said("see-tail", length=as_small(TAIL * diameter.si, ".0f"))
            else:
                yield said("see-tail-diameters", count=TAIL)
        others = tuple(n for n in self.rig.touching[part.name] if self.rig.parts[n].nature is Nature.KNOT)
        if others:
            yield said("see-interlocked", knots=others)

    def stopper(self, part: Part) -> Iterator[Said]:
        yield said("see-stopper", rope=part.rope or "")

    def edge(self, part: Part) -> Iterator[Said]:
        yield said("see-edge")
        for rope in self.over[part.name]:
            guards = [g for s in rope.stations if s.part == part.name for g in s.guards]
            guards += part.guards
            if guards:
                yield said("see-guarded", rope=rope.name, guards=tuple(dict.fromkeys(guards)))
            else:
                yield said("see-bare", rope=rope.name)

    def pad(self, part: Part) -> Iterator[Said]:
        yield said("see-pad")

    def person(self, part: Part) -> Iterator[Said]:
        if part.stands_on:
            yield said("see-stands-on", deck=part.stands_on)
        elif part.standing:
            yield said("see-stands-exposed" if part.exposed else "see-stands")
        else:
            yield said("see-person")
        for point in part.points:
            yield from self._clipped(point)

    def litter(self, part: Part) -> Iterator[Said]:
        yield said("see-litter")
        for point in part.points:
            yield from self._clipped(point)

    def load(self, part: Part) -> Iterator[Said]:
        yield said("see-load")

    def harness(self, part: Part) -> Iterator[Said]:
        yield said("see-harness")

    def _clipped(self, point: str) -> Iterator[Said]:
        if self.rig.touching[point] and self.rig.parts[point].nature is Nature.POINT:
            yield said("see-clipped", point=point, clips=self.rig.touching[point])


SEEING = {
    Nature.GROUND: _Walk.ground,
    Nature.STRUCTURE: _Walk.structure,
    Nature.FRAME: _Walk.frame,
    Nature.JOINT: _Walk.joint,
    Nature.PULLEY: _Walk.pulley,
    Nature.GRIP: _Walk.grip,
    Nature.KNOT: _Walk.knot,
    Nature.STOPPER: _Walk.stopper,
    Nature.EDGE: _Walk.edge,
    Nature.PAD: _Walk.pad,
    Nature.PERSON: _Walk.person,
    Nature.LITTER: _Walk.litter,
    Nature.LOAD: _Walk.load,
    Nature.HARNESS: _Walk.harness,
}


def _figures(quantities: tuple[tuple[str, Quantity], ...]) -> Iterator[Said]:
    for key, value in quantities:
        if key in FIGURES and key not in NOT_FIGURES:
            yield said(FIGURES[key], value=value.text)
