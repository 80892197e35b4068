"""Renaming: one name everywhere, with the names made of it; only where the rig stays the same.

The rig is read again with the new text before any edit is offered, and must be the same rig but for
the names. Where that can't be made sure of, the answer is a sentence that says why.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from enum import Enum
from pathlib import Path

from analyser.doors.editor.columns import LINE_END
from analyser.doors.editor.looking_up import in_catalogue, place_given
from analyser.doors.editor.names import Named, Sort, is_name, pattern
from analyser.doors.editor.readings import Held, Reading, read
from analyser.language.mistakes import Place
from analyser.rig.model import Contact, Failure, Judged
from analyser.rig.plan import Plan

MOST_TRIES = 4
"""How often the names that are made of others are worked out anew."""


class NotRenamed(Exception):
    """Why a name can't be renamed, in one sentence for the person who asked."""


Edits = dict[Path, dict[Place, str]]
"""For each file, the new text of each place."""


def renamable(reading: Reading, named: Named) -> Place:
    """The place of a name that can be renamed; raises `NotRenamed`."""
    if named.sort is Sort.FILE:
        raise NotRenamed("this is a file: rename it where files are renamed")
    if named.sort is Sort.KIND and in_catalogue(named.name):
        raise NotRenamed(f"`{named.name}` is a kind of the catalogue: a kind of your own can be renamed")
    if reading.names.given(named.sort, named.name) is None:
        place = place_given(reading, named.sort, named.name)
        if place:
            raise NotRenamed(
                f"`{named.name}` has no name of its own: it is named for what it is on. "
                f"Name it on line {place.line} (`as NAME`, or a name after its kind)"
            )
        raise NotRenamed(f"nothing in this rig is called `{named.name}`")
    return named.place


def rename(readings: Sequence[Reading], named: Named, new: str) -> Edits:
    """The edits that give a new name to what `named` means, in every rig that includes its file.

    Raises `NotRenamed` where the new name is no name, is taken, or the rig would not stay the same."""
    last = named.name.rpartition(".")[2]
    if not is_name(new):
        raise NotRenamed(f"`{new}` is not a name: letters, digits and `_`, with `-` only between them")
    if new == last:
        return {}
    edits: Edits = {}
    for reading in readings:
        for path, row in _rename_one(reading, named, new).items():
            edits.setdefault(path, {}).update(row)
    return edits


def _rename_one(reading: Reading, named: Named, new: str) -> Edits:
    if reading.mistakes:
        first = reading.mistakes[0]
        raise NotRenamed(
            f"the rig must be readable before a name is changed everywhere: "
            f"mend {first.place.file} line {first.place.line} first ({first.text})"
        )
    assert reading.rig
    mapping = {one: _renamed(one, new) for one in _shared(reading, named)}
    for name in mapping.values():
        _free(reading, named.sort, name)
    if named.sort is Sort.THING:
        points = [one.name for one in reading.names.all if one.sort is Sort.POINT and one.gives]
        mapping |= {one: f"{new}.{one.partition('.')[2]}" for one in points if one.partition(".")[0] == named.name}
    derived = _foretold(reading, named, mapping)
    for _ in range(MOST_TRIES):
        edits = _edits(reading, named.sort, mapping, derived)
        again = read(reading.path, _applied(reading, edits))
        if again.rig is None:
            first = again.mistakes[0]
            raise NotRenamed(f"with that name the rig could not be read: line {first.place.line}, {first.text}")
        before, after = _every_part(reading.rig), _every_part(again.rig)
        if len(before) != len(after):
            break
        made = dict(zip(before, after, strict=True))
        actual = {old: made[old] for old in made if old not in mapping and made[old] != old}
        if actual == {old: name for old, name in derived.items() if old != name}:
            everything = {**mapping, **derived}
            if _plain(reading.rig, everything, named.sort) != _plain(again.rig, {}, named.sort):
                break
            return edits
        derived = actual
    raise NotRenamed(f"with `{new}` the rig would say something else: choose another name")


def _every_part(rig: Plan) -> list[str]:
    """The names of the parts of all states, each once, in the order in which they come in."""
    return list(dict.fromkeys(name for state in rig.states for name in state.parts))


def _shared(reading: Reading, named: Named) -> list[str]:
    """The name, and those given by the same letters: `person ann, bob: points waist` gives two."""
    if named.sort is not Sort.POINT:
        return [named.name]
    found = [named.name]
    given = [one for one in reading.names.all if one.sort is Sort.POINT and one.gives]
    for name in found:
        places = {one.place for one in given if one.name == name}
        found += [one.name for one in given if one.place in places and one.name not in found]
    return found


def _renamed(name: str, new: str) -> str:
    body, dot, _ = name.rpartition(".")
    return f"{body}{dot}{new}"


def _free(reading: Reading, sort: Sort, name: str) -> None:
    """Raises `NotRenamed` when the name is taken."""
    assert reading.rig
    if sort is Sort.KIND:
        if name in reading.kinds:
            raise NotRenamed(f"there is a kind called `{name}` already")
        return
    place = place_given(reading, sort, name)
    if place:
        raise NotRenamed(f"`{name}` is taken already: {place.file} line {place.line}")


def _foretold(reading: Reading, named: Named, mapping: Mapping[str, str]) -> dict[str, str]:
    """The names made of the old one, as they will most likely be: `red-bowline` of `red`."""
    assert reading.rig
    given = {one.name for one in reading.names.all if one.gives}
    made = [name for name in _every_part(reading.rig) if name not in given]
    found: dict[str, str] = {}
    for old, new in mapping.items():
        for name in made:
            if named.sort is Sort.KIND:
                renamed = re.sub(rf"(?<=-){re.escape(old)}(?=$|-)", new, name)
            else:
                before = old.replace(".", "-") + "-"
                renamed = new.replace(".", "-") + "-" + name[len(before) :] if name.startswith(before) else name
            if renamed != name:
                found[name] = renamed
    return found


def _edits(reading: Reading, sort: Sort, mapping: Mapping[str, str], derived: Mapping[str, str]) -> Edits:
    edits: Edits = {}
    for one in reading.names.all:
        if one.sort is Sort.KIND or sort is Sort.KIND:
            new = mapping.get(one.name) if one.sort is sort else None
        else:
            new = mapping.get(one.name)
        if new is None and one.sort is Sort.THING:
            new = derived.get(one.name)
        new = new.rpartition(".")[2] if new and one.sort is Sort.POINT else new
        if new and new != one.name.rpartition(".")[2]:
            edits.setdefault(reading.path_of(one.place.file), {})[one.place] = new
    return edits


def _applied(reading: Reading, edits: Edits) -> dict[Path, Held]:
    """The texts as they would be."""
    texts = dict(reading.texts)
    for path, row in edits.items():
        held = texts.get(path)
        shown = reading.shown(path)
        assert shown
        text = held.text if held else "\n".join(reading.document.sources[shown])
        lines = LINE_END.split(text.removeprefix("\ufeff"))
        for place in sorted(row, reverse=True):
            line = lines[place.line - 1]
            lines[place.line - 1] = line[: place.column - 1] + row[place] + line[place.end - 1 :]
        texts[path] = Held(held.uri if held else path.as_uri(), None, "\n".join(lines))
    return texts


# -- is it the same rig?

FREE_TEXT = {"place", "point", "title", "text", "note", "notes", "reason", "words", "cautions", "revision"}
"""What is told in words, or where: no name is meant in it."""
UNORDERED = (Contact, Failure, Judged)
"""What stands in the order of its names."""


def _plain(value: object, names: Mapping[str, str], sort: Sort) -> object:
    """A rig as plain data under new names, without words and places."""
    if isinstance(value, Enum):
        return str(value)
    if isinstance(value, str):
        return _under(value, names)
    if dataclasses.is_dataclass(value):
        fields = [one.name for one in dataclasses.fields(value) if one.compare and one.name not in FREE_TEXT]
        row = []
        for name in fields:
            spoken = (name == "kind") == (sort is Sort.KIND)  # a kind and a part may be spelt alike
            row.append(_plain(getattr(value, name), names if spoken or name != "kind" else {}, sort))
        return sorted(row, key=repr) if isinstance(value, Contact) else row
    if isinstance(value, dict):
        return sorted(([_plain(k, names, sort), _plain(v, names, sort)] for k, v in value.items()), key=repr)
    if isinstance(value, frozenset):
        return sorted((_plain(one, names, sort) for one in value), key=repr)
    if isinstance(value, tuple):
        rows = [_plain(one, names, sort) for one in value]
        return sorted(rows, key=repr) if value and isinstance(value[0], UNORDERED) else rows
    return value


def _under(text: str, names: Mapping[str, str]) -> str:
    """A name, a span or a failure under new names."""

    def new(found: re.Match[str]) -> str:
        whole, hash_, number = found[0].partition("#")
        body, dot, point = whole.partition(".")
        return names.get(whole, f"{names.get(body, body)}{dot}{point}") + hash_ + number

    return pattern("LABEL").sub(new, text) if names else text
