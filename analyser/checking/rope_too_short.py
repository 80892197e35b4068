"""A rope that does not reach: for the drop that is given, or between the places that are given."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist

from analyser.checking.finding import Finding, Rule, Severity
from analyser.rig.figures import as_length
from analyser.rig.index import reached
from analyser.rig.model import Rig, Role, Rope, Station
from analyser.rig.quantities import let_out

MARGIN = 2.0
"""Metres for knots, a stopper, and to stand on the ground still attached: common practice, no source."""


def find(rig: Rig) -> Iterator[Finding]:
    fixed = rig.index.fixed
    for rope in rig.ropes:
        given = dict(rope.quantities)
        if "length" not in given:
            continue
        loose = _loose(rope)
        paid_out = Needed(loose, f"{as_length(loose, '.4g')} are slack or paid out")
        for needed in (*lengths_needed(rig, rope, fixed), paid_out):
            if given["length"].least < needed.metres:
                text = f"{rope.name} is {given['length'].text} long, and {needed.words}{needed.makes}"
                yield RULE.told(text, (rope.name,), rope.place)
                break


@dataclass(frozen=True, slots=True)
class Needed:
    """A length that a rope must have at least, and why."""

    metres: float
    words: str
    makes: str = ""
    """What they come to together, where that isn't told beside them."""


def lengths_needed(rig: Rig, rope: Rope, fixed: frozenset[str]) -> Iterator[Needed]:
    """What the drop asks of a rope, and what the places of its stations ask: its whole way, to every knot, with what is
    slack or was paid out since. `fixed`: `tracing.fixed_parts`."""
    drop = dict(rope.quantities).get("drop")
    if drop:
        strands = _strands(rig, rope, fixed)
        metres = strands * drop.si + MARGIN
        times = "" if strands == 1 else f"{strands} × "
        yield Needed(
            metres,
            f"{times}{drop.text} and a margin of {as_length(MARGIN, 'g')}",
            f" make {as_length(metres, '.4g')}",
        )
    if {"pretension", "sag"} & dict(rope.quantities).keys():
        return  # its length follows from how tight it is
    places = [place for station in rope.stations if (place := place_of(rig, station))]
    apart = sum(dist(a, b) for a, b in pairwise(places))
    loose = _loose(rope)
    if apart:
        more = f", and {as_length(loose, '.4g')} are slack or paid out" if loose > 0 else ""
        less = f", and {as_length(-loose, '.4g')} are taken in" if loose < 0 else ""
        yield Needed(apart + loose, f"the places of its stations are {as_length(apart, '.4g')} apart{more}{less}")


def _loose(rope: Rope) -> float:
    """Metres of it that are slack, or were paid out since; less what was taken in."""
    return sum(station.slack.least for station in rope.stations if station.slack) + let_out(rope.quantities)


def place_of(rig: Rig, station: Station) -> tuple[float, float, float] | None:
    """Where a station is: of a knot, where what it is tied to is, over what has no length of its own."""
    if station.role is Role.STOPPER:
        return None
    seen, todo = {station.part}, [station.part]
    for name in todo:
        part = rig.parts[name]
        if part.at is not None:
            return part.at
        if name != station.part and (part.textile or "length" in dict(part.quantities) or part.is_body):
            continue  # it has two ends, or many places
        more = [other for other in rig.touching.get(name, ()) if other not in seen]
        more += [part.body] if part.body and part.body not in seen else []
        seen |= {*more}
        todo += more
    return None


def _strands(rig: Rig, rope: Rope, fixed: frozenset[str]) -> int:
    """How many strands of the rope go down the drop: two where both sides of its highest part do."""
    tops = [
        k
        for k, s in enumerate(rope.stations)
        if s.role in (Role.TIE, Role.RUN, Role.GRIP) and s.part in fixed and not _lies_below(rig, s.part)
    ]
    if not tops:
        return 1
    to_start = rope.grounded[0] or _goes_down(rig, rope.stations[: tops[0]])
    to_end = rope.grounded[1] or _goes_down(rig, rope.stations[tops[-1] + 1 :])
    return 2 if to_start and to_end else 1


def _goes_down(rig: Rig, stations: Sequence[Station]) -> bool:
    """Is somebody on this side of a rope, or something that lies below? A stopper alone, or the wheel and
    the hands of a haul, say nothing of it."""
    ground = {p.name for p in rig.parts.values() if p.holds_up}
    low = {name for name in rig.index.with_points() if not rig.parts[name].standing} | {
        p for p in rig.parts if _low(rig, p)
    }
    on_rope = [s.part for s in stations if s.role is not Role.OVER]
    return bool(reached(rig.index.joined, on_rope, ground) & low)


def _low(rig: Rig, name: str) -> bool:
    return bool(rig.parts[name].below)


def _lies_below(rig: Rig, name: str) -> bool:
    """Does a part stand on ground that lies under the bodies?"""
    touched = {name, *rig.touching[name]}
    further = {other for one in touched for other in rig.touching[one]}
    return any(rig.parts[one].below for one in touched | further)


RULE = Rule(
    name="rope-too-short",
    severity=Severity.DANGER,
    means=(
        "A rope is shorter than the drop it must reach down, than the places of its stations are apart, or than what "
        "of it is slack or paid out."
    ),
    matters=(
        "Who goes down it runs out of rope. A rope that runs up through a pulley and down again, or hangs "
        "doubled, needs twice the height. 2 m more are asked for knots and a stopper."
    ),
    mends="A longer rope, or a way down in two pitches.",
    source=(
        "an article on lowering accidents: rope shorter than twice the height, extract seen (facts 11.22, S117); "
        "the margin of 2 m: common practice, no source"
    ),
    wrong="""
anchor top
anchor stake: below
person sam: points waist
person jo: standing
attach top - pulley wheel
attach stake - brake b
b: operated by jo, self-locking
rope red: 60 m, drop 40 m   # here
    stopper
    gripped by b
    through wheel
    tied to sam.waist
""",
    right="""
anchor top
anchor stake: below
person sam: points waist
person jo: standing
attach top - pulley wheel
attach stake - brake b
b: operated by jo, self-locking
rope red: 60 m, drop 29 m
    stopper
    gripped by b
    through wheel
    tied to sam.waist
""",
    find=find,
)
