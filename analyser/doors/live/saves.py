"""When a rig's files change. Their folders are watched, since editors save by replacing a file."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType

QUIET_MS = 15
"""A save is over when nothing has happened in the folder for so long: some editors save in two steps."""
GATHERED_MS = 200
"""But after so long what happened so far is looked at, though more is happening."""
LOOKED_AT_EVERY = 1.0
"""Seconds between looks at the files without any notice: for folders that were replaced, and file
systems that give none."""

Mark = tuple[int, int, int, int] | None
"""What tells one version of a file from another; None where there is no file."""


class Changes:
    """Tells when one of some files was changed, replaced, deleted or made anew."""

    def __init__(self) -> None:
        self.marks: dict[Path, Mark] = {}
        self.noticed = threading.Event()
        self.folders: dict[Path, Mark] = {}
        self.ended = threading.Event()
        self.thread: threading.Thread | None = None

    def __enter__(self) -> Changes:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._stop()

    def seen(self) -> None:
        """The files are about to be read: what changes from here on is a change."""
        self.noticed.clear()
        self.marks = {file: _mark(file) for file in self.marks}

    def follow(self, files: Iterable[Path], since: float) -> None:
        """Watch these files from now on; a new one of them that changed after `since` (seconds, as of
        `time.time`) counts as changed."""
        marks: dict[Path, Mark] = {}
        for file in files:
            mark = _mark(file)
            fresh = mark is not None and mark[0] >= since * 1e9
            marks[file] = self.marks.get(file, None if fresh else mark)
        self.marks = marks
        folders = {folder: _mark(folder, whole=False) for folder in map(_standing, marks)}
        if folders != self.folders or not (self.thread and self.thread.is_alive()):
            self._stop()
            self.folders = folders
            self.ended = threading.Event()
            self.thread = threading.Thread(target=self._watch, args=(tuple(folders), self.ended), name="changes")
            self.thread.start()

    def pending(self) -> bool:
        """Has a file changed since it was seen? Costs next to nothing while nothing was noticed."""
        return self.noticed.is_set() and self._changed()

    def wait(self) -> None:
        """Return once a file has changed since it was seen."""
        while not self._changed():
            self.noticed.wait(LOOKED_AT_EVERY)
            self.noticed.clear()

    def _changed(self) -> bool:
        return any(_mark(file) != mark for file, mark in self.marks.items())

    def _watch(self, folders: tuple[Path, ...], ended: threading.Event) -> None:
        """The thread. Where a folder can't be watched, `wait` still looks at the files now and then."""
        from watchfiles import watch

        try:
            for _ in watch(
                *folders,
                watch_filter=None,
                stop_event=ended,
                step=QUIET_MS,
                debounce=GATHERED_MS,
                recursive=False,
                raise_interrupt=False,
            ):
                self.noticed.set()
        except (OSError, RuntimeError):
            ended.wait(LOOKED_AT_EVERY)

    def _stop(self) -> None:
        self.ended.set()
        if self.thread:
            self.thread.join()


def _mark(file: Path, *, whole: bool = True) -> Mark:
    """What tells this version of a file; with `whole` false, only whether it is the same file at all."""
    try:
        told = file.stat()
    except (OSError, ValueError):
        return None
    if not whole:
        return 0, 0, 0, told.st_ino
    return told.st_mtime_ns, told.st_ctime_ns, told.st_size, told.st_ino


def _standing(file: Path) -> Path:
    """The folder of a file; the nearest one above it where that is gone."""
    folder = file.parent.absolute()
    while not folder.is_dir() and folder != folder.parent:
        folder = folder.parent
    return folder


def now() -> float:
    """The clock that files are stamped by, in seconds, a tick early: it may be coarser than ours."""
    return time.time() - 0.02
