"""The steps of a stage as the file writes them, in another order, ready to be pasted in their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyser.language.syntax import StepLine
from analyser.rig.model import Rig
from analyser.rig.plan import Plan


@dataclass(frozen=True, slots=True)
class Placed:
    """One line of an order: the step, its number in the file's order (from 1), whether it was moved, and what
    is wrong in the state after it."""

    line: StepLine
    was: int
    moved: bool
    wrong: tuple[str, ...]


def pasted(rig: Rig, lines: Sequence[Placed]) -> tuple[str, ...]:
    """The lines of an order, each step with what is indented under it and the comments just above it; a step
    that was moved says which it was."""
    sources = rig.document.sources if isinstance(rig, Plan) else {}
    found: list[str] = []
    for one in lines:
        above, first, under = _written(sources.get(one.line.place.file, ()), one.line)
        found += [*above, f"{first}  # moved: was step {one.was}" if one.moved else first, *under]
    return tuple(found)


def _written(source: Sequence[str], line: StepLine) -> tuple[list[str], str, list[str]]:
    at = line.place.line - 1
    if at >= len(source):
        return [], f"    {line.words}", []
    first = source[at].rstrip()
    depth = _depth(first)
    start = at
    while start and source[start - 1].lstrip().startswith("#") and _depth(source[start - 1]) == depth:
        start -= 1
    end = at + 1
    while end < len(source) and source[end].strip() and _depth(source[end]) > depth:
        end += 1
    return [one.rstrip() for one in source[start:at]], first, [one.rstrip() for one in source[at + 1 : end]]


def _depth(line: str) -> int:
    """How far a line is indented; a tab counts as four, as when it is read."""
    text = line.expandtabs(4)
    return len(text) - len(text.lstrip())
