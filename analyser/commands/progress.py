"""How far a long command has come: on a terminal only, on standard error, and only once it takes long."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic

LONG = 0.5
"""Seconds after which it is shown."""


@contextmanager
def shown_progress(words: str) -> Iterator[Callable[[int, int], None]]:
    """Gives what is to be told `(done, of how many)`. Nothing is left on the screen afterwards."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn(words), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    task = bar.add_task(words, total=None)
    begun = monotonic()

    def tell(done: int, total: int) -> None:
        if monotonic() - begun > LONG:
            bar.start()
            bar.update(task, completed=done, total=total)

    try:
        yield tell
    finally:
        bar.stop()
