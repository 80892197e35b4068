"""`stillheld forces RIG`: what each part may come to carry at worst; with bands, how forces spread."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.commands.opening import open_rig, show_mistakes, shown
from analyser.findings.worst_loads import LEFT_OUT, WorstLoad, worst_loads
from analyser.reading.mistakes import Unreadable
from analyser.results import CAUTIONS, FORMAT


def run(options: argparse.Namespace) -> int:
    """0 when told; 2 when the file or the call can't be used."""
    try:
        rig = open_rig(options.rig)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    loads = worst_loads(rig)
    if options.json:
        data = {
            "format": FORMAT,
            "rig": rig.title,
            "revision": rig.revision,
            "worst_loads": [worst_data(row) for row in loads],
            "worst_loads_leave_out": LEFT_OUT,
            "cautions": list(CAUTIONS),
        }
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        from rich.console import Group
        from rich.text import Text

        from analyser.writing.carrying import worst_rows
        from analyser.writing.terminal import show, title

        cautions = Text(" ".join(CAUTIONS), style="italic")
        show(Group(title(rig, shown(options.rig)), *worst_rows(rig, loads), Text(), cautions))
    return 0


def worst_data(row: WorstLoad) -> dict[str, object]:
    """One row of the worst case for scripts."""
    return {
        "name": row.name,
        "line": row.of.place.line,
        "at_most_n": round(row.load.newtons, 3),
        "bodies": list(row.load.bodies),
        "gear": list(row.load.gear),
        "without_mass": list(row.load.unknown),
        "strength_n": round(row.strength.si, 3) if row.strength else None,
        "strength_over_load": None if row.factor is None else round(row.factor, 3),
    }
