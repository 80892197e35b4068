"""A search that takes long: its progress on a terminal, and the budget that ends it."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import Any

SHOWN_AFTER = 1.0
"""Seconds before progress is shown: most searches are over by then."""


class Watching:
    """Told by the search how far it is; says whether it may go on."""

    def __init__(self, budget: float | None) -> None:
        self.budget = budget
        self.started = time.monotonic()
        self.bar: Any = None
        self.task: Any = None

    def __enter__(self) -> Watching:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self.bar is not None:
            self.bar.stop()

    def __call__(self, order: int, done: int, every: int) -> bool:
        passed = time.monotonic() - self.started
        if passed > SHOWN_AFTER and sys.stderr.isatty():
            self._show(order, done, every)
        return self.budget is None or passed <= self.budget

    def _show(self, order: int, done: int, every: int) -> None:
        if self.bar is None:
            from rich.console import Console
            from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

            columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
            self.bar = Progress(*columns, console=Console(stderr=True), transient=True)
            self.bar.start()
            self.task = self.bar.add_task("")
        words = f"sets of {order}: {done:,} of {every:,} candidates" if every else f"sets of {order}"
        self.bar.update(self.task, description=words, completed=done, total=every or None)
