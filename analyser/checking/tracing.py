"""Following what touches what: from a part to the ground, with or without something in between."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from math import acos, degrees, hypot

from analyser.holding.outcome import Outcome
from analyser.rig.index import Joined, reached
from analyser.rig.model import Rig, Role, Rope, Station


def to_ground(rig: Rig, joined: Joined, start: Iterable[str], closed: Iterable[str] = ()) -> bool:
    """Does anything lead from `start` to a ground part that doesn't lie below?"""
    return any(rig.parts[one].holds_up for one in reached(joined, start, closed) if one in rig.parts)


def rope_moves(rope: Rope, at: int, fixed: Set[str]) -> bool:
    """Does the rope run through its station number `at`: is it let out or hauled there, by hands or by a
    device that stays, and free to follow? Tied to what stays, it runs through nothing that stays too."""
    back, on = rope.stations[:at][::-1], rope.stations[at + 1 :]
    return any(
        _drives(one, fixed) and _follows(rope.stations[at], other, fixed) for one, other in ((back, on), (on, back))
    )


def _drives(stations: Sequence[Station], fixed: Set[str]) -> bool:
    """Is the rope let out or hauled on this side, with no knot between?"""
    for station in stations:
        if station.role is Role.TIE:
            return False
        if station.role is Role.HAND or (station.role is Role.GRIP and station.part in fixed):
            return True
    return False


def _follows(here: Station, stations: Sequence[Station], fixed: Set[str]) -> bool:
    """Can rope come or go on this side: a free end, a knot on what moves, a bight through what moves?"""
    for station in stations:
        if station.part in fixed and station.role is Role.TIE:
            return here.part not in fixed
        if station.part not in fixed and station.role in (Role.TIE, Role.RUN):
            return True
    return True


def angle(one: Sequence[float], two: Sequence[float]) -> float:
    """Between two vectors that are not nought, in degrees."""
    lengths = hypot(*one), hypot(*two)
    cosine = sum(a / lengths[0] * (b / lengths[1]) for a, b in zip(one, two, strict=True))
    return degrees(acos(max(-1.0, min(1.0, cosine))))


def concerned(outcome: Outcome, *failures: str) -> tuple[str, ...]:
    """The bodies that some failure set with one of these failures brings down."""
    brought = outcome.brought_down
    return tuple(sorted(set().union(*(brought.get(one, ()) for one in failures))))


def may_matter(outcome: Outcome, *failures: str) -> bool:
    """Does one of these failures help to bring somebody down? It may where the sets can't tell: somebody
    falls with nothing failed, or only after more failures than were searched."""
    if concerned(outcome, *failures):
        return True
    return any(not b.held or (b.smallest_failure_set is None and b.independent != 0) for b in outcome.bodies)


def rope_may_matter(outcome: Outcome, rope: Rope) -> bool:
    """Does anybody hang on this rope, or may it come to that? Of a tag line, no."""
    knots = (f"{s.part} slips" for s in rope.stations if s.role is Role.TIE)
    return may_matter(outcome, *(f"{span} is cut" for span in rope.spans), *knots)
