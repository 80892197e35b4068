"""Who takes part, what each works, minds or holds, and what each wears."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.results import Result
from analyser.rig.model import Nature, Part, Role
from analyser.uses.procedure.kit import every_part


@dataclass(frozen=True, slots=True)
class Person:
    name: str
    place: str
    does: tuple[str, ...]
    wears: tuple[str, ...]


def people(result: Result) -> tuple[Person, ...]:
    """Everybody of every state, by name."""
    parts = every_part(result)
    held: dict[str, dict[str, None]] = {}
    for state in result.states:
        for at in state.rig.index.stations(Role.HAND):
            held.setdefault(at.part, {})[at.rope.name] = None
    named = [
        (f"{at}.{k}", {word.text for word in step.line.by})
        for at, stage in enumerate(result.rig.stages, 1)
        for k, step in enumerate(stage.steps, 1)
    ]
    found = []
    for person in sorted(parts.values(), key=lambda part: part.name):
        if person.nature is not Nature.PERSON:
            continue
        does = [f"works {p.name}{_own(p)}" for p in parts.values() if p.operated_by == person.name]
        does += [f"minds {p.name}" for p in parts.values() if p.minded_by == person.name]
        does += [f"holds {rope} by hand" for rope in held.get(person.name, ())]
        steps = [number for number, by in named if person.name in by]
        does += [f"does {', '.join(steps)}"] if steps else []
        wears = [p.name for p in parts.values() if p.nature is Nature.HARNESS and p.body == person.name]
        found.append(Person(person.name, _place(result, person), tuple(does), tuple(wears)))
    return tuple(found)


def _own(part: Part) -> str:
    return " (locks by itself)" if part.self_locking else " (needs the hand on it)"


def _place(result: Result, person: Part) -> str:
    """Where somebody is at first, and whether a step changes it."""
    standing = [s.rig.parts[person.name].standing for s in result.states if person.name in s.rig.parts]
    first = "on the rope"
    if person.stands_on:
        first = f"stands on {person.stands_on}"
    elif person.standing:
        first = "stands where a fall is possible" if person.exposed else "stands where they cannot fall"
    return f"{first}; steps change this" if len(set(standing)) > 1 else first
