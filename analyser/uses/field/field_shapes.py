"""The documents of the walk-down and of the cards: sentences by their key in the catalogue of words."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import OfRig, Shape
from analyser.checking.shapes import Check
from analyser.uses.field.trying import Trials


class Sentence(Shape):
    """Something said to people: which sentence of the catalogue, and what stands in its gaps."""

    say: Annotated[str, "key"]
    gaps: dict[str, str | int | tuple[str, ...] | Sentence]


class Point(Shape):
    """One thing that is looked at."""

    name: str
    kind: str
    section: str
    step: str | None
    """The step that brings it, where it isn't there from the beginning."""
    line: int
    grade: Annotated[Literal[1, 2, 3], "critical.grade"]
    """1: a single point; 2: leaves somebody on one, tips, drops or frees them; 3: the rest."""
    falls: Annotated[tuple[str, ...], "critical.falls"]
    left_on_one: Annotated[tuple[str, ...], "critical.left"]
    shaken: Annotated[tuple[str, ...], "critical.shaken"]
    """Held all the same, and tip, drop first or run along a line."""
    state: Annotated[int, "critical.state"]
    accepted: Annotated[bool, "critical.accepted"]
    figures: tuple[Sentence, ...]
    touches: tuple[str, ...]
    see: tuple[Sentence, ...]
    otherwise: tuple[str, ...]


class LineFound(Shape):
    """A difference as it was written down."""

    words: str
    line: int


class WorseByLine(Shape):
    """What was found on one line, or on several of which one names what another brings, and what it makes worse."""

    found: tuple[LineFound, ...]
    worse: tuple[str, ...]
    """What these lines alone make worse than the rig as written."""
    by_itself: bool
    """False: the rig can't be read with these lines alone, and nothing is told of them."""


class WalkdownTold(OfRig, kw_only=True):
    """`walkdown`: the as-built check."""

    table = "points"
    document: Literal["walkdown"] = "walkdown"
    verdict_on: Annotated[Literal["as built", "as written"], "built"]
    found_in: str | None
    """The file of what was found otherwise."""
    notes: tuple[str, ...]
    differences: tuple[LineFound, ...]
    left_out: tuple[LineFound, ...]
    worse_by_line: Annotated[tuple[WorseByLine, ...], "by_line"]
    worse: tuple[str, ...]
    runs: tuple[str, ...]
    stands_no_more: tuple[str, ...]
    """Frames that have not what they stand on, as it was found: nothing below counts on them."""
    points: Annotated[tuple[Point, ...], "items"]
    tests: Trials
    closing: Annotated[str, "result.closing"]
    met: bool
    check: Check | None
    """The check of the rig as found."""


class CardLine(Shape):
    """A line of the calls."""

    sort: str
    number: str
    words: Sentence


class CardTold(Shape):
    role: str
    person: str | None
    works: tuple[Sentence, ...]
    watches: tuple[Sentence, ...]
    calls: tuple[CardLine, ...]
    critical: tuple[Sentence, ...]
    fails: tuple[Sentence, ...]


class CardsTold(OfRig, kw_only=True):
    """`card`: a pocket card for each role."""

    table = "cards"
    document: Literal["cards"] = "cards"
    file: str
    cards: tuple[CardTold, ...]
    stages: bool
