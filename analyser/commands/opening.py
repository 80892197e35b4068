"""Opening a rig for a command: a file or standard input, or its mistakes shown and nothing else."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path

import analyser
from analyser.reading.mistakes import Mistake, Place, Unreadable, did_you_mean
from analyser.reading.source import MOST_BYTES
from analyser.rig.model import Failure, Rig

STANDARD_INPUT = "standard input"
COMMAND_LINE = "command line"


def shown(name: str) -> str:
    """How a rig's file is called in output: without the machine's folders."""
    return STANDARD_INPUT if name == "-" else Path(name).name


def open_rig(name: str) -> Rig:
    """The rig; raises `Unreadable`."""
    if name == "-":
        return analyser.read_text(sys.stdin.buffer.read(MOST_BYTES + 1), STANDARD_INPUT, Path())
    return analyser.read(name)


def show_mistakes(error: Unreadable, *, as_json: bool) -> int:
    """Print what was wrong with the file; returns the exit status 2."""
    if as_json:
        sys.stdout.write(json.dumps(mistakes(error), indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.writing.terminal import mistakes_text

        sys.stderr.write(mistakes_text(error.mistakes, error.sources))
    return 2


def mistakes(error: Unreadable) -> dict[str, object]:
    from analyser.results import mistakes_as_data

    return mistakes_as_data(error.mistakes)


def chosen(rig: Rig, ids: Sequence[str]) -> list[Failure]:
    """The failures named on the command line; raises `Unreadable` for one that cannot be."""
    known = {failure.id: failure for failure in rig.failures}
    sound = {one.failure: one for one in rig.sound}
    found: list[Failure] = []
    wrong: list[Mistake] = []
    for one in ids:
        name = " ".join(one.split())
        if name in known:
            found.append(known[name])
        elif name in sound:
            text = f"`{name}` is taken as impossible (line {sound[name].place.line}): {sound[name].reason}"
            hint = "take that `sound` line out to see what it would do"
            wrong.append(Mistake(Place(COMMAND_LINE, 1), text, hint))
        else:
            part = name.split(" ")[0]
            own = [failure for failure, f in known.items() if part in (f.part, f.part.split("[")[0])]
            hint = did_you_mean(name, known)
            if own and (not hint or part in rig.parts):
                hint = "what can fail of it: " + ", ".join(own)
            wrong.append(Mistake(Place(COMMAND_LINE, 1), f"`{name}` is not a failure of this rig", hint))
    if wrong:
        raise Unreadable(wrong, {})
    return found
