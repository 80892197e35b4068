"""`stillheld whatif RIG FAILURE…`: one scenario, told in words."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer
from analyser.doors.commands.opening import open_rig, shown_state, state_asked
from analyser.doors.commands.options import as_json, one_rig, state

if TYPE_CHECKING:
    from analyser.checking.scenario import After
    from analyser.pages.tree import Page


def options(one: ArgumentParser) -> None:
    one_rig(one)
    one.add_argument("failures", nargs="+", metavar="FAILURE", help='for example "left-bolt fails", "red is cut"')
    state(one)
    as_json(one)


def run(asked: Namespace) -> Answer:
    """0 when nobody falls, 1 when somebody does, or may once what is overloaded has broken."""
    from analyser.checking.calling import chosen
    from analyser.checking.scenario import after_asked

    whole = open_rig(asked.rig)
    at = state_asked(whole, asked)
    after = after_asked(at, chosen(at.rig, asked.failures))
    return Answer(1 if after.falls else 0, after, partial(page, after, shown_state(asked.rig, whole, at)))


def page(after: After, file: str) -> Page:
    from analyser.holding.outcome import assess
    from analyser.pages.writing.whatif_page import whatif_page

    return whatif_page(assess(after.rig), after, file)
