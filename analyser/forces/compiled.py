"""Functions that are run a million times, compiled when they are first called (numba), and kept for the next time.

What is kept belongs to the very text of this folder: its name holds a digest of that, so that nothing of an earlier
version is ever read.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compiled for the numbers it is called with: the same arithmetic in the same order, with no fast mathematics."""
    return _made(function, {"no_cfunc_wrapper": True})


def inner(function: F) -> F:
    """The same, for what only other compiled functions call: made in half the time."""
    return _made(function, {"no_cfunc_wrapper": True, "no_cpython_wrapper": True})


def _made(function: F, how: dict[str, bool]) -> F:
    place = _kept_in()
    settings: Any = numba.config
    njit: Any = numba.njit
    before, settings.CACHE_DIR = settings.CACHE_DIR, str(place or "")
    try:
        return cast(F, njit(cache=place is not None, error_model="numpy", nogil=True, **how)(function))
    finally:
        settings.CACHE_DIR = before


@cache
def _kept_in() -> Path | None:
    """The folder for what was compiled: beside the modules, else the user's cache; None if neither can be written."""
    here = Path(__file__).parent
    digest = hashlib.blake2b(digest_size=8)
    for path in sorted(here.glob("*.py")):
        digest.update(path.read_bytes())
    home = Path(os.environ.get("XDG_CACHE_HOME") or "~/.cache").expanduser()
    for place in (here / "__pycache__", home / "stillheld"):
        folder = place / f"compiled-{digest.hexdigest()}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return None
