"""What a verdict rests on, as values: the statements that carry it."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.language.mistakes import Place


@dataclass(frozen=True, slots=True)
class Carrying:
    """One statement, and the requirements that are met with it and not without it; `why` is the
    first of these with the first reason told.
    `unread`: without it the file can't be read, so that nothing is told."""

    words: str
    place: Place
    requirements: tuple[str, ...]
    why: str
    unread: bool = False


@dataclass(frozen=True, slots=True)
class Resting:
    """The statements that carry the verdict, the one on which most rests first, and how many were denied."""

    carrying: tuple[Carrying, ...]
    denied: int
