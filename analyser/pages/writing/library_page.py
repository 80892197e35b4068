"""The index of a library of rigs: a page that leads to each one's report."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote

from analyser.checking.delivered import CAUTIONS
from analyser.pages.writing.page import own, sealed, template
from analyser.pages.writing.summary_page import counted
from analyser.uses.review.shelf import Entry

MARK = '<meta name="stillheld" content="library">'
"""By this an index is known as ours, so that its folder may be written again."""


def library_html(title: str, entries: Sequence[Entry]) -> str:
    """A whole page that needs nothing else, its links relative. Rigs stand in the order given."""
    count = counted([one.brief for one in entries])
    style = own("report.css")
    return template("library.html").render(
        title=title,
        entries=entries,
        links=[address(one.page or "") for one in entries],
        count=count,
        cautions=CAUTIONS,
        style=style,
        policy=sealed(style),
    )


def address(page: str) -> str:
    """A relative link to a file, whatever letters its name has; never read as another kind of address."""
    return "./" + quote(page, safe="/", errors="surrogateescape")
