"""`stillheld haul RIG [ROPE]`: what hauling on a rope gains, and what the hand pulls."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer
from analyser.doors.commands.opening import open_rig, shown_state, state_asked
from analyser.doors.commands.options import ALONG, as_json, full, one_rig, state

if TYPE_CHECKING:
    from analyser.checking.hanging import Hauling
    from analyser.pages.tree import Page


def options(one: ArgumentParser) -> None:
    one_rig(one)
    one.add_argument("rope", nargs="?", metavar="ROPE", help="the rope that hands hold (default: each such rope)")
    one.add_argument("--along", nargs="+", default=[], metavar="PERSON=LENGTH", help=ALONG)
    state(one)
    full(one)
    as_json(one)


def run(asked: Namespace) -> Answer:
    """0 when told; 1 when there is nothing to tell of some rope; 2 when the file or the call can't be used."""
    whole = open_rig(asked.rig)
    from analyser.checking.hanging import haul
    from analyser.doors.commands.measuring import along

    at = state_asked(whole, asked)
    told = haul(at, asked.rope, along(asked.along))
    status = 1 if any(one.advantage is None for one in told.ropes) else 0
    return Answer(status, told, partial(page, told, shown_state(asked.rig, whole, at), full=asked.full))


def page(told: Hauling, file: str, *, full: bool = False) -> Page:
    from analyser.pages.writing.haul_page import haul_page

    return haul_page(told.rig, file, told.told, told.at_rest, full=full)
