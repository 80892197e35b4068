"""Requirements of parts, whoever hangs on them: gates, pads, stoppers, strengths of anchors."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.bare_edge import bare_passages
from analyser.checking.connectors import connectors
from analyser.checking.finding import in_few
from analyser.checking.judging import Reason
from analyser.checking.no_stopper import open_ends
from analyser.rig.model import Nature, Requirement, Rig


def connectors_lock(rig: Rig) -> Iterator[Reason]:
    for part in connectors(rig):
        if part.locking is False:
            yield Reason(f"{part.name} does not lock (line {part.place.line})")
    unsaid = [part.name for part in connectors(rig) if part.locking is None]
    if unsaid:
        yield Reason(f"not checked: {in_few(unsaid)}: gate not given; add `locking` or `not locking`", open=True)


def edges_padded(rig: Rig) -> Iterator[Reason]:
    for edge, rope in bare_passages(rig):
        yield Reason(f"{rope} passes {edge} bare")


def ends_stopped(rig: Rig) -> Iterator[Reason]:
    for end in open_ends(rig):
        yield Reason(f"the {end.side} of {end.rope} has no stopper")


def anchors_strong(requirement: Requirement, rig: Rig) -> Iterator[Reason]:
    least = requirement.limits[0]
    anchors = [p for p in rig.parts.values() if p.nature is Nature.GROUND and "anchor" in p.family]
    given = {part.name: dict(part.quantities).get("strength") for part in anchors}
    for name, strength in given.items():
        if strength and strength.least < least:
            yield Reason(f"{name} has {strength.text}")
    unsaid = [name for name, strength in given.items() if not strength]
    if unsaid:
        yield Reason(f"not checked: {in_few(unsaid)}: strength not given", open=True)
