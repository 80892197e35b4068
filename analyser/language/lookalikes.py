"""Names that look alike, and names of letters that nobody would write together (Unicode Technical Standard 39).

`skeleton` is its function of that name (section 4) with the table in `grammar/lookalikes.txt`; `mixed` its level
*Highly Restrictive* (section 5.2), with the script of a letter read off its Unicode name.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import lru_cache

import grammar

ASCII = str.maketrans({"0": "O", "1": "l", "I": "l", "m": "rn"})
"""The table's rows for plain letters: names of these alone need no more."""
SCRIPTS = (
    "LATIN", "GREEK", "CYRILLIC", "ARMENIAN", "HEBREW", "ARABIC", "GEORGIAN", "CHEROKEE", "DEVANAGARI", "BENGALI",
    "THAI", "HANGUL", "HIRAGANA", "KATAKANA", "CJK", "BOPOMOFO", "ETHIOPIC", "KHMER", "COPTIC", "TAMIL",
)  # fmt: skip
TOGETHER = (
    {"LATIN", "CJK", "HIRAGANA", "KATAKANA"},
    {"LATIN", "CJK", "BOPOMOFO"},
    {"LATIN", "CJK", "HANGUL"},
)
"""Scripts that are written together: Japanese, Chinese, Korean, each with Latin letters."""
COMMON = "µ々〆ー"
"""What more than one script has."""


@lru_cache(maxsize=1)
def _table() -> dict[int, str]:
    rows = (line.partition(" ") for line in grammar.text("lookalikes.txt").splitlines() if not line.startswith("# "))
    return {ord(letter): like for like, _, letters in rows for letter in letters}


def skeleton(name: str) -> str:
    """What names that look alike have in common.

    >>> skeleton("сrab") == skeleton("crab"), skeleton("bolt-1") == skeleton("bolt-l"), skeleton("a") == skeleton("b")
    (True, True, False)
    """
    if name.isascii():
        return name.translate(ASCII)
    return unicodedata.normalize("NFD", unicodedata.normalize("NFD", name).translate(_table()))


def _script(letter: str) -> str:
    """The script of a letter, by its name; nothing for what no script has to itself."""
    if not letter.isalpha() or letter in COMMON:
        return ""
    first = unicodedata.name(unicodedata.normalize("NFKC", letter)[0], "").split(" ")[0].split("-")[0]
    return first if first in SCRIPTS else f"?{first}"


def mixed(name: str) -> tuple[str, str] | None:
    """Two letters of scripts that nobody writes in one word; None where all go together.

    >>> mixed("сrab"), mixed("リングa"), mixed("µ-ring"), mixed("шлямбур")
    (('с', 'r'), None, None, None)
    """
    if name.isascii():
        return None
    first: dict[str, str] = {}
    for letter in name:
        if script := _script(letter):
            first.setdefault(script, letter)
    if len(first) < 2 or any(first.keys() <= group for group in TOGETHER):
        return None
    one, other, *_ = first.values()
    return one, other


def points(letters: str) -> str:
    """A letter with its code point: `с (U+0441)`."""
    return " and ".join(f"`{letter}` (U+{ord(letter):04X})" for letter in letters)


def differing(one: str, other: str) -> Iterator[tuple[str, str]]:
    """Where two names of one skeleton differ: what each has there, as few letters as that takes."""
    if len(one) == len(other):
        yield from ((a, b) for a, b in zip(one, other, strict=True) if a != b)
    else:
        start = next((k for k, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
        back = 0
        while back < min(len(one), len(other)) - start and one[-1 - back] == other[-1 - back]:
            back += 1
        yield one[start : len(one) - back], other[start : len(other) - back]
