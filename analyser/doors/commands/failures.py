"""`stillheld failures RIG… -o FILE`: the failure mode and effects worksheet, of one rig, or of many in one table."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import NotDone, Writer, documents_text, put
from analyser.doors.commands.opening import files_of, open_rig, shown
from analyser.doors.commands.options import RIG, as_json, output, several_rigs
from analyser.doors.commands.several import each, ended, rigs_named, wrong
from analyser.language.mistakes import Mistake, Place, Unreadable

if TYPE_CHECKING:
    from analyser.checking.contract import Document
    from analyser.uses.procedure.worksheet import Worksheet


def options(one: ArgumentParser) -> None:
    several_rigs(one, f"{RIG}; a folder: all .rig files in it and below")
    output(one, "FILE.csv, FILE.md or FILE.html, or - for standard output, as CSV (default)")
    words = "the number of a state, worst, or all (default)"
    one.add_argument("--state", type=_state, default="all", metavar="N", help=words)
    as_json(one)


def _state(text: str) -> str:
    if text in ("all", "worst") or (text.isascii() and text.isdigit() and len(text) < 7):
        return text
    raise ArgumentTypeError(f"{text!r} is not a state: write its number, worst, or all")


@dataclass(frozen=True, slots=True)
class Filled:
    """The worksheet of one rig, or what was wrong with it; `said` goes to standard error."""

    status: int
    said: str = ""
    made: Worksheet | None = None
    errors: Document | None = None

    @property
    def document(self) -> Document | None:
        return self.made.document_of() if self.made else self.errors


def run(asked: Namespace) -> int:
    """Write it; 1 when it was written and some requirement isn't met, 2 when some rig could not be read, or
    nothing was written."""
    rigs = rigs_named(asked.rigs)
    alone = len(rigs) == 1 and rigs[0].name in asked.rigs
    if not alone and not asked.json and asked.output != "-" and not asked.output.lower().endswith(".csv"):
        text = f"{asked.output}: worksheets of several rigs make one table: write a name that ends in .csv\n"
        raise NotDone(f"{text}        or ask for one rig at a time")
    told = list(each(partial(filled, asked.state), rigs, asked.jobs, lost))
    status = max(one.status for one in told)
    if asked.json and alone and not told[0].made:
        sys.stdout.write(documents_text([told[0].errors], None))
        return status
    for rig, one in zip(rigs, told, strict=True):
        whose = f"{rig.shown}: " if one.made and one.said and not alone else ""
        sys.stderr.write(f"{whose}{one.said}" if one.made or not asked.json or asked.output != "-" else "")
    made = [(rig.shown, one.made) for rig, one in zip(rigs, told, strict=True) if one.made]
    if not made and not (asked.json and not alone):
        return 2
    data = partial(documents_text, [one.document for one in told], None if alone else [rig.shown for rig in rigs])
    inputs = tuple(file for rig in rigs for file in files_of(rig.name))
    put(asked.output, _writers(made, alone=alone), data, inputs, as_json=asked.json)
    return status


def filled(state: str, name: str) -> Filled:
    """One rig, in whatever process."""
    from analyser.checking.analysing import analyse
    from analyser.checking.shapes import errors
    from analyser.uses.procedure.worksheet import worksheet

    try:
        rig = open_rig(name)
    except Unreadable as error:
        return Filled(2, wrong(error, as_json=False)[0], errors=errors(error.mistakes))
    result = analyse(rig, processes=None)
    last = len(result.states) - 1
    if state.isdigit() and int(state) > last:
        there = "only state 0: it has no stages" if not last else f"states 0 to {last}"
        text = f"there is no state {state}: this rig has {there}"
        return Filled(2, f"{text}\n", errors=errors([Mistake(Place(shown(name), 1), text)]))
    made = worksheet(result, shown(name), state)
    return Filled(result.exit_status, "" if result.met else f"{result.closing}\n", made)


def lost(name: str) -> Filled:
    """The answer for a rig whose process ended without one."""
    text, errors = ended(name)
    return Filled(2, text, errors=errors)


def _writers(made: Sequence[tuple[str, Worksheet]], *, alone: bool) -> Mapping[str, Writer]:
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.worksheet_page import SHEET, worksheet_csv, worksheet_page, worksheets_csv

    if not alone:
        return {".csv": lambda: worksheets_csv(made)}
    ((_, one),) = made
    return {
        ".csv": lambda: worksheet_csv(one),
        ".md": lambda: markdown(worksheet_page(one)),
        ".html": lambda: whole(worksheet_page(one), SHEET, sort="sheet"),
    }
