"""An edge is a grey box for each rope over it, in one row, with what keeps that rope off the edge.

Each box carries the edge's name and marks: a rope is then followed through its own box, and the
layout is free to put the boxes where the ropes do not cross.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyser.pages.drawing import colours
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.parts import Node, marked, named, said_of
from analyser.pages.drawing.tables import Cell
from analyser.pages.drawing.words import SMALL, bold, html_label, lines, literal, sized
from analyser.rig.model import Part

GREY = "#dadada"


def edge_nodes(part: Part, marks: Marks, passages: Sequence[Cell]) -> list[Node]:
    """The boxes of an edge; where no rope passes, one with its name alone."""
    single = part.name in marks.single and marks.alive(part.name)
    quiet = colours.ON_INK if single else colours.QUIET
    kind, *rest = said_of(part)
    title = [named(part.name, kind, quiet)]
    title += [sized(literal(row), SMALL, quiet) for row in rest]
    look = {"shape": "box", "style": "filled", "fillcolor": GREY, "penwidth": "1"}
    if single:
        look |= {"color": colours.INK, "fillcolor": colours.INK, "fontcolor": colours.PAPER}
    marking = marked(part.name, marks, quiet)
    found = []
    for cell in passages:
        words = [bold(sized(literal(cell.words[0]), SMALL + 1))] if cell.words else []
        words += [sized(literal(row), SMALL) for row in cell.words[1:]]
        found.append(Node(cell.port, html_label(lines(*title, *words, *marking)), dict(look) | marks.called(part.name)))
    return found
