"""`stillheld forces RIG`: what carries what and what follows each failure, as far as the file tells; and what each
part may come to carry at worst."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.checking.figures import worst_figures
from analyser.checking.results import CAUTIONS, FORMAT, analyse, forces_as_data
from analyser.checking.worst_loads import LEFT_OUT, worst_loads
from analyser.doors.commands.opening import open_rig, show_mistakes, shown
from analyser.language.mistakes import Unreadable


def run(options: argparse.Namespace) -> int:
    """0 when the forces were worked out, 1 when the file lacks what they need: then only the worst case is told."""
    try:
        rig = open_rig(options.rig)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.doors.commands.progress import Progress
    from analyser.forces.alike import Follow
    from analyser.forces.loads import Samples

    with Progress("cases within the bands") as progress, Progress("failures followed in time") as moving:
        samples = Samples(options.samples, max(options.samples // 5, 1), 64, progress)
        follow = Follow(every=options.motion, progress=moving)
        result = analyse(rig, forces=True, samples=samples, follow=follow, processes=0)
    worst = worst_loads(rig)
    if options.json:
        data = {
            "format": FORMAT,
            "rig": rig.title,
            "revision": rig.revision,
            "states": forces_as_data(result),
            "worst_loads": [worst_figures(row) for row in worst],
            "worst_loads_leave_out": LEFT_OUT,
            "cautions": list(CAUTIONS),
        }
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        from rich.console import Group
        from rich.text import Text

        from analyser.pages.writing.carrying import worst_rows
        from analyser.pages.writing.forces_page import forces_lines
        from analyser.pages.writing.terminal import show, title

        rows = [*forces_lines(result, whole=True, motion=options.motion), *worst_rows(rig, worst)]
        show(Group(title(rig, shown(options.rig)), *rows, Text(), Text(" ".join(CAUTIONS), style="italic")))
    return 0 if result.states[0].loads is not None else 1
