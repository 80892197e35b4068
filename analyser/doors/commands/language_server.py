"""`stillheld language-server`: for an editor, on standard input and output."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace

SPEAKS_ITSELF = True


def options(one: ArgumentParser) -> None:
    one.add_argument("--stdio", action="store_true", help="as always: many editors say it")


def run(asked: Namespace) -> int:
    """0 when the editor shut it down, 1 when it only went away, 2 when there is no editor."""
    if sys.stdin.isatty() or sys.stdout is None:
        sys.stderr.write("`stillheld language-server` is started by an editor, and speaks to it, not to a person\n")
        sys.stderr.write("        to check a rig by hand: `stillheld check RIG`\n")
        return 2
    from analyser.doors.editor.server import serve

    return serve()
