"""The page of `stillheld watch`: a desk without its pen, in a thread beside the command that follows the file."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path
from types import TracebackType

from analyser.doors.desk.door import Door
from analyser.doors.desk.opened_file import OpenedFile
from analyser.doors.desk.room import Room


class Following:
    """Served from the first moment on until it is left."""

    def __init__(self, path: Path, port: int, order: int) -> None:
        """Raises `NotOpened`, `NotServed`."""
        self.room = Room(pen=False, folder=path.parent, order=order)
        self.room.open(OpenedFile(path, writes=False))
        self.door = Door(self.room, port, None)
        self.loop = asyncio.new_event_loop()
        self.thread = threading.Thread(target=self._serve, name="page")

    def __enter__(self) -> Following:
        self.thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.loop.call_soon_threadsafe(self.door.end)
        self.thread.join()

    def _serve(self) -> None:
        asyncio.set_event_loop(self.loop)
        try:
            self.loop.run_until_complete(self.door.serve())
        finally:
            self.loop.close()

    def address(self) -> str:
        """An address that lets one browser in."""
        return self.door.address()

    def look_again(self) -> None:
        """The file was saved: the page need not wait until it looks by itself."""
        self.loop.call_soon_threadsafe(self.room.changed_on_disk)
