"""The outline of a rig file: its parts, its ropes with their stations, what it requires, its stages."""

from __future__ import annotations

from lsprotocol import types

from analyser.doors.editor.columns import Columns
from analyser.doors.editor.names import Sort
from analyser.doors.editor.readings import Reading
from analyser.language.mistakes import Place
from analyser.language.syntax import Heading, NewKind, Require, RopeLine, RopeStation, StageBlock
from analyser.rig.model import Nature

SYMBOL = types.SymbolKind


def outline(reading: Reading, shown: str, columns: Columns) -> list[types.DocumentSymbol]:
    """The symbols of one file, in the order of its lines."""
    found: list[tuple[Place, types.DocumentSymbol]] = []

    def symbol(
        name: str, kind: types.SymbolKind, place: Place, detail: str, children: list[types.DocumentSymbol] | None = None
    ) -> types.DocumentSymbol:
        where = columns.range(place)
        whole = columns.line(place.line)
        end = max([whole.end, *(child.range.end for child in children or [])], key=lambda p: (p.line, p.character))
        return types.DocumentSymbol(name, kind, types.Range(whole.start, end), where, detail, children=children)

    for named in reading.names.all:
        if named.sort is Sort.THING and named.gives and named.place.file == shown:
            word = reading.names.kind_of[named.name]
            kind = reading.kinds.get(word)
            nature = kind.nature if kind else None
            if word == "rope" or nature is Nature.KNOT or word in ("knot", "stopper"):
                continue
            sort = SYMBOL.Class if nature in (Nature.PERSON, Nature.LITTER, Nature.LOAD) else SYMBOL.Object
            sort = SYMBOL.Event if word == "cause" else sort
            found.append((named.place, symbol(named.name, sort, named.place, word)))
    for statement in reading.document.statements:
        if statement.place.file != shown:
            continue
        place = statement.place
        if isinstance(statement, RopeLine):
            stations = [symbol(_station(one), SYMBOL.Key, one.place, one.role) for one in statement.stations]
            name = statement.name
            found.append((place, symbol(name.text, SYMBOL.Interface, name.place, "rope", stations)))
        elif isinstance(statement, Require):
            found.append((place, symbol(f"require {statement.text}", SYMBOL.Boolean, place, "requirement")))
        elif isinstance(statement, StageBlock):
            steps = [symbol(step.words, SYMBOL.Method, step.place, "step") for step in statement.steps]
            found.append((place, symbol(statement.title or "stage", SYMBOL.Namespace, place, "stage", steps)))
        elif isinstance(statement, NewKind):
            detail = f"kind like {statement.like.text}"
            found.append((place, symbol(statement.name.text, SYMBOL.TypeParameter, statement.name.place, detail)))
        elif isinstance(statement, Heading) and statement.key == "rig" and statement.text.strip():
            found.append((place, symbol(statement.text, SYMBOL.Module, place, "rig")))
    return [one for _, one in sorted(found, key=lambda row: row[0])]


def _station(station: RopeStation) -> str:
    """What a station is called: its own name, or the part it meets."""
    if station.name:
        return station.name.text
    for link in station.chain[:1]:
        word = link.name or link.kind
        if word:
            return word.text if not station.knot else f"{station.knot.text} on {word.text}"
    return station.role
