"""Results as they show themselves in a notebook: the page that the command prints, as a piece of HTML."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from analyser.doors.commands.opening import shown
from analyser.pages.writing.page import elements, figure, flat
from analyser.pages.writing.pieces import Figure

if TYPE_CHECKING:
    from analyser.checking.delivered import Delivered
    from analyser.pages.writing.pieces import Piece

COMMANDS = {
    "Result": "check",
    "After": "whatif",
    "Reasoning": "why",
    "Ranking": "rank",
    "AllForces": "forces",
    "Attitude": "attitude",
    "Hauling": "haul",
}
"""By the type of a result: the command whose page it is."""


def html(result: Delivered) -> str:
    """A result's page; of a paper, the check that it rests on."""
    return str(Markup("<div>{}</div>").format(Markup("\n").join(_parts(_pieces(result)))))


def _pieces(result: Any) -> Iterable[Piece]:
    name = type(result).__name__
    if name in COMMANDS:
        page: Callable[..., Piece] = import_module(f"analyser.doors.commands.{COMMANDS[name]}").page
        return [page(result, _file(result))]
    if name == "Comparison":
        from analyser.pages.writing.compare_page import compare_page

        return [compare_page(result, "old", "new")]
    if name == "Mending":
        from analyser.pages.writing import mend_page

        return mend_page.pieces(result, _file(result))
    if name == "Answer":
        from analyser.pages.writing import reordering

        return reordering.pieces(result, _file(result))
    if name == "Case":
        from analyser.pages.writing import reconstructing

        return reconstructing.pieces(result, _file(result))
    return _of_paper(result)


def _of_paper(result: Any) -> Iterable[Piece]:
    """Of what is made to be printed: what it is, in a line, and the check that it rests on."""
    from rich.text import Text

    from analyser.pages.writing.checking import check_page

    words = Text(result.short)
    return [words, check_page(result.result, _file(result.result))] if hasattr(result, "result") else [words]


def _file(result: Any) -> str:
    rig = result.rig if hasattr(result, "rig") else result.result.rig
    return shown(rig.place.file)


def _parts(pieces: Iterable[Piece]) -> Iterable[Markup]:
    for piece in pieces:
        if isinstance(piece, Figure):
            yield figure(piece.diagram, piece.caption)
        elif isinstance(piece, list):
            yield Markup("<pre>{}</pre>").format("\n".join(piece))
        else:
            yield from elements(flat(piece))
