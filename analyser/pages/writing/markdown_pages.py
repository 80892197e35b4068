"""The pages of the terminal as Markdown: the same words, for a document that goes on to be written by hand.

The twin of `page.py`. Text that came from a file is escaped, so that it reads as it was written.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from analyser.pages.writing.markdown import literal
from analyser.pages.writing.pieces import Figure, Piece


def markdown(pieces: Iterable[Piece]) -> str:
    """A page's pieces as Markdown; lists of lines are blocks of code, diagrams only their captions. The
    first piece is the title."""
    blocks = [block for k, piece in enumerate(pieces) for block in _blocks(piece, first=k == 0)]
    text = ""
    for before, block in zip(["", *blocks], blocks, strict=False):
        both = before.lstrip().startswith("- ") and block.lstrip().startswith("- ")
        text += ("" if not before else "\n" if both else "\n\n") + block
    return text + "\n"


def _blocks(piece: Piece, *, first: bool = False) -> Iterator[str]:
    if isinstance(piece, list):
        yield "\n".join(["```rig", *piece, "```"])
    elif isinstance(piece, Figure):
        yield f"({_words(piece.caption)})"
    elif isinstance(piece, Group):
        for one in piece.renderables:
            yield from _blocks(one)
    elif isinstance(piece, Padding):
        yield f"## {_words(piece.renderable).capitalize()}"
    elif isinstance(piece, Table) and piece.show_header:
        yield _table(piece)
    elif isinstance(piece, Table):
        label, text = (_words(next(iter(column.cells))) for column in piece.columns)
        yield f"- **{label}** {text}" if label else f"  - {text}"
    elif isinstance(piece, Text) and piece.plain.strip():
        head, *notes = _words(piece).split("\n")
        yield f"# {head}" if first else " ".join([head, *notes])
        yield from notes if first else ()


def _table(table: Table) -> str:
    columns = [[_words(column.header), *map(_words, column.cells)] for column in table.columns]
    rows = [f"| {' | '.join(cells)} |" for cells in zip(*columns, strict=True)]
    rule = "|".join("---:" if column.justify == "right" else "---" for column in table.columns)
    return "\n".join([rows[0], f"|{rule}|", *rows[1:]])


def _words(words: RenderableType) -> str:
    text = words.plain if isinstance(words, Text) else str(words)
    return "\n".join(str(literal(line)) for line in text.strip().split("\n"))
