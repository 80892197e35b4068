"""How much of what there is to tell fits on a page: what is added first, and how many lines it takes, counted without
writing it anew at every try."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from analyser.pages.tree import Block, Section
from analyser.pages.writers.terminal import plain


@dataclass(frozen=True, slots=True)
class Room:
    """How much there is room for: ways of being held (whole, by their two ends, or so only those of who hangs on
    one or less), groups of pairs, failures by name in a list, reasons of a
    requirement, states, findings that are no dangers, forces, notes of the file."""

    ways: Literal["whole", "ends", "worst"]
    pairs: int
    names: int
    reasons: int
    states: int
    findings: int
    forces: int
    notes: int


MOST_REASONS = 5
LEAST = Room("worst", 1, 2, 0, 1, 0, 1, 0)
MORE: tuple[dict[str, Any], ...] = (
    {"findings": 1},
    {"names": 3, "states": 3},
    {"reasons": 1},
    {"findings": 2},
    {"pairs": 2},
    {"ways": "ends"},
    {"states": 6, "reasons": 2},
    {"pairs": 3, "forces": 2},
    {"findings": 4},
    {"ways": "whole"},
    {"names": 6, "states": 8},
    {"reasons": MOST_REASONS, "forces": 4},
    {"findings": 8},
    {"notes": 1},
    {"pairs": 6, "states": 12, "notes": 3},
)
"""What is added where there is room for it, what matters most first."""


def fits(blocks: Iterable[Block], most: int, lines: dict[Block, int]) -> bool:
    """Are they no more than so many lines? Blocks are written one under the other: each is counted once (`lines`),
    and none after what is too much already."""
    left = most
    for one in _each(blocks):
        if one not in lines:
            lines[one] = len(plain((one,)).splitlines())
        left -= lines[one]
        if left < 0:
            return False
    return True


def _each(blocks: Iterable[Block]) -> Iterator[Block]:
    for one in blocks:
        if isinstance(one, Section):
            yield replace(one, blocks=())
            yield from _each(one.blocks)
        else:
            yield one


@dataclass(frozen=True, slots=True)
class Left:
    """What isn't told here, in a few words with its number."""

    words: str


Told = Iterator[Block | Left]
