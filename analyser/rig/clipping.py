"""A part that a step puts on a rope, between two of its stations: the rope is not laid anew for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from analyser.language.mistakes import did_you_mean
from analyser.language.syntax import Link, Onto, RopeLine, RopeStation, Word
from analyser.rig.bench import Bench
from analyser.rig.declaring import finish
from analyser.rig.elements import Contact, Nature, Role, Rope, Station
from analyser.rig.meeting import ROLES, Met, meet
from analyser.rig.quantities import quantity
from analyser.rig.relaying import along, labelled, relaid
from analyser.rig.roping import declare_knots, grips

VERBS = {role: verb for verb, role in reversed(ROLES.items())}
"""The first word of a station, by how the rope meets it."""
MET_AS = {Nature.GRIP: "gripped", Nature.PERSON: "held"}
"""How a rope meets what is put on it; all else it runs through."""


def put_on(bench: Bench, rope: Rope, onto: Onto, contacts: Mapping[tuple[str, str], Contact]) -> Rope | None:
    """The rope with one more station; None with a mistake told. The parts of the station's chain are on the
    bench, and `contacts` are those before the step."""
    at = _where(bench, rope, onto)
    if at is None:
        return None
    station = _met_as(bench, onto.station)
    line = RopeLine(onto.rope.place, onto.rope, (), (_named(bench, rope, station),))
    (knot,) = declare_knots(bench, line)
    finish(bench)
    before = len(bench.mistakes)
    met = meet(bench, line, line.stations[0], knot)
    if met is None:
        return None
    rows = [_as_met(one, contacts) for one in rope.stations]
    rows.insert(at, met)
    labels = labelled(row.part for row in rows)
    to_start, to_end = grips(bench, line, rows, labels, at)
    if len(bench.mistakes) > before:
        return None
    slack, tail = (quantity(one) if one else None for one in (station.slack, station.tail))
    halved = rope.stations[at] if 0 < at < len(rope.stations) else None  # it divides the span before this one
    near, inside = (halved.near, halved.inside) if halved else (along(rope, "near"), along(rope, "inside"))
    made = Station(
        met.role, met.part, labels[at], station.place, to_start, to_end, (), slack, tail,
        near if at else (), inside if at else (),
    )  # fmt: skip
    stations = [*rope.stations[:at], made, *rope.stations[at:]]
    for word in onto.clear_of:
        edge = next((k for k, one in enumerate(stations) if one.part == word.text and one.role is Role.OVER), None)
        if edge is None:
            edges = [one.part for one in stations if one.role is Role.OVER]
            passed = f"it passes {', '.join(edges)}" if edges else "it passes no edge here"
            hint = did_you_mean(word.text, edges, passed)
            text = f"the rope `{rope.name}` does not pass over `{word.text}` here"
            bench.wrong(word.place, text, hint, follows=True)
            return None
        stations[edge] = replace(stations[edge], guards=(*stations[edge].guards, met.part))
    if not at:  # what was the first station has a span before it now
        stations[1] = replace(stations[1], near=near, inside=inside)
    return relaid(rope, stations)


def _where(bench: Bench, rope: Rope, onto: Onto) -> int | None:
    """Between which stations it comes: the number of the later one."""
    labels = [str(one.label) for one in rope.stations]
    found = []
    for word in onto.between:
        if word.text in labels:
            found.append(labels.index(word.text))
        elif word.text in ("start", "end"):
            found.append(-1 if word.text == "start" else len(labels))
        else:
            hint = did_you_mean(word.text, labels, f"its stations are {', '.join(labels)}; its ends `start` and `end`")
            text = f"the rope `{rope.name}` has no station called `{word.text}` here"
            bench.wrong(word.place, text, hint, follows=True)
            return None
    low, high = sorted(found)
    one, other = (word.text for word in onto.between)
    place = replace(onto.between[0].place, end=onto.between[1].place.end)
    if rope.closed and (low < 0 or high == len(labels)):
        bench.wrong(place, f"the rope `{rope.name}` is closed: it has no end", f"name two of {', '.join(labels)}")
        return None
    if high - low == 1:
        return high
    if high == low:
        bench.wrong(place, f"`{one}` and `{other}` are one station", "name the two that it comes between")
        return None
    between = labels[low + 1 : high]
    verb = "lies" if len(between) == 1 else "lie"
    text = f"between `{one}` and `{other}` {verb} {', '.join(f'`{label}`' for label in between)} on `{rope.name}` here"
    ways = [("start", *labels, "end")[k + 1 : k + 3] for k in range(low, high)]
    hint = "name two neighbours: " + " or ".join(f"`between {a} and {b}`" for a, b in ways[:3])
    bench.wrong(place, text, hint, follows=True)
    return None


def _met_as(bench: Bench, station: RopeStation) -> RopeStation:
    """How the rope meets it: by a knot where one is named, else as the part is."""
    first = station.chain[0]
    kind = bench.kinds.get(first.kind.text) if first.kind else None
    part = bench.parts.get(first.name.text) if first.name else None
    nature = part.nature if part else kind.nature if kind else None
    return station if station.role else replace(station, role=MET_AS.get(nature, "through") if nature else "through")


def _named(bench: Bench, rope: Rope, station: RopeStation) -> RopeStation:
    """A knot that is given no name has one that nothing has yet: `red-butterfly-2`."""
    if station.role != "tied" or station.name:
        return station
    base = f"{rope.name}-{station.knot.text if station.knot else 'knot'}"
    name, count = base, 1
    while name in bench.parts or name in bench.ropes:
        count += 1
        name = f"{base}-{count}"
    return replace(station, name=Word(name, station.place))


def _as_met(one: Station, contacts: Mapping[tuple[str, str], Contact]) -> Met:
    """A station that is there, as one that is being read."""
    tied = sorted({name for pair in contacts if one.part in pair for name in pair} - {one.part})
    names = tied if one.role is Role.TIE else [one.part]
    chain = tuple(Link(one.place, name=Word(name, one.place)) for name in names)
    return Met(RopeStation(VERBS[one.role], one.place, chain), one.role, one.part, one.guards)
