"""`stillheld reorder RIG --stage TITLE`: is there an order of the steps that keeps what is required?"""

from __future__ import annotations

import argparse
import json
import sys

from analyser.checking.results import CAUTIONS, FORMAT
from analyser.doors.commands.opening import open_rig, show_mistakes, shown, stage_called
from analyser.language.mistakes import Unreadable
from analyser.language.syntax import StepLine
from analyser.uses.ordering.answer import Answer, Order, reorder
from analyser.uses.ordering.pasting import pasted


def run(options: argparse.Namespace) -> int:
    """0 when an order keeps everything and opens nothing whose tension is not known; 1 when not; 2 when the
    rig or the stage could not be understood."""
    try:
        rig = open_rig(options.rig)
        stage = stage_called(rig, options.stage)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    answer = reorder(rig, stage.title, options.budget)
    if options.json:
        sys.stdout.write(json.dumps(as_data(answer), indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.reorder_page import reorder_page

        show(reorder_page(answer, shown(options.rig)))
    return 0 if answer.offered else 1


def as_data(answer: Answer) -> dict[str, object]:
    """The answer as plain lists and dictionaries, in a stable order."""
    best, why = answer.best, answer.impossible
    return {
        "format": FORMAT,
        "rig": answer.rig.title,
        "revision": answer.rig.revision,
        "stage": answer.stage,
        "offered": answer.offered,
        "written": _order(answer, answer.written),
        "best": None if best is None else _order(answer, best),
        "proven_best": answer.proven,
        "no_order_keeps_everything": answer.none_keeps,
        "impossible": why
        and {
            "because": why.how,
            "steps": [_step(answer.steps[k]) for k in why.steps],
            "reasons": list(why.reasons),
            "also": [_step(answer.steps[k]) for k in why.others],
        },
        "broken_before_the_first_step": list(answer.begins_broken),
        "not_checked": list(answer.not_checked),
        "states_analysed": answer.analysed,
        "on": "connections only",
        "cautions": list(CAUTIONS),
    }


def _order(answer: Answer, order: Order) -> dict[str, object]:
    return {
        "as_written": order.as_written,
        "bad_states": order.bad,
        "steps": [
            {**_step(one.line), "was": one.was, "moved": one.moved, "wrong": list(one.wrong)} for one in order.lines
        ],
        "tension_not_computed": [
            {
                **_step(one.step),
                "bodies": list(one.bodies),
                "taken_in_before": [_step(step) for step in one.taken_in],
                "missing": list(one.missing),
            }
            for one in order.openings
        ],
        "lines": pasted(answer.rig, order),
    }


def _step(line: StepLine) -> dict[str, object]:
    return {"step": line.words, "file": line.place.file, "line": line.place.line}
