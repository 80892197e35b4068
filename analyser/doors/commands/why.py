"""`stillheld why RIG [BODY]`: the ways in which a body is held, and what breaks each of them."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer
from analyser.doors.commands.opening import open_rig, shown_state, state_asked
from analyser.doors.commands.options import as_json, one_rig, order, state

if TYPE_CHECKING:
    from analyser.checking.rankings import Reasoning
    from analyser.pages.tree import Page


def options(one: ArgumentParser) -> None:
    one_rig(one)
    one.add_argument("body", nargs="?", metavar="BODY", help="one person, litter or load (default: each)")
    order(one)
    state(one)
    as_json(one)


def run(asked: Namespace) -> Answer:
    from analyser.checking.calling import body_called
    from analyser.checking.rankings import reasoning

    whole = open_rig(asked.rig)
    at = state_asked(whole, asked)
    names = (body_called(at.rig, asked.body),) if asked.body else tuple(body.name for body in at.rig.bodies)
    told = reasoning(at, names, asked.order)
    return Answer(0, told, partial(page, told, shown_state(asked.rig, whole, at)))


def page(told: Reasoning, file: str) -> Page:
    from analyser.pages.writing.why_page import why_page

    return why_page(told.rig, told.bodies, file)
