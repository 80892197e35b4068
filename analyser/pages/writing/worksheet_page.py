"""The failure worksheet as a page, and as CSV."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from analyser.checking.sentences import either, listed, verb
from analyser.language.identities import FailureId, Span
from analyser.pages.tree import (
    Block,
    Column,
    Fields,
    Note,
    Page,
    Section,
    Table,
    Under,
    Verdict,
    Words,
    section,
    strong,
)
from analyser.pages.tree import Row as TableRow
from analyser.pages.writing.ends import paper_title
from analyser.pages.writing.first_facts import first_facts, tried_words
from analyser.pages.writing.translation import catalogue
from analyser.uses.field.at_first import as_order, first_lines
from analyser.uses.procedure.worksheet import CATEGORIES, Row, Worksheet

IN_CSV = (
    *("state", "item", "kind", "function", "mode", "how it shows", "detection", "local effect", "end effect"),
    *("what still holds", "severity", "category", "accepted because", "action", "rests on"),
)
ON_PAPER = (*("If one of these", "After step", "How it shows", "Detection", "Then", "What still holds", "Action"),)
IN_STATE, ACTION = ON_PAPER.index("After step"), ON_PAPER.index("Action")
AS_PLANNED = "nothing fails: as planned"
FEW_ACTIONS = 3
"""Up to so many things to do in a table stand over their rows; more are in a column."""
IN_THE_CSV: Words = "The gravest first; Detection is yours to fill in. The CSV form has a row for each item by itself."
SHEET = ("paper.css", "sheet.css")
CATEGORY = ("Severity", "Published name", "What is counted into it here")
RESTS_ON = (
    "connections only, one failure at a time; severity by MIL-STD-882E, mapping ours; a model of what was written, "
    "not of the rope in the hand"
)
UNSEEN = "at the load; wrong before, it may go unseen"
STARTS_A_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]|[\t\r\n]")
"""A cell that begins so is taken for a formula by some spreadsheet (full-width marks by some as well)."""


def worksheet_page(made: Worksheet) -> Page:
    """For paper laid across."""
    kind = "Failure mode and effects worksheet"
    categories = Table(tuple(map(Column, CATEGORY)), made.categories, sort="narrow")
    blocks: tuple[Block, ...] = (
        paper_title(kind, made.title, made.revision, made.file, *_of_what(made)),
        _verdict(made),
        Fields(("Date", "Made by", "Checked by")),
        Note(IN_THE_CSV, small=True),
        *_by_severity(made),
        *_when(made),
        section("How it was made", (*(Note(one, small=True) for one in made.method), categories)),
    )
    return Page(blocks, f"Failure worksheet: {made.title}")


def _of_what(made: Worksheet) -> Iterator[str]:
    if made.digest:
        yield f"text {made.digest}"
    if made.shown != "all":
        yield f"states shown: {made.shown}"


def _verdict(made: Worksheet) -> Verdict:
    """Who hangs on one, on what and what first; then on what that rests, and the cautions."""
    words = catalogue("en")
    first = first_lines(made.look, met=made.met, mend=as_order(made.best))
    told = (f"{made.rests}. ", *tried_words(first, words), " ".join(made.cautions))
    return Verdict(words.words(first.head), told, tuple(first_facts(first, words, lines=True)))


@dataclass(frozen=True, slots=True)
class Merged:
    """Rows that are alike in all but the item and its mode, in the states in which they are so."""

    states: tuple[int, ...]
    during: tuple[int, ...]
    """The states within whose steps they are so."""
    items: tuple[tuple[str, str], ...]
    row: Row

    @property
    def failures(self) -> str:
        """The items by their modes: `left-bolt or left-crab fails; red-top slips`."""
        modes: dict[str, list[str]] = {}
        for item, mode in self.items:
            if isinstance(item, Span):
                modes.setdefault(FailureId(item, mode).spoken, [])
            else:
                modes.setdefault(mode, []).append(item)
        return "; ".join(f"{either(items)} {mode}".strip() for mode, items in modes.items())


def merged(made: Worksheet) -> list[Merged]:
    """Each row once, the gravest first: its states together, then the items together."""
    states: dict[Row, tuple[list[int], list[int]]] = {}
    for row in made.rows:
        shows = UNSEEN if (row.item, row.mode) in made.unseen else row.shows
        found = states.setdefault(replace(row, states=(), during=False, shows=shows), ([], []))
        found[row.during].extend(row.states)
    alike: dict[tuple[tuple[int, ...], tuple[int, ...], Row], list[tuple[str, str]]] = {}
    for row, (after, during) in states.items():
        one = replace(row, item="", mode="", kind="", function="", local_effect="")
        alike.setdefault((tuple(after), tuple(dict.fromkeys(during)), one), []).append((row.item, row.mode))
    told = [Merged(after, during, tuple(items), row) for (after, during, row), items in alike.items()]
    order = [*CATEGORIES, ""]
    worst = list(dict.fromkeys((one.bodies, one.accepted) for one in made.look.on_one))

    def whose(row: Row) -> tuple[object, ...]:
        """What is accepted comes after what is not; then whoever is worst off, all of theirs together, and of those
        what drops most with them."""
        mine = (k for k, (bodies, _) in enumerate(worst) if not {*bodies}.isdisjoint(row.falls))
        return bool(row.accepted), next(mine, len(worst)), -len(row.falls), row.falls

    def key(one: Merged) -> tuple[object, ...]:
        return order.index(one.row.severity), *whose(one.row), -len(one.states), one.states, one.during

    return sorted(told, key=key)


def _by_severity(made: Worksheet) -> Iterator[Section]:
    """A table for each category, and one for what was not looked at. What is to be done stands over the rows of which
    it is true, where that is one of a few things."""
    names = {number: f"Severity {number}: {name}" for number, name in CATEGORIES.items()}
    for severity, some in groupby(merged(made), key=lambda one: one.row.severity):
        every = list(some)
        actions = list(dict.fromkeys(one.row.action for one in every))
        whose, few = list(dict.fromkeys(map(_whose, every))), len(actions) <= FEW_ACTIONS
        one_state = len(made.states) + len(made.during) == 1
        left = {k for k, out in ((IN_STATE, one_state), (ACTION, few)) if out}
        shown = [k for k in range(len(ON_PAPER)) if k not in left]
        if few:  # of whom it tells, then what is done, each in the order in which it comes first
            every.sort(key=lambda one: actions.index(one.row.action))
            every.sort(key=lambda one: whose.index(_whose(one)))
        rows: list[TableRow | Under] = []
        for (falling, action), mine in groupby(every, key=lambda one: (_whose(one), one.row.action if few else "")):
            those = list(mine)
            words = [*_not_held(falling, those), *([action] if action else [])]
            rows += [Under("; ".join(words))] if words else []
            rows += [tuple(cells[k] for k in shown) for cells in (_row(made, one) for one in those)]
        heads = tuple(Column(ON_PAPER[k]) for k in shown)
        sort = " ".join(("effects", *(["one"] if one_state else []), *(["few"] if few else [])))
        yield section(names.get(severity, "Not looked at"), [Table(heads, tuple(rows), sort=sort)])


def _not_held(falling: tuple[tuple[str, ...], bool, bool], those: Sequence[Merged]) -> Iterator[str]:
    """Who is not held after any of these; nothing where nobody is, or nothing has failed."""
    falls, accepted, now = falling
    if now:
        yield f"{listed(falls)} {verb(falls, 'is', 'are')} NOT HELD as planned, nothing failed"
    elif falls:
        these = "any one of these" if sum(len(one.items) for one in those) > 1 else "this"
        told = f"{listed(falls)} {verb(falls, 'is', 'are')} NOT HELD after {these}"
        yield f"{told}, accepted" if accepted else told


def _whose(one: Merged) -> tuple[tuple[str, ...], bool, bool]:
    """Who is not held, whether the file accepts that, and whether nothing has failed."""
    return one.row.falls, bool(one.row.accepted), not any(item for item, _ in one.items)


def _row(made: Worksheet, one: Merged) -> tuple[Words, ...]:
    row = one.row
    accepted = f"\naccepted: {row.accepted}" if row.accepted else ""
    within = {number for number, _ in made.during}
    if len(one.states) == len(made.states) and within <= {*one.during}:
        every = "all"
    else:
        every = "; ".join(filter(None, (_steps_told(made, one.states), _within_told(made, one.during))))
    return (
        *(strong(one.failures if any(item for item, _ in one.items) else AS_PLANNED), every, row.shows, row.detection),
        *(f"{row.end_effect}{accepted}", row.still_holds, row.action),
    )


def _when(made: Worksheet) -> Iterator[Section]:
    """Which state is which, where there are several."""
    told = sorted([*((n, 0, words) for n, words in made.during), *((n, 1, words) for n, words in made.states)])
    if len(told) > 1:
        rows = tuple((_steps_told(made, [n]) if after else _within_told(made, [n]), words) for n, after, words in told)
        yield section("Steps", [Table((Column("After step"), Column("When")), rows, sort="narrow")])


def _steps_told(made: Worksheet, states: Sequence[int]) -> str:
    """`at first to 1.3, 1.5`: states that follow one another by the steps of the first and the last."""
    runs: list[list[int]] = []
    for state in states:
        if runs and state == runs[-1][-1] + 1:
            runs[-1].append(state)
        else:
            runs.append([state])
    step = [number if number != "0" else "at first" for number in made.steps]
    return ", ".join(step[run[0]] if len(run) == 1 else f"{step[run[0]]} to {step[run[-1]]}" for run in runs)


def _within_told(made: Worksheet, states: Sequence[int]) -> str:
    """`during 1.3`: while the step is being done."""
    return f"during {', '.join(made.steps[number] for number in states)}" if states else ""


def during_told(states: Sequence[int]) -> str:
    """`during 3`: while the step to that state is being done."""
    return f"during {', '.join(map(str, states))}" if states else ""


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
    states = during_told(row.states) if row.during else states_told(row.states)
    return (
        *(states, row.item, row.kind, row.function, row.mode, row.shows, row.detection),
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
