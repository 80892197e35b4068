"""A first file: from a template, from a lesson, or a blank sheet, never over what is there; or one that is there."""

from __future__ import annotations

import re
from pathlib import Path

import grammar
from analyser.doors.desk.opened_file import NotOpened, OpenedFile
from analyser.doors.live.whole import put_new
from analyser.language.source import shown_name

BLANK = 'rig "A new rig"\nrevision 1\n'
"""A sheet with nothing on it but its title."""
UNFIT = re.compile(r'[\x00-\x1f\x7f<>:"/\\|?*]')
"""What some system doesn't take in the name of a file."""
LONGEST_NAME = 120
MOST_SHOWN = 100
"""Rigs of a folder that are offered."""


class NotBegun(Exception):
    """Nothing was written; the message says why."""


def templates() -> list[dict[str, str]]:
    """What may be begun with, the templates in their order."""
    return [{"name": name, "about": grammar.about(name)} for name in grammar.TEMPLATES if name != "empty"]


def lessons() -> list[dict[str, str]]:
    """The lessons that are still to be mended, each with its first line."""
    found = []
    for name, text in grammar.lessons().items():
        if name.endswith(".rig") and not name.endswith("-mended.rig"):
            found.append(
                {"name": name.removesuffix(".rig"), "about": text.partition("\n")[0].removeprefix("# ").strip()}
            )
    return found


def there(folder: Path) -> list[str]:
    """The rigs that are in a folder already, by name."""
    try:
        return sorted(one.name for one in folder.glob("*.rig") if one.name.isprintable() and one.is_file())[:MOST_SHOWN]
    except OSError:
        return []


def reopen(folder: Path, name: str) -> OpenedFile:
    """Open a rig that is in the folder. Raises `NotBegun`."""
    if name not in there(folder):
        raise NotBegun(f"there is no {shown_name(name)} in this folder any more")
    try:
        return OpenedFile(folder / name)
    except (OSError, NotOpened) as error:
        raise NotBegun(f"{shown_name(name)} cannot be opened: {getattr(error, 'strerror', None) or error}") from None


def begin(folder: Path, name: str, sort: str, which: str) -> OpenedFile:
    """Write a first file into a folder and open it. Raises `NotBegun`."""
    path = folder / _ending(name)
    try:
        put_new(path, _text(sort, which).encode())
        return OpenedFile(path)
    except FileExistsError:
        raise NotBegun(f"{path.name} is there already, and is never overwritten: give another name") from None
    except (OSError, NotOpened) as error:
        raise NotBegun(f"{path.name} cannot be written: {getattr(error, 'strerror', None) or error}") from None


def _text(sort: str, which: str) -> str:
    if sort == "blank":
        return BLANK
    if sort == "template" and which in grammar.TEMPLATES:
        return grammar.template(which)
    if sort == "lesson" and f"{which}.rig" in (known := grammar.lessons()):
        return known[f"{which}.rig"]
    raise NotBegun(f"there is no {sort} called {which}")


def _ending(name: str) -> str:
    """The name of a file in the folder, and of nothing else. Raises `NotBegun`."""
    name = name.strip()
    if not name or name.startswith(".") or UNFIT.search(name) or len(name) > LONGEST_NAME:
        raise NotBegun("a file's name is a word or a few, without / and the like: plan.rig")
    return name if name.endswith(".rig") else f"{name}.rig"
