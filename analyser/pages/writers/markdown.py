"""A page as Markdown, for a document that goes on to be written by hand, or a comment in a review.

Text reads as it was written: no mark of Markdown or HTML in it means anything.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from operator import itemgetter
from typing import TypeGuard

import analyser.pages.tree as tree
from analyser.pages.tree import Block, Cell, Look, Page, Words, legible, pieces

ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}
MARKS = re.compile(r"[\\`*_{}\[\]|~#$!^]")
"""What means something wherever it stands."""
AT_THE_START = re.compile(r"^(\d*)([-+=:.)]|_(?=[_ ]*$))")
"""What would begin a list, a heading or a rule."""
ADDRESSES = re.compile(r"(?i)(?<=:)//|(?<=www)\.|@")
"""What many readers turn into a link by itself."""


MARKED = {Look.STRONG: "**", Look.ALARM: "**", Look.RIGHT: "**", Look.ASIDE: "*"}
NOTHING = "&nbsp;"
"""An item without words, which else would underline what stands before it."""
BACKTICKS = re.compile(r"`+")


@dataclass(frozen=True, slots=True)
class Chunk:
    """What stands between two empty lines; but items of one list follow each other."""

    text: str
    item: bool = False

    def inward(self, by: int) -> Chunk:
        return Chunk("\n".join(f"{' ' * by}{line}" if line else "" for line in self.text.split("\n")), self.item)


def markdown(page: Page) -> str:
    """A whole page."""
    return marked_down(page.blocks) + "\n"


def marked_down(blocks: Iterable[Block]) -> str:
    """Blocks, without the end of their last line."""
    return _put(_every(blocks, 2))


def _put(chunks: Iterable[Chunk]) -> str:
    text, before = "", None
    for one in chunks:
        text += ("" if before is None else "\n" if before.item and one.item else "\n\n") + one.text.rstrip(" ")
        before = one
    return text


# -- words


def literal(text: str) -> str:
    r"""Text with every mark escaped, but for what only means something at the start of a line.

    >>> print(literal("a *bold* | <b>leg-1</b>"))
    a \*bold\* \| &lt;b&gt;leg-1&lt;/b&gt;
    """
    text = MARKS.sub(r"\\\g<0>", legible(text))
    text = ADDRESSES.sub(lambda found: "".join(f"\\{mark}" for mark in found[0]), text)
    return "".join(ENTITIES.get(mark, mark) for mark in text)


def _piece(piece: tree.Span | tree.Link | tree.Tick | tree.Fill | tree.Choice) -> str:
    match piece:
        case tree.Span(text, Look.CODE):
            return _code_span(_one_line(text))
        case tree.Span(text):
            return literal(text)
        case tree.Link(text, to):
            return f"[{literal(_one_line(text))}](<{to}>)"
        case tree.Tick():
            return "[ ]"
        case tree.Fill(short):
            return "_" * (6 if short else 12)
        case tree.Choice():
            return ""


def _one_line(text: str) -> str:
    return " ".join(legible(text).split())


def _code_span(text: str) -> str:
    """Words to type, between more backticks than they hold."""
    fence = "`" * (1 + max(map(len, BACKTICKS.findall(text)), default=0))
    room = " " if text[:1] == "`" or text[-1:] == "`" else ""
    return f"{fence}{room}{text}{room}{fence}" if text else ""


def _inline(words: Words, *, plain: bool = False) -> str:
    """Words in one piece; `plain` where all of them are strong already. A mark that would touch a letter outside it
    means nothing, and is left out."""
    marked = [
        ("" if plain or not isinstance(one, tree.Span) else MARKED.get(one.look, ""), one) for one in pieces(words)
    ]
    runs = [(mark, "".join(_piece(one) for _, one in run)) for mark, run in groupby(marked, key=itemgetter(0))]
    text = ""
    for k, (mark, said) in enumerate(runs):
        after = next((more for _, more in runs[k + 1 :] if more), "")
        touches = text[-1:].isalnum() or after[:1].isalnum()
        if mark and said.strip() == said != "" and not touches:
            said = "\n".join(f"{mark}{line}{mark}" if line.strip() else line for line in said.split("\n"))
        text += said
    return text


def _words(words: Words) -> str:
    """Words on a line each, with nothing at its start that would begin a list, a heading or a rule."""
    return "\n".join(AT_THE_START.sub(r"\1\\\2", line) for line in _lines(words))


def _lines(words: Words) -> list[str]:
    return [line for one in _inline(words).split("\n") if (line := " ".join(one.split()))]


def _label(words: Words) -> str:
    """Words in one line, within another."""
    return " ".join(_inline(words, plain=True).split())


def _strong(words: Words) -> str:
    return f"**{text}**" if (text := _label(words)) else ""


def _cell(cell: Cell) -> str:
    """What stands in one cell of a table, on one line."""
    if isinstance(cell, tree.Listing):
        return "; ".join(filter(None, map(_cell, (cell.label, *(one.words for one in cell.items)))))
    words = (replace(one, text=one.text.replace("|", "\\|")) if _is_code(one) else one for one in pieces(cell))
    several = _lines(tuple(words))
    return " ".join(line if line is several[-1] or line.endswith(";") else f"{line};" for line in several)


def _is_code(piece: tree.Piece) -> TypeGuard[tree.Span]:
    return isinstance(piece, tree.Span) and piece.look is Look.CODE


# -- blocks


def _every(blocks: Iterable[Block], depth: int) -> Iterator[Chunk]:
    for block in blocks:
        match block:
            case tree.Section(title, under, name):
                yield Chunk(f"{'#' * min(depth, 6)} {_label(title + name)}")
                yield from _every(under, depth + 1)
            case tree.Leaf(role, who, about, under):
                yield Chunk(f"{'#' * min(depth, 6)} {_label(role)}")
                yield from (Chunk(_words(who)), Chunk(_words(about)))
                yield from _every(under, depth + 1)
            case tree.Hidden(label, under):
                yield from (Chunk(_strong(label)),) if _label(label) else ()
                yield from _every(under, depth)
            case tree.Listing():
                yield from _listing(block)
            case tree.Step():
                yield from _step(block)
            case _:
                yield from _block(block)


def _block(block: Block) -> Iterator[Chunk]:
    match block:
        case tree.Title(head, beside, notes, kind):
            below = [piece for one in beside for piece in (", " if kind else "  ", *pieces(one))]
            yield Chunk(f"# {_words((f'{kind}: ' if kind else '', head, *(() if kind else below)))}")
            yield from (Chunk(_words(tuple(below[1:]))),) if kind and below else ()
            yield from (Chunk(_words(note)) for note in notes)
        case tree.Fact(label, words):
            mark = f"- {term}" if (term := _strong(label)) else "  -"
            yield Chunk(f"{mark} {_words(words) or NOTHING}", item=True)
        case tree.Line(words) | tree.Note(words):
            if told := _words(words):
                yield Chunk(told)
        case tree.Warn(severity, words):
            mark = f"- {word}" if (word := _strong(severity.upper())) else "-"
            yield Chunk(f"{mark} {_words(words) or NOTHING}", item=True)
        case tree.Verdict(words, cautions, know):
            yield from (Chunk(_strong(words)),) if words else ()
            yield from (chunk for one in know for chunk in _block(one))
            yield from (Chunk(_words(cautions)),) if cautions else ()
        case tree.Table():
            yield Chunk(_table(block))
        case tree.Code():
            yield Chunk(_code(block))
        case tree.Figure(caption, instead=instead):
            yield from _block(instead or tree.Note(f"({caption})"))
        case tree.Fields(asked, ()):
            yield Chunk("  ".join(f"{_label(one)}: {'_' * 20}" for one in asked))
        case tree.Fields(asked, who):
            columns = tuple(map(tree.Column, ("", *asked)))
            rows: tuple[tree.Row, ...] = tuple(((one, " ", tree.Fill()), *("" for _ in asked)) for one in who)
            yield Chunk(_table(tree.Table(columns, rows)))


def _table(table: tree.Table) -> str:
    rule = "|".join("---:" if column.figures else "---" for column in table.columns)
    empty = [""] * (len(table.columns) - 1)
    rows = [[_strong(row.words), *empty] if isinstance(row, tree.Under) else map(_cell, row) for row in table.rows]
    head, *body = (f"| {' | '.join(row)} |" for row in ([_cell(column.head) for column in table.columns], *rows))
    return "\n".join([head, f"|{rule}|", *body])


def _code(code: tree.Code) -> str:
    fence = "`" * max(3, 1 + max((len(run) for line in code.lines for run in BACKTICKS.findall(line)), default=0))
    return "\n".join([f"{fence}{code.language}", *map(legible, code.lines), fence])


def _listing(listing: tree.Listing) -> Iterator[Chunk]:
    if listing.label:
        yield Chunk(f"- {_strong(listing.label)}", item=True)
    inward = 2 if listing.label else 0
    for number, one in enumerate(listing.items, 1):
        mark = f"{number}." if listing.ordered else "- [ ]" if listing.ticked else "-"
        yield Chunk(f"{mark} {_words(one.words) or NOTHING}", item=True).inward(inward)
        yield from (chunk.inward(inward + len(mark) + 1) for chunk in _every(one.under, 6))


def _step(step: tree.Step) -> Iterator[Chunk]:
    tick = "[ ] " if step.tick else ""
    mark = f" {_label(step.mark)}" if step.mark else ""
    who = f"({' '.join(_lines(step.who))})" if step.who else ""
    told = " ".join((f"- {tick}**{_label(step.number)}{mark}**", *_lines(step.words), who)).rstrip()
    yield Chunk(told, item=True)
    yield from (chunk.inward(2) for chunk in _every((*step.first, *step.then, *step.after), 6))
