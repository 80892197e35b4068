"""Which parts people have in the work, from what the file says of them: what they work, hold, guard and hang on."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.results import Result
from analyser.rig.model import Nature, Part, Rig, Role
from analyser.uses.procedure.kit import every_part

OPERATOR, HANDS, EDGE, ATTENDANT, CLIMBER, HELPER, CONTROLLER = (
    *("operator", "hands", "edge", "attendant", "rope", "helper", "controller"),
)
ROLES = (CONTROLLER, OPERATOR, HANDS, EDGE, ATTENDANT, CLIMBER, HELPER)
"""In the order of the cards. The edge and the controller have one even where the file names nobody."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One role and who has it; `person` is None where the file names nobody."""

    role: str
    person: str | None


def roles(result: Result) -> tuple[Taken, ...]:
    """Everybody's role, in the order of `ROLES`; patients have none: they are in somebody's care."""
    rig = result.states[0].rig
    people = [p for p in every_part(result).values() if p.nature is Nature.PERSON]
    found = [Taken(_role(result, person), person.name) for person in people if person.name not in patients(rig)]
    calling = _calling(result)
    leading = [one for one in found if one.role == HELPER and one.person in calling]
    if len(leading) == 1:  # who works nothing, and by the file calls or confirms
        found = [Taken(CONTROLLER, one.person) if one is leading[0] else one for one in found]
    else:
        found.append(Taken(CONTROLLER, None))
    if any(state.rig.index.parts_in(Role.OVER) for state in result.states) and not any(
        one.role == EDGE for one in found
    ):
        found.append(Taken(EDGE, None))
    return tuple(sorted(found, key=lambda one: (ROLES.index(one.role), one.person or "")))


def _calling(result: Result) -> set[str]:
    """Everybody who, as the file says, calls something out or confirms a hold point."""
    steps = (step.line for stage in result.rig.stages for step in stage.steps)
    return {word.text for line in steps if line.verb in ("check", "say") for word in line.by}


def patients(rig: Rig) -> tuple[str, ...]:
    """Whoever hangs, works nothing, and is tied to a litter."""
    litters = rig.index.with_points((Nature.LITTER,))
    found = []
    for person in rig.bodies:
        if person.nature is not Nature.PERSON or person.standing or _works(rig, person.name):
            continue
        own = (person.name, *person.points)
        clips = [clip for point in own for clip in rig.touching[point] if clip not in own]
        if any({clip, *rig.touching[clip]} & litters for clip in clips):
            found.append(person.name)
    return tuple(found)


def guarded_by(rig: Rig, person: str) -> tuple[str, ...]:
    """The edges at which a person is named as what keeps ropes off."""
    found = [edge.name for edge in rig.index.natured(Nature.EDGE) if person in edge.guards]
    found += [at.part for at in rig.index.stations(Role.OVER) if person in at.station.guards]
    return tuple(dict.fromkeys(found))


def _role(result: Result, person: Part) -> str:
    rigs = [state.rig for state in result.states if person.name in state.rig.parts]
    if any(guarded_by(rig, person.name) for rig in rigs):
        return EDGE
    if person.standing and any(_devices(rig, person.name) for rig in rigs):
        return OPERATOR
    if person.standing and any(_works(rig, person.name) for rig in rigs):
        return HANDS
    if person.standing:
        return EDGE if person.exposed else HELPER
    return ATTENDANT if any(p.nature is Nature.LITTER for p in rigs[0].parts.values()) else CLIMBER


def _devices(rig: Rig, person: str) -> bool:
    return any(person in (part.operated_by, part.minded_by) for part in rig.parts.values())


def _works(rig: Rig, person: str) -> bool:
    return _devices(rig, person) or bool(rig.index.at(person, Role.HAND))
