"""The texts an editor holds, and what has been read of them: each rig once for each of its states."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from pathlib import Path

from analyser.doors.editor.columns import Columns
from analyser.doors.editor.names import Names
from analyser.language.mistakes import Mistake, Unreadable
from analyser.language.parsing import Document, parse_file
from analyser.language.source import read_bytes, shown_name
from analyser.language.syntax import Heading, NewKind
from analyser.rig.building import build
from analyser.rig.catalogue import Kind, add, catalogue
from analyser.rig.plan import Plan

MOST_FILES = 200
"""Files of a folder looked at for one that includes a given file."""


@dataclass(frozen=True, slots=True)
class Held:
    """A text as the editor holds it: its own name for the file, and the version of the text."""

    uri: str
    version: int | None
    text: str

    @property
    def bytes(self) -> bytes:
        """What would be saved. Half of a surrogate pair stays wrong, to be told as such."""
        return self.text.encode("utf-8", "surrogatepass")


Texts = Mapping[Path, Held]
"""The texts that are held, by resolved path."""


@dataclass(frozen=True, eq=False)
class Reading:
    """One rig file, read with everything that it includes, from one state of the texts."""

    path: Path
    texts: Texts
    document: Document
    rig: Plan | None
    mistakes: tuple[Mistake, ...]
    stamps: dict[Path, object] = field(repr=False)

    @property
    def has_title(self) -> bool:
        return any(isinstance(s, Heading) and s.key == "rig" for s in self.document.statements)

    @cached_property
    def names(self) -> Names:
        return Names(self.document)

    @cached_property
    def kinds(self) -> dict[str, Kind]:
        """Every kind that may be written here, the catalogue's first."""
        kinds = dict(catalogue())
        for statement in self.document.statements:
            if isinstance(statement, NewKind):
                add(kinds, statement)
        return kinds

    def path_of(self, shown: str) -> Path:
        """The file that is shown under this name."""
        return self.path if shown == shown_name(self.path.name) else self.path.parent / shown

    def shown(self, path: Path) -> str | None:
        """The name under which a file is shown; None when the rig doesn't include it."""
        return next((name for name in self.document.sources if self.path_of(name) == path), None)

    def uri(self, shown: str) -> str:
        path = self.path_of(shown)
        return self.texts[path].uri if path in self.texts else path.as_uri()

    def columns(self, shown: str, encoding: str) -> Columns:
        """The columns of one of its files, as the editor has or would show the text."""
        path = self.path_of(shown)
        return Columns(bytes_of(path, self.texts).decode("utf-8", "replace"), encoding)


class Desk:
    """Reads rigs, and remembers what it has read until a text or a file changes.

    Not for several threads at once: the parser's indenter keeps its state between lines."""

    def __init__(self) -> None:
        self._read: dict[Path, Reading] = {}
        self._good: dict[Path, Plan] = {}

    def forget(self) -> None:
        """Files may have changed behind the texts: one saved, one opened, one closed."""
        self._read.clear()

    def reading(self, path: Path, texts: Texts) -> Reading:
        """A rig as the texts have it now; what was read before is kept where nothing changed."""
        known = self._read.get(path)
        if known and known.stamps == _stamps(known.stamps, texts):
            return known
        reading = read(path, texts)
        self._read[path] = reading
        if reading.rig:
            self._good[path] = reading.rig
        return reading

    def last_rig(self, path: Path) -> Plan | None:
        """The rig as it could last be read: while a line is being typed it mostly can't."""
        return self._good.get(path)

    def rigs(self, path: Path, texts: Texts) -> list[Reading]:
        """The rigs a file belongs to: itself where it has a title, else those that include it.

        They are looked for among the texts that are held, in the file's folder and in those above."""
        own = self.reading(path, texts)
        if own.has_title:
            return [own]
        beside = [one for folder in list(path.parents)[:3] for one in _rig_files(folder)]
        near = dict.fromkeys(one for one in [*texts, *beside] if one != path and path.is_relative_to(one.parent))
        including = [one for one in near if b"include" in bytes_of(one, texts)]
        found = [self.reading(one, texts) for one in sorted(including)[:MOST_FILES]]
        return [one for one in found if one.has_title and one.shown(path)] or [own]


def read(path: Path, texts: Texts) -> Reading:
    """Read a rig, the held texts going before the disk."""
    opened = {one: held.bytes for one, held in texts.items()}
    document = parse_file(path, set(catalogue()), opened)
    rig, mistakes = build(document)
    told = Unreadable(mistakes, document.sources).mistakes if mistakes else ()
    reading = Reading(path, texts, document, rig, told, {})
    files = [reading.path_of(shown) for shown in document.sources]
    reading.stamps.update(_stamps(files, texts))
    return reading


def _stamps(files: Iterable[Path], texts: Texts) -> dict[Path, object]:
    """What tells whether a file is still as it was read: its text, or its date and size."""
    return {path: texts[path].text if path in texts else _date(path) for path in files}


def _date(path: Path) -> object:
    try:
        status = path.stat()
    except (OSError, ValueError):
        return None
    return status.st_mtime_ns, status.st_size


def _rig_files(folder: Path) -> list[Path]:
    try:
        return sorted(one.resolve() for one in islice(folder.glob("*.rig"), MOST_FILES) if one.is_file())
    except OSError:
        return []


def bytes_of(path: Path, texts: Texts) -> bytes:
    """A text that is held, else what the disk has; nothing of what is no ordinary file."""
    return texts[path].bytes if path in texts else read_bytes(path, shown_name(path.name))[0]
