"""A proposal: one edit of a rig's file, with what it is in words and how it looks to paste."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from analyser.language.edit import Change, Edit, added_lines, changed_lines
from analyser.language.parsing import Document


@dataclass(frozen=True)
class Proposal:
    """One addition. `sort` is one of the modules' names for it, `words` says it aloud.

    `size` is 0 for what is clipped, padded or set where things already are, 1 for a new anchor or
    a stopper (which lets a rope run to its end first), 2 for a new rope, 3 for a new rope on a new
    anchor. `taste` settles what the ranking leaves open: the usual thing first.
    """

    sort: str
    words: str
    size: int
    bodies: tuple[str, ...]
    edit: Edit
    added: tuple[str, ...]
    """Lines to add at the end of the file."""
    changes: tuple[Change, ...]
    """Lines of the file that change."""
    taste: int = 0

    @classmethod
    def of(
        cls, document: Document, sort: str, words: str, size: int, bodies: Iterable[str], edit: Edit, *, taste: int = 0
    ) -> Proposal:
        changes = tuple(changed_lines(document, edit))
        return cls(sort, words, size, tuple(bodies), edit, added_lines(edit), changes, taste)

    @property
    def lines(self) -> int:
        """How many lines there are to paste."""
        return len(self.added) + len(self.changes)


class Names:
    """Names that are free in a rig. `fresh` gives the same name again: each proposal stands alone."""

    def __init__(self, taken: Iterable[str]) -> None:
        self.taken = set(taken)

    def fresh(self, base: str) -> str:
        base = re.sub(r"[^\w-]", "-", base)
        name, count = base, 1
        while name in self.taken:
            count += 1
            name = f"{base}-{count}"
        return name
