"""A rope while a step lays it anew: what stays on it meanwhile, and the rig on that alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from difflib import SequenceMatcher
from itertools import pairwise

from analyser.language.identities import FailureId
from analyser.rig.failing import what_fails
from analyser.rig.model import Failure, Part, Rig, Role, Rope, Step
from analyser.rig.relaying import relaid

KNOTS = (Role.TIE, Role.STOPPER)


def while_laid_anew(before: Rig, step: Step) -> Rig | None:
    """The rig while a step lays a rope anew: on the rope is only what was there and still will be. None
    where nothing comes off it (or it was off already), or the step is another.

    A rope that is laid as it was is taken as tied anew, all of it.
    """
    if step.verb != "rerig":
        return None
    rope, after = (rig.index.ropes.get(step.about) for rig in (before, step.rig))
    if rope is None or after is None:
        return None
    was, will = _as_met(before, rope), _as_met(step.rig, after)
    kept = _kept(was, will) if was != will else []
    if len(kept) == len(was):
        return None
    stations = [rope.stations[k] for k in kept]
    off = {s.part for s in rope.stations if s.role in KNOTS} - {s.part for s in stations}
    parts = {name: _without(part, off) for name, part in before.parts.items() if name not in off}
    ropes = tuple(one for one in before.ropes if one is not rope)
    if len(stations) > 1:
        ropes = (*ropes, relaid(rope, stations))
    return replace(
        before,
        parts=parts,
        contacts=tuple(c for c in before.contacts if not off & {c.a, c.b}),
        ropes=ropes,
        failures=_failures(before, rope, what_fails(parts, ropes)),
    )


def _without(part: Part, off: set[str]) -> Part:
    """A frame stands no more on the knots that are off."""
    if not any(off & {*need.parts} for need in part.needs):
        return part
    left = (replace(need, parts=tuple(one for one in need.parts if one not in off)) for need in part.needs)
    return replace(part, needs=tuple(left))


Met = tuple[Role, str, bool, bool, frozenset[str]]


def _kept(was: list[Met], will: list[Met]) -> list[int]:
    """The stations that stay: knots first, as a device is moved past a knot and not the knot past a device;
    then what stands between the same knots."""
    knots = [[k for k, one in enumerate(row) if one[0] in KNOTS] for row in (was, will)]
    alike = _alike([was[k] for k in knots[0]], [will[k] for k in knots[1]])
    pairs = [(-1, -1), *((knots[0][i], knots[1][j]) for i, j in alike), (len(was), len(will))]
    kept = [i for i, _ in pairs[1:-1]]
    for (a, b), (c, d) in pairwise(pairs):
        kept += [a + 1 + i for i, _ in _alike(was[a + 1 : c], will[b + 1 : d])]
    return sorted(kept)


def _alike(was: list[Met], will: list[Met]) -> list[tuple[int, int]]:
    blocks = SequenceMatcher(None, was, will, autojunk=False).get_matching_blocks()
    return [(block.a + k, block.b + k) for block in blocks for k in range(block.size)]


def _as_met(rig: Rig, rope: Rope) -> list[Met]:
    """How a rope meets each of its stations: what a knot is tied to belongs to it."""
    beside = rig.index.beside
    return [
        (s.role, s.part, s.to_start, s.to_end, frozenset(beside.get(s.part, ()) if s.role is Role.TIE else ()))
        for s in rope.stations
    ]


def _failures(before: Rig, rope: Rope, possible: Mapping[FailureId, Failure]) -> tuple[Failure, ...]:
    """What can fail meanwhile: what could before, as far as it is there, and the spans between what is left.
    What was taken as sound stays so."""
    left = [one for one in before.failures if one.id in possible or one.mode == "strikes"]
    spans = [one for one in possible.values() if one.mode == "is cut" and one.id.owner == rope.name]
    known = {one.id for one in left}
    made = [one for one in spans if one.id not in known and one.part not in rope.spans]
    return tuple(sorted([*left, *made], key=lambda one: one.id))
