"""The one file that a desk writes: read, looked at again, and saved whole or not at all.

A save writes a new file beside the old one, brings it to the disk and then puts it in the old one's
place: whoever is killed in between leaves the old text as it was. What somebody else has written
meanwhile is never lost without a question: a save says which version it follows.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from analyser.doors.live.whole import Changed, put_whole, sweep
from analyser.language.source import lines_of, read_bytes, shown_name

BOM = b"\xef\xbb\xbf"


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
            sweep(self.path)
        self.version = self.read()
        """What the disk had when it was last read or written."""

    @property
    def shown(self) -> str:
        return shown_name(self.path.name)

    def read(self) -> Version:
        """What stands on the disk now. Raises `NotOpened`."""
        data, mistake = read_bytes(self.path, self.shown)
        if mistake is None and data:
            mistake = lines_of(data, self.shown)[1]
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
        sweep(self.path)
        there = self.there()
        if (there.digest if there else "") != following:
            raise ChangedMeanwhile(there)
        try:
            data = (text.replace("\n", "\r\n") if self.crlf else text).encode()
        except UnicodeEncodeError:
            raise NotSaved("the text holds half a character, which no file can keep") from None
        data = BOM + data if self.bom else data
        try:
            standing = self.path.read_bytes() if there else None
            if standing is not None and _digest(standing) != following:
                raise ChangedMeanwhile(self.there())
            put_whole(self.path, data, instead_of=standing)
        except Changed:
            raise ChangedMeanwhile(self.there()) from None
        except OSError as error:
            raise NotSaved(f"{self.path.name} cannot be written: {error.strerror or error}") from None
        self.version = Version(text, _digest(data))
        return self.version


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
