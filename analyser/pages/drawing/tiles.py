"""Parts that stand in a row of contacts are drawn as tiles, stacked: each touches the next.

A tile shows by its outline what a part does: ground is grey under a thick bar, a joint is a plain box, a grip has
a jaw on both sides, a knot or stopper is rounded and in its rope's colour. A single point is black.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyser.pages.drawing import colours
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.parts import Node, marked, named, said_of
from analyser.pages.drawing.words import SMALL, html_label, lines, literal, sized
from analyser.rig.model import Nature, Part, Rig

TILES = (Nature.GROUND, Nature.JOINT, Nature.GRIP, Nature.KNOT, Nature.STOPPER)
PLAIN = 'CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"'
JAWS = 'SIDES="LR" BORDER="5"'
BAR = 'SIDES="T" BORDER="6"'


def stacks(
    rig: Rig, pairs: Sequence[tuple[str, str]], contacts: set[tuple[str, str]], first: set[str]
) -> list[list[Part]]:
    """The tiles gathered into stacks, top tile first.

    `pairs` are all lines, upper part first; `contacts` are those of them that are contacts. Two
    tiles stack where their contact is the only line down from one and the only line up from the
    other. Tiles in `first` always begin a stack.
    """
    down: dict[str, list[str]] = {}
    up: dict[str, list[str]] = {}
    for upper, lower in pairs:
        down.setdefault(upper, []).append(lower)
        up.setdefault(lower, []).append(upper)
    tiles = [part for part in rig.parts.values() if part.nature in TILES and part.body is None]
    names = {part.name for part in tiles}
    under = {
        upper: lower
        for upper, (lower, *others) in down.items()
        if not others
        and len(up[lower]) == 1
        and (upper, lower) in contacts
        and {upper, lower} <= names
        and lower not in first
    }
    tops = [part for part in tiles if part.name not in under.values()]
    found = []
    for part in tops:
        stack = [part]
        while stack[-1].name in under:
            stack.append(rig.parts[under[stack[-1].name]])
        found.append(stack)
    return found


def stack_node(ident: str, stack: Sequence[tuple[Part, str, str | None]], marks: Marks) -> Node:
    """One node for a stack; each tile comes with its port and, for a knot, its rope's colour."""
    rows = "".join(
        f'<TR><TD PORT="{port}"{marks.cell(part.name)}>{_tile(part, marks, rope_colour)}</TD></TR>'
        for part, port, rope_colour in stack
    )
    return Node(ident, html_label(f'<TABLE BORDER="0" {PLAIN}>{rows}</TABLE>'), {"shape": "plain"})


def _tile(part: Part, marks: Marks, rope_colour: str | None) -> str:
    lost = not marks.alive(part.name)
    single = part.name in marks.single and not lost
    ground = part.nature is Nature.GROUND and not lost
    quiet = colours.ON_INK if single else colours.QUIET
    kind, *rest = said_of(part)
    rows = [named(part.name, kind, quiet)]
    rows += [sized(literal(row), SMALL, quiet) for row in rest]
    rows += marked(part.name, marks, quiet)
    words = lines(*rows)
    if single or lost:
        words = f'<FONT COLOR="{colours.PAPER if single else colours.QUIET}">{words}</FONT>'
    tint = marks.ink(part.name) if single else colours.SHADE if ground else colours.PAPER
    style = "ROUNDED" if part.nature in (Nature.KNOT, Nature.STOPPER) else ""
    colour, border = (rope_colour, 2) if rope_colour else (colours.INK, 1)
    if part.name in marks.fresh:
        border = 4
    if lost:
        style, colour, border = f"{style},DASHED".lstrip(","), colours.LOST, 1
    mark = JAWS if part.nature is Nature.GRIP and not lost else BAR if ground else 'BORDER="0"'
    marking = f'{mark} COLOR="{colours.LOST if single else colours.INK}"'
    return _outline(f'<TD CELLPADDING="3" {marking}>{words}</TD>', border, colour, style, tint)


def _outline(cells: str, border: int, colour: str, style: str, tint: str) -> str:
    look = f'BORDER="{border}" COLOR="{colour}" BGCOLOR="{tint}"' + (f' STYLE="{style}"' if style else "")
    return f"<TABLE {look} {PLAIN}><TR>{cells}</TR></TABLE>"
