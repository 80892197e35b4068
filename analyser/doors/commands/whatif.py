"""`stillheld whatif RIG FAILURE…`: one scenario, told in words."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.checking.results import after_failures
from analyser.doors.commands.opening import chosen, open_rig, rig_in, show_mistakes, shown_state, state_number
from analyser.holding.outcome import assess
from analyser.language.mistakes import Unreadable


def run(options: argparse.Namespace) -> int:
    """0 when nobody falls, 1 when somebody does, or may once what is overloaded has broken."""
    try:
        whole = open_rig(options.rig)
        number = state_number(whole, options)
        rig = rig_in(whole, number)
        failures = chosen(rig, options.failures)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    after = after_failures(rig, failures)
    if options.json:
        sys.stdout.write(json.dumps({**after.as_data(), "state": number}, indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.whatif_page import whatif_page

        show(whatif_page(assess(rig), after, shown_state(options.rig, whole, number)))
    return 1 if after.falls else 0
