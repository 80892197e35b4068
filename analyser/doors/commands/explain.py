"""`stillheld explain [NAME]`: what a rule, a kind or any word of the language means, with an example."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.checking.results import FORMAT
from analyser.language.mistakes import did_you_mean
from analyser.uses.teaching.entries import Entry, entries

MOST_PAGES = 6
"""More than this are only listed."""


def run(options: argparse.Namespace) -> int:
    """0 when something was explained, 2 when nothing is called so."""
    every = entries()
    asked = " ".join(" ".join(options.name).split())
    found = called(asked, every) if asked else []
    if asked and not found:
        names = [word for page in every for word in (page.name, *page.name.split())]
        hint = did_you_mean(asked, names, "`stillheld explain` lists what there is")
        sys.stderr.write(f"there is no rule, kind or word of the language called `{asked}`\n        {hint}\n")
        return 2
    others = [page for page in every if asked and page not in found and page.is_written_with(asked.lower().split())]
    also = [f"{page.name} ({page.group})" for page in others]
    if options.json:
        sys.stdout.write(json.dumps(_data(asked, found or every, also), indent=2, ensure_ascii=False) + "\n")
        return 0
    from analyser.pages.writers.terminal import show
    from analyser.pages.writing.explain_page import entries_page, entry_page, see_also

    if len(found) > MOST_PAGES or not found:
        show(entries_page(found or every))
        return 0
    for number, page in enumerate(found):
        if number:
            sys.stdout.write("\n")
        show(entry_page(page))
    if also:
        sys.stdout.write("\n")
        show(see_also(also))
    return 0


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


def _data(asked: str, found: tuple[Entry, ...] | list[Entry], also: list[str]) -> dict[str, object]:
    """One page as it is; several as a list; all of them as names and meanings."""
    if not asked:
        rules = [page.data for page in found if page.group == "rule"]
        return {
            "format": FORMAT,
            "rules": [{key: rule[key] for key in ("rule", "severity", "means")} for rule in rules],
            "words": [
                {"group": page.group, "name": page.name, "means": page.data["means"]}
                for page in found
                if page.group != "rule"
            ],
        }
    if len(found) == 1:
        return {"format": FORMAT, **found[0].data, "see_also": also}
    return {"format": FORMAT, "pages": [page.data for page in found], "see_also": also}
