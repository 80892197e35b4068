"""`stillheld walkdown RIG -o FILE`: the as-built check; with `--found FILE`, the check of the rig as it was found."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer, Paper
from analyser.doors.commands.opening import files_of, open_rig, shown
from analyser.doors.commands.options import as_json, full, language, on, one_rig, output

if TYPE_CHECKING:
    from analyser.pages.tree import Page
    from analyser.rig.plan import Plan
    from analyser.uses.field.walk_sheet import Walkdown


def options(one: ArgumentParser) -> None:
    one_rig(one)
    output(one, "FILE.md or FILE.html, or - for standard output, as Markdown")
    words = "what was found otherwise, one difference a line: lists it and checks the rig as found"
    one.add_argument("--found", metavar="FILE", help=words)
    language(one)
    full(one)
    on(one)
    as_json(one)


def run(asked: Namespace) -> Answer | Paper:
    """0 where every requirement is met, 1 where some isn't, 2 when a file could not be understood."""
    rig = open_rig(asked.rig)
    from analyser.checking.analysing import analyse
    from analyser.uses.field.walk_sheet import walkdown

    made = (
        as_it_was_found(rig, Path(asked.found), shown(asked.rig))
        if asked.found
        else walkdown(analyse(rig, processes=None), shown(asked.rig))
    )
    if asked.found and asked.output == "-" and not asked.json:
        return Answer(made.exit_status, made, partial(page, made, full=asked.full))
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.translation import catalogue
    from analyser.pages.writing.walkdown_page import SCRIPT, STYLES, walkdown_page

    words = catalogue(asked.language)
    writers = {
        ".md": lambda: markdown(walkdown_page(made, words)),
        ".html": lambda: whole(walkdown_page(made, words), STYLES, SCRIPT),
    }
    verdict = "not met, for what was found otherwise" if made.result.met else made.result.closing
    said = f"{made.built}: {verdict}\n" if made.exit_status else ""
    found = (Path(asked.found),) if asked.found else ()
    return Paper(made.exit_status, made, writers, said, (*files_of(asked.rig, rig), *found))


def page(made: Walkdown, *, full: bool = False) -> Page:
    from analyser.pages.writing.found_page import found_page

    return found_page(made, full=full)


def as_it_was_found(rig: Plan, file: Path, shown: str) -> Walkdown:
    """The sheet of a rig as it was found; raises `Unreadable` for the file of what was."""
    from analyser.checking.analysing import analyse
    from analyser.uses.field.as_found import as_found
    from analyser.uses.field.found import read_found
    from analyser.uses.field.walk_sheet import walked

    found = as_found(rig, read_found(file, set(rig.kinds)))
    return walked(rig, found, analyse(found.rig), shown)
