"""How many lines a page takes, counted without writing it anew at every try."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from analyser.pages.tree import Block, Section
from analyser.pages.writers.terminal import plain


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
