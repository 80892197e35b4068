"""One look at a rig: its result, or the mistakes that stand in its place."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from time import perf_counter

from analyser.checking.analysing import analyse
from analyser.checking.results import Result
from analyser.holding.reviewing import Watch
from analyser.language.mistakes import Mistake, Unreadable
from analyser.language.parsing import parse_file
from analyser.language.source import shown_name
from analyser.rig.building import build
from analyser.rig.catalogue import catalogue

INCLUDED = re.compile(r'\s*include\s+"([^"]+)"')


@dataclass(frozen=True, slots=True)
class Look:
    """What the file gave at one time. `result` is None where `mistakes` stand in its place; `last` is
    then the last look that gave a result."""

    path: Path
    at: datetime
    seconds: float
    result: Result | None
    mistakes: tuple[Mistake, ...]
    sources: dict[str, list[str]]
    last: Look | None = None

    @property
    def status(self) -> str:
        """When this was seen; where it gave no result, when the last one was made and how it ended."""
        when = f"{shown_name(self.path.name)}, as read at {self.at:%H:%M:%S}"
        if self.result:
            return f"{when}; checked in {self.seconds:.2f} s"
        if self.last and self.last.result:
            return f"{when}: not understood. The last results, of {self.last.at:%H:%M:%S}: {self.last.result.closing}"
        return f"{when}: not understood. There are no results yet"

    @property
    def files(self) -> list[Path]:
        """The rig, what it includes, and what it would include if it were there."""
        found = {self.path: None, self.path.resolve(): None}
        root = self.path.parent.resolve()
        main = shown_name(self.path.name)
        for shown, lines in self.sources.items():
            own = self.path.resolve() if shown == main else root / shown
            found[own] = None
            found |= dict.fromkeys(_included(own if shown != main else self.path, lines))
        return list(found)


def look(path: Path, order: int, going_on: Watch, last: Look | None) -> Look:
    """Read and check the rig as it is now; `going_on` may stop the search."""
    start, at = perf_counter(), datetime.now()
    document = parse_file(path, set(catalogue()))
    rig, mistakes = build(document)
    if rig is None:
        told = Unreadable(mistakes, document.sources).mistakes
        return Look(path, at, perf_counter() - start, None, told, document.sources, last)
    result = analyse(rig, order, going_on, processes=None)
    return Look(path, at, perf_counter() - start, result, (), document.sources)


def _included(file: Path, lines: list[str]) -> Iterator[Path]:
    for line in lines:
        if found := INCLUDED.match(line):
            yield (file.parent / found[1]).resolve()
