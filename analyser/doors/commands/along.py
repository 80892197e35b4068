"""The files that a rig is read from, to be sent along to where it is worked on."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from analyser.language.source import MOST_BYTES

INCLUDED = re.compile(rb'\binclude\s*"([^"\r\n]*)"')
"""Whatever may name a file that is included; one too many is sent for nothing."""


def files_along(name: str, more: Iterable[Path] = ()) -> dict[str, bytes] | None:
    """The bytes of a rig's file and of all that it includes, by their way from its folder; and of `more` files of that
    folder.

    None where that is not all there is to it: one of them is missing or can't be read, lies elsewhere, or is a link.
    What is said of it then depends on the disk.
    """
    found: dict[str, bytes] = {}
    try:
        main = Path(name)
        folder = main.parent.resolve()
        wanted = [folder / main.name]
        while wanted:
            path = wanted.pop()
            way = path.relative_to(folder).as_posix()
            if way in found:
                continue
            found[way] = _plain(path)
            wanted += [_within(path.parent, one.decode()) for one in INCLUDED.findall(found[way])]
        found |= {(folder / one.name).relative_to(folder).as_posix(): _plain(folder / one.name) for one in more}
    except (OSError, ValueError):
        return None
    return found


def _plain(path: Path) -> bytes:
    """The bytes of an ordinary file that is where it says."""
    if path.resolve() != path or not path.is_file():
        raise ValueError(f"{path} is no plain file")
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)


def _within(folder: Path, name: str) -> Path:
    """`../kit.rig` as seen from a folder, with nothing of the disk asked."""
    way = folder
    for step in Path(name).parts:
        way = way.parent if step == ".." else way / step
    return way
