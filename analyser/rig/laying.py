"""What is true while a step is being done, where that is a state of its own: a rope laid anew, a device slid past
something on its rope. Only what stays on the rope counts."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from enum import StrEnum
from itertools import pairwise

from analyser.language.identities import FailureId
from analyser.rig.failing import what_fails
from analyser.rig.index import reached
from analyser.rig.model import Failure, Nature, Part, Rig, Role, Rope, Station, Step
from analyser.rig.relaying import parted, relaid, without

KNOTS = (Role.TIE, Role.STOPPER)
PASSED_OFF = (*KNOTS, Role.GRIP)
"""What a device comes off its rope to pass."""


class How(StrEnum):
    """Why a state is true only while its step is being done."""

    LAID_ANEW = "laid anew"
    DEVICE_OFF = "device off"
    ROPE_OUT = "rope out"


@dataclass(frozen=True, slots=True)
class Within:
    """The rig while a step is being done: `rope` is laid anew, `parts` (the device) are off it, or it is out of
    `parts` that it runs through."""

    how: How
    rope: str
    parts: tuple[str, ...]
    rig: Rig


def within(before: Rig, step: Step) -> tuple[Within, ...]:
    """What is true within a step, in the order in which it happens."""
    rope, after = (rig.index.ropes.get(step.about) for rig in (before, step.rig))
    if step.verb == "rerig" and rope and after:
        kept = _kept_of(before, rope, step.rig, after)
        return () if kept is None else (Within(How.LAID_ANEW, rope.name, (), _on(before, rope, kept)),)
    if step.verb == "slide":
        return tuple(_slid(before, step))
    return ()


def _slid(before: Rig, step: Step) -> Iterator[Within]:
    """The device comes off to pass a knot; the rope leaves what it runs through, so that the device passes that."""
    on, past = (word.text for word in step.line.others)
    rope = before.index.ropes[on]
    at = next(k for k, station in enumerate(rope.stations) if station.part == step.about)
    to = [str(station.label) for station in rope.stations].index(past)
    passed = range(at + 1, to + 1) if to > at else range(to, at)
    if any(rope.stations[k].role in PASSED_OFF for k in passed):
        stations = without(list(rope.stations), at)
        yield Within(How.DEVICE_OFF, on, (step.about,), _relaid_in(before, rope, stations))
    runs = [k for k in passed if rope.stations[k].role is Role.RUN]
    if runs:
        out = tuple(dict.fromkeys(rope.stations[k].part for k in runs))
        stations = list(rope.stations)
        for k in reversed(runs):
            stations = without(stations, k)
        yield Within(How.ROPE_OUT, on, out, _relaid_in(before, rope, _unguarded(before, stations, out)))


def _unguarded(rig: Rig, stations: Sequence[Station], out: Collection[str]) -> list[Station]:
    """What the rope no longer runs through keeps it clear of no edge, nor does what that hangs in."""
    border = {part.name for part in rig.parts.values() if part.nature not in (Nature.JOINT, Nature.PULLEY)}
    left = {s.part for s in stations if s.role in (Role.RUN, Role.GRIP)}
    gone, kept = (reached(rig.index.joined, some, border) | {*some} for some in (out, left))
    return [replace(s, guards=tuple(guard for guard in s.guards if guard not in gone - kept)) for s in stations]


def _kept_of(before: Rig, rope: Rope, rig: Rig, after: Rope) -> list[int] | None:
    """The stations that stay on a rope that is laid anew; None where nothing comes off.

    A rope that is laid as it was is taken as tied anew, all of it.
    """
    was, will = _as_met(before, rope), _as_met(rig, after)
    kept = _kept(was, will) if was != will else []
    return None if len(kept) == len(was) else kept


def _on(before: Rig, rope: Rope, kept: Iterable[int]) -> Rig:
    return _relaid_in(before, rope, [rope.stations[k] for k in kept])


def _relaid_in(before: Rig, rope: Rope, stations: list[Station]) -> Rig:
    """The rig with these stations on a rope, and without the knots that are no more in it."""
    off = {s.part for s in rope.stations if s.role in KNOTS} - {s.part for s in stations}
    parts = {name: _without(part, off) for name, part in before.parts.items() if name not in off}
    others = {one.name: one for one in before.ropes if one is not rope}
    others |= parted(others, off)
    ropes = tuple(one for one in others.values() if one.stations)
    if len(stations) > 1:
        ropes = (*ropes, relaid(rope, stations))
    contacts = tuple(c for c in before.contacts if not off & {c.a, c.b})
    return replace(
        before,
        parts=parts,
        contacts=contacts,
        ropes=ropes,
        failures=_failures(before, rope, what_fails(parts, ropes, contacts)),
        origin=before.origin or before,
    )


def _without(part: Part, off: set[str]) -> Part:
    """A frame stands no more on the knots that are off."""
    if not any(off & {*need.parts} for need in part.needs):
        return part
    return replace(part, needs=tuple(need.without(off) for need in part.needs))


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
