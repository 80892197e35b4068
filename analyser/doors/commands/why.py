"""`stillheld why RIG [BODY]`: the ways in which a body is held, and what breaks each of them."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.checking.reasons import Reasons, reasons
from analyser.checking.results import CAUTIONS, FORMAT
from analyser.doors.commands.opening import COMMAND_LINE, open_rig, rig_in, show_mistakes, shown_state, state_number
from analyser.language.mistakes import Mistake, Place, Unreadable, did_you_mean


def run(options: argparse.Namespace) -> int:
    try:
        whole = open_rig(options.rig)
        number = state_number(whole, options)
        rig = rig_in(whole, number)
        names = [body.name for body in rig.bodies]
        if options.body and options.body not in names:
            text = f"there is no person, litter or load called `{options.body}` that could fall"
            hint = did_you_mean(options.body, names, f"there are: {', '.join(names)}")
            raise Unreadable([Mistake(Place(COMMAND_LINE, 1), text, hint)], {})
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    told = [reasons(rig, name, options.order) for name in ([options.body] if options.body else names)]
    if options.json:
        data = {
            "format": FORMAT,
            "rig": rig.title,
            "revision": rig.revision,
            "state": number,
            "bodies": [_data(one) for one in told],
            "cautions": list(CAUTIONS),
        }
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.why_page import why_page

        show(why_page(rig, told, shown_state(options.rig, whole, number)))
    return 0


def _data(one: Reasons) -> dict[str, object]:
    return {
        "body": one.body,
        "ways": [
            {"number": way.number, "legs": [list(leg) for leg in way.legs], "while_none_of": list(way.needs)}
            for way in one.ways
        ],
        "all_ways": one.all_ways,
        "failure_sets": [
            {"failures": list(s.failures), "breaks": {name: list(numbers) for name, numbers in s.breaks}}
            for s in one.sets
        ],
    }
