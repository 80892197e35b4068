"""How a part looks: what is written on it, and the shape of one that is drawn alone.

Parts that stack are in `tiles.py`; bodies and edges, which lines meet at one of several places, in
`tables.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from analyser.pages.drawing import colours
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.words import SMALL, bold, folded, html_label, lines, literal, sized
from analyser.rig.model import Nature, Part

WIDTH = 28
PUT = "PUT"
"""What is said on a part that is to be moved, and on what it is to be put on, begins so."""
NOT_SO = "×"
"""Stands at a line that is there and is not to be."""
NOTHING_ATTACHED = "nothing attached"
SHAPES = {
    Nature.PULLEY: {"shape": "ellipse", "style": "filled", "fillcolor": colours.PAPER, "margin": "0.02,0.02"},
    Nature.PAD: {"shape": "parallelogram", "style": "filled", "fillcolor": colours.SHADE, "margin": "0,0.02"},
    Nature.FRAME: {"shape": "house", "style": "filled", "fillcolor": colours.SHADE, "margin": "0,0.03"},
}
"""The parts that are drawn alone. `legend.py` says the same in words."""


@dataclass(frozen=True, slots=True)
class Node:
    """One node of the drawing, ready for the DOT writer."""

    id: str
    label: str
    attributes: dict[str, str] = field(default_factory=dict)


def plain_node(ident: str, part: Part, marks: Marks) -> Node:
    """A part that is drawn alone, in a shape of its own."""
    look = dict(SHAPES[part.nature])
    quiet = colours.QUIET
    if not marks.alive(part.name):
        look |= {"style": "dashed", "color": colours.LOST, "fontcolor": colours.QUIET, "penwidth": "1.2"}
    elif part.name in marks.fresh:
        look |= {"penwidth": "3"}
    elif part.name in marks.single:
        look |= {"color": colours.INK, "fillcolor": marks.ink(part.name), "fontcolor": colours.PAPER}
        quiet = colours.ON_INK
    kind, *rest = said_of(part)
    rows = [named(part.name, kind, quiet)]
    rows += [sized(literal(row), SMALL, quiet) for row in rest]
    rows += marked(part.name, marks, quiet)
    return Node(ident, html_label(lines(*rows)), look | marks.called(part.name))


def named(name: str, kind: str, quiet: str) -> str:
    """The name, and beside it what the thing is."""
    return bold(literal(name)) + (sized(f" {literal(kind)}", SMALL, quiet) if kind else "")


def said_of(part: Part) -> list[str]:
    """What the file says of a part, shortly: its kind first (empty where its name says it)."""
    said = ["below the bodies"] if part.below else [f"below {name}" for name in part.below_for]
    if part.operated_by:
        said.append(f"worked by {part.operated_by}")
    if part.minded_by:
        said.append(f"minded by {part.minded_by}")
    if part.self_locking:
        said.append("self-locking")
    said += ["held open"] * part.held_open + ["lowers by itself"] * part.lowers
    said += [need.words for need in part.needs]
    found = ["" if _kind_in_name(part) else part.kind]
    room = 0
    for one in said:
        room -= len(one)
        if room < 0:
            rows = folded(one, WIDTH)
            found += rows
            room = WIDTH - len(rows[-1])
        else:
            found[-1] += f", {one}"
    return found


def marked(name: str, marks: Marks, quiet: str, width: int = WIDTH) -> list[str]:
    """The marks of a part or span as label lines: single point, lost, assumed, accepted."""
    rows: list[str] = []
    if name in marks.lost:
        rows.append(bold(sized(literal(marks.lost[name]), SMALL if marks.room else 11, colours.INK)))
    elif name not in marks.dead:
        if name in marks.fresh:
            rows.append(bold(sized(literal(marks.fresh[name]), 11, colours.INK)))
        if name in marks.empty:
            loud = name in marks.wanted
            words = sized(NOTHING_ATTACHED.upper(), SMALL + 1) if loud else sized(NOTHING_ATTACHED, SMALL)
            rows.append(bold(words))
        for row in marks.single.get(name, ()):
            word, _, rest = row.partition(":")
            first, *more = folded(rest, width)
            rows.append(sized(f"{bold(literal(word))}: {literal(first)}", SMALL))
            rows += [sized(literal(one), SMALL) for one in more]
        for at, told in marks.do.at:
            if at == name:
                put = [row for one in told for row in folded(one, width)]
                rows += [bold(sized(literal(one), SMALL + 1)) for one in put]
        if name in marks.forces:
            rows.insert(0, bold(sized(literal(marks.forces[name]), SMALL)))
    if name in marks.changes:
        rows.insert(0, bold(sized(literal(marks.changes[name]), SMALL)))
    for note in marks.notes.get(name, ()):
        rows += [sized(f"<I>{literal(one)}</I>", SMALL, quiet) for one in folded(note, width)]
    return rows + [sized("&#160;", SMALL)] * (marks.room.get(name, 0) - len(rows))


def _kind_in_name(part: Part) -> bool:
    """`red-bowline` says already that it is a bowline."""
    return f"-{part.kind}-" in f"-{part.name}-"
