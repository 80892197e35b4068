"""`stillheld mend RIG`: which one addition takes away the most small failure sets."""

from __future__ import annotations

import argparse
import sys

from analyser.doors.commands.opening import open_text, show_mistakes, shown
from analyser.language.mistakes import Unreadable


def run(options: argparse.Namespace) -> int:
    """0 when the question could be answered, whatever the answer; 2 when the rig can't be read."""
    from analyser.uses.mending.ranking import mend

    try:
        text, file, folder = open_text(options.rig)
        mending = mend(text, file, folder, options.most)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    if options.json:
        sys.stdout.write(mending.as_json() + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.mend_page import mend_page

        show(mend_page(mending, shown(options.rig)))
    return 0
