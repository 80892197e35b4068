"""`stillheld format RIG…`: one layout for every rig; what it says stays as it is."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from analyser.doors.commands.opening import STANDARD_INPUT, show_mistakes, shown
from analyser.doors.live.whole import Changed, put_whole
from analyser.language.mistakes import Mistake, Place, Unreadable
from analyser.language.source import shown_name


def options(one: ArgumentParser) -> None:
    one.add_argument("rigs", nargs="+", metavar="RIG", help="a .rig file, or - for standard input to output")
    one.add_argument("--check", action="store_true", help="write nothing: list what would change, exit status 1")
    one.add_argument("--diff", action="store_true", help="write nothing: show what would change, exit status 1")


def run(asked: Namespace) -> int:
    """0 when all was laid out (or was already); 1 when `--check` or `--diff` finds something to change;
    2 when a file couldn't be read or written: it is then as it was."""
    from analyser.language.formatting import laid_out
    from analyser.rig.catalogue import catalogue

    worst = 0
    look_only = asked.check or asked.diff
    for name in asked.rigs:
        try:
            data = _bytes(name)
            text = laid_out(data, shown(name), catalogue())
            changes = text.encode() != data
            if changes and not look_only and name != "-":
                _replace(Path(name), data, text.encode())
        except Unreadable as error:
            worst = show_mistakes(error, as_json=False)
            continue
        called = STANDARD_INPUT if name == "-" else shown_name(name)
        if asked.diff:
            sys.stdout.write(_difference(data, text, called))
        elif asked.check:
            sys.stdout.write(f"{called}\n" if changes else "")
        elif name == "-":
            sys.stdout.write(text)
        elif changes:
            sys.stdout.write(f"{called}: laid out\n")
        if look_only and changes:
            worst = max(worst, 1)
    return worst


def _bytes(name: str) -> bytes:
    from analyser.language.source import MOST_BYTES, read_bytes

    if name == "-":
        return sys.stdin.buffer.read(MOST_BYTES + 1)
    data, mistake = read_bytes(Path(name), shown(name))
    if mistake:
        raise Unreadable([mistake], {shown(name): []})
    return data


def _difference(data: bytes, text: str, called: str) -> str:
    import difflib

    before, after = (_kept_ends(one) for one in (data.decode("utf-8"), text))
    lines = difflib.unified_diff(before, after, f"{called} (as it is)", f"{called} (laid out)")
    return "".join(line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n" for line in lines)


def _kept_ends(text: str) -> list[str]:
    """The lines, each with its end: `splitlines` would also part them at other characters."""
    import re

    return [line for line in re.split(r"(?<=\n)", text) if line]


def _replace(path: Path, before: bytes, after: bytes) -> None:
    """Put a whole new file in the place of the old one, which stays until that moment.

    Raises `Unreadable` where that cannot be done, and the file is as it was.
    """
    place, sources = Place(shown(path.name), 1), {shown(path.name): [""]}
    try:
        if not os.access(path, os.W_OK):
            raise PermissionError(0, "it is write-protected")
        put_whole(path, after, instead_of=before)
    except Changed:
        changed = Mistake(place, "this file was changed while it was being laid out", "run it again")
        raise Unreadable([changed], sources) from None
    except OSError as error:
        wrong = f"this file cannot be written: {error.strerror or 'it cannot be replaced'}"
        raise Unreadable([Mistake(place, wrong, "nothing was changed")], sources) from error
