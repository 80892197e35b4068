"""Opening a rig for a command: a file or standard input, or its mistakes shown and nothing else."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import analyser
from analyser.language.mistakes import Unreadable
from analyser.language.source import MOST_BYTES, shown_name

if TYPE_CHECKING:
    from analyser.checking.calling import At
    from analyser.rig.model import Rig
    from analyser.rig.plan import Plan

STANDARD_INPUT = "standard input"


def shown(name: str) -> str:
    """How a rig's file is called in output: without the machine's folders."""
    return STANDARD_INPUT if name == "-" else shown_name(Path(name).name)


def open_rig(name: str) -> Plan:
    """The rig; raises `Unreadable`."""
    if name == "-":
        return analyser.read_text(sys.stdin.buffer.read(MOST_BYTES + 1), STANDARD_INPUT, Path())
    return analyser.read(name)


def open_text(name: str) -> tuple[str, str, Path]:
    """A rig's own text, how its file is called in messages, and its folder; raises `Unreadable`."""
    if name == "-":
        data, file, folder = sys.stdin.buffer.read(MOST_BYTES + 1), STANDARD_INPUT, Path()
    else:
        analyser.read(name)  # so that a file which can't be read is told as in every command
        path = Path(name)
        data, file, folder = path.read_bytes(), path.name, path.parent
    try:
        return data.decode("utf-8-sig"), file, folder
    except UnicodeDecodeError:
        analyser.read_text(data, file, folder)  # refused by the reader, with its reason
        raise


def files_of(name: str, rig: Rig | None = None) -> tuple[Path, ...]:
    """The files that a rig was read from: its own, and those that it includes, as far as something of them is
    in the rig."""
    own = () if name == "-" else (Path(name),)
    folder = Path() if name == "-" else Path(name).parent
    if rig is None:
        return own
    places = (rig.parts.values(), rig.ropes, rig.requirements, rig.sound, rig.accepted, rig.waived, rig.stages)
    included = {one.place.file for those in places for one in those} - {rig.place.file}
    return (*own, *(folder / file for file in sorted(included)))


def one_state(options: argparse.Namespace) -> bool:
    """Do the options ask for one state of the rig?"""
    return any(one is not None for one in (options.state, options.stage, options.step, options.during))


def state_asked(rig: Rig, options: argparse.Namespace) -> At:
    """The rig in the state that `--state`, or `--stage` and `--step`, and `--during` ask for. Raises `Refused`."""
    from analyser.checking.calling import at

    return at(rig, options.state, options.stage, options.step, options.during)


def shown_state(name: str, rig: Plan, at: At) -> str:
    """The file and the state that a page is about."""
    if at.number == 0:
        return shown(name)
    step = rig.steps[at.number - 1]
    done = f"“{step.words}” (line {step.place.line})"
    when = f"during {done}, {at.when}" if at.when else f"after {done}"
    return f"{shown(name)}  state {at.number}, {when}"


def show_mistakes(error: Unreadable, *, as_json: bool) -> int:
    """Print what was wrong with the file; returns the exit status 2."""
    if as_json:
        from analyser.checking.contract import as_text
        from analyser.checking.shapes import errors

        sys.stdout.write(as_text(errors(error.mistakes)) + "\n")
    else:
        from analyser.pages.writing.mistakes_page import mistakes_text

        sys.stderr.write(mistakes_text(error.mistakes, error.sources))
    return 2
