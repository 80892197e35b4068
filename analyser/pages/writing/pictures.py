"""Drawings as figures of a page."""

from __future__ import annotations

from analyser.pages.drawing.rendering import NotDrawn, render
from analyser.pages.tree import Code, Figure, Note

CAPTION = "The rig as first attached: ground at the top, people at the bottom, single points marked."
BEING_DRAWN = "The diagram is being drawn."


def drawing(source: str, caption: str = CAPTION, instead: Note | Code | None = None) -> Figure:
    """What DOT source draws, or why it can't be drawn."""
    try:
        return drawn(render(source, "svg"), caption, instead)
    except NotDrawn as error:
        return drawn(error, caption, instead)


def drawn(picture: bytes | NotDrawn | None, caption: str = CAPTION, instead: Note | Code | None = None) -> Figure:
    """A picture (None: one still being drawn) as a figure."""
    if isinstance(picture, bytes):
        return Figure(caption, svg=picture.decode(), instead=instead)
    return Figure(caption, undrawn=BEING_DRAWN if picture is None else f"No diagram: {picture}", instead=instead)
