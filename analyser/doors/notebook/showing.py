"""Results as they show themselves in a notebook: the page that the command prints, as a piece of HTML."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from analyser.checking.letterhead import units_of
from analyser.doors.commands.opening import shown
from analyser.pages.tree import Block, Note
from analyser.pages.writers.hypertext import elements
from analyser.rig.figures import using

if TYPE_CHECKING:
    from analyser.checking.delivered import Delivered
    from analyser.pages.tree import Page

COMMANDS = {
    "Result": "check",
    "After": "whatif",
    "Reasoning": "why",
    "Ranking": "rank",
    "AllForces": "forces",
    "Attitude": "attitude",
    "Hauling": "haul",
    "Mending": "mend",
    "Answer": "reorder",
    "Case": "reconstruct",
}
"""By the type of a result: the command whose page it is."""


def html(result: Delivered) -> str:
    """A result's page; of a paper, the check that it rests on."""
    with using(units_of(result)):
        return f"<div>{elements(_blocks(result))}</div>"


def _blocks(result: Any) -> tuple[Block, ...]:
    name = type(result).__name__
    if name == "Comparison":
        from analyser.doors.commands.compare import page

        return page(result, "old", "new").blocks
    if name in COMMANDS:
        made: Callable[..., Page] = import_module(f"analyser.doors.commands.{COMMANDS[name]}").page
        return made(result, _file(result)).blocks
    return _of_paper(result)


def _of_paper(result: Any) -> tuple[Block, ...]:
    """Of what is made to be printed: what it is, in a line, and the check that it rests on."""
    from analyser.doors.commands.check import page

    rests_on = page(result.result, _file(result.result)).blocks if hasattr(result, "result") else ()
    return (Note(result.short), *rests_on)


def _file(result: Any) -> str:
    rig = result.rig if hasattr(result, "rig") else result.result.rig
    return shown(rig.place.file)
