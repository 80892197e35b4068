"""Where work is done that may be done side by side: in processes here, or by the workers of a cluster.

Both are an executor of `concurrent.futures`. Where it is, is a matter of the run and not of what is asked: no answer
depends on it, nor on how many there are. Costs no import.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import Executor

T = TypeVar("T")
MOST_HERE = 8
"""Processes that are started here where nobody says how many."""


class NoWork(Exception):
    """Work could not be given away, or was and there is no answer: why, and what to do instead."""

    def __init__(self, text: str, hint: str = "") -> None:
        super().__init__(text)
        self.text, self.hint = text, hint


class Workplace(Protocol):
    """Where work is done."""

    @property
    def far(self) -> bool:
        """Has it disks of its own? Then files are sent along."""

    @property
    def works_for_another(self) -> bool:
        """Is this one of those that work for somebody else, who is told how far they are?"""

    def workers(self, most: int | None) -> int:
        """How many pieces are worked on at once; `most` of them, where that can be chosen (None: as many as there
        are)."""

    def pool(self, workers: int) -> AbstractContextManager[Executor]:
        """What takes the work: its futures raise `BrokenExecutor` where whoever worked on it ended without an answer.

        What it takes is a function of a module with values of ours."""


class Here:
    """In processes of this machine."""

    far = works_for_another = False

    def workers(self, most: int | None) -> int:
        return most or min(os.cpu_count() or 1, MOST_HERE)

    def pool(self, workers: int) -> AbstractContextManager[Executor]:
        from analyser.working.pooled import pooled

        return pooled(workers)


class Alone(Here):
    """In this one process: it is itself one of those that work for another."""

    works_for_another = True

    def workers(self, most: int | None) -> int:
        return 1


_place: ContextVar[Workplace] = ContextVar("place", default=Here())  # noqa: B039  # it holds nothing


def place() -> Workplace:
    """Where work is done now."""
    return _place.get()


def by_itself(task: Callable[..., T], *given: object) -> T:
    """A piece of work that starts no processes of its own: those beside it have the processor."""
    with working(Alone()):
        return task(*given)


@contextmanager
def working(there: Workplace) -> Iterator[None]:
    """Within, work is done there."""
    before = _place.set(there)
    try:
        yield
    finally:
        _place.reset(before)
