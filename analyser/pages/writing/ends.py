"""The two ends of every page, and how a place in a file is told."""

from __future__ import annotations

from analyser.checking.empty_points import FirstLook, first_look
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.checking.sentences import listed
from analyser.language.mistakes import Place
from analyser.pages.tree import Block, Gap, Note, Title, Words, aside, quiet
from analyser.rig.model import Rig

MOST_EMPTY = 3
"""Points with nothing attached that are named."""


def rig_title(rig: Rig, file: str) -> Title:
    """Title, revision, file, notes."""
    revision = () if rig.revision is None else (f"revision {rig.revision}",)
    return Title(rig.title, (*revision, quiet(file)), tuple(rig.notes))


def closing(words: Words = "", *before: Block, also: str = "") -> tuple[Block, ...]:
    """The cautions, which no page goes without, with what one page `also` cautions of; below them what was found,
    and `before` them what else is said of the whole."""
    found = (Note(words),) if words else ()
    return (Gap(), *before, Note(aside(" ".join((*CAUTIONS, *((also,) if also else ()))))), *found)


def looked_at_first(result: Result) -> str:
    """What is looked at first, in a sentence; nothing where no point of whoever hangs on one is empty."""
    first = first_look(result)
    return f"Look first: {first_words(result, first)}" if first else ""


def first_words(result: Result, first: FirstLook) -> str:
    """`nothing is attached to sam-chest, harness of sam, line 24`."""
    lines: dict[str, list[str]] = {}
    for one in first.empty[:MOST_EMPTY]:
        lines.setdefault(where(result.rig, one.place), []).append(one.words)
    told = [f"{listed(names)}, {line}" for line, names in lines.items()]
    told += [f"{left} more"] if (left := len(first.empty) - MOST_EMPTY) > 0 else []
    state = f"in state {first.state} " if first.state else ""
    return f"{state}nothing is attached to {'; '.join(told)}"


def where(rig: Rig, place: Place) -> str:
    """The line, and the file where it is an included one."""
    return f"line {place.line}" if place.file == rig.place.file else f"{place.file} line {place.line}"


def paper_title(
    kind: str, head: str, revision: str | None, file: str, *more: str, notes: tuple[Words, ...] = ()
) -> Title:
    """The head of a paper: its sort, what it is about, the revision and the file that it was made from."""
    made = (f"Revision {revision}", f"made from {file}") if revision else (f"made from {file}",)
    return Title(head, (*made, *more), notes, kind)
