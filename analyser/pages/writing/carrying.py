"""What each part may come to carry in the worst case, as a table; bands of forces."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.finding import listed
from analyser.checking.worst_loads import LEFT_OUT, WorstLoad, who_words, without_mass
from analyser.pages.writing.terminal import hanging, heading, line
from analyser.rig.model import Rig

MOST_ROWS = 30


def worst_rows(rig: Rig, loads: Sequence[WorstLoad]) -> list[RenderableType]:
    """The section that needs no places: an upper bound of plumb weight for each part and rope."""
    rows: list[RenderableType] = [heading("At worst: what each part may come to carry, no places needed")]
    if not loads:
        return [*rows, line("nothing leads from any weight to the ground")]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  part", "at most", "of", "strength", "times that"):
        table.add_column(column, header_style="", justify="right" if column in ("at most", "times that") else "left")
    for row in loads[:MOST_ROWS]:
        strength = row.strength.text if row.strength else "none given"
        factor = "–" if row.factor is None else f"{row.factor:.1f}"
        most = f"{row.load.newtons / 1000:.2f} kN{' +' if row.load.unknown else ''}"
        table.add_row(Text(f"  {row.name}"), most, Text(who_words(rig, row.load)), strength, factor)
    rows.append(table)
    if len(loads) > MOST_ROWS:
        rows.append(line(f"… and {len(loads) - MOST_ROWS} more (`--json` lists each)"))
    if unknown := without_mass(loads):
        rows.append(hanging("+", f"and {listed(unknown)}, whose mass is not given: write `{unknown[0]}: 80 kg`"))
    rows.append(hanging("how", "all whose weight has the part on some way to the ground, through people too"))
    rows.append(hanging("left out", LEFT_OUT))
    return rows
