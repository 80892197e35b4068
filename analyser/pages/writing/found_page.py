"""The page of a rig as it was found: what was otherwise, what that does, then its check."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.pages.tree import Block, Fact, Line, Page, alarm, section
from analyser.pages.writing.check_page import check_page
from analyser.uses.field.walk_sheet import Walkdown


def found_page(made: Walkdown) -> Page:
    """The differences first, each with what it makes worse: everything below them is about the rig as found."""
    about = f"{made.built}: "
    if made.result.met and not made.met:
        about += "not met, for what was found otherwise; of what can be asked: "
    check = check_page(made.result, made.file, about=about)
    found = section("Found otherwise in ", _otherwise(made), made.found_in or "")
    worse = section("What all of it together makes worse", _worse(made))
    return Page((found, worse, section("The check of the rig as found", check.blocks)), check.name)


def _otherwise(made: Walkdown) -> Iterator[Block]:
    for one in made.by_line:
        for told in one.found:
            yield Fact(f"line {told.line}", told.words)
        many = "these lines alone" if len(one.found) > 1 else "this line alone"
        for worse in one.worse:
            yield Fact(alarm("worse"), worse)
        if not one.worse:
            yield Line(
                f"    {many}: nothing worse" if one.by_itself else f"    {many}: can't be read without the others"
            )
    if not made.differences:
        yield Line("nothing was found otherwise")
    yield from (Fact("noted", note) for note in made.notes)
    for left in made.left_out:
        yield Fact("left out", f"{left.words} (line {left.line}): the rig as found is checked without it")


def _worse(made: Walkdown) -> Iterator[Block]:
    yield from (Fact(alarm("worse"), one) for one in made.only_together)
    if not made.made_worse:
        yield Line("nothing, as far as this compares the rig as found with the rig as written")
    elif not made.only_together:
        yield Line("what its lines make worse, and nothing beyond that")
    if made.asked_no_more:
        words = "not all that the file requires can be asked of the rig as found: that counts as not met"
        yield Fact(alarm("NOT MET"), words)
