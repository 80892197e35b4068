"""A proposal: lines of the rig language to add at the end of a file, and lines of it that change."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

BECOMES, BEFORE, AFTER = "becomes", "before", "after"


@dataclass(frozen=True, slots=True)
class Change:
    """A line of the file that becomes `text`, or a new line `text` before or after it (1-based)."""

    line: int
    how: str
    text: str


@dataclass(frozen=True, slots=True)
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
    added: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    taste: int = 0

    @property
    def lines(self) -> int:
        """How many lines there are to paste."""
        return len(self.added) + len(self.changes)


def lines_of_text(text: str) -> list[str]:
    """The lines of a file as the reader counts them."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")


def with_proposal(text: str, proposal: Proposal) -> str:
    """The text of a rig with a proposal pasted in.

    >>> one = Proposal("strap", "…", 0, ("sam",), ("attach a - b",), (Change(2, AFTER, "  stopper"),))
    >>> with_proposal('rig "x"\\nrope r\\n', one)
    'rig "x"\\nrope r\\n  stopper\\nattach a - b\\n'
    """
    lines: list[str] = []
    for number, line in enumerate(lines_of_text(text), 1):
        mine = [change for change in proposal.changes if change.line == number]
        lines += [change.text for change in mine if change.how == BEFORE]
        becomes = [change.text for change in mine if change.how == BECOMES]
        lines.append(becomes[0] if becomes else line)
        lines += [change.text for change in mine if change.how == AFTER]
    while lines and not lines[-1].strip():
        lines.pop()
    return "\n".join([*lines, *proposal.added]) + "\n"


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


def indent_of(line: str) -> str:
    return line[: len(line) - len(line.lstrip())]


def code_and_comment(line: str) -> tuple[str, str]:
    """A station's line and the comment behind it (stations hold no quoted text)."""
    code, hash_sign, comment = line.partition("#")
    return code.rstrip(), f"  #{comment}" if hash_sign else ""
