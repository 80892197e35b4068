"""The old rig in the names of the new one, so that everything after it can be compared by name."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from analyser.language.identities import FailureId, Label, Span
from analyser.rig.model import (
    Caution,
    Contact,
    Effects,
    Failure,
    Judged,
    Need,
    Part,
    Requirement,
    Rig,
    Rope,
    Stage,
    Station,
    Step,
    Waived,
)
from analyser.rig.plan import Plan

WORD = re.compile(r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)?")
NAMED: Mapping[type, tuple[str, ...]] = {
    Rig: ("parts", "contacts", "ropes", "failures", "sound", "accepted", "waived", "latent", "requirements",
          "cautions", "hands_off", "origin"),
    Part: ("name", "body", "points", "ends", "sides", "below_for", "operated_by", "minded_by", "stands_on", "needs",
           "guards", "rope", "part_of", "near", "across", "laid_round"),
    Need: ("parts",),
    Contact: ("a", "b"),
    Rope: ("name", "stations", "spans"),
    Station: ("part", "label", "guards", "near", "inside", "opened_by"),
    Effects: ("gone", "ungripped", "open_hands", "unfooted", "cut", "cutting"),
    Failure: ("id", "effects"),
    Judged: ("failure",),
    Waived: ("about",),
    Requirement: ("names",),
    Caution: ("about",),
    Stage: ("steps",),
    Step: ("rig",),
}  # fmt: skip
"""In which fields of a rig and its pieces names stand."""


def renamed(rig: Rig, names: Mapping[str, str]) -> Rig:
    """The same rig; a name that `names` doesn't hold stays."""
    if all(name == now for name, now in names.items()):
        return rig
    every = dict(names)
    for state in rig.states if isinstance(rig, Plan) else (rig,):
        for part in state.parts.values():  # a point that a later step brings goes by its body
            if part.point and part.body:
                every.setdefault(part.name, f"{names.get(part.body, part.body)}.{part.point}")
    return Renaming(every).rig(rig)


class Renaming:
    """A rig and every piece of it under new names."""

    def __init__(self, names: Mapping[str, str]) -> None:
        self.names = names

    def rig(self, rig: Rig) -> Rig:
        """Failures stand in the order of their names."""
        made: Rig = replace(rig, **{name: self.under(getattr(rig, name)) for name in NAMED[Rig]})
        made = replace(made, failures=tuple(sorted(made.failures, key=lambda one: one.id)))
        if isinstance(rig, Plan):
            return replace(made, first=self.rig(rig.first), stages=self.under(rig.stages))  # type: ignore[call-arg]
        return made

    def under(self, value: Any) -> Any:
        """A name, or a piece of a rig, under the new names."""
        match value:
            case FailureId():
                return FailureId(self.under(value.part), value.mode)
            case Span():
                return Span(*map(self.under, (value.rope, value.a, value.b)))
            case Label():
                return Label(self.under(value.part), value.number)
            case str():
                return self.names.get(value, value)
            case tuple() | frozenset():
                return type(value)(map(self.under, value))
            case dict():
                return {self.under(name): self.under(one) for name, one in value.items()}
            case Rig():
                return self.rig(value)
        if type(value) not in NAMED:
            return value
        changed = {name: self.under(getattr(value, name)) for name in NAMED[type(value)]}
        return replace(value, **changed, **self.told(value))

    def told(self, value: Any) -> dict[str, object]:
        """What is told in words, with the names in it."""
        match value:
            case Need():
                return {"words": self.text(value.words)}
            case Caution() | Requirement(names=(_, *_)):
                return {"text": self.text(value.text)}
            case Step():
                return {"line": replace(value.line, words=self.text(value.words))}
        return {}

    def text(self, text: str) -> str:
        return WORD.sub(lambda found: str(self.under(found[0])), text)
