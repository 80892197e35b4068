"""Pieces of sentences that are said in many places: names one after another, numbers with their nouns, figures."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from analyser.language.identities import spoken


def listed(names: Collection[str]) -> str:
    """`a`, `a and b`, `a, b and c`; a stretch of a rope, and its cut, as people say them."""
    *others, last = map(spoken, names or ("",))
    return f"{', '.join(others)} and {last}" if others else last


def either(names: Collection[str]) -> str:
    """`a`, `a or b`, `a, b or c`."""
    *others, last = map(spoken, names or ("",))
    return f"{', '.join(others)} or {last}" if others else last


def in_few(names: Sequence[str], most: int = 3) -> str:
    """All of the names where there are few, else the first `most` and how many more."""
    if len(names) <= most + 1:
        return listed(names)
    return f"{', '.join(map(spoken, names[:most]))} and {len(names) - most} more"


def verb(names: Collection[object], one: str, many: str) -> str:
    return one if len(names) == 1 else many


def do(names: Collection[str], one: str, many: str) -> str:
    """`sam falls`, `sam and vic fall`."""
    return f"{listed(names)} {verb(names, one, many)}"


def do_in_few(names: Sequence[str], one: str, many: str) -> str:
    """The same with few names: `ann, ben, sam and 4 more fall`."""
    return f"{in_few(names)} {verb(names, one, many)}"


def fall(names: Collection[str]) -> str:
    return do(names, "falls", "fall")


def counted(number: int, word: str, many: str = "") -> str:
    """`1 state`, `3 states`; `many` where that isn't the word with an `s`."""
    return f"{number} {word if number == 1 else many or word + 's'}"


def more(number: int, where: str, what: str = "") -> str:
    """What is left out of a list, and where it is told: "… and 3 more lines (`--json` lists each)"."""
    return f"… and {number} more{f' {what}' if what else ''} ({where})"


def percent(share: float) -> str:
    """A share as people read it, never less than nothing by its rounding: `38%`, `0%`."""
    return f"{round(share, 2) + 0.0:.0%}"


def resting_on(on: str, assumed: int) -> str:
    """What an answer rests on: `on connections only, with 2 assumptions`."""
    return f"on {on}, with {counted(assumed, 'assumption')}"
