"""A page as a tree of small frozen values: made once a use (`pages/writing`), put out by any writer.

A page says what each thing is (a heading, a table, a label with its text, lines to paste, a step, a
place to sign); a writer (`pages/writers`: terminal, plain text, Markdown, HTML) decides how that looks.
Text is always literal: whatever a file calls its things comes out as it stands. A line break in a text is
a line break.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Literal

CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
"""What no medium shows and some obey: writers put a replacement character in its place."""


class Look(StrEnum):
    """What a piece of text is to its reader."""

    PLAIN = "plain"
    STRONG = "strong"
    ALARM = "alarm"
    """Strong, and about what endangers somebody."""
    RIGHT = "right"
    """Strong, and as it should be."""
    ASIDE = "aside"
    """Said on every page, such as the cautions."""
    QUIET = "quiet"
    CODE = "code"
    """Words to type."""


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of text; `given`: it is a file's own words, which may run right to left."""

    text: str
    look: Look = Look.PLAIN
    given: bool = False


@dataclass(frozen=True, slots=True)
class Link:
    """Words that lead to another page, or to another place of this one."""

    text: str
    to: str


@dataclass(frozen=True, slots=True)
class Tick:
    """A box to tick by hand."""


@dataclass(frozen=True, slots=True)
class Fill:
    """A line to write on by hand."""

    short: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """One of these lines to choose, where a page has a script for it; nothing elsewhere."""

    about: str
    none: str
    options: tuple[str, ...]


Piece = str | Span | Link | Tick | Fill | Choice
Words = Piece | tuple[Piece, ...]
"""Words for people, which wrap."""


def strong(text: str) -> Span:
    return Span(text, Look.STRONG)


def alarm(text: str) -> Span:
    return Span(text, Look.ALARM)


def aside(text: str) -> Span:
    return Span(text, Look.ASIDE)


def quiet(text: str) -> Span:
    return Span(text, Look.QUIET)


def given(text: str) -> Span:
    return Span(text, given=True)


def code(text: str) -> Span:
    return Span(text, Look.CODE)


def pieces(words: Words) -> tuple[Span | Link | Tick | Fill | Choice, ...]:
    """Words as their pieces, none of them bare."""
    return tuple(Span(one) if isinstance(one, str) else one for one in several(words) if one != "")


def several(words: Words) -> tuple[Piece, ...]:
    """Words as a tuple, to put others beside them."""
    return words if isinstance(words, tuple) else (words,)


def emphasised(words: Words) -> Words:
    """The same words, each piece of text of them strong."""
    return tuple(replace(one, look=Look.STRONG) if isinstance(one, Span) else one for one in pieces(words))


def marked(text: str, look: Look = Look.PLAIN) -> Words:
    """A sentence in which words to type stand in backticks: those as code, where each has its end."""
    parts = text.split("`")
    if len(parts) % 2 == 0:
        return Span(text, look)
    told = (Span(part, look) if k % 2 == 0 else Span(part, Look.CODE) for k, part in enumerate(parts))
    return tuple(one for one in told if one.text)


def beside(names: Iterable[Piece]) -> tuple[Piece, ...]:
    """Names one after another, parted by commas."""
    return tuple(piece for k, name in enumerate(names) for piece in ((", ", name) if k else (name,)))


def legible(text: str) -> str:
    """Text in which nothing steers the medium that it goes to."""
    return CONTROL.sub("\ufffd", text)


# -- what a page is made of


@dataclass(frozen=True, slots=True)
class Title:
    """The head of a page: what it is about, what stands beside that, and notes; `kind` is the sort of paper, and
    `apart` says that it begins a sheet of its own."""

    head: str
    beside: tuple[Words, ...] = ()
    notes: tuple[Words, ...] = ()
    kind: str = ""
    apart: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with what stands under it. `name` is a part's or a file's, and keeps its letters; `sheet`: on
    paper it begins a page of its own, upright or laid across, or is kept on one page."""

    title: str
    blocks: tuple[Block, ...]
    name: str = ""
    sheet: Literal["", "apart", "across", "whole"] = ""


@dataclass(frozen=True, slots=True)
class Item:
    """One of a list, and what stands under it."""

    words: Words
    under: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Listing:
    """Items one under another, numbered where their order counts, or to be ticked off; `label` says what they
    are. `language` is theirs where it isn't the page's."""

    items: tuple[Item, ...]
    label: str = ""
    ordered: bool = False
    ticked: bool = False
    language: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; figures stand to the right."""

    head: Words
    figures: bool = False


@dataclass(frozen=True, slots=True)
class Under:
    """Words across a table, under which the rows after them stand."""

    words: Words


Cell = Words | Listing
Row = tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows, each about what stands in its column `about` (None: about all of it). `sort` names its look on
    paper; `flush`: the whole page is this table, which is not set in."""

    columns: tuple[Column, ...]
    rows: tuple[Row | Under, ...]
    sort: str = ""
    about: int | None = 0
    flush: bool = False


@dataclass(frozen=True, slots=True)
class Fact:
    """A label and the text that belongs to it; without a label it belongs to the one before. `wide` is the
    room for labels, in columns of a terminal."""

    label: Words
    words: Words
    wide: int = 15


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph under its heading."""

    words: Words


@dataclass(frozen=True, slots=True)
class Note:
    """A paragraph that speaks of the whole; `small`: in small print."""

    words: Words
    small: bool = False


@dataclass(frozen=True, slots=True)
class Warn:
    """What to look out for: a word for how much it matters, and the text."""

    severity: str
    words: Words


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was found, in a sentence, with what is always said beside it; between them what a reader is to `know` first,
    each with its label."""

    words: Words
    cautions: Words
    know: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Gap:
    """Room between two things of one section, where lines are all that a medium has."""


@dataclass(frozen=True, slots=True)
class Code:
    """Lines to paste, or drawn in letters, which never wrap; on a terminal set in by so many columns."""

    lines: tuple[str, ...]
    language: str = "rig"
    indent: int = 10


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing (SVG), or why there is none; `instead` is for media that show no drawing."""

    caption: str
    svg: str = ""
    undrawn: str = ""
    instead: Line | Note | Code | None = None


@dataclass(frozen=True, slots=True)
class Fields:
    """What is to be written in by hand, beside each other; with `who`, by each of them."""

    asked: tuple[str, ...]
    who: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Write:
    """Lines to write on by hand; where a page has a script for it, a field that begins with `begins` and is
    saved as a file."""

    lines: int
    begins: str
    save: str
    file: str


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do: its number, what is done, by whom, and what stands before, beside and after it. `mark`
    says what sort it is; a `point` is to be seen from afar; of a `note` nothing is done."""

    number: str
    words: Words
    who: Words = ""
    mark: str = ""
    tick: bool = False
    point: bool = False
    note: bool = False
    first: tuple[Block, ...] = ()
    then: tuple[Block, ...] = ()
    after: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Leaf:
    """One leaf to carry: whose it is, what it belongs to, and what stands on it."""

    role: Words
    who: Words
    about: Words
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Hidden:
    """What is opened by whoever wants to see it; `answer`: it is what was asked for."""

    label: str
    blocks: tuple[Block, ...]
    answer: bool = False


Block = (
    Title | Section | Table | Fact | Line | Note | Warn | Verdict | Gap | Code | Figure | Listing | Fields | Write
    | Step | Leaf | Hidden
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Page:
    """A whole page, which begins with its `Title`; `name` is what a browser calls it."""

    blocks: tuple[Block, ...]
    name: str = ""
    language: str = "en"


def listing(items: Iterable[Words], label: str = "") -> Listing:
    return Listing(tuple(map(Item, items)), label)


def section(title: str, blocks: Iterable[Block], name: str = "") -> Section:
    return Section(title, tuple(blocks), name)
