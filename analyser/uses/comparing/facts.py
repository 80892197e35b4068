"""What a file says of one thing, as labels with words: comparable, and ready to be read aloud.

Each fact is a pair: what is compared (figures in SI, lists in one order) and how the file wrote it.
Names of other parts stand in `links`, so that a thing can be known again by what it touches.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from analyser.checking.finding import listed
from analyser.language.attributes import ROWS, Shape
from analyser.rig.model import Nature, Part, Quantity, Rig, Role, Rope, Station

Fact = tuple[object, str]
NOT_SAID = "not said"
ROLES = {
    Role.TIE: "tied:",
    Role.RUN: "through",
    Role.OVER: "over",
    Role.GRIP: "gripped by",
    Role.HAND: "held by",
    Role.STOPPER: "stopper",
}


def _number(quantity: Quantity) -> tuple[float, object]:
    at = quantity.percent_at and round(quantity.percent_at.si, 9)
    return round(quantity.least, 9), (at, round(quantity.most, 9))


def _quantities(given: tuple[tuple[str, Quantity], ...]) -> dict[str, Fact]:
    return {key.replace("_", " "): (_number(one), one.text) for key, one in given}


def _yes(value: bool) -> Fact:
    return value, "yes" if value else "no"


def _range(part: Part, value: tuple[Quantity, Quantity]) -> Fact:
    low, high = value
    return (_number(low), _number(high)), f"{low.text} to {high.text}"


def _directions(part: Part, value: tuple[tuple[float, ...], ...]) -> Fact:
    words = ", ".join("({})".format(", ".join(f"{x:.3g}" for x in one)) for one in value)
    return (value, part.within), f"{words} within {part.within:g} deg"


TELLING: dict[Shape, Callable[[Part, Any], Fact]] = {
    Shape.PLACE: lambda part, at: ((at, part.off), part.place_words),
    Shape.FLAG: lambda part, value: _yes(value),
    Shape.COUNT: lambda part, count: (count, f"{count} parts"),
    Shape.RANGE: _range,
    Shape.DIRECTIONS: _directions,
    Shape.TEXT: lambda part, text: (text, f"“{text}”"),
}
"""How what an attribute gives is compared and told, by its shape."""
OPEN = {row.kept for row in ROWS if row.shape is Shape.FLAG and not row.value}
"""Flags that can also be denied: None where nothing is said."""


def of_part(part: Part) -> dict[str, Fact]:
    """What the part is by itself. A point's own name stands under `point`."""
    found: dict[str, Fact] = {"kind": (part.kind, part.kind)}
    if part.point:
        found["point"] = (part.point, part.point)
    found |= _quantities(part.quantities)
    for row in ROWS:
        value = getattr(part, row.kept, None) if row.told and row.shape in TELLING else None
        if value or (value is False and row.kept in OPEN):
            found[row.told] = TELLING[row.shape](part, value)
    return found


def links_of_part(part: Part) -> Iterator[tuple[str, str]]:
    """The other parts that the file names in saying what this one is, and as what."""
    for label, name in (("of", part.body), ("in rope", part.rope)):
        if name:
            yield label, name
    for row in ROWS:
        names = getattr(part, row.kept, None) if row.told and row.shape.lists else None
        for name in (names,) if isinstance(names, str) else names or ():
            yield row.told, name
    for number, need in enumerate(part.needs):
        for place, name in enumerate(need.parts, 1):
            yield f"stands on {f'place {place}' if need.row else need.count} of group {number + 1}", name
    for word, pair in (("end", part.ends), ("side", part.sides)):
        for number, names in enumerate(pair or (), 1):
            for name in names:
                yield f"{word} {number}", name


def whole_part(part: Part) -> dict[str, Fact]:
    """`of_part` with the links: everything in which two parts of one name can differ."""
    found = of_part(part)
    gathered: dict[str, list[str]] = {}
    for label, name in links_of_part(part):
        if label not in ("of", "in rope"):
            gathered.setdefault(label, []).append(name)
    return found | {label: (tuple(sorted(names)), listed(sorted(names))) for label, names in gathered.items()}


def of_rope(rope: Rope) -> dict[str, Fact]:
    """What is said of the rope as a whole."""
    found: dict[str, Fact] = {"kind": (rope.kind, rope.kind)} | _quantities(rope.quantities)
    if rope.closed:
        found["closed"] = _yes(True)
    if rope.tag_line:
        found["tag line"] = _yes(True)
    for label, flag in zip(("start on the ground", "end on the ground"), rope.grounded, strict=True):
        if flag:
            found[label] = _yes(True)
    if rope.spare_below is not None:
        found["spare rope"] = (rope.spare_below, "below" if rope.spare_below else "in the bag above")
    for label, text in (("note", rope.note), ("figures from", rope.source)):
        if text:
            found[label] = (text, f"“{text}”")
    return found


def of_station(station: Station) -> dict[str, Fact]:
    """What is said of one station, but for what it is at and in what role."""
    found: dict[str, Fact] = {}
    if station.role in (Role.GRIP, Role.HAND):
        sides = (station.to_start, station.to_end)
        words = {(True, True): "both ways", (True, False): "towards its start", (False, True): "towards its end"}
        found["grips the rope"] = (sides, words.get(sides, "neither way"))
    for label, names in (("kept clear by", station.guards), ("near", station.near), ("inside", station.inside)):
        if names:
            found[label] = (tuple(sorted(names)), listed(sorted(names)))
    for label, quantity in (("slack before it", station.slack), ("tail", station.tail)):
        if quantity:
            found[label] = (_number(quantity), quantity.text)
    return found


def at_station(rig: Rig, station: Station) -> str:
    """`over lip`, `gripped by left-brake`, `tied: red-bowline (bowline) on master`."""
    if station.role is not Role.TIE:
        return f"{ROLES[station.role]} {station.part}"
    part = rig.parts[station.part]
    if part.nature is not Nature.KNOT:
        return f"tied to {station.part}"
    on = [other for other in rig.touching.get(part.name, ()) if rig.parts[other].nature is not Nature.KNOT]
    return f"tied to {listed(on) or 'nothing'} ({part.name})"


def links_of_station(station: Station) -> Iterator[str]:
    yield station.part
    yield from (*station.guards, *station.inside)
    if station.opened_by:
        yield station.opened_by


def differences(was: dict[str, Fact], now: dict[str, Fact]) -> list[tuple[str, str, str]]:
    """The labels whose facts differ, each with the words before and after."""
    found = []
    for label in dict.fromkeys([*was, *now]):
        before, after = was.get(label), now.get(label)
        if (before and before[0]) != (after and after[0]) or (before is None) != (after is None):
            found.append((label, before[1] if before else NOT_SAID, after[1] if after else NOT_SAID))
    return found
