"""`stillheld procedure RIG -o FILE`: the working document that a team follows."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from analyser.doors.commands.getting_out import Paper, unmet
from analyser.doors.commands.opening import files_of, open_rig, shown
from analyser.doors.commands.options import as_json, one_rig, output


def options(one: ArgumentParser) -> None:
    one_rig(one)
    output(one, "FILE.md or FILE.html, or - for standard output, as Markdown (default)")
    as_json(one)


def run(asked: Namespace) -> Paper:
    """Write it; 1 when it was written and some requirement isn't met, 2 when nothing was written."""
    rig = open_rig(asked.rig)
    from analyser.checking.analysing import analyse
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.procedure_page import procedure_page
    from analyser.uses.procedure.document import procedure

    result = analyse(rig, processes=None)
    made = procedure(result, shown(asked.rig))
    writers = {
        ".md": lambda: markdown(procedure_page(made, result)),
        ".html": lambda: whole(procedure_page(made, result), ("paper.css",)),
    }
    return Paper(result.exit_status, made, writers, unmet(result), files_of(asked.rig, rig))
