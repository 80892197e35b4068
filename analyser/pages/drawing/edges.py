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
WIDE = 27
"""Letters of a row that says which edge it is and which rope lies on it; beyond, the rope has a row of its own."""


def edge_nodes(part: Part, marks: Marks, passages: Sequence[Cell]) -> list[Node]:
    """The boxes of an edge; where no rope passes, one with its name alone."""
    single = part.name in marks.single and marks.alive(part.name)
    quiet = colours.ON_INK if single else colours.QUIET
    kind, *rest = said_of(part)
    title = named(part.name, kind, quiet)
    said = [sized(literal(row), SMALL, quiet) for row in rest]
    look = {"shape": "box", "style": "filled", "fillcolor": GREY, "penwidth": "1"}
    if single:
        look |= {"color": colours.INK, "fillcolor": marks.ink(part.name), "fontcolor": colours.PAPER}
    marking = marked(part.name, marks, quiet)
    found = []
    for cell in passages:
        rope, *kept = cell.words or ("",)
        under = bold(sized(literal(rope), SMALL + 1))
        rows = [title, *said, under]
        if len(f"{part.name} {kind} under {rope}") <= WIDE and rope:
            rows = [title + sized(" under ", SMALL, quiet) + under, *said]
        words = [sized(literal(row), SMALL) for row in kept]
        label = html_label(lines(*rows, *words, *marking))
        found.append(Node(cell.port, label, dict(look) | marks.called(part.name)))
    return found
