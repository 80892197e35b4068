"""A page cut to one sheet: what was found in line 2, something of everything, and what is left out counted.

`check` has a page of its own for that (`short_check.py`). Here the whole page is made, and of each of its lists as much
is kept as there is room for: one row of each, then more of all, what the page is about before the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyser.checking.sentences import listed
from analyser.pages.tree import Block, Fact, Gap, Note, Page, Section, Span, Table, Title, Words, pieces
from analyser.pages.writers.terminal import plain

MOST = 50
"""Lines, at the width of a page: a terminal, and less than a sheet of A4."""
LEFT_OUT = 4
"""Lines for what is left out."""
FULL = "`--full`"


@dataclass(frozen=True, slots=True)
class _List:
    """Rows of which as many are kept as there is room for: those of a table, or blocks, each with those that belong
    to it. `called`: what is counted of them."""

    called: str
    rows: tuple[tuple[Block, ...], ...] = ()
    table: Table | None = None

    def __len__(self) -> int:
        return len(self.table.rows if self.table else self.rows)

    def first(self, count: int) -> tuple[Block, ...]:
        if self.table:
            return (replace(self.table, rows=self.table.rows[:count]),)
        return tuple(block for row in self.rows[:count] for block in row)


def one_sheet(page: Page, verdict: Span, *, first: int = 0, by_section: bool = False, full: bool = False) -> Page:
    """The page with `verdict` in line 2, cut to one sheet unless `full`. Each table is a list, and so are labelled
    facts of one label, or (`by_section`) all that stands in a section; the `first` lists come before the others."""
    title, *blocks = page.blocks
    assert isinstance(title, Title), "a page begins with its title"
    head = replace(title, notes=(verdict, *title.notes))
    if full:
        return Page((head, *blocks), page.name)
    body = [one for one in blocks if isinstance(one, Section)]
    foot = [one for one in blocks if not isinstance(one, Section)]
    lists = [_lists(one, by_section=by_section) for one in body]
    frame = (head, *(replace(one, blocks=()) for one in body), *foot)
    shown = iter(_room([one for several in lists for one in several], len(plain(frame).splitlines()), first))
    cut, left = [], []
    for one, several in zip(body, lists, strict=True):
        kept: list[Block] = []
        for rows, count in zip(several, shown, strict=False):
            kept += rows.first(count)
            if count < len(rows):
                left.append(f"{len(rows) - count} more of “{rows.called}”")
        cut.append(replace(one, blocks=tuple(kept)))
    told = (Note(f"Left out here, and told by {FULL}: {listed(left)}."),) if left else ()
    gap = next((k for k, one in enumerate(foot) if isinstance(one, Gap)), -1) + 1
    return Page((head, *cut, *foot[:gap], *told, *foot[gap:]), page.name)


def _room(lists: Sequence[_List], lines: int, first: int) -> list[int]:
    """How many rows of each there is room for beside so many lines."""
    sizes = [[len(plain(one.first(k)).splitlines()) for k in range(min(len(one), MOST) + 1)] for one in lists]
    shown = [min(1, len(one)) for one in lists]
    left = MOST - lines - LEFT_OUT - sum(size[count] for size, count in zip(sizes, shown, strict=True))
    grown = True
    while grown:
        grown = False
        for k, size in enumerate(sizes):
            while shown[k] + 1 < len(size) and size[shown[k] + 1] - size[shown[k]] <= left:
                left -= size[shown[k] + 1] - size[shown[k]]
                shown[k] += 1
                grown = True
                if k >= first:
                    break
    return shown


def _lists(section: Section, *, by_section: bool) -> list[_List]:
    found: list[_List] = []
    run: list[tuple[Block, ...]] = []
    label = section.title
    for block in section.blocks:
        mine = _words(block.label) if isinstance(block, Fact) else ""
        more = isinstance(block, Fact) and not mine
        if isinstance(block, Table) or not (by_section or more or (mine and mine == label)):
            found += [_List(label, tuple(run))] if run else []
            run, label = [], mine or section.title
        if isinstance(block, Table):
            found.append(_List(_words(block.columns[0].head), table=block))
        elif by_section and more and run:
            run[-1] = (*run[-1], block)
        else:
            run.append((block,))
    return [*found, *([_List(label, tuple(run))] if run else [])]


def _words(words: Words) -> str:
    return "".join(piece.text for piece in pieces(words) if isinstance(piece, Span))
