"""Processes that work for this one, and leave Ctrl-C to it."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager


@contextmanager
def pooled(processes: int) -> Iterator[ProcessPoolExecutor]:
    """So many processes, ended where their work is done; where this one is stopped, nobody waits for theirs.

    They never hear Ctrl-C, not even while their modules load: who started them hears it, and ends them.
    """
    pool = ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"))
    try:
        with _deaf():
            pool.submit(int)  # all of them are started with the first piece of work
        yield pool
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        for child in multiprocessing.active_children():
            child.terminate()
        raise
    pool.shutdown()


@contextmanager
def _deaf() -> Iterator[None]:
    """What is started meanwhile has Ctrl-C blocked for good; here it comes a moment later."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows: told to all of them
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
