"""The failure worksheet as CSV, Markdown and HTML. Text that came from a file is escaped wherever it goes."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from analyser.pages.writing.old import own, template
from analyser.uses.procedure.worksheet import CATEGORIES, Row, Worksheet

COLUMNS = (
    *("state", "item", "kind", "function", "mode", "how it shows", "detection", "local effect", "end effect"),
    *("what still holds", "severity", "category", "accepted because", "action", "rests on"),
)
RESTS_ON = (
    "connections only, one failure at a time; severity by MIL-STD-882E, mapping ours; a model of what was written, "
    "not of the rope in the hand"
)
STARTS_A_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]|[\t\r\n]")
"""A cell that begins so is taken for a formula by some spreadsheet (full-width marks by some as well)."""


def worksheet_csv(made: Worksheet) -> str:
    """One header and one line a row (RFC 4180: CRLF, every cell quoted). A file of it begins with a BOM,
    by which spreadsheets know UTF-8."""
    return _table(COLUMNS, (_cells(row) for row in made.rows))


def worksheets_csv(several: Sequence[tuple[str, Worksheet]]) -> str:
    """The rows of many rigs in one table, each with its file before it."""
    rows = ((file, *_cells(row)) for file, made in several for row in made.rows)
    return _table(("file", *COLUMNS), rows)


def _cells(row: Row) -> tuple[str, ...]:
    category = CATEGORIES.get(row.severity, "")
    return (
        *(states_told(row.states), row.item, row.kind, row.function, row.mode, row.shows, row.detection),
        *(row.local_effect, row.end_effect, row.still_holds, row.severity, category, row.accepted, row.action),
        RESTS_ON,
    )


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    page = io.StringIO(newline="")
    writer = csv.writer(page, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([_no_formula(cell) for cell in row] for row in rows)
    return page.getvalue()


def _no_formula(cell: str) -> str:
    """A cell that no spreadsheet runs: an apostrophe before it makes it text."""
    return f"'{cell}" if STARTS_A_FORMULA.match(cell) else cell


def states_told(states: Sequence[int]) -> str:
    """`3`, or `3 to 5`: never `3-5`, which spreadsheets take for a date."""
    return f"{states[0]}" if len(states) == 1 else f"{states[0]} to {states[-1]}"


def worksheet_markdown(made: Worksheet) -> str:
    return template("worksheet.md").render(w=made, runs=_runs(made))


def worksheet_html(made: Worksheet) -> str:
    """A whole page that needs nothing else, for A4 or Letter laid across."""
    return template("worksheet.html").render(w=made, runs=_runs(made), style=own("paper.css"))


def _runs(made: Worksheet) -> list[tuple[str, str, list[Row]]]:
    """The rows by the states that they are of: (`state 3 to 5`, after which step, rows)."""
    when = dict(made.states)
    runs: dict[tuple[int, ...], list[Row]] = {}
    for row in made.rows:
        runs.setdefault(row.states, []).append(row)
    return [(states_told(states), when[states[0]], rows) for states, rows in runs.items()]
