"""The index of a library of rigs: a page that leads to each one's report."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote

from analyser.checking.delivered import CAUTIONS
from analyser.pages.tree import Column, Link, Note, Page, Row, Table, Title, given, strong
from analyser.pages.writing.summary_page import IN_BRACKETS, dropped_words, met_words
from analyser.uses.review.shelf import Entry

STYLES = ("report.css",)
METAS = {"color-scheme": "light dark", "stillheld": "library"}
MARK = '<meta name="stillheld" content="library">'
"""By this an index is known as ours, so that its folder may be written again."""
COLUMNS = ("file", "rig", "required", "one alone drops", "dangers", "states", "reviewed")


def library_page(title: str, entries: Sequence[Entry]) -> Page:
    """Its links are relative. Rigs stand in the order given."""
    blocks = (
        Title(f"Rigs: {title}"),
        Note(met_words([one.brief for one in entries])),
        Note(" ".join(CAUTIONS)),
        Note(f"Each rig with its report. {IN_BRACKETS}"),
        Table(tuple(map(Column, COLUMNS)), tuple(map(_row, entries)), flush=True),
    )
    return Page(blocks, f"Rigs: {title}")


def _row(one: Entry) -> Row:
    reviewed = given(one.reviewed.words) if one.reviewed else "not reviewed"
    if not one.brief:
        return (given(one.file), "", strong("cannot be read"), given(one.wrong), "", "", reviewed)
    revision = (", revision ", given(one.brief.revision)) if one.brief.revision else ()
    return (
        Link(one.file, address(one.page or "")),
        (given(one.brief.title), *revision),
        one.brief.closing,
        given(dropped_words(one.brief)),
        *(str(one.brief.dangers), str(one.brief.states), reviewed),
    )


def address(page: str) -> str:
    """A relative link to a file, whatever letters its name has; never read as another kind of address."""
    return "./" + quote(page, safe="/", errors="surrogateescape")
