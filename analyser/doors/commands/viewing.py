"""The check of a watched rig again at each save: on the terminal, and on its page."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from threading import Lock
from time import perf_counter
from types import FrameType
from typing import NoReturn

from markupsafe import Markup

from analyser.doors.commands.watching import Watching
from analyser.doors.live.diagrams import Diagrams
from analyser.doors.live.looking import Look, look
from analyser.doors.live.saves import Changes, now
from analyser.doors.live.serving import Page
from analyser.pages.drawing.rendering import NotDrawn
from analyser.pages.writing.checking import check_page
from analyser.pages.writing.page import mistakes_html, result_html, whole
from analyser.pages.writing.terminal import WIDTH_OF_A_PAGE, console, mistakes_text, show

DIAGRAM_AWAITED = 0.5
"""Seconds that a page waits for its diagram, before it is shown without."""
LONG = 0.5
"""Seconds after which a check that goes on is told of on the page."""


@dataclass(slots=True)
class Shown:
    """A look, with its diagram once that is drawn."""

    look: Look
    drawn: bytes | NotDrawn | None = None


class View:
    """The rig on the terminal and on its page, kept up with the file."""

    def __init__(self, path: Path, order: int, page: Page | None, stack: ExitStack) -> None:
        self.path, self.order, self.page = path, order, page
        self.changes = stack.enter_context(Changes())
        self.diagrams = stack.enter_context(Diagrams())
        self.last: Look | None = None
        self.shown: Shown | None = None
        self.turn = Lock()

    def go_on(self) -> NoReturn:
        """Look, show, wait for the next save, for ever."""
        if self.page:
            self.page.show(whole(self.path.name, Markup(), status=f"{self.path.name} is being checked", live=True))
        self.changes.follow([self.path], now())
        while True:
            self.changes.seen()
            since = now()
            seen = self._look()
            self.changes.follow(seen.files, since)
            if not self.changes.pending():  # else what was found is of a file that is no more
                self._show(seen)
            self.changes.wait()

    def _look(self) -> Look:
        start = perf_counter()
        told = False
        with Watching(None) as progress:

            def going_on(order: int, done: int, every: int) -> bool:
                nonlocal told
                if not told and self.shown and perf_counter() - start > LONG:
                    told = True
                    self._put_up(
                        self.shown, words="A newer save is being checked. What stands here is of the one before: "
                    )
                return progress(order, done, every) and not self.changes.pending()

            return look(self.path, self.order, going_on, self.last)

    def _show(self, seen: Look) -> None:
        with self.turn:
            shown = self.shown = Shown(seen)
        drawing = None
        if seen.result:
            self.last = seen
            drawing = self.diagrams.draw(seen.result) if self.page else None
        self._print(seen)
        self._put_up(shown, drawing)

    def _put_up(self, shown: Shown, drawing: Future[bytes] | None = None, words: str = "") -> None:
        """Put up the page with its diagram; where that takes long, first without."""
        if not self.page:
            return
        seen, file = shown.look, self.path.name
        if seen.result:
            title, main = seen.result.rig.title, result_html(seen.result, file, partial(_diagram, shown, drawing))
        else:
            title, main = file, mistakes_html(file, seen.mistakes, seen.sources)
        html = whole(title, main, status=words + seen.status, live=True)
        with self.turn:
            if self.shown is shown:
                self.page.show(html)
        if drawing and shown.drawn is None:
            drawing.add_done_callback(partial(self._drawn_late, shown))

    def _drawn_late(self, shown: Shown, drawing: Future[bytes]) -> None:
        if not drawing.cancelled() and self.shown is shown:
            self._put_up(shown, drawing)

    def _print(self, seen: Look) -> None:
        screen = console()
        if screen.is_terminal:
            screen.clear()
        if seen.result:
            show(check_page(seen.result, self.path.name))
        else:
            sys.stdout.write(mistakes_text(seen.mistakes, seen.sources))
        sys.stdout.write(f"\n{seen.status}\n")
        if self.page:
            sys.stdout.write(f"page: {self.page.address}\n")
        if screen.is_terminal:
            sys.stdout.write("waiting for the next save; Ctrl-C ends\n")
        else:
            sys.stdout.write("─" * WIDTH_OF_A_PAGE + "\n")
        sys.stdout.flush()


def _diagram(shown: Shown, drawing: Future[bytes] | None) -> bytes | NotDrawn | None:
    if drawing:
        try:
            shown.drawn = drawing.result(DIAGRAM_AWAITED)
        except NotDrawn as error:
            shown.drawn = error
        except TimeoutError:
            return None
    return shown.drawn


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
