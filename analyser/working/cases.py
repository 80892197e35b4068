"""Many cases worked out in order: in this process, and in others as well where there is much to do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import process_time
from typing import Any, TypeVar

from analyser.working.place import NoWork, Workplace, place

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
    of which there are `processes` at most (None: as many as there are where work is done).

    Raises `NoWork` where one of those ends without an answer."""
    told: dict[int, T] = {}
    begun = process_time()
    there = place()
    workers = 1 if processes == 1 else there.workers(processes)
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
        _elsewhere(cases, pieces, several, given, told, progress, there, workers)
    return [told[k] for k in range(len(cases))]


def _elsewhere(
    cases: Sequence[C], pieces: Sequence[range], several: Callable[..., list[T]], given: tuple[Any, ...],
    told: dict[int, T], progress: Progress | None, there: Workplace, workers: int,
) -> None:  # fmt: skip
    """The pieces worked out by others, into `told`."""
    from concurrent.futures import BrokenExecutor, as_completed

    with there.pool(workers) as pool:
        waiting = {pool.submit(several, *given, [cases[k] for k in piece]): piece for piece in pieces}
        try:
            for done in as_completed(waiting):
                told.update(zip(waiting[done], done.result(), strict=True))
                if progress:
                    progress(len(told), len(cases))
        except BrokenExecutor:
            text = "a process that worked on a part of it was ended, and there is no answer (not enough memory?)"
            raise NoWork(text, "ask for less at once: fewer samples, or one state") from None
