"""Mistakes in a file are values: one place, one sentence, one way to mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A place in a file: 1-based line and columns, `end` exclusive (code points)."""

    file: str
    line: int
    column: int = 1
    end: int = 1


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """What is wrong, where, and what to write instead (`help` may be empty)."""

    place: Place
    text: str
    help: str = ""


class Unreadable(Exception):
    """A rig that could not be understood. `mistakes` holds every independent mistake, in order.

    `sources` maps each file's shown name to its lines, so that a message can show the line.
    """

    def __init__(self, mistakes: Iterable[Mistake], sources: dict[str, list[str]]) -> None:
        self.mistakes = tuple(sorted(set(mistakes)))
        self.sources = sources
        first = self.mistakes[0]
        more = f" (and {len(self.mistakes) - 1} more)" if len(self.mistakes) > 1 else ""
        super().__init__(
            f"{first.place.file}:{first.place.line}:{first.place.column}: {first.text}{more}"
        )


def near(word: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Up to `most` known names that `word` may have been meant for, nearest first, ties by name."""
    names = sorted(set(known))
    folded = {name.lower(): name for name in reversed(names)}
    found = get_close_matches(word.lower(), sorted(folded), n=most, cutoff=0.72)
    return [folded[name] for name in found]


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """A humble suggestion, or `otherwise` when no known name is near."""
    names = near(word, known)
    if not names:
        return otherwise
    return "did you mean " + " or ".join(f"`{name}`" for name in names) + "?"
