"""Lines of a rig's file that the rig as found can carry no more: taken out and told, none of them made up."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from analyser.language.mistakes import Mistake, Place
from analyser.language.syntax import (
    Cause,
    Chance,
    Declaration,
    Detail,
    Judgement,
    More,
    Require,
    RopeLine,
    StageBlock,
    Statement,
    StepLine,
    Waiver,
)
from analyser.uses.field.found import without_comment

T = TypeVar("T")


@dataclass(frozen=True)
class LeftOut:
    """A line of the rig's file that the rig as found can't carry. `asked`: it is a requirement."""

    place: Place
    words: str
    asked: bool


def left_out(place: Place, sources: Mapping[str, list[str]], *, asked: bool = False, piece: bool = False) -> LeftOut:
    """A line, or the piece of one that stands at a place, as one that is left out."""
    lines = sources.get(place.file, [])
    line = lines[place.line - 1] if place.line <= len(lines) else ""
    words = line[place.column - 1 : place.end - 1] if piece else without_comment(line)
    return LeftOut(place, " ".join(words.split()), asked)


class Leaving:
    """Lines in which something is wrong once the rig is as found, taken out and told."""

    def __init__(self, wrong: Iterable[Mistake], sources: Mapping[str, list[str]]) -> None:
        self.wrong = list(wrong)
        self.sources = sources
        self.left_out: list[LeftOut] = []
        self._begins: set[tuple[str, int]] = set()
        """The lines of each file on which a statement or a step begins."""

    def statements(self, written: Sequence[Statement]) -> Iterator[Statement]:
        lines = [step for one in written if isinstance(one, StageBlock) for step in one.steps]
        self._begins = {(one.place.file, one.place.line) for one in (*written, *lines)}
        for one in written:
            match one:
                case Cause() | Judgement() | Chance():
                    failures = self._kept(one.failures, lambda f: f.place)
                    if failures:
                        yield replace(one, failures=failures)
                case Waiver():
                    names = self._kept(one.names, lambda word: word.place)
                    if names:
                        yield replace(one, names=names)
                case Require():
                    if not self._wrong_in(one.place, whole_line=True):
                        yield one
                    else:
                        self._leave(one.place, asked=True)
                case StageBlock():
                    steps = tuple(self._steps(one))
                    if steps:
                        yield replace(one, steps=steps)
                case RopeLine():
                    yield from self._rope(one)
                case Declaration() | More():
                    yield replace(one, details=tuple(self._details(one.details)))
                case _:
                    yield one

    def _kept(self, several: Iterable[T], place: Callable[[T], Place]) -> tuple[T, ...]:
        kept = []
        for one in several:
            if self._wrong_in(place(one)):
                self._leave(place(one), piece=True)
            else:
                kept.append(one)
        return tuple(kept)

    def _details(self, details: Iterable[Detail]) -> Iterator[Detail]:
        for detail in details:
            attributes = self._kept(detail.attributes, lambda attribute: attribute.place)
            names = self._kept(detail.names, lambda word: word.place)
            if (names or not detail.names) and (attributes or not detail.attributes):
                yield Detail(names, attributes)

    def _steps(self, one: StageBlock) -> Iterator[StepLine]:
        for step in one.steps:
            later = (n for file, n in self._begins if file == step.place.file and n > step.place.line)
            end = min(later, default=sys.maxsize)
            if any(m.place.file == step.place.file and step.place.line <= m.place.line < end for m in self.wrong):
                self._leave(step.place)
            else:
                yield step

    def _rope(self, one: RopeLine) -> Iterator[Statement]:
        if self._wrong_in(one.name.place):
            self._leave(one.name.place)
            return
        yield replace(one, stations=self._kept(one.stations, lambda station: station.place))

    def _wrong_in(self, place: Place, *, whole_line: bool = False) -> bool:
        return any(
            m.place.file == place.file
            and m.place.line == place.line
            and (whole_line or place.column <= m.place.column < max(place.end, place.column + 1))
            for m in self.wrong
        )

    def _leave(self, place: Place, *, asked: bool = False, piece: bool = False) -> None:
        """Tell of a line, or of a piece of one, that it is left out."""
        self.left_out.append(left_out(place, self.sources, asked=asked, piece=piece))
