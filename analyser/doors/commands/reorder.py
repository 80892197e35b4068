"""`stillheld reorder RIG --stage TITLE`: is there an order of the steps that keeps what is required?"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer
from analyser.doors.commands.opening import open_rig, shown
from analyser.doors.commands.options import as_json, budget, one_rig

if TYPE_CHECKING:
    from analyser.pages.tree import Page
    from analyser.uses.ordering.answer import Answer as Reordering


def options(one: ArgumentParser) -> None:
    one_rig(one)
    one.add_argument("--stage", required=True, metavar="TITLE", help="the stage whose steps may change places")
    budget(one)
    as_json(one)


def run(asked: Namespace) -> Answer:
    """0 when an order keeps everything and opens nothing whose tension is not known; 1 when not; 2 when the
    rig or the stage could not be understood."""
    from analyser.checking.calling import refused, stage_called
    from analyser.doors.commands.watching import SEARCHED, OutOfTime, bounded, spent
    from analyser.uses.ordering.answer import reorder

    try:
        with bounded(asked.budget):
            rig = open_rig(asked.rig)
            searching = None if asked.budget is None else SEARCHED * asked.budget
            told = reorder(rig, stage_called(rig, asked.stage).title, searching)
    except OutOfTime:
        raise refused(*spent(asked.budget, "orders were looked for")) from None
    return Answer(0 if told.offered else 1, told, partial(page, told, shown(asked.rig)))


def page(told: Reordering, file: str) -> Page:
    from analyser.pages.writing.reorder_page import reorder_page

    return reorder_page(told, file)
