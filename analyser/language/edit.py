"""One edit of a document: statements added, pieces of statements replaced, taken out or put beside others.

A piece is whatever stands at a place of its own: a statement, a station, a step, an attribute, a name.
An edit makes another document; how it looks in the file is told afterwards (`shown`), in the words of
`spelling.py`. Nothing is pasted and read again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, TypeVar, cast

from analyser.language.mistakes import Place
from analyser.language.parsing import Document
from analyser.language.spelling import spelt, spelt_station
from analyser.language.syntax import (
    Attach,
    Attribute,
    Declaration,
    Detail,
    Link,
    More,
    RopeLine,
    RopeStation,
    StageBlock,
    Statement,
    Word,
)

Piece = Any
"""What stands at a place: a statement, or a piece of one."""
One = TypeVar("One")
NOWHERE = Place("", 0)
"""The place of what no file has yet."""
BECOMES, BEFORE, AFTER = "becomes", "before", "after"


@dataclass(frozen=True)
class Edit:
    """`becomes`: what stands in the place of a statement, station or step: nothing, itself, others beside it."""

    added: tuple[Statement, ...] = ()
    becomes: Mapping[Place, tuple[Piece, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Change:
    """A line of the file that becomes `text`, or a new line `text` before or after it (1-based)."""

    line: int
    how: str
    text: str


def edited(document: Document, edit: Edit) -> Document:
    """The document after an edit."""
    return replace(document, statements=(*_after(document.statements, edit.becomes), *edit.added), mistakes=())


def _after(pieces: Iterable[One], becomes: Mapping[Place, tuple[Piece, ...]]) -> tuple[One, ...]:
    found: list[Any] = []
    for piece in pieces if becomes else ():
        match piece:
            case Statement(place=place) | RopeStation(place=place) if place in becomes:
                found += becomes[place]
            case RopeLine():
                found.append(replace(piece, stations=_after(piece.stations, becomes)))
            case StageBlock():
                found.append(replace(piece, steps=_after(piece.steps, becomes)))
            case _:
                found.append(piece)
    return tuple(found if becomes else pieces)


def without(document: Document, *sorts: type[Statement]) -> Document:
    """The document less all statements of some sorts."""
    return replace(document, statements=tuple(one for one in document.statements if not isinstance(one, sorts)))


def moved(value: One, move: Callable[[Place], Place]) -> One:
    """A statement, or a piece of one, that stands elsewhere."""
    if isinstance(value, Place):
        return cast(One, move(value))
    if isinstance(value, tuple):
        return cast(One, tuple(moved(one, move) for one in value))
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{one.name: moved(getattr(value, one.name), move) for one in fields(value)})
    return value


# -- made by hand


def word(text: str) -> Word:
    return Word(text, NOWHERE)


def link(name: str, kind: str = "") -> Link:
    """`link("left-bolt")`; `link("left-crab", "carabiner")` declares it where it stands."""
    return Link(NOWHERE, word(name), word(kind) if kind else None)


def attach(*chain: str | Link) -> Attach:
    """`attach("master", link("a-strap", "strap"), "sam.waist")`."""
    return Attach(NOWHERE, links(*chain))


def links(*chain: str | Link) -> tuple[Link, ...]:
    return tuple(one if isinstance(one, Link) else link(one) for one in chain)


def says(key: str, *names: str) -> Attribute:
    """`says("operated_by", "jo")`, `says("self_locking")`."""
    return Attribute(key, NOWHERE, tuple(map(word, names)))


def declare(kind: str, names: Iterable[str], *attributes: Attribute) -> Declaration:
    details = (Detail((), attributes),) if attributes else ()
    return Declaration(NOWHERE, word(kind), tuple(map(word, names)), details)


def more(names: Iterable[str], *attributes: Attribute) -> More:
    return More(NOWHERE, (Detail(tuple(map(word, names)), attributes),))


def station(role: str, *chain: str | Link, **given: Any) -> RopeStation:
    """`station("tied", "master", knot=word("figure-eight"))`."""
    return RopeStation(role, NOWHERE, links(*chain), **given)


def rope(name: str, *stations: RopeStation) -> RopeLine:
    return RopeLine(NOWHERE, word(name), (), stations)


# -- how it looks in the file


def added_lines(edit: Edit) -> tuple[str, ...]:
    """The lines to add at the end of the file."""
    return tuple(line for statement in edit.added for line in spelt(statement))


def changed_lines(document: Document, edit: Edit) -> Iterator[Change]:
    """The lines of stations that change, or come before or after one, with the comments that stand there."""
    laid = {s.place: s for one in document.statements if isinstance(one, RopeLine) for s in one.stations}
    for place, pieces in edit.becomes.items():
        line = document.sources[place.file][place.line - 1]
        indent, comment = line[: len(line) - len(line.lstrip())], line[place.end - 1 :].strip()
        own = next((k for k, piece in enumerate(pieces) if piece.place == place), 0 if len(pieces) == 1 else None)
        for k, piece in enumerate(pieces):
            if k == own and piece == laid.get(place):
                continue  # it stays as it is
            how = BECOMES if k == own else BEFORE if k < (1 if own is None else own) else AFTER
            *_, text = spelt_station(_on_its_line(piece))
            yield Change(place.line, how, f"{indent}{text}{f'  {comment}' if comment and how == BECOMES else ''}")


def _on_its_line(piece: RopeStation) -> RopeStation:
    """A station without the slack that is said on a line before it."""
    apart = piece.slack and piece.slack.place.line != piece.place.line
    return replace(piece, slack=None) if apart else piece
