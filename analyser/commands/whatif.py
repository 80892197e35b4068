"""`stillheld whatif RIG FAILURE…`: one scenario, told in words."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.commands.opening import chosen, open_rig, show_mistakes, shown
from analyser.reading.mistakes import Unreadable
from analyser.results import after_failures, analyse


def run(options: argparse.Namespace) -> int:
    """0 when nobody falls, 1 when somebody does."""
    try:
        rig = open_rig(options.rig)
        failures = chosen(rig, options.failures)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    before = analyse(rig)
    after = after_failures(rig, failures)
    if options.json:
        sys.stdout.write(json.dumps(after.as_data(), indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.writing.checking import whatif_page
        from analyser.writing.terminal import show

        show(whatif_page(before.states[0].outcome, after, shown(options.rig)))
    return 1 if any(not body.held for body in after.outcome.bodies) else 0
