"""`stillheld language-server`: for an editor, on standard input and output."""

from __future__ import annotations

import argparse


def run(options: argparse.Namespace) -> int:
    """0 when the editor shut it down, 1 when it only went away."""
    from analyser.editor.server import serve

    return serve()
