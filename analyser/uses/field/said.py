"""Something said to people, in no language yet: which sentence of the catalogue, and what stands in its gaps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias, Union

Gap: TypeAlias = Union[str, int, tuple[str, ...], "Said"]


@dataclass(frozen=True, slots=True)
class Said:
    """`key` is a sentence of the catalogue (`writing/words`); `gaps` what is put in, by name of the gap:
    words of the file, a number, or again something said."""

    key: str
    gaps: tuple[tuple[str, Gap], ...] = ()


def said(key: str, **gaps: Gap) -> Said:
    """`said("gate-locked", name="crab")`. A tuple of names is listed as the language lists names."""
    return Said(key, tuple(gaps.items()))
