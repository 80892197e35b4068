"""`stillheld procedure RIG… -o FILE`: the working document that a team follows; of several rigs one document."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from analyser.doors.commands.getting_out import Paper, documents_text, put, unmet
from analyser.doors.commands.opening import files_of, open_rig
from analyser.doors.commands.options import RIG, as_json, on, output
from analyser.doors.commands.several import rigs_named


def options(one: ArgumentParser) -> None:
    words = f"{RIG}; several, or a folder: one document, with one table by which all are approved"
    one.add_argument("rigs", nargs="+", metavar="RIG", help=words)
    output(one, "FILE.md or FILE.html, or - for standard output, as Markdown (default)")
    words = "your own template in jinja2, with the blocks front, procedures and approval (grammar/template.md)"
    one.add_argument("--template", metavar="FILE", help=words)
    on(one)
    as_json(one)


def run(asked: Namespace) -> int | Paper:
    """Write it; 1 when it was written and some requirement isn't met, 2 when nothing was written."""
    named = rigs_named(asked.rigs)
    rigs = [open_rig(one.name) for one in named]
    from analyser.checking.analysing import analyse
    from analyser.doors.commands.opening import shown
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.procedure_page import procedures
    from analyser.uses.procedure.document import procedure

    results = [analyse(rig, processes=None) for rig in rigs]
    made = [procedure(result, shown(one.name)) for one, result in zip(named, results, strict=True)]
    told = procedures(list(zip(made, results, strict=True)))
    writers = {".md": lambda: markdown(told.page), ".html": lambda: whole(told.page, ("paper.css",))}
    files = tuple(file for one, rig in zip(named, rigs, strict=True) for file in files_of(one.name, rig))
    if asked.template:
        from analyser.pages.writers.templated import templated

        template = Path(asked.template)
        files = (*files, template)
        writers = {
            ".md": lambda: templated(template, ".md", told.given, told.never_without),
            ".html": lambda: templated(template, ".html", told.given, told.never_without),
        }
    if len(made) == 1:
        return Paper(results[0].exit_status, made[0], writers, unmet(results[0]), files)
    documents = [one.document_of() for one in made]
    put(
        asked.output,
        writers,
        lambda: documents_text(documents, [one.shown for one in named]),
        files,
        as_json=asked.json,
    )
    for one, result in zip(named, results, strict=True):
        sys.stderr.write(f"{one.shown}: {unmet(result)}" if unmet(result) else "")
    return max(result.exit_status for result in results)
