"""More of a rope taken in than is left between what takes it in and what hangs on it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import dist

from analyser.checking.finding import Finding, Rule, Severity
from analyser.checking.rope_too_short import place_of
from analyser.rig.figures import as_length
from analyser.rig.model import Rig, Role, Rope, Station
from analyser.rig.quantities import let_out

LEAST = 1e-6
"""Metres that are no more."""


def find(rig: Rig) -> Iterator[Finding]:
    for rope in rig.ropes:
        taken = -let_out(rope.quantities)
        if taken <= LEAST:
            continue
        text = f"{as_length(taken, '.4g')} of {rope.name} are taken in, and"
        length = dict(rope.quantities).get("length")
        left = _left(rig, rope)
        if left and taken > left[0] + LEAST:
            metres, one, other = left
            yield RULE.told(
                f"{text} only {as_length(metres, '.4g')} of it are between {one} and {other}", (rope.name,), rope.place
            )
        elif length and taken > length.most + LEAST:
            yield RULE.told(f"{text} it is {length.text} long", (rope.name,), rope.place)


def _left(rig: Rig, rope: Rope) -> tuple[float, str, str] | None:
    """Metres between what takes a rope in (or its last bend above, where all of them stay where they are) and what is
    tied to it, and the two; as first drawn, where that is more: what has moved since was moved by this."""
    row = _loaded(rig, rope)
    if len(row) < 2:
        return None
    if all(station.part in rig.index.fixed for station in row[1:-1]):
        row = row[-2:]
    ways = [way for one in (rig, rig.origin) if one and (way := _way(one, row)) is not None]
    return (max(ways), str(row[0].label), str(row[-1].label)) if ways else None


def _loaded(rig: Rig, rope: Rope) -> list[Station]:
    """From its first device that stays where it is and grips one way, to the knot on the loaded side; of a rope
    without, all of it."""
    stations = [s for s in rope.stations if s.role in (Role.TIE, Role.RUN, Role.GRIP)]
    at = next((k for k, s in enumerate(stations) if _stays(rig, s)), None)
    if at is None:
        return stations if not rope.closed else []
    row = stations[at:] if stations[at].to_end else stations[at::-1]
    knot = next((k for k, s in enumerate(row) if s.role is Role.TIE), None)
    return row[: knot + 1] if knot else []


def _stays(rig: Rig, station: Station) -> bool:
    return station.role is Role.GRIP and station.to_start != station.to_end and station.part in rig.index.fixed


def _way(rig: Rig, row: list[Station]) -> float | None:
    """Metres along these stations by their places; None where one is missing, or has none."""
    places = [place_of(rig, station) if station.part in rig.parts else None for station in row]
    told = [place for place in places if place is not None]
    if len(told) < len(row):
        return None
    return sum(dist(a, b) for a, b in pairwise(told)) + sum(s.slack.most for s in row if s.slack is not None)


RULE = Rule(
    name="taken-in-too-far",
    severity=Severity.DANGER,
    means=(
        "By its steps more of a rope has been taken in than there is between the device that takes it in, or the last "
        "wheel above, and what is tied to it; or than the rope is long."
    ),
    matters=(
        "What hangs there comes up against the wheel or the device before the step is done. Who goes on hauling pulls "
        "on what can move no further: the pull rises to all that the team has, the knot jams, and something breaks "
        "that carried little until then."
    ),
    mends="Take in less; hang the wheel or the device higher; or a shorter rope between.",
    source="geometry (a rope is no shorter than the way that is left); common practice, no source",
    wrong="""
anchor bolt: at (0, 0, 10)
person jo: standing
load bag: 80 kg, at (0, 0, 7), points eye
attach bolt - brake works
works: operated by jo, self-locking
rope main: 11 mm, 30 m   # here
    stopper
    gripped by works
    tied to bag.eye with bowline
stage "Up"
    take works in hand
    take in main by 5 m
    lock off works
""",
    right="""
anchor bolt: at (0, 0, 10)
person jo: standing
load bag: 80 kg, at (0, 0, 7), points eye
attach bolt - brake works
works: operated by jo, self-locking
rope main: 11 mm, 30 m
    stopper
    gripped by works
    tied to bag.eye with bowline
stage "Up"
    take works in hand
    take in main by 2.5 m
    lock off works
""",
    find=find,
)
