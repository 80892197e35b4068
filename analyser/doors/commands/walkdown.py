"""`stillheld walkdown RIG -o FILE`: the as-built check; with `--found FILE`, the check of the rig as it was found."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.checking.results import analyse
from analyser.doors.commands.documents import put
from analyser.doors.commands.opening import open_rig, show_mistakes, shown
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.uses.field.walk_sheet import Walkdown


def run(options: argparse.Namespace) -> int:
    """0 where every requirement is met, 1 where some isn't, 2 when a file could not be understood."""
    try:
        rig = open_rig(options.rig)
        made = _as_found(rig, options) if options.found else None
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.pages.writing.translation import catalogue
    from analyser.uses.field.walk_sheet import walkdown

    made = made or walkdown(analyse(rig), shown(options.rig))
    if options.found and options.output == "-" and not options.json:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.found_page import found_page

        show(found_page(made))
        return made.exit_status
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.walkdown_page import SCRIPT, STYLES, walkdown_page

    words = catalogue(options.language)
    writers = {
        ".md": lambda: markdown(walkdown_page(made, words)),
        ".html": lambda: whole(walkdown_page(made, words), STYLES, SCRIPT),
    }
    if not put(options.output, writers, made.as_data, as_json=options.json):
        return 2
    if made.exit_status:
        verdict = "not met, for what was found otherwise" if made.result.met else made.result.closing
        sys.stderr.write(f"{made.built}: {verdict}\n")
    return made.exit_status


def _as_found(rig: Rig, options: argparse.Namespace) -> Walkdown:
    from analyser.uses.field.as_found import as_found
    from analyser.uses.field.found import read_found
    from analyser.uses.field.walk_sheet import walked

    assert rig.site is not None
    found = as_found(rig, read_found(Path(options.found), set(rig.site.bench.kinds)))
    return walked(rig, found, analyse(found.rig), shown(options.rig))
