"""Functions that are run a million times, compiled when they are first called (numba), and kept for the next time."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compiled for the numbers it is called with: the same arithmetic in the same order, with no fast mathematics.
    It is kept beside the module, or in the user's cache; where neither can be written, it is compiled anew."""
    try:
        return cast(F, numba.njit(cache=True, error_model="numpy", nogil=True)(function))
    except RuntimeError:
        return cast(F, numba.njit(error_model="numpy", nogil=True)(function))
