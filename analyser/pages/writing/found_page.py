"""The page of a rig as it was found: what was otherwise, line by line with what that makes worse, then the verdict."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.foremost import verdict_line
from analyser.pages.tree import Block, Fact, Line, Note, Page, Span, Title, alarm, section, strong
from analyser.pages.writing.check_page import check_page
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.one_sheet import one_sheet
from analyser.uses.field.walk_sheet import Walkdown


def found_page(made: Walkdown, *, full: bool = False) -> Page:
    """The differences first, each with what it makes worse; `full`: then the whole check of the rig as found."""
    about = f"{made.built}: "
    if made.result.met and not made.met:
        about += "not met, for what was found otherwise; of what can be asked: "
    found = section("Found otherwise in ", _otherwise(made), made.found_in or "")
    worse = section("What all of it together makes worse", _worse(made))
    title = rig_title(made.result.rig, made.file)
    if full:
        check = check_page(made.result, made.file, about=about)
        parts = (title, found, worse, section("The check of the rig as found", check.blocks))
        return one_sheet(Page(parts, check.name), _verdict(made), full=True)
    also = Note("The check of the rig as found, whole: `--full`.")
    foot = closing(strong(f"{about}{made.result.closing}"), also)
    page = Page((Title(title.head, title.beside), found, worse, *foot), made.result.rig.title)
    return one_sheet(page, _verdict(made), first=len(found.blocks))


def _verdict(made: Walkdown) -> Span:
    """The verdict on the rig as found, with a name; before it what no requirement tells."""
    verdict = f"{made.built}: {verdict_line(made.result)}"
    grave = (*made.stands_no_more, *made.runs)
    if grave:
        return alarm(f"{made.built}: NOT MET: {grave[0]}")
    if made.asked_no_more and made.result.met:
        return alarm(f"{made.built}: NOT MET: not all that the file requires can be asked of the rig as found")
    return strong(verdict) if made.met else alarm(verdict)


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
