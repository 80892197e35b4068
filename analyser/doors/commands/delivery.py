"""Whether the answer reached anybody: standard output and error that never end a command half way.

A reader who has seen enough (`stillheld check RIG | head -1`) changes no answer: the command's own exit
status stands. An answer that could not be delivered at all (a full disk, a closed stream) is none: status
2, and one line on the error stream.
"""

from __future__ import annotations

import io
import os
import sys
from typing import Self, TextIO

UNDELIVERED = 2


class NobodyThere(Exception):
    """What goes on until its reader goes away has nobody to go on for."""


class _Stream(io.FileIO):
    """A stream's end that takes every byte, and remembers why one could not be passed on."""

    def __init__(self, number: int, *, closed: bool) -> None:
        super().__init__(number, "wb", closefd=False)
        self.ends = False
        """Does the command end where nothing can be passed on any more?"""
        self.left = False
        """Did the reader stop reading?"""
        self.lost: str | None = "it is closed" if closed else None
        self.anything = False

    def write(self, data: object) -> int:
        size = len(memoryview(data))  # type: ignore[arg-type]  # whatever has bytes
        self.anything = self.anything or size > 0
        if not self.left and self.lost is None:
            try:
                return super().write(data) or 0  # type: ignore[arg-type]
            except BrokenPipeError:
                self.left = True
            except OSError as error:
                self.lost = error.strerror or str(error)
        if self.ends and size:
            raise NobodyThere
        return size


class Delivery:
    """Standard output and error while one command runs: streams of ours in the place of the process's own
    (where somebody has put theirs there already, those stay)."""

    def __init__(self) -> None:
        self.before = sys.stdout, sys.stderr
        self.out: _Stream | None = None

    def __enter__(self) -> Self:
        if sys.stdout is sys.__stdout__:
            sys.stdout, self.out = _stream(sys.stdout, 1)
        if sys.stderr is sys.__stderr__:
            sys.stderr, _ = _stream(sys.stderr, 2)
        return self

    def __exit__(self, *_: object) -> None:
        self.give_back()

    def go_on(self) -> None:
        """For what goes on until its reader goes away: it ends there, by `NobodyThere`."""
        if self.out is not None:
            self.out.ends = True

    def give_back(self) -> None:
        """The process's own streams again: for a server that closes them itself."""
        mine = [now for now, before in zip((sys.stdout, sys.stderr), self.before, strict=True) if now is not before]
        for stream in mine:
            stream.flush()
        sys.stdout, sys.stderr = self.before
        self.out = None

    def status(self, answer: int) -> int:
        """The exit status: that of the answer where it was delivered, or where its reader had seen enough."""
        if self.out is None:
            return answer
        self.out.ends = False
        sys.stdout.flush()
        if self.out.lost is not None and self.out.anything:
            sys.stderr.write(f"the answer could not be written to standard output: {self.out.lost}\n")
            return UNDELIVERED
        return answer


def _stream(now: TextIO | None, number: int) -> tuple[TextIO, _Stream]:
    """A stream in the place of one of the process's own; None stands for one that was closed from the start."""
    if now is None:  # so that no file which is opened later gets the number, and the answer with it
        spare = os.open(os.devnull, os.O_WRONLY)
        if spare != number:
            os.dup2(spare, number)
            os.close(spare)
    else:
        now.flush()
    raw = _Stream(number, closed=now is None)
    text = io.TextIOWrapper(io.BufferedWriter(raw), encoding="utf-8", errors="replace", line_buffering=raw.isatty())
    return text, raw
