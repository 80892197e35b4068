"""`stillheld failures RIG -o FILE`: the failure mode and effects worksheet."""

from __future__ import annotations

import argparse
import sys

from analyser.commands.documents import closing, put
from analyser.commands.opening import open_rig, show_mistakes, shown
from analyser.reading.mistakes import Unreadable
from analyser.results import analyse


def run(options: argparse.Namespace) -> int:
    """Write it; 1 when it was written and some requirement isn't met, 2 when nothing was written."""
    try:
        rig = open_rig(options.rig)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.procedure.worksheet import worksheet
    from analyser.writing.worksheet import worksheet_csv, worksheet_html, worksheet_markdown

    result = analyse(rig)
    last = len(result.states) - 1
    if options.state.isdigit() and int(options.state) > last:
        there = "only state 0: it has no stages" if not last else f"states 0 to {last}"
        sys.stderr.write(f"there is no state {options.state}: this rig has {there}\n")
        return 2
    made = worksheet(result, shown(options.rig), options.state)
    writers = {
        ".csv": lambda: worksheet_csv(made),
        ".md": lambda: worksheet_markdown(made),
        ".html": lambda: worksheet_html(made),
    }
    return closing(result) if put(options.output, writers, made.as_data, as_json=options.json) else 2
