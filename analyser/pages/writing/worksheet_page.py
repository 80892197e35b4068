"""The failure worksheet as a page, and as CSV."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

from analyser.pages.tree import (
    Block,
    Column,
    Fields,
    Note,
    Page,
    Section,
    Table,
    Verdict,
    Words,
    quiet,
    section,
    strong,
)
from analyser.pages.writing.ends import paper_title
from analyser.uses.procedure.worksheet import CATEGORIES, Row, Worksheet

IN_CSV = (
    *("state", "item", "kind", "function", "mode", "how it shows", "detection", "local effect", "end effect"),
    *("what still holds", "severity", "category", "accepted because", "action", "rests on"),
)
ON_PAPER = (
    *("Item", "Function", "Mode", "How it shows", "Detection", "Local effect", "End effect", "What still holds"),
    *("Severity", "Action"),
)
SHEET = ("paper.css", "sheet.css")
CATEGORY = ("Severity", "Published name", "What is counted into it here")
RESTS_ON = (
    "connections only, one failure at a time; severity by MIL-STD-882E, mapping ours; a model of what was written, "
    "not of the rope in the hand"
)
STARTS_A_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]|[\t\r\n]")
"""A cell that begins so is taken for a formula by some spreadsheet (full-width marks by some as well)."""


def worksheet_page(made: Worksheet) -> Page:
    """For paper laid across."""
    kind = "Failure mode and effects worksheet"
    blocks: tuple[Block, ...] = (
        paper_title(kind, made.title, made.revision, made.file, f"states shown: {made.shown}"),
        Fields(("Date", "Made by", "Checked by")),
        Verdict(made.closing, " ".join(made.cautions)),
        *(Note(one, small=True) for one in made.method),
        Table(tuple(map(Column, CATEGORY)), made.categories, sort="narrow"),
        *_states(made),
    )
    return Page(blocks, f"Failure worksheet: {made.title}")


def _states(made: Worksheet) -> Iterator[Section]:
    """The rows by the states that they are of."""
    when = dict(made.states)
    runs: dict[tuple[int, ...], list[Row]] = {}
    for row in made.rows:
        runs.setdefault(row.states, []).append(row)
    for states, rows in runs.items():
        table = Table(tuple(map(Column, ON_PAPER)), tuple(map(_row, rows)), sort="effects")
        yield section(f"State {states_told(states)}: {when[states[0]]}", [table])


def _row(row: Row) -> tuple[Words, ...]:
    accepted = f"\naccepted: {row.accepted}" if row.accepted else ""
    return (
        *(
            (strong(row.item), "\n", quiet(row.kind)),
            row.function,
            row.mode,
            row.shows,
            row.detection,
            row.local_effect,
        ),
        *(f"{row.end_effect}{accepted}", row.still_holds, strong(row.severity), row.action),
    )


def states_told(states: Sequence[int]) -> str:
    """`3`, or `3 to 5`: never `3-5`, which spreadsheets take for a date."""
    return f"{states[0]}" if len(states) == 1 else f"{states[0]} to {states[-1]}"


# -- as CSV


def worksheet_csv(made: Worksheet) -> str:
    """One header and one line a row (RFC 4180: CRLF, every cell quoted). A file of it begins with a BOM,
    by which spreadsheets know UTF-8."""
    return _csv(IN_CSV, map(_cells, made.rows))


def worksheets_csv(several: Sequence[tuple[str, Worksheet]]) -> str:
    """The rows of many rigs in one table, each with its file before it."""
    return _csv(("file", *IN_CSV), ((file, *_cells(row)) for file, made in several for row in made.rows))


def _cells(row: Row) -> tuple[str, ...]:
    category = CATEGORIES.get(row.severity, "")
    return (
        *(states_told(row.states), row.item, row.kind, row.function, row.mode, row.shows, row.detection),
        *(row.local_effect, row.end_effect, row.still_holds, row.severity, category, row.accepted, row.action),
        RESTS_ON,
    )


def _csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    page = io.StringIO(newline="")
    writer = csv.writer(page, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([_no_formula(cell) for cell in row] for row in rows)
    return page.getvalue()


def _no_formula(cell: str) -> str:
    """A cell that no spreadsheet runs: an apostrophe before it makes it text."""
    return f"'{cell}" if STARTS_A_FORMULA.match(cell) else cell
