"""What all pages of one desk share: the file, its text as it is being written, who has the pen, what was found.

One page writes, the others follow. The text that is being written lives here and in the page; the file is only
written by a save.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Protocol

from analyser.doors.desk.consulting import Consulting
from analyser.doors.desk.one_writer import OneWriter
from analyser.doors.desk.opened_file import NotOpened, OpenedFile, Version
from analyser.doors.desk.sheets import Shelf
from analyser.doors.live.saves import now

LOOKED_AT_EVERY = 0.5
"""Seconds between looks at whether the file, or one that it includes, has changed on disk."""
OVERTAKEN = {"held": ("unread", "broke", "undrawn"), "unread": ("broke", "undrawn"), "picture": ("undrawn",)}
"""What was told before this is told, and is true no longer. What was found of the last text that could be read stays
beside what can't be read, as that of an older text."""
Stamp = tuple[int, int, int] | None
UNSEEN = (0, 0, 0)
"""The stamp of what was read without one: at the next look it is read again."""


class Page(Protocol):
    """A page that is open on this desk."""

    tab: str

    def tell(self, method: str, data: dict[str, Any]) -> None: ...
    def told_of(self, number: int, kind: str, data: dict[str, Any]) -> None: ...


class Room:
    """One desk. `pen` is false where the file is only watched."""

    def __init__(self, *, pen: bool, folder: Path, order: int = 2) -> None:
        self.pen, self.folder = pen, folder
        self.file: OpenedFile | None = None
        self.asking = Consulting(self.told, order)
        self.text = ""
        self.number = 0
        """Counts the texts: what is found is told with the number of its text."""
        self.saved = ""
        """The digest of the version that the text follows."""
        self.writer = ""
        """The tab that has the pen; empty while nobody has."""
        self.guests = 0
        """Conversations that are open, also those that have not said yet who they are."""
        self.pages: list[Page] = []
        self.found: dict[str, tuple[int, dict[str, Any]]] = {}
        """The newest of each kind of what was found, for a page that comes later."""
        self.shelf = Shelf()
        self.lock: OneWriter | None = None
        self.address = ""
        self.included: dict[Path, Stamp] = {}
        self.disk: Stamp = UNSEEN
        self.since = 0.0
        """When the newest text was handed over: what it includes is read after that."""

    # -- the file and its text

    def open(self, file: OpenedFile) -> None:
        """Raises `Taken` where another desk has it already."""
        if self.pen:
            self.lock = OneWriter(file.path)
        self.announce(self.address)
        self.file = file
        self.show(file.version)

    def announce(self, address: str) -> None:
        """Where this desk is, for another that wants the same file."""
        self.address = address
        if self.lock and address:
            self.lock.say(address)

    def close(self) -> None:
        if self.lock:
            self.lock.release()

    def show(self, version: Version) -> None:
        """The text is now what stands on the disk."""
        self.saved = version.digest
        self.write(version.text)

    def write(self, text: str) -> int:
        """A new text, from whoever has the pen or from the disk; its number."""
        assert self.file
        self.text = text
        self.number += 1
        self.since = now()
        self.asking.look(self.number, self.file.path, text)
        return self.number

    def hello(self) -> dict[str, Any]:
        """What a page must know to begin."""
        return {
            "file": self.file.shown if self.file else None,
            "uri": self.file.path.as_uri() if self.file else None,
            "text": self.text,
            "number": self.number,
            "saved": self.saved,
            "unsaved": bool(self.file and self.text != self.file.version.text),
            "writes": self.pen,
            "writer": self.writer,
        }

    # -- the pages

    def enter(self, page: Page) -> None:
        self.pages.append(page)

    def leave(self, page: Page) -> None:
        self.pages.remove(page)
        if self.writer == page.tab and not any(one.tab == page.tab for one in self.pages):
            self.writer = ""
            self.tell_all("desk/pen", {"writer": ""})

    def take_pen(self, page: Page) -> bool:
        """Give the pen to a page; False where this desk has none."""
        if not self.pen:
            return False
        if self.writer != page.tab:
            self.writer = page.tab
            self.tell_all("desk/pen", {"writer": page.tab})
        return True

    def tell_all(self, method: str, data: dict[str, Any], but: Page | None = None) -> None:
        for page in self.pages:
            if page is not but:
                page.tell(method, data)

    def told(self, number: int, kind: str, data: dict[str, Any]) -> None:
        """The analyst has found something of a text."""
        if "files" in data:
            self.follow(map(Path, data.pop("files")))
        if number != self.number:
            return  # a newer text is there already
        for older in OVERTAKEN.get(kind, ()):
            self.found.pop(older, None)
        self.found[kind] = number, data
        for page in self.pages:
            page.told_of(number, kind, data)

    # -- what changes on disk

    def follow(self, files: Iterable[Path]) -> None:
        """Files that were read: a new one of them that was written since the text was handed over is another by now."""
        own = self.file.path if self.file else None
        self.included = {one: self.included.get(one, self._read(one)) for one in files if one != own}

    def _read(self, file: Path) -> Stamp:
        stamp = _stamp(file)
        return UNSEEN if stamp and stamp[0] >= self.since * 1e9 else stamp

    async def watch_disk(self) -> None:
        """Notice what others write, as long as the desk is open."""
        while True:
            await asyncio.sleep(LOOKED_AT_EVERY)
            if self.file is None:
                continue
            included = {one: _stamp(one) for one in self.included}
            if included != self.included:
                self.included = included
                self.write(self.text)
                self.tell_all("desk/number", {"number": self.number})
            stamp = _stamp(self.file.path)
            if stamp != self.disk:
                self.disk = stamp
                self.changed_on_disk()

    def changed_on_disk(self) -> None:
        assert self.file
        there = self.file.there()
        if there is not None and there.digest == self.saved:
            return
        if there is None and not self.pen:
            self.missing()
            return
        untouched = self.text == self.file.version.text
        if there is not None and (untouched or there.text == self.text or not self.pen):
            self.file.version = there
            self.show(there)
            self.tell_all("desk/text", {"text": there.text, "number": self.number, "saved": there.digest})
            return
        self.tell_all("desk/disk", {"there": None if there is None else there.text})

    def missing(self) -> None:
        """There is nothing on the disk that can be read: what was found last stays, and says so."""
        assert self.file
        self.number += 1
        self.saved = ""
        try:
            self.file.read()
            why = "this file cannot be read"
        except NotOpened as error:
            why = str(error)
        mistake = {"file": self.file.shown, "line": 1, "text": why, "help": ""}
        self.told(self.number, "unread", {"mistakes": [mistake]})


def _stamp(path: Path) -> Stamp:
    try:
        told = os.stat(path)  # noqa: PTH116  # twice a second
    except (OSError, ValueError):
        return None
    return told.st_mtime_ns, told.st_size, told.st_ino
