"""Many cases worked out in order: in this process, and in others as well where there is much to do."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import as_completed
from time import process_time
from typing import Any, TypeVar

from analyser.holding.pooled import pooled

IN_ONE_PROCESS = 2.0
"""Seconds of work for which no second process is started."""
TIMED = 3
"""Cases after which it is known how long one takes."""
PIECES = 4
"""Pieces of work for each process: those that have short ones take more."""

C = TypeVar("C")
T = TypeVar("T")
Progress = Callable[[int, int], None]
"""Told how many cases are done, and of how many."""


def in_order(
    cases: Sequence[C],
    one: Callable[[C], T],
    several: Callable[..., list[T]],
    given: tuple[Any, ...],
    progress: Progress | None,
    processes: int | None,
) -> list[T]:
    """What `one` makes of every case. `several(*given, some)` makes the same of some cases in a process of its own,
    of which there are `processes` at most (None: one a core, up to eight)."""
    told: dict[int, T] = {}
    begun = process_time()
    workers = processes or min(os.cpu_count() or 1, 8)
    for at, case in enumerate(cases):
        told[at] = one(case)
        if progress:
            progress(len(told), len(cases))
        mean = (process_time() - begun) / len(told)
        if workers > 1 and len(told) >= TIMED and mean * (len(cases) - len(told)) > IN_ONE_PROCESS:
            break
    rest = range(len(told), len(cases))
    pieces = [rest[k :: PIECES * workers] for k in range(min(PIECES * workers, len(rest)))]
    if pieces:
        with pooled(workers) as pool:
            waiting = {pool.submit(several, *given, [cases[k] for k in piece]): piece for piece in pieces}
            for done in as_completed(waiting):
                told.update(zip(waiting[done], done.result(), strict=True))
                if progress:
                    progress(len(told), len(cases))
    return [told[k] for k in range(len(cases))]
