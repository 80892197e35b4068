"""The index of a library of rigs: a page that leads to each one's report."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote

from analyser.checking.letterhead import CAUTIONS
from analyser.pages.tree import Column, Link, Note, Page, Row, Table, Title, given
from analyser.pages.writing.summary_page import RESTS, verdict_word, worst_first, worst_of
from analyser.uses.review.shelf import Entry

STYLES = ("report.css",)
METAS = {"color-scheme": "light dark", "stillheld": "library"}
MARK = '<meta name="stillheld" content="library">'
"""By this an index is known as ours, so that its folder may be written again."""
COLUMNS = ("verdict", "file", "rig", "what is worst", "dangers", "cautions", "states", "reviewed")


def library_page(title: str, entries: Sequence[Entry]) -> Page:
    """Its links are relative. The worst rig stands first."""
    briefs = [one.brief for one in entries]
    rows = tuple(_row(entries[number]) for number in worst_first(briefs))
    blocks = (
        Title(f"Rigs: {title}"),
        Note(worst_of([one.file for one in entries], [one.brief or one.wrong or "" for one in entries])),
        Note(" ".join(CAUTIONS)),
        Note(f"Each rig with its report, the worst first. {RESTS}"),
        Table(tuple(map(Column, COLUMNS)), rows, flush=True),
    )
    return Page(blocks, f"Rigs: {title}")


def _row(one: Entry) -> Row:
    reviewed = given(one.reviewed.words) if one.reviewed else "not reviewed"
    if not one.brief:
        return (verdict_word(None), given(one.file), "", given(one.wrong), "", "", "", reviewed)
    revision = (", revision ", given(one.brief.revision)) if one.brief.revision else ()
    return (
        verdict_word(one.brief),
        Link(one.file, address(one.page or "")),
        (given(one.brief.title), *revision),
        given(one.brief.worst),
        *(str(one.brief.dangers), str(one.brief.cautions), str(one.brief.states), reviewed),
    )


def address(page: str) -> str:
    """A relative link to a file, whatever letters its name has; never read as another kind of address."""
    return "./" + quote(page, safe="/", errors="surrogateescape")
