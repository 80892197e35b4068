"""The process that works the rig out, so that nobody who types waits for it: jobs come in as lines of JSON,
answers go out as such.

A newer text ends the work on an older one wherever that is. What is asked of the text (what follows if
this fails, what stands under the pointer) is answered as soon as the text has been read.
"""

from __future__ import annotations

import _thread
import gc
import json
import os
import pkgutil
import signal
import subprocess
import sys
import threading
import traceback
from collections import deque
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from functools import partial
from importlib import import_module
from pathlib import Path
from types import FrameType
from typing import Any, TextIO

from lsprotocol.converters import get_converter

from analyser.checking.analysing import analyse
from analyser.checking.glance import Glances
from analyser.checking.results import Result
from analyser.doors.desk.mended_lines import lines_to_put
from analyser.doors.desk.told import at_a_glance, checked, failures_of, in_order_of_need, supposed
from analyser.doors.editor import diagnostics, hovering
from analyser.doors.editor.readings import Desk, Held, Reading
from analyser.language.source import shown_name
from analyser.pages.drawing.answering import answering, inlined
from analyser.pages.drawing.rendering import NotDrawn, render
from analyser.rig.model import Rig

UNITS = "utf-16"
"""How the protocol counts the columns of a line."""
PATIENCE = 20.0
"""Seconds that a picture may take."""


class Ended(BaseException):
    """There is a newer text."""


@dataclass(slots=True)
class Known:
    """What was worked out of a rig: a text that says the same (a comment has changed) is told it again."""

    rig: Rig
    result: Result | None = None
    told: dict[str, dict[str, Any]] = field(default_factory=dict)


class Analyst:
    """The work of one desk. The main thread works; another listens."""

    def __init__(self, out: TextIO) -> None:
        self.out = out
        self.writing = threading.Lock()
        self.news = threading.Condition()
        self.newest: dict[str, Any] | None = None
        self.asked: deque[dict[str, Any]] = deque()
        self.closed = False
        self.working: int | None = None
        """The number of the text that is being worked out, while that may be ended."""
        self.renderer: tuple[int, subprocess.Popen[bytes]] | None = None
        """With the number of the text that it draws."""
        self.desk = Desk()
        self.number = -1
        self.reading: Reading | None = None
        self.result: Result | None = None
        self.known: Known | None = None
        self.glances = Glances()
        self.laid_out = "", b""
        """What was drawn last, and how: what does not change the drawing is not laid out again."""
        self.converter = get_converter()

    # -- the listening thread

    def listen(self, lines: TextIO) -> None:
        for line in lines:
            job = json.loads(line)
            with self.news:
                if job["job"] == "look":
                    self.newest = job
                else:
                    self.asked.append(job)
                self.news.notify()
            if job["job"] == "look":
                self.end_older(job["number"])
        with self.news:
            self.closed = True
            self.news.notify()
        self.end_older(-1)

    def end_older(self, number: int) -> None:
        if self.working in (None, number):
            return
        drawing = self.renderer
        if drawing is not None and drawing[0] != number:  # by now it may be at work for the newest
            with suppress(OSError):
                drawing[1].kill()
        if hasattr(signal, "pthread_kill"):
            signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGINT)
        else:
            _thread.interrupt_main()

    def interrupted(self, number: int, frame: FrameType | None) -> None:
        """In the main thread. Ctrl-C reaches this process too: it ends when its desk does."""
        if self.working is None or not (self.closed or (self.newest and self.newest["number"] != self.working)):
            return
        while frame is not None:
            if frame.f_code.co_filename.startswith("<frozen importlib"):
                return  # a module that is half loaded could not be loaded again
            frame = frame.f_back
        self.working = None
        raise Ended

    # -- the working thread

    def work(self) -> None:
        while True:
            with self.news:
                self.news.wait_for(lambda: self.closed or self.newest or self.asked)
                if self.closed:
                    return
                job, self.newest = self.newest, None
            if job is None:
                self.answer_what_is_asked()
                continue
            try:
                self.working = job["number"]
                try:
                    if not (self.closed or self.newest):
                        self.look(job)
                finally:
                    self.working = None
            except Ended:
                continue
            except Exception:
                self.tell(job["number"], "broke", {"why": traceback.format_exc(limit=-3)})

    def tell(self, number: int, kind: str, data: dict[str, Any]) -> None:
        text = json.dumps({"number": number, "kind": kind, "data": data}, ensure_ascii=True, separators=(",", ":"))
        working, self.working = self.working, None  # half a line is never written
        with self.writing:
            self.out.write(f"{text}\n")
            self.out.flush()
        self.working = working
        if working is not None:
            self.interrupted(0, None)

    def look(self, job: dict[str, Any]) -> None:
        """Read, glance, check, draw: each is told as soon as it is there."""
        number, path = job["number"], Path(job["path"])
        uri = path.as_uri()
        texts = {path: Held(uri, number, job["text"])}
        reading = next(iter(self.desk.rigs(path, texts)))
        self.number, self.reading, self.result = number, reading, None
        files = [str(reading.path_of(shown)) for shown in reading.document.sources]
        if reading.rig is None:
            mistakes = [
                {"file": one.place.file, "line": one.place.line, "text": one.text, "help": one.help}
                for one in reading.mistakes
            ]
            told = diagnostics.of_text(reading, UNITS)
            self.tell(number, "unread", {"mistakes": mistakes, "files": files, **self.marks(uri, told)})
            return
        rig = reading.rig
        before = self.known.result if self.known else None
        if self.known is None or self.known.rig != rig:
            self.known = Known(rig)
        known, shown = self.known, reading.shown(path) or shown_name(path.name)
        if "held" not in known.told:
            known.told["held"] = at_a_glance(rig, self.glances)
        self.tell(number, "held", {"files": files, **known.told["held"]})
        self.answer_what_is_asked()
        result = self.result = known.result = known.result or analyse(rig, job["order"], remembered=before)
        if "checked" not in known.told:
            marks = self.marks(uri, diagnostics.of_check(reading, result, UNITS))
            known.told["checked"] = {**checked(result, shown), **marks}
        self.tell(number, "checked", known.told["checked"])
        self.answer_what_is_asked()
        if "picture" not in known.told and (picture := self.drawn(number, result)):
            known.told["picture"] = picture
        if "picture" in known.told:
            self.tell(number, "picture", known.told["picture"])
        self.answer_what_is_asked()
        if "mends" not in known.told:
            findings = [one for state in result.states for one in in_order_of_need(result.fresh(state))]
            put = {str(place): asdict(one) for place, one in lines_to_put(reading, findings).items()}
            known.told["mends"] = {"lines": put}
        self.tell(number, "mends", known.told["mends"])

    def marks(self, uri: str, told: diagnostics.Told) -> dict[str, Any]:
        return {"diagnostics": [self.converter.unstructure(one) for one in told.get(uri, ())]}

    def drawn(self, number: int, result: Result) -> dict[str, Any] | None:
        made = answering(result)
        try:
            if self.laid_out[0] != made.source:
                svg = render(made.source, "svg", patience=PATIENCE, started=partial(self.started, number))
                self.laid_out = made.source, svg
        except NotDrawn as error:
            if self.newest is None:
                self.tell(number, "undrawn", {"why": str(error)})
            return None
        finally:
            self.renderer = None
        picture = inlined(self.laid_out[1], {}, {}, frozenset(), result.rig.title)
        return {"svg": picture, "ids": made.ids, "absent": [list(one) for one in made.absent]}

    def started(self, number: int, renderer: subprocess.Popen[bytes]) -> None:
        self.renderer = number, renderer

    # -- what is asked in between

    def answer_what_is_asked(self) -> None:
        while self.asked:
            job = self.asked.popleft()
            working, self.working = self.working, None  # an answer is short: it is not ended
            try:
                self.tell(self.number, "answer", {"question": job["question"], "answer": self.answer(job)})
            except Exception:
                why = traceback.format_exc(limit=-3)
                self.tell(self.number, "answer", {"question": job["question"], "answer": None, "why": why})
            self.working = working
            if working is not None:
                self.interrupted(0, None)

    def answer(self, job: dict[str, Any]) -> Any:
        """The answer to a question about the text of its number; None where that is not the newest."""
        if job["number"] != self.number or self.reading is None:
            return None
        reading = self.reading
        if job["job"] == "hover":
            shown = reading.shown(Path(job["path"])) or shown_name(Path(job["path"]).name)
            found = hovering.hover(reading, self.result, shown, job["line"], job["column"])
            if found is None:
                return None
            words, place = found
            where = reading.columns(place.file, UNITS).range(place)
            return {"contents": {"kind": "markdown", "value": words}, "range": self.converter.unstructure(where)}
        if reading.rig is None:
            return None
        rig = reading.rig.states[job["state"]]
        failures = failures_of(rig, job["failures"])
        return {"state": job["state"], **supposed(rig, failures, shown_name(reading.path.name))} if failures else None


def warm() -> None:
    """Load what a first rig would have to wait for."""
    import graphviz  # noqa: F401

    for name in ("analyser.forces", "analyser.checking"):
        for module in pkgutil.iter_modules(import_module(name).__path__, f"{name}."):
            import_module(module.name)


def main() -> int:
    """Work until the input ends. What anything prints goes to the error stream: the output is for answers."""
    out = os.fdopen(os.dup(1), "w", encoding="ascii", newline="\n")
    os.dup2(2, 1)
    sys.stdout = sys.stderr
    analyst = Analyst(out)
    warm()
    gc.freeze()  # what is loaded stays: it is not looked through again
    gc.set_threshold(100_000, 20, 20)
    signal.signal(signal.SIGINT, analyst.interrupted)
    lines = os.fdopen(os.dup(0), encoding="utf-8")
    threading.Thread(target=analyst.listen, args=(lines,), name="listening", daemon=True).start()
    with suppress(BrokenPipeError):
        analyst.work()
    return 0


if __name__ == "__main__":
    sys.exit(main())
