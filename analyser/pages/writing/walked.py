"""The terminal's page of a rig as it was found: what was otherwise, what that does, then its check."""

from __future__ import annotations

from rich.console import Group, RenderableType

from analyser.pages.writing.checking import check_page
from analyser.pages.writing.terminal import hanging, heading, line
from analyser.uses.field.walk_sheet import Walkdown


def walked_page(made: Walkdown) -> RenderableType:
    """The differences first: everything below them is about the rig as found."""
    rows: list[RenderableType] = [heading("Found otherwise in ", made.found_in or "")]
    rows += [hanging(f"line {one.line}", one.words) for one in made.differences]
    if not made.differences:
        rows.append(line("nothing was found otherwise"))
    rows += [hanging("noted", note) for note in made.notes]
    rows += [
        hanging("left out", f"{one.words} (line {one.line}): the rig as found can't carry it") for one in made.left_out
    ]
    rows.append(heading("What that makes worse"))
    rows += [hanging("worse", one, "bold red") for one in (*made.runs, *made.worse)]
    if not (made.worse or made.runs):
        rows.append(line("nothing, as far as this compares the rig as found with the rig as written"))
    if made.asked_no_more:
        words = "not all that the file requires can be asked of the rig as found: that counts as not met"
        rows.append(hanging("NOT MET", words, "bold red"))
    about = f"{made.built}: "
    if made.result.met and not made.met:
        about += "not met, for what was found otherwise; of what can be asked: "
    return Group(*rows, heading("The check of the rig as found"), check_page(made.result, made.file, about=about))
