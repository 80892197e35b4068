"""What a page is made of, whoever shows it: the terminal, HTML, Markdown."""

from __future__ import annotations

from dataclasses import dataclass

from rich.console import RenderableType

from analyser.pages.drawing.rendering import NotDrawn


@dataclass(frozen=True)
class Figure:
    """A diagram (SVG), or why there is none."""

    diagram: bytes | NotDrawn
    caption: str


Words = RenderableType
"""Words for people, which wrap."""
Lines = list[str]
"""Lines to paste, which never do."""
Piece = Words | Lines | Figure
