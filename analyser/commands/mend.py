"""`stillheld mend RIG`: which one addition takes away the most small failure sets."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from analyser.commands.opening import STANDARD_INPUT, open_rig, show_mistakes, shown
from analyser.reading.mistakes import Unreadable
from analyser.reading.source import MOST_BYTES


def run(options: argparse.Namespace) -> int:
    """0 when the question could be answered, whatever the answer; 2 when the rig can't be read."""
    from analyser.mending.ranking import mend

    try:
        if options.rig == "-":
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
            mending = mend(_text(data, STANDARD_INPUT, Path()), STANDARD_INPUT, Path(), options.most)
        else:
            open_rig(options.rig)  # so that a file which can't be read is told as in every command
            path = Path(options.rig)
            mending = mend(_text(path.read_bytes(), path.name, path.parent), path.name, path.parent, options.most)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    if options.json:
        sys.stdout.write(mending.as_json() + "\n")
    else:
        from analyser.writing.mending import show_mending

        show_mending(mending, shown(options.rig))
    return 0


def _text(data: bytes, name: str, folder: Path) -> str:
    """The text of a rig; bytes that are no text are refused by the reader, with its reason."""
    import analyser

    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        analyser.read_text(data, name, folder)
        raise
