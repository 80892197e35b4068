"""`stillheld forces RIG`: what carries what and what follows each failure, as far as the file tells; and what each
part may come to carry at worst where it doesn't."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer
from analyser.doors.commands.opening import one_state, open_rig, shown_state, state_asked
from analyser.doors.commands.options import as_json, full, on, one_rig, state

if TYPE_CHECKING:
    from analyser.checking.all_forces import AllForces
    from analyser.pages.tree import Page


def options(one: ArgumentParser) -> None:
    one_rig(one)
    words = "cases in which the bands of a file are looked at (default 100); every single failure in a fifth of them"
    one.add_argument("--samples", type=_samples, default=100, metavar="N", help=words)
    words = "follow every single failure in time, and show it as a table: drops, swings, peaks, what breaks when"
    one.add_argument("--motion", action="store_true", help=words)
    words = "hold what runs on a track so far along it, from its first end: carriage=12 m"
    one.add_argument("--along", nargs="+", default=[], metavar="PART=LENGTH", help=words)
    state(one)
    full(one)
    on(one)
    as_json(one)


def _samples(text: str) -> int:
    if text.isdigit() and 1 <= int(text) <= 100_000:
        return int(text)
    raise ArgumentTypeError(f"{text!r} is not a number of cases from 1 to 100000")


def run(asked: Namespace) -> Answer:
    """0 when the forces were worked out, 1 when the file lacks what they need: then only the worst case is told."""
    rig = open_rig(asked.rig)
    at = state_asked(rig, asked)
    from analyser.checking.all_forces import all_forces
    from analyser.doors.commands.measuring import along
    from analyser.doors.commands.progress import Progress
    from analyser.forces.alike import Follow
    from analyser.forces.loads import Samples

    held = along(asked.along)
    with Progress("cases within the bands") as progress, Progress("failures followed in time") as moving:
        samples = Samples(asked.samples, max(asked.samples // 5, 1), progress=progress, processes=None)
        told = all_forces(
            rig, samples, Follow(every=asked.motion, progress=moving), at if one_state(asked) else None, held
        )
    written = partial(page, told, shown_state(asked.rig, rig, at), motion=asked.motion, full=asked.full)
    return Answer(0 if told.told else 1, told, written)


def page(told: AllForces, file: str, *, motion: bool = False, full: bool = False) -> Page:
    from analyser.pages.writing.forces_in_short import forces_verdict
    from analyser.pages.writing.forces_page import forces_page
    from analyser.pages.writing.one_sheet import one_sheet

    whole = forces_page(told.result, told.worst_loads, told.held_along, told.in_hands, file, motion=motion)
    return one_sheet(whole, forces_verdict(told.result), full=full or motion)
