"""`stillheld mend RIG`: which one addition takes away the most small failure sets."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer
from analyser.doors.commands.opening import open_rig, shown
from analyser.doors.commands.options import as_json, count, one_rig

if TYPE_CHECKING:
    from analyser.pages.tree import Page
    from analyser.uses.mending.ranking import Mending


def options(one: ArgumentParser) -> None:
    one_rig(one)
    one.add_argument("--most", type=count, default=5, metavar="N", help="additions shown (default 5)")
    as_json(one)


def run(asked: Namespace) -> Answer:
    """0 when the question could be answered, whatever the answer; 2 when the rig can't be read."""
    from analyser.uses.mending.ranking import mend

    told = mend(open_rig(asked.rig), asked.most)
    return Answer(0, told, partial(page, told, shown(asked.rig)))


def page(told: Mending, file: str) -> Page:
    from analyser.pages.writing.mend_page import mend_page

    return mend_page(told, file)
