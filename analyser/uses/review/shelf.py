"""Many rigs and their reviews: how each one stands, and who answered its sheet, and when."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.brief import Brief
from analyser.checking.delivered import Delivered
from analyser.uses.review.answered_page import Report


@dataclass(frozen=True, slots=True)
class Reviewed:
    """A review that lies beside a rig: the last date in it and all names; `same`: it was of this very text;
    `open`: how much there is to answer today that it doesn't answer."""

    date: str
    names: tuple[str, ...]
    same: bool
    open: int

    @property
    def words(self) -> str:
        """`2026-03-01 by Kim; 2 not answered`."""
        by = f" by {', '.join(self.names)}" if self.names else ""
        of = "" if self.same else ", of an earlier text"
        left = f"; {self.open} not answered" if self.open else ""
        return f"{self.date or 'no date'}{by}{of}{left}"


@dataclass(frozen=True, slots=True, repr=False)
class Entry(Delivered):
    """One rig of a library: its file, its page beside the index, and how it stands; `brief` is None, and `wrong`
    says why, where it could not be read. `reviewed` is None where no review lies beside it."""

    SHAPE = "analyser.uses.review.review_shapes.LibraryEntry"

    file: str
    page: str | None
    brief: Brief | None
    wrong: str = ""
    reviewed: Reviewed | None = None

    @property
    def problem(self) -> str | None:
        """Why it could not be read, where it could not."""
        return self.wrong if self.brief is None else None

    @property
    def short(self) -> str:
        return self.brief.closing if self.brief else self.wrong

    @property
    def title(self) -> str:
        return self.file


def reviewed(report: Report) -> Reviewed | None:
    """What the review laid beside a report says of itself; None where there is none."""
    placed = report.placed
    if placed is None:
        return None
    entries = placed.review.entries
    answered = {one.item for one in placed.fits}
    return Reviewed(
        max((one.date for one in entries), default=""),
        tuple(sorted({one.name for one in entries if one.name})),
        placed.same,
        sum(item.id not in answered for item in report.items),
    )
