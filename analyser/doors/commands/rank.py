"""`stillheld rank RIG`: on which parts the most hangs, and how likely a body falls."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.checking.ranked import likely, ranked
from analyser.checking.results import CAUTIONS, FORMAT, analyse
from analyser.doors.commands.opening import open_rig, show_mistakes, shown_state, state_number
from analyser.language.mistakes import Unreadable


def run(options: argparse.Namespace) -> int:
    try:
        whole = open_rig(options.rig)
        number = state_number(whole, options)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    result = analyse(whole, options.order).at(number)
    rig = result.rig
    outcome = result.states[0].outcome
    parts, chances = ranked(rig, outcome), likely(rig, outcome)
    if not options.json:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.rank_page import rank_page

        show(rank_page(result, parts, chances, shown_state(options.rig, whole, number)))
        return 0
    data = {
        "format": FORMAT,
        "rig": rig.title,
        "revision": rig.revision,
        "state": number,
        "complete_to_order": outcome.complete_to,
        "parts": [
            {
                "part": row.part,
                "drops_alone": list(row.alone),
                "failure_sets_by_size": list(row.counts),
                "bodies": list(row.bodies),
            }
            for row in parts
        ],
        "likelihoods": [
            {
                "body": one.body,
                "falls_with_probability": one.value,
                "is": "exact for the sets searched" if one.exact else "an upper bound for the sets searched",
                "without_likelihood": list(one.missing),
                "importances": [
                    {"failure": i.event, "birnbaum": i.birnbaum, "fussell_vesely": i.fussell_vesely}
                    for i in one.importances
                ],
            }
            for one in chances
        ],
        "cautions": list(CAUTIONS),
    }
    sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    return 0
