"""`stillheld attitude RIG LITTER`: how a litter hangs, and leg lengths for a wished attitude."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import Answer, NotDone, put_file
from analyser.doors.commands.opening import files_of, open_rig, shown_state, state_asked
from analyser.doors.commands.options import ALONG, as_json, full, one_rig, state

if TYPE_CHECKING:
    from analyser.checking.hanging import Attitude
    from analyser.pages.tree import Page


def options(one: ArgumentParser) -> None:
    one_rig(one)
    one.add_argument("litter", metavar="LITTER", help="the litter, or another body with a head and a foot")
    one.add_argument("--head-up", nargs="+", metavar="ANGLE", help="how far head over feet is wished: 5 deg")
    words = "what is let out (default: the legs at the foot end, or the tackle that they hang from)"
    one.add_argument("--lines", action="append", default=[], metavar="A,B", help=words)
    one.add_argument("--sweep", nargs="+", metavar="FROM..TO", help='let out step by step: 0..6 m, "-0.5..2 m"')
    one.add_argument("--plot", metavar="FILE", help="the sweep as curves, FILE.svg")
    one.add_argument("--along", nargs="+", default=[], metavar="PERSON=LENGTH", help=ALONG)
    state(one)
    full(one)
    as_json(one)


def run(asked: Namespace) -> Answer:
    """0 when told; 1 when no length gives the wished attitude; 2 when the file or the call can't be used."""
    whole = open_rig(asked.rig)
    from analyser.checking.calling import refused
    from analyser.checking.hanging import attitude
    from analyser.doors.commands.measuring import along, band, measure

    at = state_asked(whole, asked)
    head_up = measure(asked.head_up, "angle", "--head-up 5 deg") if asked.head_up else None
    reach = band(asked.sweep, "length", "--sweep 0..6 m") if asked.sweep else None
    if asked.plot and not reach:
        raise refused("--plot draws a sweep, and none is asked for", "write --sweep 0..6 m beside it")
    if asked.plot and Path(asked.plot).suffix.lower() != ".svg":
        raise refused(f"{asked.plot}: the plot is an .svg file", "write a name that ends in .svg")
    lines = [name for words in asked.lines for name in words.split(",") if name]
    told = attitude(at, asked.litter, head_up=head_up, lines=lines, reach=reach, along=along(asked.along))
    if asked.plot:
        try:
            put_file(asked.plot, _plot(told).encode(), files_of(asked.rig, whole))
        except NotDone as error:
            raise refused(str(error)) from None
    unreached = told.wished is not None and not told.wished.reached
    return Answer(1 if unreached else 0, told, partial(page, told, shown_state(asked.rig, whole, at), full=asked.full))


def page(told: Attitude, file: str, *, full: bool = False) -> Page:
    from analyser.pages.writing.attitude_page import attitude_page

    asked = (told.as_written, told.wish, told.sweep, told.taken)
    return attitude_page(told.rig, file, told.litter, told.let_out, *asked, full=full)


def _plot(told: Attitude) -> str:
    from analyser.checking.finding import listed
    from analyser.forces.levelling import alike
    from analyser.pages.drawing.plotting import Panel, plot
    from analyser.rig.figures import units, value

    table = told.sweep
    angles = Panel("head over feet, deg", ((told.litter, tuple(one.head_up for one in table)),))
    rest = table[0].equilibrium

    def called(names: Sequence[str]) -> str:
        return listed([rest.called(rest.line(name)) for name in names])

    curves = tuple(
        (called(names), tuple(value(one.tensions[names[0]], units().force) for one in table)) for names in alike(table)
    )
    note = "At rest. A model of what was written, not of the rope in the hand."
    return plot(
        f"{told.rig.title}: {told.litter}",
        f"{called(told.let_out)} let out, {units().length}",
        [value(one.out, units().length) for one in table],
        (angles, Panel(f"pull, {units().force}", curves)),
        note,
    )
