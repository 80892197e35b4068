"""How a page is put on a terminal: title, headings, labels that texts hang from; the catalogue; mistakes.

User text is only ever put in as `Text`, never as markup.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TextIO

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from analyser.language.mistakes import Mistake, Place
from analyser.rig.model import Rig

WIDTH_OF_A_PAGE = 100


@dataclass(frozen=True, slots=True)
class Screen:
    """What a page is written for: a terminal of some width, or not (None: the width of a page)."""

    width: int | None = None

    @classmethod
    def here(cls) -> Screen:
        """Standard output as this process has it."""
        return cls(Console().width) if sys.stdout.isatty() else cls()


def console(stream: TextIO | None = None, screen: Screen | None = None) -> Console:
    """A console without emoji, markup or colour where a person isn't looking (pipe, NO_COLOR)."""
    stream = stream or sys.stdout
    terminal = screen.width is not None if screen else stream.isatty()
    width = screen.width if screen else None
    width = width or (None if terminal else WIDTH_OF_A_PAGE)  # the same bytes into every pipe
    return Console(
        file=stream,
        width=width,
        emoji=False,
        markup=False,
        highlight=False,
        no_color=True if not terminal or os.environ.get("NO_COLOR") else None,
        force_terminal=True if screen and terminal else None if terminal else False,
        legacy_windows=False,
    )


def show(page: RenderableType) -> None:
    """Print a page on standard output, without the blanks that fill its lines."""
    sys.stdout.write(written(page))


def written(page: RenderableType, screen: Screen | None = None) -> str:
    """A page as text, without the blanks that fill its lines: for `screen`, which another process may have."""
    out = console(screen=screen)
    with out.capture() as captured:
        out.print(page)
    return "\n".join(line.rstrip() for line in captured.get().split("\n"))


def title(rig: Rig, file: str) -> Text:
    """The head of a page: title, revision, file, notes."""
    text = Text(rig.title, style="bold")
    if rig.revision is not None:
        text.append(f"  revision {rig.revision}", style="not bold")
    text.append(f"  {file}", style="not bold dim")
    for note in rig.notes:
        text.append(f"\n{note}", style="not bold")
    return text


def heading(words: str, name: str = "") -> RenderableType:
    """The heading of a section of a page; a name in it keeps its letters."""
    return Padding(Text(words.upper() + name, style="bold"), (1, 0, 0, 0))


def line(*pieces: str | tuple[str, str]) -> Text:
    """One line under a heading."""
    return Text.assemble("  ", *pieces)


def hanging(label: str, words: str | Text, style: str = "", width: int = 15) -> Table:
    """A label and a text that wraps beside it."""
    table = Table.grid(padding=(0, 1))
    table.add_column(min_width=width, max_width=max(width, len(label)), no_wrap=True)
    table.add_column(ratio=1)
    table.add_row(Text(f"  {label}", style=style), Text(words) if isinstance(words, str) else words)
    return table


def where(rig: Rig, place: Place) -> str:
    """The line, and the file where it is an included one."""
    return f"line {place.line}" if place.file == rig.place.file else f"{place.file} line {place.line}"


# -- the catalogue


def kinds_page(rows: Iterable[tuple[str, str, str]]) -> RenderableType:
    """The catalogue of kinds: name, what it stands on, what it is."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("kind", "like", "what it is"):
        table.add_column(column, header_style="bold")
    for name, like, meaning in rows:
        table.add_row(Text(name), Text(like), Text(meaning))
    return table


# -- mistakes


def mistakes_text(mistakes: Sequence[Mistake], sources: dict[str, list[str]]) -> str:
    """Each mistake with its line and a caret under exactly the wrong piece."""
    return "\n".join(_mistake_text(one, sources) for one in mistakes)


def _mistake_text(one: Mistake, sources: dict[str, list[str]]) -> str:
    place = one.place
    if place.file not in sources:  # a word of the command line, which the reader has before them
        return f"{one.text}\n" + (f"        {one.help}\n" if one.help else "")
    lines = [f"{place.file}:{place.line}:{place.column}: {one.text}"]
    source = sources.get(place.file, [])
    if 0 < place.line <= len(source) and source[place.line - 1].strip():
        line = source[place.line - 1]
        start, end = place.column - 1, min(max(place.end - 1, place.column), len(line) + 1)
        if len(line) > 160:  # show the piece around the mistake
            cut = max(0, start - 60)
            line, start, end = line[cut : cut + 120], start - cut, min(end - cut, 120)
        shown = "".join(c if c.isprintable() or c == "\t" else "?" for c in line).replace("\t", "    ")
        tabs = line[:start].count("\t") * 3
        gutter = f"{place.line:>5} | "
        lines.append(gutter + shown)
        lines.append(" " * (len(gutter) - 2) + "| " + " " * (start + tabs) + "^" * max(1, end - start))
    if one.help:
        lines.append(f"        {one.help}")
    return "\n".join(lines) + "\n"
