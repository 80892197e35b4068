"""The page of a rig as it was found: what was otherwise, what that does, then its check."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.pages.tree import Block, Fact, Line, Page, alarm, section
from analyser.pages.writing.check_page import check_page
from analyser.uses.field.walk_sheet import Walkdown


def found_page(made: Walkdown) -> Page:
    """The differences first: everything below them is about the rig as found."""
    about = f"{made.built}: "
    if made.result.met and not made.met:
        about += "not met, for what was found otherwise; of what can be asked: "
    check = check_page(made.result, made.file, about=about)
    found = section("Found otherwise in ", _otherwise(made), made.found_in or "")
    worse = section("What that makes worse", _worse(made))
    return Page((found, worse, section("The check of the rig as found", check.blocks)), check.name)


def _otherwise(made: Walkdown) -> Iterator[Block]:
    yield from (Fact(f"line {one.line}", one.words) for one in made.differences)
    if not made.differences:
        yield Line("nothing was found otherwise")
    yield from (Fact("noted", note) for note in made.notes)
    for one in made.left_out:
        yield Fact("left out", f"{one.words} (line {one.line}): the rig as found is checked without it")


def _worse(made: Walkdown) -> Iterator[Block]:
    yield from (Fact(alarm("worse"), one) for one in made.made_worse)
    if not made.made_worse:
        yield Line("nothing, as far as this compares the rig as found with the rig as written")
    if made.asked_no_more:
        words = "not all that the file requires can be asked of the rig as found: that counts as not met"
        yield Fact(alarm("NOT MET"), words)
