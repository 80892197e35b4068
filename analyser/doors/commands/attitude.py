"""`stillheld attitude RIG LITTER`: how a litter hangs, and leg lengths for a wished attitude."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.checking.results import CAUTIONS, FORMAT
from analyser.doors.commands.measuring import band, measure, refused
from analyser.doors.commands.opening import open_rig, show_mistakes, shown
from analyser.doors.commands.statics import show_missing, statics_of
from analyser.language.mistakes import Unreadable, did_you_mean
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces import Hung, OutOfReach, Statics, Wished

BOUNDS = (-3.0, 10.0)
"""Metres of line taken in and let out within which a wished attitude is looked for."""
STEPS = 24
"""Rows of a sweep after its first."""


def run(options: argparse.Namespace) -> int:
    """0 when told; 1 when no length gives the wished attitude; 2 when the file or the call can't be used."""
    try:
        rig = open_rig(options.rig)
        wished_for = measure(options.head_up, "angle", "--head-up 5 deg") if options.head_up else None
        reach = band(options.sweep, "length", "--sweep 0..6 m") if options.sweep else None
        if options.plot and not reach:
            raise refused("--plot draws a sweep, and none is asked for", "write --sweep 0..6 m beside it")
        if options.plot and Path(options.plot).suffix.lower() != ".svg":
            raise refused(f"{options.plot}: the plot is an .svg file", "write a name that ends in .svg")
        found = statics_of(rig, options.along)
        from analyser.forces import Missing

        if isinstance(found, Missing):
            return show_missing(rig, found, as_json=options.json)
        return _told(options, rig, found, wished_for, reach)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)


def _told(
    options: argparse.Namespace,
    rig: Rig,
    statics: Statics,
    wished_for: float | None,
    reach: tuple[float, float] | None,
) -> int:
    from analyser.forces.levelling import OutOfReach, adjusted, hung, sweep, wished

    lines = _lines(statics, options.litter, options.lines)
    lines = lines or adjusted(statics, options.litter)
    if not lines and (wished_for is not None or reach):
        raise refused(f"no leg is at the foot of {options.litter}", "name what is let out: --lines leg-3,leg-4")
    now = hung(statics, options.litter, (), 0.0)
    if options.litter in now.equilibrium.falls:
        raise refused(f"{options.litter} isn't held: nothing in the statics keeps it from falling")
    _accepted(now)
    wish = wished(statics, options.litter, lines, wished_for, bounds=BOUNDS) if wished_for is not None else None
    if wish is not None and not isinstance(wish, OutOfReach):
        _accepted(wish.hung)
    table: Sequence[Hung] = ()
    if reach:
        first, last = reach
        shortest = min(now.equilibrium.line(name).rest for name in lines)
        if shortest + first <= 0:
            raise refused(f"{lines[0]} is {shortest:.2f} m long: {-first:g} m can't be taken in")
        table = sweep(statics, options.litter, lines, [first + (last - first) * k / STEPS for k in range(STEPS + 1)])
        for one in table:
            _accepted(one)
    if options.plot:
        try:
            Path(options.plot).write_text(_plot(rig, options.litter, lines, table), encoding="utf-8", newline="\n")
        except OSError as error:
            raise refused(f"{options.plot}: cannot be written: {error.strerror}") from None
    if options.json:
        data = _data(rig, options.litter, lines, now, wish, table)
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.attitude_page import attitude_page

        show(attitude_page(rig, shown(options.rig), options.litter, lines, now, wish, table))
    return 1 if isinstance(wish, OutOfReach) else 0


def _lines(statics: Statics, body: str, named: Sequence[str]) -> tuple[str, ...]:
    """The lines named on the command line; raises `Unreadable` for what is no litter or no line."""
    from analyser.forces.levelling import ends_of

    rig = statics.rig
    litters = [name for name in sorted(statics.said.shapes) if all(ends_of(rig, name))]
    if body not in litters:
        hint = did_you_mean(body, litters, f"there are: {', '.join(litters)}" if litters else "")
        raise refused(f"`{body}` is no litter with a head and a foot in use", hint)
    known = statics.equilibrium().lines
    found = []
    for name in (word for words in named for word in words.split(",") if word):
        mine = [one.name for one in known if name in (one.name, one.part)]
        mine = mine or [one.name for one in known if one.rope == name]
        if len(mine) != 1:
            names = [one.name for one in known]
            hint = f"name one of them: {', '.join(mine)}" if mine else did_you_mean(name, names, ", ".join(names))
            raise refused(f"`{name}` is {'several lines' if mine else 'no line of this rig'}", hint)
        found.append(mine[0])
    return tuple(found)


def _accepted(one: Hung) -> None:
    if not one.equilibrium.accepted:
        raise refused(
            f"no rest was found with {one.out:.2f} m let out: forces are off by {one.residual:.0e} of the load",
            "no figure counts then: look for a place or length that can't be",
        )


def _plot(rig: Rig, body: str, lines: Sequence[str], table: Sequence[Hung]) -> str:
    from analyser.checking.finding import listed
    from analyser.forces.levelling import alike
    from analyser.pages.drawing.plotting import Panel, plot

    angles = Panel("head over feet, deg", ((body, tuple(one.head_up for one in table)),))
    rest = table[0].equilibrium

    def called(names: Sequence[str]) -> str:
        return listed([rest.called(rest.line(name)) for name in names])

    curves = tuple((called(names), tuple(one.tensions[names[0]] / 1000 for one in table)) for names in alike(table))
    note = "At rest. A model of what was written, not of the rope in the hand."
    return plot(
        f"{rig.title}: {body}",
        f"{called(lines)} let out, m",
        [one.out for one in table],
        (angles, Panel("pull, kN", curves)),
        note,
    )


def _data(
    rig: Rig,
    body: str,
    lines: Sequence[str],
    now: Hung,
    wish: Wished | OutOfReach | None,
    table: Sequence[Hung],
) -> dict[str, object]:
    from analyser.forces import OutOfReach

    told: dict[str, object] | None = None
    if isinstance(wish, OutOfReach):
        told = {
            "head_up_deg": wish.wished,
            "reached": False,
            "lowest_deg": figure(wish.lowest),
            "highest_deg": figure(wish.highest),
        }
    elif wish is not None:
        lengths = {name: figure(wish.lengths[name]) for name in sorted(wish.lengths)}
        told = {"head_up_deg": figure(wish.hung.head_up), "reached": True, "lengths_m": lengths, **_hung(wish.hung)}
    return {
        "format": FORMAT,
        "rig": rig.title,
        "revision": rig.revision,
        "litter": body,
        "let_out": list(lines),
        "as_written": _hung(now),
        "wished": told,
        "sweep": [_hung(one) for one in table],
        "taken": list(now.equilibrium.assumed),
        "cautions": list(CAUTIONS),
    }


def _hung(one: Hung) -> dict[str, object]:
    return {
        "let_out_m": figure(one.out),
        "head_up_deg": figure(one.head_up),
        "roll_deg": None if one.pose.roll is None else figure(one.pose.roll),
        "lines": [
            {
                "name": each.name,
                "force_n": figure(each.tension),
                "slack": each.slack,
                "length_m": figure(each.length),
                "rest_m": figure(each.rest),
            }
            for each in sorted(one.equilibrium.lines, key=lambda each: each.name)
        ],
        "residual": float(f"{one.residual:.0e}"),
    }


def figure(number: float) -> float:
    """A number to a thousandth: what lies below is noise, and would not be the same on every machine."""
    return round(number, 3) + 0.0
