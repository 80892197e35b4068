"""`stillheld compare OLD.rig NEW.rig`, or `--git REV FILE`: what changed, and what it did.

Exit status: 0 nothing is worse, 1 something is (`uses/comparing/comparison.py` says exactly what that
means), 2 one of the two could not be understood.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from analyser.doors.commands.getting_out import Answer, NotDone, put_file, put_json
from analyser.doors.commands.opening import files_of, open_rig, show_mistakes, shown
from analyser.doors.commands.options import as_json, full
from analyser.language.mistakes import Unreadable

if TYPE_CHECKING:
    from analyser.pages.tree import Page
    from analyser.rig.model import Rig
    from analyser.uses.comparing.comparison import Comparison

FORMATS: tuple[Literal["svg", "png", "dot"], ...] = ("svg", "png", "dot")
WORSE = (
    "Worse is: somebody held before is not, or only by a person, or tips; has fewer attachments or independent "
    "ones; falls after fewer failures, or with every hand off; a single failure or a pair brings a body down that "
    "didn't (but for new parts in the place of others, or in line with them); a requirement that was met isn't, or "
    "is asked no more; a danger not accepted, a caution about what is there; an assumption, an accepted risk or an "
    "accepted finding added; a body heavier, a part weaker, a rope thinner, a gate or a device that locks no more; "
    "more carried, a deeper drop, a harder pull on a person, where the forces tell; each in any state. "
    "Exit status: 0 nothing is worse, 1 something is, 2 one of the two could not be understood."
)
"""`analyser/uses/comparing/comparison.py` says it exactly."""

Side = Literal["old", "new"]
Sides = dict[Side, tuple[str, Callable[[], "Rig"]]]


def options(one: ArgumentParser) -> None:
    one.description = f"{one.description} {WORSE}"
    one.add_argument("rigs", nargs="+", metavar="RIG", help="OLD.rig NEW.rig; with --git the one FILE")
    one.add_argument("--git", metavar="REV", help="compare FILE with what it was in this revision of git")
    full(one)
    as_json(one)
    one.add_argument("--draw", metavar="FILE", help="also both in one diagram: FILE.svg, FILE.png or FILE.dot")


def run(asked: Namespace) -> int:
    """Both revisions are read before anything is told, so that the mistakes of both are shown in one run."""
    sides = _sides(asked)
    rigs, errors = _read(sides)
    if errors:
        return _not_read(sides, errors, as_json=asked.json)
    from analyser.uses.comparing.comparison import compare

    told = compare(rigs["old"], rigs["new"])
    answer = Answer(told.exit_status, told, partial(page, told, sides["old"][0], sides["new"][0], full=asked.full))
    status = answer.deliver(asked)
    if asked.draw:
        inputs = tuple(file for name in asked.rigs for file in files_of(name, rigs["new"]))
        put_file(asked.draw, _drawn(told, asked.draw), inputs)
    return status


def page(told: Comparison, old: str, new: str, *, full: bool = False) -> Page:
    from analyser.pages.writing.compare_page import compare_page

    return compare_page(told, old, new, full=full)


def _sides(asked: Namespace) -> Sides:
    """What each revision is called, and how it is read; raises `NotDone` where the call names no two."""
    wanted = 1 if asked.git is not None else 2
    if len(asked.rigs) != wanted:
        how = "stillheld compare --git REV FILE" if wanted == 1 else "stillheld compare OLD.rig NEW.rig"
        raise NotDone(f"{len(asked.rigs)} files named, and {wanted} wanted: `{how}`")
    if asked.rigs == ["-", "-"] or (wanted == 1 and asked.rigs == ["-"]):
        raise NotDone("standard input can be one of two files, and has no revisions")
    if asked.draw and not _format(asked.draw):
        raise NotDone(f"{asked.draw}: write a name that ends in .svg, .png or .dot")
    if wanted == 2:
        old, new = asked.rigs
        return {"old": (shown(old), lambda: open_rig(old)), "new": (shown(new), lambda: open_rig(new))}
    from analyser.uses.comparing.revisions import read_revision

    file = Path(asked.rigs[0])
    revision = "".join(c if c.isprintable() else "?" for c in asked.git)[:80]
    return {
        "old": (f"{shown(file.name)} in {revision}", lambda: read_revision(asked.git, file)),
        "new": (shown(file.name), lambda: open_rig(asked.rigs[0])),
    }


def _read(sides: Sides) -> tuple[dict[Side, Rig], dict[Side, Unreadable]]:
    rigs: dict[Side, Rig] = {}
    errors: dict[Side, Unreadable] = {}
    for side, (_, reading) in sides.items():
        try:
            rigs[side] = reading()
        except Unreadable as error:
            errors[side] = error
    return rigs, errors


def _not_read(sides: Sides, found: dict[Side, Unreadable], *, as_json: bool) -> int:
    """Which of the two could not be read, and why: often both are called the same."""
    if as_json:
        from analyser.checking.shapes import Errors, errors

        told = (one for side, error in found.items() for one in errors(error.mistakes, side).errors)
        put_json(Errors(errors=tuple(told)))
        return 2
    for number, (side, error) in enumerate(found.items()):
        sys.stderr.write(("\n" if number else "") + f"the {side} revision ({sides[side][0]}) can't be understood:\n")
        show_mistakes(error, as_json=False)
    return 2


def _format(name: str) -> Literal["svg", "png", "dot"] | None:
    return next((one for one in FORMATS if Path(name).suffix.lower() == f".{one}"), None)


def _drawn(told: Comparison, name: str) -> bytes:
    from analyser.pages.drawing.both import both_source
    from analyser.pages.drawing.rendering import NotDrawn, render

    format = _format(name)
    assert format
    try:
        return render(both_source(told), format)
    except NotDrawn as error:
        raise NotDone(str(error)) from None
