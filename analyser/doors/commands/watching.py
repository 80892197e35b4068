"""A search that takes long: its progress on a terminal, and the budget that ends it."""

from __future__ import annotations

from types import TracebackType

from analyser.doors.commands.progress import Progress

SHOWN_AFTER = 1.0
"""Seconds before progress is shown: most searches are over by then."""


class Watching:
    """Told by the search how far it is; says whether it may go on."""

    def __init__(self, budget: float | None) -> None:
        self.budget = budget
        self.progress = Progress(after=SHOWN_AFTER)

    def __enter__(self) -> Watching:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.progress.__exit__(kind, error, at)

    def __call__(self, order: int, done: int, every: int) -> bool:
        words = f"sets of {order}: {done:,} of {every:,} candidates" if every else f"sets of {order}"
        self.progress(done, every or None, words)
        return self.budget is None or self.progress.passed <= self.budget
