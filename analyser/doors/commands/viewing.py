"""The check of a watched rig again at each save: on the terminal, and on its page."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, NoReturn

from analyser.doors.commands.watching import Watching
from analyser.doors.live.looking import Look, look
from analyser.doors.live.saves import Changes, now
from analyser.language.source import shown_name
from analyser.pages.writers.terminal import WIDTH_OF_A_PAGE, console, show
from analyser.pages.writing.mistakes_page import mistakes_text
from analyser.pages.writing.short_check import short_page

if TYPE_CHECKING:
    from analyser.doors.desk.following import Following


class View:
    """The rig on the terminal and on its page, kept up with the file."""

    def __init__(self, path: Path, order: int, page: Following | None, stack: ExitStack) -> None:
        self.path, self.order, self.page = path, order, page
        self.changes = stack.enter_context(Changes())
        self.last: Look | None = None

    def go_on(self) -> NoReturn:
        """Look, show, wait for the next save, for ever."""
        self.changes.follow([self.path], now())
        while True:
            self.changes.seen()
            since = now()
            if self.page:
                self.page.look_again()
            seen = self._look()
            self.changes.follow(seen.files, since)
            if not self.changes.pending():  # else what was found is of a file that is no more
                self._show(seen)
            self.changes.wait()

    def _look(self) -> Look:
        with Watching(None) as progress:

            def going_on(order: int, done: int, every: int) -> bool:
                return progress(order, done, every) and not self.changes.pending()

            return look(self.path, self.order, going_on, self.last)

    def _show(self, seen: Look) -> None:
        if seen.result:
            self.last = seen
        screen = console()
        if screen.is_terminal:
            screen.clear()
        if seen.result:
            show(short_page(seen.result, shown_name(self.path.name)))
        else:
            sys.stdout.write(mistakes_text(seen.mistakes, seen.sources))
        sys.stdout.write(f"\n{seen.status}\n")
        if self.page:
            sys.stdout.write(f"page: {self.page.address()}\n")
        if screen.is_terminal:
            sys.stdout.write("waiting for the next save; Ctrl-C ends\n")
        else:
            sys.stdout.write("─" * WIDTH_OF_A_PAGE + "\n")
        sys.stdout.flush()


@contextmanager
def terminated_cleanly() -> Iterator[None]:
    """SIGTERM ends the command as Ctrl-C does, with everything closed behind it; exit status 143."""

    def end(number: int, frame: FrameType | None) -> None:
        raise SystemExit(128 + number)

    before = signal.signal(signal.SIGTERM, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
