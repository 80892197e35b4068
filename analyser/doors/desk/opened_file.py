"""The one file that a desk writes: read, looked at again, and saved whole or not at all.

A save writes a new file beside the old one, brings it to the disk and then puts it in the old one's
place: whoever is killed in between leaves the old text as it was. What somebody else has written
meanwhile is never lost without a question: a save says which version it follows.
"""

from __future__ import annotations

import hashlib
import os
import secrets
import stat
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from analyser.language.source import lines_of, read_bytes

BOM = b"\xef\xbb\xbf"
UNFINISHED = ".part"
"""How the name of a save ends that is not there yet."""


class NotOpened(Exception):
    """The file can't be opened; the message says why."""


class NotSaved(Exception):
    """Nothing was written; the message says why."""


class ChangedMeanwhile(Exception):
    """Somebody else has written the file since; `there` is its text now, None where it is gone."""

    def __init__(self, there: Version | None) -> None:
        super().__init__("the file has changed on disk")
        self.there = there


@dataclass(frozen=True, slots=True)
class Version:
    """A text as it stood on the disk, with lines that end in \\n, and what tells this version from others."""

    text: str
    digest: str


class OpenedFile:
    """The file, by its real name: a link to it stays a link."""

    def __init__(self, path: Path, *, writes: bool = True) -> None:
        """Raises `NotOpened` for what is no file that can be edited."""
        self.path = path.resolve()
        self.bom = self.crlf = False
        if writes:
            self.sweep()
        self.version = self.read()
        """What the disk had when it was last read or written."""

    @property
    def shown(self) -> str:
        return self.path.name

    def read(self) -> Version:
        """What stands on the disk now. Raises `NotOpened`."""
        data, mistake = read_bytes(self.path, self.path.name)
        if mistake is None and data:
            mistake = lines_of(data, self.path.name)[1]
        if mistake and mistake.place.column <= 1:  # else a line that can be mended here
            raise NotOpened(f"{mistake.text}; {mistake.help}" if mistake.help else mistake.text)
        self.bom, self.crlf = data.startswith(BOM), b"\r\n" in data
        text = data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
        return Version(text, _digest(data))

    def there(self) -> Version | None:
        """What stands on the disk, where that is another version than the one known here."""
        with suppress(OSError):
            if _digest(self.path.read_bytes()) == self.version.digest:
                return self.version
        try:
            return self.read()
        except NotOpened:
            return None

    def save(self, text: str, following: str) -> Version:
        """Write a text in the place of the version it follows (its digest). Raises `ChangedMeanwhile`, `NotSaved`."""
        there = self.there()
        if (there.digest if there else "") != following:
            raise ChangedMeanwhile(there)
        try:
            data = (text.replace("\n", "\r\n") if self.crlf else text).encode()
        except UnicodeEncodeError:
            raise NotSaved("the text holds half a character, which no file can keep") from None
        data = BOM + data if self.bom else data
        try:
            self._put(data)
        except OSError as error:
            raise NotSaved(f"{self.path.name} cannot be written: {error.strerror or error}") from None
        self.version = Version(text, _digest(data))
        return self.version

    def _put(self, data: bytes) -> None:
        mode = 0o666 & ~_umask()
        with suppress(FileNotFoundError):
            mode = stat.S_IMODE(self.path.stat().st_mode)
            if not os.access(self.path, os.W_OK):
                raise PermissionError(13, "it may only be read")
        write_whole(self.path, data, mode)

    def sweep(self) -> None:
        """Take away what saves that were killed have left."""
        for left in self.path.parent.glob(f".{_literal(self.path.name)}.*{UNFINISHED}"):
            with suppress(OSError):
                left.unlink()


def write_whole(path: Path, data: bytes, mode: int, *, fresh: bool = False) -> None:
    """Bring a file to the disk whole or not at all; with `fresh` only where none is yet (FileExistsError)."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(6)}{UNFINISHED}")
    number = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    try:
        with open(number, "wb") as file:  # noqa: PTH123  # a number, not a path
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(mode)
        if fresh:
            os.link(beside, path)
        else:
            beside.replace(path)
    finally:
        with suppress(OSError):
            beside.unlink()
    with suppress(OSError):  # a folder can't be opened everywhere
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _umask() -> int:
    now = os.umask(0o077)
    os.umask(now)
    return now


def _literal(name: str) -> str:
    """A name as a pattern that only it matches."""
    return "".join(f"[{mark}]" if mark in "*?[" else mark for mark in name)
