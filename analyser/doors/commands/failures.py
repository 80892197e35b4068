"""`stillheld failures RIG… -o FILE`: the failure mode and effects worksheet, of one rig, or of many in one table."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from analyser.checking.results import analyse
from analyser.doors.commands.documents import Writer, put
from analyser.doors.commands.opening import mistakes, open_rig, show_mistakes, shown
from analyser.doors.commands.several import each, ended, rigs_named
from analyser.language.mistakes import Unreadable
from analyser.uses.procedure.worksheet import Worksheet, worksheet


@dataclass(frozen=True, slots=True)
class Filled:
    """The worksheet of one rig, or what was wrong with it; `said` goes to standard error."""

    status: int
    said: str = ""
    made: Worksheet | None = None
    errors: dict[str, object] | None = None


def run(options: argparse.Namespace) -> int:
    """Write it; 1 when it was written and some requirement isn't met, 2 when some rig could not be read, or
    nothing was written."""
    try:
        rigs = rigs_named(options.rigs)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    alone = len(rigs) == 1 and rigs[0].name in options.rigs
    if not alone and not options.json and options.output != "-" and not options.output.lower().endswith(".csv"):
        text = f"{options.output}: worksheets of several rigs make one table: write a name that ends in .csv\n"
        sys.stderr.write(text + "        or ask for one rig at a time\n")
        return 2
    told = list(each(partial(filled, options.state), rigs, options.jobs, lost))
    status = max(one.status for one in told)
    if options.json and alone and told[0].errors:
        sys.stdout.write(f"{_as_text(told[0].errors)}\n")
        return status
    for rig, one in zip(rigs, told, strict=True):
        whose = f"{rig.shown}: " if one.made and one.said and not alone else ""
        sys.stderr.write(f"{whose}{one.said}" if one.made or not options.json else "")
    made = [(rig.shown, one.made) for rig, one in zip(rigs, told, strict=True) if one.made]
    if not made and not (options.json and not alone):
        return 2
    files = [rig.shown for rig in rigs]
    data = told[0].made.as_data if alone and told[0].made else partial(_documents, files, told)
    return status if put(options.output, _writers(made, alone=alone), data, as_json=options.json) else 2


def filled(state: str, name: str) -> Filled:
    """One rig, in whatever process."""
    try:
        rig = open_rig(name)
    except Unreadable as error:
        from analyser.pages.writing.mistakes_page import mistakes_text

        return Filled(2, mistakes_text(error.mistakes, error.sources), errors=mistakes(error))
    result = analyse(rig)
    last = len(result.states) - 1
    if state.isdigit() and int(state) > last:
        there = "only state 0: it has no stages" if not last else f"states 0 to {last}"
        return Filled(2, f"there is no state {state}: this rig has {there}\n")
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


def _documents(files: Sequence[str], told: Sequence[Filled]) -> list[dict[str, object]]:
    """An array in the order of the files, each worksheet with its file, or with its errors."""
    rows = []
    for file, one in zip(files, told, strict=True):
        document = one.made.as_data() if one.made else one.errors or {"errors": [{"text": one.said.strip()}]}
        rows.append({**document, "file": file})
    return rows


def _as_text(document: dict[str, object]) -> str:
    import json

    return json.dumps(document, indent=2, ensure_ascii=False)
