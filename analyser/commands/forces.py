"""`stillheld forces RIG`: what carries what, and what follows each single failure, as far as the file tells."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.commands.opening import open_rig, show_mistakes, shown
from analyser.reading.mistakes import Unreadable
from analyser.results import CAUTIONS, FORMAT, analyse, forces_as_data


def run(options: argparse.Namespace) -> int:
    """0 when the forces were worked out, 1 when the file lacks what they need."""
    try:
        rig = open_rig(options.rig)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    result = analyse(rig, forces=True)
    if options.json:
        data = {"format": FORMAT, "rig": rig.title, "states": forces_as_data(result), "cautions": list(CAUTIONS)}
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        from rich.console import Group
        from rich.text import Text

        from analyser.writing.forces import forces_lines
        from analyser.writing.terminal import show, title

        closing = Text(" ".join(CAUTIONS), style="italic")
        show(Group(title(rig, shown(options.rig)), *forces_lines(result, whole=True), Text(), closing))
    return 0 if result.states[0].loads is not None else 1
