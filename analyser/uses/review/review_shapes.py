"""The documents of a reviewer's page, and of a library of them."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import Document, OfRig, Shape
from analyser.checking.force_shapes import BodyMoved, LineBand
from analyser.checking.shapes import Holding
from analyser.uses.review.sheet import REVIEW, Entry, Item


class AfterOne(Shape):
    """What follows one failure by the forces."""

    moved: tuple[BodyMoved, ...]
    lines: Annotated[tuple[LineBand, ...], "changed"]
    """Those whose tension changes by a hundredth of a kN or more."""
    breaks: str


class ReportState(Shape):
    number: Annotated[int, "state.number"]
    stage: Annotated[str | None, "state.stage"]
    step: Annotated[str | None, "state.step"]
    line: Annotated[int, "state.line"]
    answers: int
    """Its place in the list of stored answers."""
    broken: bool
    after: dict[int, AfterOne]
    """By a failure's number, where forces were worked out."""


class WayStored(Shape):
    needs: tuple[int, ...]
    words: str
    short: str
    """By rope and anchor alone."""


class FatesTogether(Shape):
    failures: tuple[int, ...]
    fates: dict[str, str]


class AnswersStored(Shape):
    """All that is stored of a state: failures by number. `analyser/uses/review/answers.py` says how it is read."""

    complete_to: int
    possible: tuple[int, ...]
    bodies: tuple[Holding, ...]
    sets: dict[str, tuple[tuple[int, ...], ...]]
    ways: dict[str, tuple[WayStored, ...]]
    fates: dict[int, dict[str, str]]
    """What happens to whom, in words, after one failure alone; of those who are not simply held."""
    fates_of_two: tuple[FatesTogether, ...]
    """The same after two that drop somebody only together, where it isn't `FALLS`."""


class Reworded(Shape):
    item: Annotated[str, "0.item"]
    then: Annotated[str, "0.text"]
    now: Annotated[str, "1"]


class ReviewPlaced(Shape):
    """A review laid beside what there is to answer today."""

    of_rig: Annotated[str, "review.rig"]
    of_revision: Annotated[str | None, "review.revision"]
    of_this_text: Annotated[bool, "same"]
    entries: Annotated[tuple[Entry, ...], "fits"]
    reworded: tuple[Reworded, ...]
    no_longer_there: Annotated[tuple[Entry, ...], "gone"]


class ReportTold(OfRig, kw_only=True):
    """`report`: everything that a reviewer's page stores."""

    table = "items"
    document: Literal["report"] = "report"
    review_format: str = REVIEW
    file: str
    content: str
    """A digest of the text and of what it includes."""
    closing: Annotated[str, "result.closing"]
    complete_to: int
    failures: tuple[str, ...]
    """Of every state, by name: all other lists speak of them by number."""
    parts: dict[str, tuple[int, ...]]
    states: tuple[ReportState, ...]
    answers: tuple[AnswersStored, ...]
    items: tuple[Item, ...]
    review: Annotated[ReviewPlaced | None, "placed"]


class ReviewedTold(Shape):
    date: str
    names: tuple[str, ...]
    of_this_text: Annotated[bool, "same"]
    not_answered: Annotated[int, "open"]


class Standing(Shape):
    """How a rig stands, over all its states."""

    met: bool
    closing: str
    states: int
    falls: tuple[str, ...]
    alone: tuple[str, ...]
    """Whom some single failure drops."""
    single_points: int
    dangers: int


class LibraryEntry(Document, kw_only=True):
    """`report` of many: one rig of a library."""

    document: Literal["library-entry"] = "library-entry"
    file: str
    rig: Annotated[str | None, "brief.title"]
    revision: Annotated[str | None, "brief.revision"]
    page: str | None
    """Its page beside the index; None where it could not be read."""
    error: Annotated[str | None, "problem"]
    standing: Annotated[Standing | None, "brief"]
    reviewed: ReviewedTold | None
