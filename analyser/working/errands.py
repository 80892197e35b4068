"""What a worker of a cluster is given, and what it gives back: bytes alone (`packing.py`)."""

from __future__ import annotations

import hashlib
import platform
from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import TypeVar

from analyser.working.packing import packed, unpacked
from analyser.working.place import Alone, working

T = TypeVar("T")

NUMBERS = ("numpy", "numba", "clarabel")
"""Packages whose version may change the last digits of a figure."""
TEXT = (("analyser", "**/*.py"), ("grammar", "*.py"), ("grammar", "*.lark"), ("grammar", "*.rig"))
"""What answers follow from, by package."""

_one_at_a_time = Lock()
"""A worker may have several threads: some of what the work sets is the whole process's."""


@cache
def made_of() -> dict[str, str]:
    """What answers depend on here: equal there, or nothing is sent there."""
    python = ".".join(platform.python_version_tuple()[:2])
    ours = {"stillheld": f"{_version('stillheld')}, text {_text()}", "Python": python}
    return ours | {name: _version(name) for name in NUMBERS}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def _text() -> str:
    """Eight characters of a digest of our own text: a version is worked on for a while."""
    digest = hashlib.blake2b(digest_size=4)
    for package, pattern in TEXT:
        folder = Path(import_module(package).__file__ or "").parent
        for path in sorted(folder.glob(pattern)):
            digest.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def done(there: dict[str, str], errand: bytes) -> tuple[dict[str, str], bytes]:
    """What a function makes of what it is given, both in `errand`; or nothing, beside what this worker is made of,
    where whoever asks is made of something else (`there`)."""
    if there != made_of():
        return made_of(), b""
    with _one_at_a_time, working(Alone()):
        function, given = unpacked(errand)
        return {}, packed(function(*given))


def beside(task: Callable[[str], T], files: Mapping[str, bytes], name: str) -> T:
    """What a task makes of a file that was sent along with others: they lie in a folder as where they came from."""
    with TemporaryDirectory(prefix="stillheld-") as made:
        folder = Path(made).resolve()
        for file, data in files.items():
            path = (folder / file).resolve()
            if not path.is_relative_to(folder):
                raise ValueError(f"{file} lies outside of its folder")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        return task(str(folder / name))
