"""Where a name is given, and everywhere it is used."""

from __future__ import annotations

from analyser.doors.editor.names import Named, Sort
from analyser.doors.editor.readings import Reading
from analyser.language.mistakes import Place
from analyser.rig.catalogue import catalogue


def name_at(reading: Reading, shown: str, line: int, column: int) -> list[Named]:
    """The names at a place: one, or the same point of several bodies."""
    found = reading.names.at(shown, line, column)
    known = [one for one in found if one.sort is not Sort.THING or _exists(reading, one.name)]
    return known[-1:] if known and known[-1].sort is not Sort.POINT else known or found


def _exists(reading: Reading, name: str) -> bool:
    """A label may say `start` or `end`, which are no names."""
    return name in reading.names.kind_of or reading.rig is None or place_given(reading, Sort.THING, name) is not None


def place_given(reading: Reading, sort: Sort, name: str) -> Place | None:
    """Where a name is given; that of an unnamed knot or link is its station's or link's."""
    given = reading.names.given(sort, name)
    if given:
        return given.place
    if reading.rig and sort is not Sort.KIND and name in reading.rig.parts:
        return reading.rig.parts[name].place
    return None


def definition(reading: Reading, shown: str, line: int, column: int) -> list[tuple[str, Place]]:
    """Where the name at a place is given: URI and place. Kinds of the catalogue have no place in a rig."""
    for one in name_at(reading, shown, line, column):
        if one.sort is Sort.FILE:
            path = (reading.path_of(shown).parent / one.name).resolve()
            target = reading.shown(path)
            return [(reading.uri(target), Place(target, 1, 1, 1))] if target else []
        place = place_given(reading, one.sort, one.name)
        if place:
            return [(reading.uri(place.file), place)]
    return []


def references(reading: Reading, named: Named, given: bool) -> list[tuple[str, Place]]:
    """Every place of a name in a rig, URI and place; with the place that gives it, or without."""
    found = reading.names.of(named.sort, named.name)
    return [(reading.uri(one.place.file), one.place) for one in found if given or not one.gives]


def in_catalogue(name: str) -> bool:
    return name in catalogue()
