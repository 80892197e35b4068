"""`stillheld explain [NAME]`: what a rule, a kind or any word of the language means, with an example."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import NotDone, put_json
from analyser.doors.commands.options import as_json

if TYPE_CHECKING:
    from analyser.checking.contract import Document
    from analyser.uses.teaching.entries import Entry

MOST_PAGES = 6
"""More than this are only listed."""


def options(one: ArgumentParser) -> None:
    words = "a rule, a kind, or a word or phrase of the language (default: list what there is)"
    one.add_argument("name", nargs="*", metavar="NAME", help=words)
    as_json(one)


def run(options: Namespace) -> int:
    """0 when something was explained, 2 when nothing is called so."""
    from analyser.language.mistakes import did_you_mean
    from analyser.uses.teaching.entries import entries

    every = entries()
    asked = " ".join(" ".join(options.name).split())
    found = called(asked, every) if asked else []
    if asked and not found:
        names = [word for page in every for word in (page.name, *page.name.split())]
        hint = did_you_mean(asked, names, "`stillheld explain` lists what there is")
        raise NotDone(f"there is no rule, kind or word of the language called `{asked}`\n        {hint}")
    others = [page for page in every if asked and page not in found and page.is_written_with(asked.lower().split())]
    also = [f"{page.name} ({page.group})" for page in others]
    if options.json:
        put_json(_document(found if asked else None, every, also))
        return 0
    _show(found or list(every), also, listed=not found)
    return 0


def _show(found: list[Entry], also: list[str], *, listed: bool) -> None:
    from analyser.pages.writers.terminal import show
    from analyser.pages.writing.explain_page import entries_page, entry_page, see_also

    if len(found) > MOST_PAGES or listed:
        show(entries_page(found))
        return
    for number, page in enumerate(found):
        if number:
            sys.stdout.write("\n")
        show(entry_page(page))
    if also:
        sys.stdout.write("\n")
        show(see_also(also))


def called(asked: str, every: tuple[Entry, ...]) -> list[Entry]:
    """The pages with this name; else those written with these words; else those that speak of all of them."""
    for name in (asked, asked.lower()):
        found = [page for page in every if page.name == name]
        if found:
            return found
    words = asked.lower().split()
    found = [page for page in every if page.is_written_with(words)]
    if not found and len(words) > 1:
        found = [page for page in every if page.speaks_of(words)]
    return found


def _document(found: list[Entry] | None, every: tuple[Entry, ...], also: list[str]) -> Document:
    """The pages that were asked for; of all of them names and meanings."""
    from analyser.checking.contract import lay
    from analyser.uses.teaching.language_shapes import PagesTold, PageTold, Words

    if found is None:
        return lay(Words, every)
    return PagesTold(pages=tuple(lay(PageTold, page) for page in found), see_also=tuple(also))
