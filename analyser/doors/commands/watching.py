"""A search that takes long: its progress on a terminal, and the budget that ends it."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType, TracebackType

from analyser.doors.commands.progress import Progress

SHOWN_AFTER = 1.0
"""Seconds before progress is shown: most searches are over by then."""
SEARCHED, WHOLE = 0.7, 1.15
"""Of a budget, when the search ends; and when all ends, so that what is asked for is told within it."""
LEAST = 5.0
"""Seconds that a command has in any case, however small the budget: single failures are told of any usual rig."""


class OutOfTime(BaseException):
    """The budget is spent, whatever was being done."""


@contextmanager
def bounded(budget: float | None) -> Iterator[None]:
    """Raises `OutOfTime` in whatever is done in here once it takes longer than the budget and a little."""
    if budget is None:
        yield
        return
    most = max(WHOLE * budget, LEAST)
    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        with _Timer(most):
            yield
        return

    def end(number: int, frame: FrameType | None) -> None:
        raise OutOfTime

    before = signal.signal(signal.SIGALRM, end)
    signal.setitimer(signal.ITIMER_REAL, most)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


class _Timer:
    """For a thread that hears no signal, as that of a cluster's worker: raises in it what a signal would."""

    def __init__(self, seconds: float) -> None:
        self.thread, self.lock, self.over = threading.get_ident(), threading.Lock(), False
        self.timer = threading.Timer(seconds, self._ring)
        self.timer.daemon = True

    def __enter__(self) -> None:
        self.timer.start()

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.timer.cancel()
        with self.lock:
            self.over = True

    def _ring(self) -> None:
        from ctypes import c_ulong, py_object, pythonapi

        with self.lock:
            if not self.over:
                pythonapi.PyThreadState_SetAsyncExc(c_ulong(self.thread), py_object(OutOfTime))


def spent(budget: float | None, doing: str, *, at_least: bool = False) -> tuple[str, str]:
    """What is said in place of an answer for which there was no time, and what to do; `at_least`: who is held was
    seen."""
    told = "no more is told than who is held" if at_least else "nothing of it is told"
    text = f"stopped: the budget of {budget or 0.0:g} s was spent while {doing}; {told}"
    return text, "give it more time, or check parts of the rig that hang apart in files of their own"


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
        return self.budget is None or self.progress.passed <= SEARCHED * self.budget
