"""Two ropes joined: the knot is said on one of them, and is one part in both."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from analyser.language.identities import Label
from analyser.language.mistakes import Place, did_you_mean
from analyser.language.syntax import RopeLine, RopeStation, Word
from analyser.rig.bench import Bench, is_a
from analyser.rig.elements import Role, Rope, Station
from analyser.rig.quantities import quantity
from analyser.rig.relaying import along, relaid

Knots = list[Word | None]
"""The names of a rope's knots, station by station."""


def joined(bench: Bench, laid: Iterable[tuple[RopeLine, Knots]]) -> dict[int, tuple[RopeLine, Knots]]:
    """Each rope as it is written (by the id of its line), with the knots that other ropes join it by at its ends."""
    rows = {line.name.text: (line, names) for line, names in laid}
    found = {id(line): (line, names) for line, names in rows.values()}
    for line, names in list(rows.values()):
        for station, knot in _joins(bench, line, names):
            name = _other(bench, line, station, rows)
            if name is None:
                continue
            whole, _ = rows[name]
            now, known = found[id(whole)]
            beyond = now.stations[:1] if station.side == "start" else now.stations[-1:]
            lone = len(now.stations) == 1  # then its own joint is at the other end
            taken = next((o.place for o in beyond if o.role == "met" or (o.role == "joined" and not lone)), None)
            closed = any(one.role == "closed" for one in now.stations)
            if _free(bench, station, name, closed=closed, taken=taken):
                met = RopeStation("met", station.place, name=knot, tail=station.tail)
                at = 0 if station.side == "start" else len(known)
                stations = (*now.stations[:at], met, *now.stations[at:])
                found[id(whole)] = replace(now, stations=stations), [*known[:at], knot, *known[at:]]
    return found


def join_laid(bench: Bench, line: RopeLine, names: Knots, ropes: Mapping[str, Rope]) -> dict[str, Rope]:
    """The ropes that a rope which a step lays joins by its knots: as they are then."""
    found: dict[str, Rope] = {}
    for station, knot in _joins(bench, line, names):
        name = _other(bench, line, station, ropes)
        if name is None:
            continue
        rope = found.get(name, ropes[name])
        at = 0 if station.side == "start" else len(rope.stations)
        beyond = rope.stations[:1] if at == 0 else rope.stations[-1:]
        taken = next((one.place for one in beyond if bench.parts[one.part].rope not in (None, name)), None)
        if _free(bench, station, name, closed=rope.closed, taken=taken):
            tail = quantity(station.tail) if station.tail else None
            made = Station(Role.TIE, knot.text, Label(knot.text), station.place, True, True, tail=tail)
            found[name] = _lengthened(rope, made, at)
    return found


def joining(knot: str, ropes: Mapping[str, Rope]) -> tuple[str, ...]:
    """The ropes that a knot joins; none where it joins none."""
    found = [name for name, rope in ropes.items() if any(one.part == knot for one in rope.stations)]
    return tuple(found) if len(found) > 1 and all(_tied(ropes[name], knot) for name in found) else ()


def _tied(rope: Rope, knot: str) -> bool:
    return any(one.part == knot and one.role is Role.TIE for one in rope.stations)


def _lengthened(rope: Rope, made: Station, at: int) -> Rope:
    """A rope with one station more at one of its ends; what is near all of it is near its new span."""
    near, inside = along(rope, "near"), along(rope, "inside")
    if at:
        return relaid(rope, [*rope.stations, replace(made, near=near, inside=inside)])
    first, *rest = rope.stations
    return relaid(rope, [made, replace(first, near=near, inside=inside, slack=None), *rest])


def _joins(bench: Bench, line: RopeLine, names: Sequence[Word | None]) -> Iterator[tuple[RopeStation, Word]]:
    """Where a rope is joined to others, and by which knot: at one of its own ends."""
    for k, (station, knot) in enumerate(zip(line.stations, names, strict=True)):
        if station.role != "joined":
            continue
        if k not in (0, len(line.stations) - 1):
            text = f"a rope is joined at its end, and `{line.name.text}` goes on here"
            hint = "make this its first or its last station; a knot in its middle is `tied to …`"
            bench.wrong(station.place, text, hint)
        elif knot:
            yield station, knot


def _other(bench: Bench, line: RopeLine, station: RopeStation, there: Container[str]) -> str | None:
    """The rope that a rope is joined to, where it is there; else told why not."""
    word = station.to
    assert word is not None
    part = bench.parts.get(word.text)
    if word.text == line.name.text:
        text = f"the rope `{word.text}` is joined to itself"
        bench.wrong(word.place, text, "a loop is `closed with double-fishermans` as the last station")
    elif part:
        text = f"{is_a(part)}, and a rope is joined to a rope"
        bench.wrong(word.place, text, f"write `tied to {word.text}`, or name the rope")
    elif word.text in there:
        return word.text
    elif word.text in bench.ropes:  # one that could not be read or laid was told where it stands
        if bench.stepping:
            text = f"the rope `{word.text}` is not there here"
            bench.wrong(word.place, text, "join it while it is laid", follows=True)
    elif not bench.doubtful(word.text):
        names = [name for name in bench.ropes if name != line.name.text]
        hint = did_you_mean(word.text, names, f"the other ropes are {', '.join(names)}" if names else "declare it")
        bench.misnamed(word, names, f"there is no rope called `{word.text}`", hint)
        bench.doubt(word.text)
    return None


def _free(bench: Bench, station: RopeStation, name: str, *, closed: bool, taken: Place | None) -> bool:
    """Is there an end to join, and no knot that joins it already? Else told, of two lines that say so on the later."""
    if closed:
        bench.wrong(station.place, f"the rope `{name}` is closed: it has no end", "say `through` what the loop lies in")
    elif taken and taken < station.place:
        text = f"the {station.side} of `{name}` is joined already (line {taken.line})"
        bench.wrong(station.place, text, "a knot that joins two ropes is said once, on one of them: take this line out")
    return not closed and taken is None
