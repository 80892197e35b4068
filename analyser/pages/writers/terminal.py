"""A page on a terminal, as wide as that is; and as plain text, always as wide, without a style."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal, TextIO, cast

from rich.console import Console, ConsoleOptions, Group, JustifyMethod, RenderableType, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

import analyser.pages.tree as tree
from analyser.pages.tree import Block, Look, Page, Words, legible, pieces, several

WIDTH_OF_A_PAGE = 100
ENDLESS = 100_000
STYLES = {
    Look.PLAIN: "",
    Look.STRONG: "bold",
    Look.ALARM: "bold red",
    Look.RIGHT: "bold green",
    Look.ASIDE: "italic",
    Look.QUIET: "dim",
    Look.CODE: "",
}


Colours = Literal["auto", "standard", "256", "truecolor", "windows"]


@dataclass(frozen=True, slots=True)
class Screen:
    """What a page is written for: a terminal of some width, or not (None: the width of a page)."""

    width: int | None = None
    colours: Colours | None = "auto"
    """Which it can show (None: not even bold letters); as this process finds it, where nobody says."""
    bare: bool = field(default_factory=lambda: bool(os.environ.get("NO_COLOR")))
    """Are colours left out, as whoever sits before it wishes?"""

    @classmethod
    def here(cls) -> Screen:
        """Standard output as this process has it."""
        if not sys.stdout.isatty():
            return cls()
        one = Console()
        return cls(one.width, cast("Colours | None", one.color_system))


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
        no_color=True if not terminal or (screen.bare if screen else os.environ.get("NO_COLOR")) else None,
        color_system=screen.colours if screen else "auto",
        force_terminal=True if screen and terminal else None if terminal else False,
        legacy_windows=False,
    )


def show(page: Page | Iterable[Block]) -> None:
    """Print a page, or some of its blocks, on standard output."""
    sys.stdout.write(written(page))


def plain(page: Page | Iterable[Block]) -> str:
    """A page as plain text: as into every pipe."""
    return written(page, Screen())


def written(page: Page | Iterable[Block], screen: Screen | None = None) -> str:
    """A page as text, without the blanks that fill its lines: for `screen`, which another process may have."""
    out = console(screen=screen)
    blocks = page.blocks if isinstance(page, Page) else page
    with out.capture() as captured:
        for one in _every(blocks):
            out.print(one, soft_wrap=isinstance(one, Text) and bool(one.no_wrap))
    return "\n".join(line.rstrip() for line in captured.get().split("\n"))


# -- words


def _text(words: Words, style: str = "") -> Text:
    """Words in a style of their own each, on top of one for all of them."""
    told = [(_word(one), STYLES[one.look] if isinstance(one, tree.Span) else "") for one in pieces(words)]
    if len(told) == 1:
        return Text(told[0][0], style=told[0][1] or style)
    return Text.assemble(*told, style=style)


def _word(piece: tree.Span | tree.Link | tree.Tick | tree.Fill | tree.Choice) -> str:
    match piece:
        case tree.Span(text, Look.CODE):
            return f"`{legible(text)}`"
        case tree.Span(text) | tree.Link(text):
            return legible(text)
        case tree.Tick():
            return "[ ]"
        case tree.Fill(short):
            return "_" * (6 if short else 12)
        case tree.Choice():
            return ""


# -- blocks


def _every(blocks: Iterable[Block], inward: int = 0) -> Iterator[RenderableType]:
    """Every block as what is printed one after another, all of it set in by so many columns."""
    for block in blocks:
        if isinstance(block, tree.Code):
            yield from (Text(" " * (inward + block.indent) + legible(line), no_wrap=True) for line in block.lines)
        elif isinstance(block, tree.Section):
            yield _heading(block.title, block.name)
            yield from _every(block.blocks, inward)
        elif isinstance(block, tree.Leaf):
            yield Padding(_text(block.role, "bold"), (1, 0, 0, 0))
            yield from map(_text, (block.who, block.about))
            yield from _every(block.blocks, inward)
        elif isinstance(block, tree.Hidden):
            yield _text(("  ", block.label))
            yield from _every(block.blocks, inward + 2)
        elif isinstance(block, tree.Step):
            yield from _step(block, inward)
        elif isinstance(block, tree.Figure):
            yield from _every((block.instead or tree.Note(f"({block.caption})"),), inward)
        elif isinstance(block, tree.Listing):
            yield from _listing(block, inward)
        else:
            yield Padding(_block(block), (0, 0, 0, inward)) if inward else _block(block)


def _block(block: Block) -> RenderableType:
    match block:
        case tree.Title():
            return _title(block)
        case tree.Fact():
            return _fact(block)
        case tree.Table():
            return _Rows(block)
        case tree.Line(words):
            return _text(("  ", *several(words)))
        case tree.Note(words):
            return _text(words)
        case tree.Warn(severity, words):
            return _text(("  ", tree.strong(severity.upper()), " ", *several(words)))
        case tree.Verdict(words, cautions, know):
            told = (_text(words, "bold"),) if words else ()
            return Group(*told, *map(_block, know), _text(cautions, "italic"))
        case tree.Fields(asked, who):
            rows = [(name, *asked) for name in who] or [asked]
            return Text("\n".join("  ".join(f"{one}: {'_' * 20}" for one in row) for row in rows))
        case tree.Write(lines):
            return Text("\n".join("_" * 60 for _ in range(lines)))
        case _:
            return Text()


def _heading(title: str, name: str = "") -> RenderableType:
    return Padding(Text(legible(title.upper() + name), style="bold"), (1, 0, 0, 0))


def _title(title: tree.Title) -> Text:
    text = Text.assemble((f"{title.kind.upper()}: " if title.kind else "", "bold"), (legible(title.head), "bold"))
    for one in title.beside:
        text.append("  ").append_text(_text(one))
    for note in title.notes:
        text.append("\n").append_text(_text(note))
    return text


@dataclass(frozen=True, slots=True)
class _Beside:
    """A label and a text that wraps beside it; where that leaves no room, under it."""

    label: Text
    words: Text
    wide: int

    def __rich_console__(self, screen: Console, options: ConsoleOptions) -> RenderResult:
        room = max(self.wide, self.label.cell_len)
        if room > options.max_width // 2:
            yield from (self.label, Padding(self.words, (0, 0, 0, 4)))
            return
        for k, one in enumerate(self.words.wrap(screen, options.max_width - room - 1, overflow="fold")):
            label = self.label.copy() if not k else Text()
            label.pad_right(room + 1 - label.cell_len)
            yield Text.assemble(label, one)


def _fact(fact: tree.Fact) -> _Beside:
    label = _text(("  ", *several(fact.label)))
    if isinstance(fact.label, tree.Span):
        label = Text(f"  {legible(fact.label.text)}", style=STYLES[fact.label.look])
    return _Beside(label, _text(fact.words), fact.wide)


@dataclass(frozen=True, slots=True)
class _Rows:
    """A table; where a word of it has no room in its column, each row as labels and texts."""

    table: tree.Table

    def __rich_console__(self, screen: Console, options: ConsoleOptions) -> RenderResult:
        heads = [_text(column.head) for column in self.table.columns]
        rows = [
            _across(row, len(heads)) if isinstance(row, tree.Under) else [*map(_cell, row)] for row in self.table.rows
        ]
        sizes = [[_measured(screen, options, cell) for cell in column] for column in zip(heads, *rows, strict=True)]
        least, most = ([max(1, *(size[k] for size in column)) for column in sizes] for k in (0, 1))
        set_in = 0 if self.table.flush else 2
        least[0], most[0] = least[0] + set_in, most[0] + set_in
        widths = fitted(least, most, options.max_width - 2 * (len(heads) - 1))
        if widths is None:
            yield from _stacked(self.table)
            return
        grid = Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        bold = "bold" if self.table.flush else ""
        for head, column, width in zip(_inward(heads, set_in), self.table.columns, widths, strict=True):
            justify: JustifyMethod = "right" if column.figures else "left"
            grid.add_column(head, header_style=bold, justify=justify, overflow="fold", width=width)
        for row in rows:
            grid.add_row(*_inward(row, set_in))
        yield grid


def _inward(row: Sequence[Text], by: int) -> list[Text]:
    """A row of a table that is set in."""
    return [Text(" " * by) + row[0], *row[1:]]


def _measured(screen: Console, options: ConsoleOptions, text: Text) -> tuple[int, int]:
    """How wide the longest word is, and the longest line."""
    size = Measurement.get(screen, options.update_width(ENDLESS), text)
    return size.minimum, size.maximum


def fitted(least: Sequence[int], most: Sequence[int], room: int) -> list[int] | None:
    """The widths of columns: what they need at `most`, the widest narrowed first; None where their words, at
    `least` so wide, have no room.

    >>> fitted([4, 8], [6, 50], 30), fitted([4, 8], [6, 50], 11)
    ([6, 24], None)
    """
    if sum(least) > room:
        return None
    widths = list(most)
    while sum(widths) > room:
        _, _, widest = max((width, k, k) for k, width in enumerate(widths) if width > least[k])
        widths[widest] -= 1
    return widths


def _across(row: tree.Under, columns: int) -> list[Text]:
    """What stands across a table: in its second column, where it has one."""
    return [Text(), _text(row.words), *(Text() for _ in range(columns - 2))] if columns > 1 else [_text(row.words)]


def _stacked(table: tree.Table) -> Iterator[RenderableType]:
    """Each row as what it is about, then a label and a text for each of its other cells."""
    about = table.about or 0
    order = sorted(range(len(table.columns)), key=lambda k: k != about)
    bare = all(isinstance(row, tree.Under) for row in table.rows)
    for row in (*table.rows, *((("",) * len(order),) if bare else ())):
        if isinstance(row, tree.Under):
            yield _text(("  ", *several(row.words)))
            continue
        for k in order:
            head, cell = _text((" " * (2 if k == about else 4), *several(table.columns[k].head))), _cell(row[k])
            if cell or head.plain.strip():
                yield _Beside(head, cell, 15)


def _cell(cell: tree.Cell) -> Text:
    if isinstance(cell, tree.Listing):
        label = (_text(cell.label),) if cell.label else ()
        return Text("\n").join((*label, *(_text(one.words) for one in cell.items)))
    return _text(cell)


def _listing(listing: tree.Listing, inward: int) -> Iterator[RenderableType]:
    if listing.label:
        yield from _every((tree.Line(listing.label),), inward)
    for number, one in enumerate(listing.items, 1):
        mark = f"{number}." if listing.ordered else "[ ]" if listing.ticked else "-"
        yield from _every((tree.Fact(mark, one.words, wide=4),), inward)
        yield from _every(one.under, inward + 3)


def _step(step: tree.Step, inward: int) -> Iterator[RenderableType]:
    tick = (tree.Tick(), " ") if step.tick else ()
    mark = (tree.strong(step.mark.upper()), " ") if step.mark else ()
    who = ("  (", *several(step.who), ")") if step.who else ()
    yield from _every(step.first, inward + 6)
    yield from _every(
        (tree.Fact(tree.strong(step.number), (*tick, *mark, *several(step.words), *who), wide=6),), inward
    )
    yield from _every((*step.then, *step.after), inward + 6)
