"""A cluster of processes on this machine, for tests and measurements: a scheduler, and workers that can be ended."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from pathlib import Path
from typing import Self

ROOT = Path(__file__).parent.parent
PATIENCE = 60.0
"""Seconds for a scheduler or a worker to come up: this machine may be busy."""


class Started:
    """A scheduler on loopback and its workers, each a process with one thread; ended with the block."""

    def __init__(self, folder: Path, workers: int = 0, *, nanny: bool = False) -> None:
        self.folder, self.first, self.nanny = folder, workers, nanny
        self.running: list[subprocess.Popen[bytes]] = []
        self.address = ""

    def __enter__(self) -> Self:
        self._start("scheduler", "--host", "127.0.0.1", "--port", "0")
        log = self.folder / "0.log"
        self.address = self._seen(log, r"Scheduler at:\s+(tcp://127\.0\.0\.1:\d+)")
        for one in [self.worker() for _ in range(self.first)]:
            self.there(one)
        return self

    def __exit__(self, *_: object) -> None:
        for one in reversed(self.running):
            one.kill()
            one.wait()

    @property
    def on(self) -> str:
        return f"dask:{self.address}"

    def worker(self, tree: Path = ROOT) -> int:
        """One more worker, whose modules are those of `tree`; which one it is."""
        how = ("--nanny",) if self.nanny else ("--no-nanny",)
        return self._start("worker", self.address, "--nthreads", "1", *how, tree=tree)

    def there(self, which: int) -> None:
        """Waits until that worker is there."""
        self._seen(self.folder / f"{which}.log", r"Registered to:\s+(\S+)")

    def end(self, which: int) -> None:
        """Kills a worker, in whatever it does."""
        self.running[which].kill()
        self.running[which].wait()

    def _start(self, role: str, *words: str, tree: Path = ROOT) -> int:
        number = len(self.running)
        env = {**os.environ, "PYTHONPATH": str(tree), "DASK_DISTRIBUTED__LOGGING__DISTRIBUTED": "info"}
        command = [sys.executable, "-m", f"distributed.cli.dask_{role}", *words, "--no-dashboard"]
        with (self.folder / f"{number}.log").open("wb") as log:
            self.running.append(subprocess.Popen(command, cwd=self.folder, env=env, stdout=log, stderr=log))
        return number

    def _seen(self, log: Path, pattern: str) -> str:
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if found := re.search(pattern, log.read_text(errors="replace")):
                return found[1]
            time.sleep(0.05)
        raise TimeoutError(log.read_text(errors="replace")[-2000:])
