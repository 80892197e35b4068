"""The old rig in the names of the new one, so that everything after it can be compared by name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from analyser.language.identities import FailureId, Label, Span
from analyser.rig.model import (
    Caution,
    Contact,
    Effects,
    Failure,
    Judged,
    Part,
    Requirement,
    Rig,
    Rope,
    Stage,
    Station,
    Step,
)
from analyser.rig.plan import Plan

WORD = re.compile(r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)?")


def renamed(rig: Rig, names: Mapping[str, str]) -> Rig:
    """The same rig; a name that `names` doesn't hold stays."""
    if all(name == now for name, now in names.items()):
        return rig
    every = dict(names)
    for state in (rig, *(step.rig for stage in rig.stages for step in stage.steps)):
        for part in state.parts.values():  # a point that a later step brings goes by its body
            if part.point and part.body:
                every.setdefault(part.name, f"{names.get(part.body, part.body)}.{part.point}")
    made = _Renaming(every)
    if not isinstance(rig, Plan):
        return made.rig(rig)
    stages = tuple(made.stage(one) for one in rig.stages)
    return replace(made.rig(rig), first=made.rig(rig.first), stages=stages)  # type: ignore[call-arg]


class _Renaming:
    def __init__(self, names: Mapping[str, str]) -> None:
        self.names = names

    def name(self, name: str) -> str:
        """A part, rope or cause; a span by its rope and stations, a failure by what it happens to."""
        if isinstance(name, FailureId):
            return FailureId(self.name(name.part), name.mode)
        if isinstance(name, Span):
            return Span(self.name(name.rope), self.name(name.a), self.name(name.b))
        if isinstance(name, Label):
            return Label(self.name(name.part), name.number)
        return self.names.get(name, name)

    def id(self, id: FailureId) -> FailureId:
        return FailureId(self.name(id.part), id.mode)

    def some(self, names: Iterable[str]) -> tuple[str, ...]:
        return tuple(self.name(one) for one in names)

    def maybe(self, name: str | None) -> str | None:
        return None if name is None else self.name(name)

    def text(self, text: str) -> str:
        return WORD.sub(lambda found: self.name(found[0]), text)

    def rig(self, rig: Rig) -> Rig:
        return replace(
            rig,
            parts={self.name(name): self.part(part) for name, part in rig.parts.items()},
            contacts=tuple(self.contact(one) for one in rig.contacts),
            ropes=tuple(self.rope(one) for one in rig.ropes),
            failures=tuple(sorted((self.failure(one) for one in rig.failures), key=lambda one: one.id)),
            sound=tuple(self.judged(one) for one in rig.sound),
            accepted=tuple(self.judged(one) for one in rig.accepted),
            waived=tuple(replace(one, about=self.name(one.about)) for one in rig.waived),
            latent=tuple(self.judged(one) for one in rig.latent),
            requirements=tuple(self.requirement(one) for one in rig.requirements),
            cautions=tuple(self.caution(one) for one in rig.cautions),
            hands_off=self.effects(rig.hands_off),
        )

    def part(self, part: Part) -> Part:
        return replace(
            part,
            name=self.name(part.name),
            body=self.maybe(part.body),
            points=self.some(part.points),
            ends=(self.some(part.ends[0]), self.some(part.ends[1])) if part.ends else None,
            operated_by=self.maybe(part.operated_by),
            minded_by=self.maybe(part.minded_by),
            needs=tuple(replace(one, parts=self.some(one.parts), words=self.text(one.words)) for one in part.needs),
            guards=self.some(part.guards),
            rope=self.maybe(part.rope),
            part_of=self.some(part.part_of),
            near=self.some(part.near),
            across=self.some(part.across),
        )

    def contact(self, contact: Contact) -> Contact:
        return replace(contact, a=self.name(contact.a), b=self.name(contact.b))

    def station(self, station: Station) -> Station:
        return replace(
            station,
            part=self.name(station.part),
            label=Label(self.name(station.label.part), station.label.number),
            guards=self.some(station.guards),
            near=self.some(station.near),
            inside=self.some(station.inside),
            opened_by=self.maybe(station.opened_by),
        )

    def rope(self, rope: Rope) -> Rope:
        return replace(
            rope,
            name=self.name(rope.name),
            stations=tuple(self.station(one) for one in rope.stations),
            spans=tuple(Span(self.name(one.rope), self.name(one.a), self.name(one.b)) for one in rope.spans),
        )

    def effects(self, effects: Effects) -> Effects:
        return Effects(*(frozenset(self.some(group)) for group in effects.groups))

    def failure(self, failure: Failure) -> Failure:
        return replace(failure, id=self.id(failure.id), effects=self.effects(failure.effects))

    def judged(self, one: Judged) -> Judged:
        return replace(one, failure=self.id(one.failure))

    def requirement(self, one: Requirement) -> Requirement:
        return replace(one, names=self.some(one.names), text=self.text(one.text) if one.names else one.text)

    def stage(self, stage: Stage) -> Stage:
        return replace(stage, steps=tuple(self.step(one) for one in stage.steps))

    def step(self, step: Step) -> Step:
        return Step(replace(step.line, words=self.text(step.words)), self.rig(step.rig))

    def caution(self, caution: Caution) -> Caution:
        return replace(caution, about=self.some(caution.about), text=self.text(caution.text))
