"""`stillheld procedure RIG -o FILE`: the working document that a team follows."""

from __future__ import annotations

import argparse

from analyser.checking.results import analyse
from analyser.doors.commands.documents import closing, put
from analyser.doors.commands.opening import open_rig, show_mistakes, shown
from analyser.language.mistakes import Unreadable


def run(options: argparse.Namespace) -> int:
    """Write it; 1 when it was written and some requirement isn't met, 2 when nothing was written."""
    try:
        rig = open_rig(options.rig)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.procedure_page import procedure_page
    from analyser.uses.procedure.document import procedure

    result = analyse(rig)
    made = procedure(result, shown(options.rig))
    writers = {
        ".md": lambda: markdown(procedure_page(made, result)),
        ".html": lambda: whole(procedure_page(made, result), ("paper.css",)),
    }
    return closing(result) if put(options.output, writers, made.as_data, as_json=options.json) else 2
