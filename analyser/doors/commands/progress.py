"""How far a long command has come: on a terminal only, on standard error, and only once it takes long."""

from __future__ import annotations

import sys
from time import monotonic
from types import TracebackType
from typing import Any

from analyser.working.place import place


class Progress:
    """A bar that appears after `after` seconds. Call it with what is done and of how much (None: not known);
    nothing is left on the screen afterwards."""

    def __init__(self, words: str = "", after: float = 0.5) -> None:
        self.words = words
        self.after = after
        self.begun = monotonic()
        self.bar: Any = None
        self.task: Any = None

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self.bar is not None:
            self.bar.stop()

    @property
    def passed(self) -> float:
        """Seconds since it began."""
        return monotonic() - self.begun

    def __call__(self, done: int, total: int | None, words: str | None = None) -> None:
        if self.passed <= self.after or place().works_for_another or not sys.stderr.isatty():
            return
        if self.bar is None:
            from rich import progress
            from rich.console import Console

            columns = (progress.TextColumn("{task.description}"), progress.BarColumn(), progress.TimeElapsedColumn())
            self.bar = progress.Progress(*columns, console=Console(stderr=True), transient=True)
            self.bar.start()
            self.task = self.bar.add_task("")
        counted = f"{self.words}: {done} of {total}" if words is None else words
        self.bar.update(self.task, description=counted, completed=done, total=total)
