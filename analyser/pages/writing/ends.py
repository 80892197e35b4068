"""The two ends of every page, and how a place in a file is told."""

from __future__ import annotations

from analyser.checking.letterhead import CAUTIONS
from analyser.language.mistakes import Place
from analyser.pages.tree import Block, Gap, Note, Title, Words, aside, quiet
from analyser.rig.model import Rig


def rig_title(rig: Rig, file: str) -> Title:
    """Title, revision, file, notes."""
    revision = () if rig.revision is None else (f"revision {rig.revision}",)
    return Title(rig.title, (*revision, quiet(file)), tuple(rig.notes))


def closing(words: Words = "", *before: Block, also: str = "") -> tuple[Block, ...]:
    """The cautions, which no page goes without, with what one page `also` cautions of; below them what was found,
    and `before` them what else is said of the whole."""
    found = (Note(words),) if words else ()
    return (Gap(), *before, Note(aside(" ".join((*CAUTIONS, *((also,) if also else ()))))), *found)


def where(rig: Rig, place: Place) -> str:
    """The line, and the file where it is an included one."""
    return f"line {place.line}" if place.file == rig.place.file else f"{place.file} line {place.line}"


def paper_title(
    kind: str, head: str, revision: str | None, file: str, *more: str, notes: tuple[Words, ...] = ()
) -> Title:
    """The head of a paper: its sort, what it is about, the revision and the file that it was made from."""
    made = (f"Revision {revision}", f"made from {file}") if revision else (f"made from {file}",)
    return Title(head, (*made, *more), notes, kind)
