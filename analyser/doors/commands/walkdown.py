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

if TYPE_CHECKING:
    from analyser.rig.plan import Plan
    from analyser.uses.field.walk_sheet import Walkdown


def run(options: argparse.Namespace) -> int:
    """0 where every requirement is met, 1 where some isn't, 2 when a file could not be understood."""
    try:
        rig = open_rig(options.rig)
        made = _as_found(rig, options) if options.found else None
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.pages.writing.field import walkdown_html, walkdown_markdown
    from analyser.pages.writing.translation import catalogue
    from analyser.uses.field.walk_sheet import walkdown

    made = made or walkdown(analyse(rig), shown(options.rig))
    if options.found and options.output == "-" and not options.json:
        from analyser.pages.writing.terminal import show
        from analyser.pages.writing.walked import walked_page

        show(walked_page(made))
        return made.exit_status
    words = catalogue(options.language)
    writers = {
        ".md": lambda: walkdown_markdown(made, words),
        ".html": lambda: walkdown_html(made, words),
    }
    if not put(options.output, writers, made.as_data, as_json=options.json):
        return 2
    if made.exit_status:
        verdict = "not met, for what was found otherwise" if made.result.met else made.result.closing
        sys.stderr.write(f"{made.built}: {verdict}\n")
    return made.exit_status


def _as_found(rig: Plan, options: argparse.Namespace) -> Walkdown:
    from analyser.uses.field.as_found import as_found
    from analyser.uses.field.found import read_found
    from analyser.uses.field.walk_sheet import walked

    found = as_found(rig, read_found(Path(options.found), set(rig.kinds)))
    return walked(rig, found, analyse(found.rig), shown(options.rig))
