"""Mistakes in a file are values: one place, one sentence, one way to mend it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A place in a file: 1-based line and columns, `end` exclusive (code points)."""

    file: str
    line: int
    column: int = 1
    end: int = 1

    def piece(self, start: int, length: int) -> Place:
        """The part of this place that begins `start` characters in and is `length` long."""
        return Place(self.file, self.line, self.column + start, self.column + start + length)


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """What is wrong, where, and what to write instead (`help` may be empty)."""

    place: Place
    text: str
    help: str = ""


class Unreadable(Exception):
    """A rig that could not be understood. `mistakes` holds every independent mistake: those of the
    rig's own file first, then those of each file it includes, line by line.

    `sources` maps each file's shown name to its lines, so that a message can show the line.
    """

    def __init__(self, mistakes: Iterable[Mistake], sources: dict[str, list[str]]) -> None:
        order = {file: number for number, file in enumerate(sources)}
        self.mistakes = tuple(sorted(set(mistakes), key=lambda one: (order.get(one.place.file, -1), one)))
        self.sources = sources
        first = self.mistakes[0]
        more = f" (and {len(self.mistakes) - 1} more)" if len(self.mistakes) > 1 else ""
        super().__init__(f"{first.place.file}:{first.place.line}:{first.place.column}: {first.text}{more}")


def edits(a: str, b: str, most: int) -> int:
    """How many slips of the hand lie between two words: a letter more, less, other, or two swapped.

    Counts no further than `most + 1`.

    >>> edits("roep", "rope", 3), edits("carabinner", "carabiner", 3), edits("sam", "vic", 1)
    (1, 1, 2)
    """
    if abs(len(a) - len(b)) > most:
        return most + 1
    before: list[int] = []
    last = list(range(len(b) + 1))
    for i, one in enumerate(a, 1):
        row = [i]
        for j, other in enumerate(b, 1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (one != other))
            if i > 1 and j > 1 and one == b[j - 2] and a[i - 2] == other:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
        before, last = last, row
    return min(last[-1], most + 1)


def near(word: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Up to `most` known names that `word` may have been meant for, nearest first, ties by name.

    A long word may hold more slips than a short one; two letters may only be swapped or differ in
    case. Where nothing is near, names that hold the word between dashes: `bolt` for `left-bolt`.
    """
    if not word or len(word) > 60:
        return []
    folded = word.lower()
    letters = set(folded)
    allowed = max(1, (len(word) + 1) // 4)
    found: list[tuple[int, str]] = []
    names = sorted(set(known) - {word})
    for name in names:
        other = name.lower()
        if abs(len(other) - len(word)) > allowed or len(letters.difference(other)) > allowed:
            continue
        distance = edits(folded, other, allowed)
        if len(word) <= 2 and sorted(folded) != sorted(other) and len(other) != len(word) + 1:
            continue
        if distance == 0:
            return [name]
        if distance <= allowed:
            found.append((distance, name))
    if not found and len(word) > 2:
        found = [(1, name) for name in names if folded in name.lower().split("-")]
    return [name for _, name in sorted(found)[:most]]


def one_slip(one: str, other: str) -> bool:
    """Is one word the other with a single slip of the hand? A figure for another is none: `leg-1`, `leg-2`.

    >>> one_slip("legde", "ledge"), one_slip("leg-1", "leg-2"), one_slip("ann-strap", "ben-strap")
    (True, False, False)
    """
    if one == other or edits(one.lower(), other.lower(), 1) > 1:
        return False
    return re.sub(r"\d", "", one) != re.sub(r"\d", "", other)


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """A humble suggestion, or `otherwise` when no known name is near."""
    names = near(word, known)
    if not names:
        return otherwise
    return "did you mean " + " or ".join(f"`{name}`" for name in names) + "?"


def with_article(kind: str) -> str:
    """`an anchor`, `a ring`."""
    return f"{'an' if kind[:1].lower() in 'aeiou' else 'a'} {kind}"
