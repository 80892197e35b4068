"""`stillheld compare OLD.rig NEW.rig`, or `--git REV FILE`: what changed, and what it did.

Exit status: 0 nothing is worse, 1 something is (`comparing/comparison.py` says exactly what that
means), 2 one of the two could not be understood.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Literal

from analyser.doors.commands.opening import mistakes, open_rig, show_mistakes, shown
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Rig
from analyser.uses.comparing.comparison import Comparison, compare
from analyser.uses.comparing.revisions import read_revision

FORMATS: tuple[Literal["svg", "png", "dot"], ...] = ("svg", "png", "dot")


def run(options: argparse.Namespace) -> int:
    """Both revisions are read before anything is told, so that the mistakes of both are shown in one run."""
    wanted = 1 if options.git is not None else 2
    if len(options.rigs) != wanted:
        how = "stillheld compare --git REV FILE" if wanted == 1 else "stillheld compare OLD.rig NEW.rig"
        sys.stderr.write(f"{len(options.rigs)} files named, and {wanted} wanted: `{how}`\n")
        return 2
    if options.rigs == ["-", "-"] or (wanted == 1 and options.rigs == ["-"]):
        sys.stderr.write("standard input can be one of two files, and has no revisions\n")
        return 2
    if options.draw and not _format(options.draw):
        sys.stderr.write(f"{options.draw}: write a name that ends in .svg, .png or .dot\n")
        return 2
    if wanted == 1:
        file = Path(options.rigs[0])
        revision = "".join(c if c.isprintable() else "?" for c in options.git)[:80]
        sides: dict[str, tuple[str, Callable[[], Rig]]] = {
            "old": (f"{shown(file.name)} in {revision}", lambda: read_revision(options.git, file)),
            "new": (shown(file.name), lambda: open_rig(options.rigs[0])),
        }
    else:
        old, new = options.rigs
        sides = {"old": (shown(old), lambda: open_rig(old)), "new": (shown(new), lambda: open_rig(new))}
    rigs, errors = _read(sides)
    if errors:
        return _not_read(sides, errors, as_json=options.json)
    compared = compare(rigs["old"], rigs["new"])
    if options.json:
        sys.stdout.write(compared.as_json() + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.compare_page import compare_page

        show(compare_page(compared, sides["old"][0], sides["new"][0]))
    if options.draw and not _drawn(compared, options.draw):
        return 2
    return compared.exit_status


def _read(sides: dict[str, tuple[str, Callable[[], Rig]]]) -> tuple[dict[str, Rig], dict[str, Unreadable]]:
    rigs: dict[str, Rig] = {}
    errors: dict[str, Unreadable] = {}
    for side, (_, reading) in sides.items():
        try:
            rigs[side] = reading()
        except Unreadable as error:
            errors[side] = error
    return rigs, errors


def _not_read(sides: dict[str, tuple[str, Callable[[], Rig]]], errors: dict[str, Unreadable], *, as_json: bool) -> int:
    """Which of the two could not be read, and why: often both are called the same."""
    if as_json:
        document: dict[str, object] = {}
        told: list[object] = []
        for side, error in errors.items():
            document = mistakes(error)
            found = document["errors"]
            assert isinstance(found, list)
            told += [{"of": side, **one} for one in found]
        sys.stdout.write(json.dumps(document | {"errors": told}, indent=2, ensure_ascii=False) + "\n")
        return 2
    for number, (side, error) in enumerate(errors.items()):
        sys.stderr.write(("\n" if number else "") + f"the {side} revision ({sides[side][0]}) can't be understood:\n")
        show_mistakes(error, as_json=False)
    return 2


def _format(name: str) -> Literal["svg", "png", "dot"] | None:
    return next((one for one in FORMATS if Path(name).suffix.lower() == f".{one}"), None)


def _drawn(compared: Comparison, name: str) -> bool:
    from analyser.pages.drawing.both import both_source
    from analyser.pages.drawing.rendering import NotDrawn, render

    format = _format(name)
    assert format
    try:
        Path(name).write_bytes(render(both_source(compared), format))
    except NotDrawn as error:
        sys.stderr.write(f"{error}\n")
        return False
    except OSError as error:
        sys.stderr.write(f"{name}: cannot be written: {error.strerror}\n")
        return False
    return True
