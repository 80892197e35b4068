"""Many rigs at once: a line a rig, the answer of each in a few words."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.checking.finding import in_few
from analyser.checking.results import Brief
from analyser.pages.writing.terminal import line


def counted(told: Sequence[Brief | str | None]) -> str:
    """How many rigs are met, not met, and could not be read: `4 rigs: 2 met, 1 not met, 1 could not be read`."""
    read = [one for one in told if isinstance(one, Brief)]
    met = sum(one.met for one in read)
    count = f"{len(told)} rig{'' if len(told) == 1 else 's'}: {met} met, {len(read) - met} not met"
    return count + (f", {len(told) - len(read)} could not be read" if len(read) < len(told) else "")


def summary_page(files: Sequence[str], told: Sequence[Brief | str]) -> RenderableType:
    """A table in the order of the files; a rig that could not be read has its first mistake there."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("file", "required", "one alone drops", "dangers", "states"):
        table.add_column(column, header_style="bold", justify="right" if column in ("dangers", "states") else "left")
    for file, one in zip(files, told, strict=True):
        if isinstance(one, str):
            table.add_row(Text(file), Text("CANNOT BE READ", style="bold red"), Text(one), "", "")
            continue
        word = Text("met") if one.met else Text("NOT MET", style="bold")
        dropped = f"{in_few(one.alone)} ({one.single_points})" if one.alone else "nobody"
        dropped = f"{in_few(one.falls)} not held; {dropped}" if one.falls else dropped
        table.add_row(Text(file), word, Text(dropped), str(one.dangers), str(one.states))
    rows: list[RenderableType] = [table, Text()]
    rows.append(line("In brackets: how many failures. What “met” rests on stands in each report."))
    rows += [Text(" ".join(CAUTIONS), style="italic"), Text(counted(told), style="bold")]
    return Group(*rows)
