"""The diagram of the newest result, drawn beside the rest; an older one is given up for it."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from subprocess import Popen
from threading import Event
from types import TracebackType

from analyser.checking.results import Result
from analyser.pages.drawing.diagram import dot_source
from analyser.pages.drawing.rendering import render

PATIENCE = 20.0
"""Seconds that a live diagram may take: a larger one is for `stillheld draw`."""


class Diagrams:
    """One diagram at a time; leaving it ends the renderer too."""

    def __init__(self) -> None:
        self.pool = ThreadPoolExecutor(1, "diagram")
        self.given_up = Event()
        self.renderer: Popen[bytes] | None = None

    def __enter__(self) -> Diagrams:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._give_up()
        self.pool.shutdown(cancel_futures=True)

    def draw(self, result: Result) -> Future[bytes]:
        """The diagram as SVG, when it is done; its exception is a `NotDrawn` where it can't be."""
        self._give_up()
        self.given_up = Event()
        source = dot_source(result)  # here, not beside the caller: two threads would only get in each other's way
        return self.pool.submit(self._drawn, source, self.given_up)

    def _drawn(self, source: str, given_up: Event) -> bytes:
        def started(renderer: Popen[bytes]) -> None:
            self.renderer = renderer
            if given_up.is_set():
                renderer.kill()

        return render(source, "svg", patience=PATIENCE, started=started)

    def _give_up(self) -> None:
        self.given_up.set()
        if self.renderer:
            self.renderer.kill()
