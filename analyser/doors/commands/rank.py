"""`stillheld rank RIG`: on which parts the most hangs, and how likely a body falls."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer
from analyser.doors.commands.opening import open_rig, shown_state, state_asked
from analyser.doors.commands.options import as_json, on, one_rig, order, state

if TYPE_CHECKING:
    from analyser.checking.rankings import Ranking
    from analyser.pages.tree import Page


def options(one: ArgumentParser) -> None:
    one_rig(one)
    order(one)
    state(one)
    on(one)
    as_json(one)


def run(asked: Namespace) -> Answer:
    from analyser.checking.analysing import analyse
    from analyser.checking.rankings import ranking

    whole = open_rig(asked.rig)
    at = state_asked(whole, asked)
    told = ranking(analyse(whole, asked.order, processes=None), at)
    return Answer(0, told, partial(page, told, shown_state(asked.rig, whole, at)))


def page(told: Ranking, file: str) -> Page:
    from analyser.pages.writing.rank_page import rank_page

    return rank_page(told.result, told.parts, told.likelihoods, file)
