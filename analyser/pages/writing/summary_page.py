"""Many rigs at once: a line a rig, the answer of each in a few words."""

from __future__ import annotations

from collections.abc import Sequence

from analyser.checking.results import Brief
from analyser.checking.sentences import counted, in_few
from analyser.pages.tree import Column, Line, Page, Row, Table, alarm, strong
from analyser.pages.writing.ends import closing

COLUMNS = (
    Column("file"),
    Column("required"),
    Column("one alone drops"),
    Column("dangers", True),
    Column("states", True),
)
IN_BRACKETS = "In brackets: how many failures. What “met” rests on stands in each report."


def met_words(told: Sequence[Brief | str | None]) -> str:
    """How many rigs are met, not met, and could not be read: `4 rigs: 2 met, 1 not met, 1 could not be read`."""
    read = [one for one in told if isinstance(one, Brief)]
    met = sum(one.met for one in read)
    count = f"{counted(len(told), 'rig')}: {met} met, {len(read) - met} not met"
    return count + (f", {len(told) - len(read)} could not be read" if len(read) < len(told) else "")


def summary_page(files: Sequence[str], told: Sequence[Brief | str]) -> Page:
    """A table in the order of the files; a rig that could not be read has its first mistake there."""
    rows = tuple(_row(file, one) for file, one in zip(files, told, strict=True))
    return Page((Table(COLUMNS, rows, flush=True), *closing(strong(met_words(told)), Line(IN_BRACKETS))))


def _row(file: str, one: Brief | str) -> Row:
    if isinstance(one, str):
        return (file, alarm("CANNOT BE READ"), one, "", "")
    met = "met" if one.met else strong("NOT MET")
    return (file, met, dropped_words(one), str(one.dangers), str(one.states))


def dropped_words(one: Brief) -> str:
    """Whom one failure alone drops, and who is not held to begin with."""
    dropped = f"{in_few(one.alone)} ({one.single_points})" if one.alone else "nobody"
    return f"{in_few(one.falls)} not held; {dropped}" if one.falls else dropped
