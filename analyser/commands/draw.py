"""`stillheld draw RIG -o FILE`: the rig with its weak points marked, or what a failure leaves."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Literal

from analyser.commands.opening import chosen, open_rig, show_mistakes
from analyser.reading.mistakes import Unreadable
from analyser.results import analyse

FORMATS: tuple[Literal["svg", "png", "dot"], ...] = ("svg", "png", "dot")


def run(options: argparse.Namespace) -> int:
    """Write the picture; 2 when the rig, the failure or the file's name cannot be used."""
    target = Path(options.output)
    endings = [one for one in FORMATS if target.suffix.lower() == f".{one}"]
    if not endings:
        sys.stderr.write(f"{options.output}: write a name that ends in .svg, .png or .dot\n")
        return 2
    try:
        rig = open_rig(options.rig)
        failures = chosen(rig, options.failing)
    except Unreadable as error:
        return show_mistakes(error, as_json=False)
    from analyser.drawing.diagram import dot_source
    from analyser.drawing.rendering import NotDrawn, render

    source = dot_source(analyse(rig), failures)
    try:
        picture = render(source, endings[0], system=options.system_dot)
        target.write_bytes(picture)
    except NotDrawn as error:
        sys.stderr.write(f"{error}\n")
        return 2
    except OSError as error:
        sys.stderr.write(f"{options.output}: cannot be written: {error.strerror}\n")
        return 2
    return 0
