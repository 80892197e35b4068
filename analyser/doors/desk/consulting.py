"""The analyst's side of the server: texts are handed over, what comes back is passed on.

The process is started anew where it has ended by itself, with the newest text; one that ends again and again
is left alone, and said to have ended.
"""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

MOST_ENDS = 3
"""How often in a row it may end on one text before that text is left alone."""
LONGEST_LINE = 64_000_000
"""Bytes of one answer: a picture of the largest rig is a tenth of it."""
COMMAND = (sys.executable, "-m", "analyser.doors.desk.analyst")
Told = Callable[[int, str, dict[str, Any]], None]
"""Given the number of the text, what sort of answer it is, and the answer."""


class Consulting:
    """One analyst, for as long as its desk is open."""

    def __init__(self, told: Told, order: int = 2) -> None:
        self.told, self.order = told, order
        self.process: asyncio.subprocess.Process | None = None
        self.reading: asyncio.Task[None] | None = None
        self.last: dict[str, Any] | None = None
        self.ends = 0
        self.questions: dict[int, asyncio.Future[Any]] = {}
        self.asked = 0
        self.closed = False

    async def start(self) -> None:
        self.process = await asyncio.create_subprocess_exec(
            *COMMAND,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            limit=LONGEST_LINE,
            start_new_session=True,  # Ctrl-C is for the desk, which ends it
        )
        self.reading = asyncio.create_task(self._read(self.process))
        if self.last:
            self._say(self.last)

    async def close(self) -> None:
        self.closed = True
        process = self.process
        if process is None:
            return
        with suppress(ProcessLookupError):
            process.kill()
        await process.wait()
        if self.reading:
            await asyncio.wait([self.reading])

    def look(self, number: int, path: Path, text: str) -> None:
        """Hand over a text: what was handed over before is worked on no longer."""
        self.last = {"job": "look", "number": number, "path": str(path), "text": text, "order": self.order}
        self.ends = 0
        self._say(self.last)

    async def ask(self, job: str, number: int, **about: Any) -> Any:
        """The answer to a question about the text of that number; None where a newer one has come."""
        self.asked += 1
        question = self.asked
        answer = self.questions[question] = asyncio.get_running_loop().create_future()
        try:
            self._say({"job": job, "number": number, "question": question, **about})
            return await answer
        finally:
            self.questions.pop(question, None)

    def _say(self, job: dict[str, Any]) -> None:
        if self.process and self.process.stdin and not self.process.stdin.is_closing():
            self.process.stdin.write(json.dumps(job).encode() + b"\n")

    async def _read(self, process: asyncio.subprocess.Process) -> None:
        assert process.stdout
        while line := await process.stdout.readline():
            said = json.loads(line)
            if said["kind"] == "answer":
                answer = self.questions.get(said["data"]["question"])
                if answer and not answer.done():
                    answer.set_result(said["data"]["answer"])
            else:
                self.told(said["number"], said["kind"], said["data"])
        await process.wait()
        for answer in self.questions.values():
            if not answer.done():
                answer.set_result(None)
        if self.closed:
            return
        self.ends += 1
        if self.last:
            self.told(self.last["number"], "broke", {"why": f"the check ended by itself ({process.returncode})"})
        if self.ends < MOST_ENDS:
            await self.start()
