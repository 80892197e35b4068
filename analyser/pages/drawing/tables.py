"""Bodies as tables: points on the upper and lower rim, the name, and the counts or the fate."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from analyser.checking.fates import loudly, unheld
from analyser.holding.fate import Kind
from analyser.holding.outcome import BodyOutcome
from analyser.pages.drawing import colours
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.parts import Node, marked
from analyser.pages.drawing.words import SMALL, bold, folded, html_label, lines, literal, sized
from analyser.rig.model import Nature, Part

WIDE = 34
"""Letters of a line that says by what somebody is held."""
UNSPACED = 'BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"'

SPACED = 'BORDER="0" CELLBORDER="0" CELLSPACING="2" CELLPADDING="0"'
"""So that nothing filled touches a rounded outline."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One place at which something meets a table."""

    port: str
    name: str
    words: tuple[str, ...]


def body_node(
    ident: str,
    part: Part,
    outcome: BodyOutcome | None,
    order: int,
    marks: Marks,
    top: Sequence[Cell],
    bottom: Sequence[Cell],
) -> Node:
    """A person, litter or load. `outcome` is None for people who stand where they cannot fall."""
    rows = [_rim(top, marks)] if top else []
    mass = next((quantity.text for key, quantity in part.quantities if key == "mass"), "")
    said = [word for word in (part.kind, mass) if word]
    if part.standing:
        said.append("standing, exposed" if part.exposed else "standing")
    title = [bold(sized(literal(part.name), 15)) + sized(f" {literal(', '.join(said))}", SMALL, colours.QUIET)]
    heavy = part.name in marks.single and marks.alive(part.name)
    marking = marked(part.name, marks, colours.ON_INK if heavy else colours.QUIET)
    if heavy:
        rows.append(_row(f'<TD CELLPADDING="3">{lines(*title)}</TD>'))
        rows.append(_row(f'<TD CELLPADDING="3" BGCOLOR="{marks.ink(part.name)}">{_white(*marking)}</TD>'))
    else:
        rows.append(_row(f'<TD CELLPADDING="3">{lines(*title, *marking)}</TD>'))
    if by := [row for way in marks.held.get(part.name, ()) for row in folded(way, WIDE)]:
        rows.append(_row(f'<TD CELLPADDING="2">{lines(*(sized(literal(row), SMALL + 1) for row in by))}</TD>'))
    if part.name in marks.fates:
        rows.append(_fate(marks.fates[part.name]))
    elif outcome and not marks.asking:
        rows.append(_counts(outcome, order, marks, standing=part.standing))
    rows += [_rim(bottom, marks, {cell.name for cell in top})] if bottom else []
    style = ' STYLE="ROUNDED"' if part.nature is Nature.PERSON else ""
    tint = colours.SHADE if part.nature is Nature.LOAD else colours.PAPER
    frame = _framed("".join(rows), style, tint)
    return Node(ident, html_label(frame), {"shape": "plain", "ordering": "in"} | marks.called(part.name))


def _framed(rows: str, style: str, tint: str) -> str:
    """The outline of a table."""
    return (
        f'<TABLE BORDER="2" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0" COLOR="{colours.INK}" '
        f'BGCOLOR="{tint}"{style}>{rows}</TABLE>'
    )


def _row(cells: str) -> str:
    return f"<TR><TD><TABLE {UNSPACED}><TR>{cells}</TR></TABLE></TD></TR>"


def _rim(cells: Sequence[Cell], marks: Marks, told: Collection[str] = ()) -> str:
    """A row of points; the marks of those in `told` stand on the other rim."""
    found = ""
    for cell in cells:
        rows = [sized(literal(row), SMALL + 1) for row in cell.words]
        heavy = cell.name in marks.single and marks.alive(cell.name)
        if cell.name not in told:
            rows += marked(cell.name, marks, colours.ON_INK if heavy else colours.QUIET)
        look = f'BORDER="1" COLOR="{colours.INK if heavy else colours.QUIET}"'
        missing = cell.name in marks.wanted - {*told}
        if missing:
            look = f'BORDER="3" COLOR="{colours.ALARM}" BGCOLOR="{colours.ALARM}"'
        look += f' BGCOLOR="{marks.ink(cell.name)}"' if heavy else ""
        said = _white(*rows) if heavy or missing else lines(*rows)
        found += f'<TD PORT="{cell.port}"{marks.cell(cell.name)} {look} CELLPADDING="3">{said}</TD>'
    return (
        f'<TR><TD><TABLE BORDER="0" CELLBORDER="1" CELLSPACING="3" CELLPADDING="0"><TR>{found}</TR></TABLE></TD></TR>'
    )


def _counts(body: BodyOutcome, order: int, marks: Marks, *, standing: bool) -> str:
    """The three counts of a body, a figure under its name (where it is to be brief the last of them); in words where
    there is no figure."""
    if not body.held:
        person = marks.holders.get(body.name)
        return _fate(unheld(body.fate, person or ""))
    independent = "any" if body.independent is None else str(body.independent)
    if not body.independent_exact:
        independent += "+"
    size = body.smallest_failure_set
    smallest = f"over {order}" if size is None else "1 ALONE" if size == 1 else f"{size} together"
    figures = (
        (
            f"{body.attachments}{' + feet' if standing else ''}",
            "attachment" if body.attachments == 1 and not standing else "attachments",
        ),
        (independent, "independent"),
        (smallest, "not held after"),
    )
    tint = {"1 ALONE": marks.ink(body.name)}
    taken = "accepted" if body.name in marks.taken else ""
    last = len(figures) - 1
    cells = "".join(
        _count(figure, word, taken if k == last else "", tint=tint.get(figure, ""))
        for k, (figure, word) in enumerate(figures)
        if k == last or not marks.brief
    )
    counts = f"<TR><TD><TABLE {SPACED}><TR>{cells}</TR></TABLE></TD></TR>"
    return counts + _fate(loudly(body.fate)) if body.fate.kind is not Kind.HELD else counts


def _count(figure: str, *words: str, tint: str) -> str:
    """A figure under what it counts: white on a tint where one failure is enough."""
    counted, *more = (sized(word, SMALL) for word in words)
    told = lines(counted, bold(sized(literal(figure), 13)), *more)
    if not tint:
        return f'<TD CELLPADDING="2" VALIGN="TOP">{told}</TD>'
    return f'<TD CELLPADDING="2" VALIGN="TOP" BGCOLOR="{tint}">{_white(told)}</TD>'


def _white(*rows: str) -> str:
    """Words on what is filled with ink."""
    return f'<FONT COLOR="{colours.PAPER}">{lines(*rows)}</FONT>'


def _fate(words: str) -> str:
    """What becomes of a body: white on black where it falls or tips."""
    loud = words.isupper() or words.split()[0].rstrip(",:").isupper()
    text = bold(sized(literal(words), 12 if loud else 10, "white" if loud else colours.INK))
    tint = f' BGCOLOR="{colours.INK}"' if loud else ""
    cell = f'<TR><TD CELLPADDING="4"{tint}>{text}</TD></TR>'
    inner = f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="4">{cell}</TABLE>'
    return f"<TR><TD>{inner}</TD></TR>"
