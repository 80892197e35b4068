"""Numbers with units on the command line, as in a file: `5 deg`, `0.9 m`, `0..6 m`, `vic=0.9 m`."""

from __future__ import annotations

import re
from collections.abc import Sequence

from analyser.checking.calling import refused
from analyser.language.mistakes import with_article
from analyser.rig.figures import FACTORS

NUMBER = r"-?\d+(?:\.\d+)?"
UNITS = "|".join(sorted(map(re.escape, FACTORS), key=len, reverse=True))
ONE = re.compile(rf"({NUMBER})\s*({UNITS})?")
BAND = re.compile(rf"({NUMBER})\s*(?:\.\.|to)\s*({NUMBER})\s*({UNITS})?")
NAMED = re.compile(r"([^\s=]+)\s*=\s*([^=]+?)(?=\s+[^\s=]+\s*=|$)")


def measure(words: Sequence[str], of: str, example: str) -> float:
    """One number with its unit, in SI (degrees for an angle); raises `Refused`."""
    text = " ".join(words)
    found = ONE.fullmatch(text)
    if not found:
        raise refused(f"`{text}` is not {with_article(of)}", f"write a number with its unit: {example}")
    return float(found[1]) * _factor(text, found[2], of, example)


def band(words: Sequence[str], of: str, example: str) -> tuple[float, float]:
    """Two numbers with a unit, the smaller first; raises `Refused`."""
    text = " ".join(words)
    found = BAND.fullmatch(text)
    if not found:
        raise refused(f"`{text}` is not from one {of} to another", f"write both with a unit: {example}")
    factor = _factor(text, found[3], of, example)
    one, two = float(found[1]) * factor, float(found[2]) * factor
    if not one < two:
        raise refused(f"`{text}` goes from the larger to the smaller, or nowhere", f"the smaller first: {example}")
    return one, two


def named(words: Sequence[str], example: str) -> list[tuple[str, str]]:
    """`vic=0.9 m` and more of them: each name and what is written after it; raises `Refused`."""
    text = " ".join(words)
    found = NAMED.findall(text)
    if not found or NAMED.sub("", text).strip():
        raise refused(f"`{text}` does not say of whom, and what", f"write it like this: {example}")
    return [(name, rest.strip()) for name, rest in found]


def along(words: Sequence[str]) -> dict[str, float]:
    """People, and how far from the foot end of their litter their centres of mass lie, in metres."""
    example = "--along vic=0.9 m"
    return {name: measure([text], "length", example) for name, text in named(words, example)} if words else {}


def _factor(text: str, unit: str | None, of: str, example: str) -> float:
    if unit is None:
        raise refused(f"`{text}` has no unit", f"write {example}")
    kind, factor = FACTORS[unit]
    if kind != of:
        raise refused(f"`{unit}` is a unit of {kind}, and {with_article(of)} is asked for", f"write {example}")
    return factor
