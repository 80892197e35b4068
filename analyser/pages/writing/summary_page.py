"""Many rigs at once: a line a rig, the worst first, the answer of each in a few words."""

from __future__ import annotations

from collections.abc import Sequence

from analyser.checking.brief import Brief
from analyser.checking.sentences import counted
from analyser.pages.tree import Block, Column, Note, Page, Row, Span, Table, alarm, strong
from analyser.pages.writing.ends import closing

COLUMNS = (
    Column("verdict"),
    Column("file"),
    Column("what is worst"),
    Column("dangers", True),
    Column("cautions", True),
)
RESTS = "What a verdict rests on stands in each rig's own page."


def met_words(told: Sequence[Brief | str | None]) -> str:
    """How many rigs are met, not met, and could not be read: `4 rigs: 2 met, 1 not met, 1 could not be read`."""
    read = [one for one in told if isinstance(one, Brief)]
    met = sum(one.met for one in read)
    count = f"{counted(len(told), 'rig')}: {met} met, {len(read) - met} not met"
    return count + (f", {len(told) - len(read)} could not be read" if len(read) < len(told) else "")


def worst_first(told: Sequence[Brief | str | None]) -> list[int]:
    """The numbers of rigs in the order in which they are looked at: what could not be read, then what is not met,
    who falls with nothing failed before who falls after one failure; those alike in the order given."""

    def rank(number: int) -> tuple[int, ...]:
        one = told[number]
        if not isinstance(one, Brief):
            return (0,)
        return (1 + one.met, not one.falls, not one.alone, -one.dangers, -one.cautions)

    return sorted(range(len(told)), key=rank)


def verdict_word(one: Brief | str | None) -> Span:
    """The verdict of one rig in a word or two."""
    if not isinstance(one, Brief):
        return alarm("NOT READ")
    return Span("met") if one.met else strong("NOT MET")


def summary_page(files: Sequence[str], told: Sequence[Brief | str]) -> Page:
    """How many stand how, then a table, the worst rig first; a rig that could not be read has its first mistake
    there."""
    order = worst_first(told)
    rows = tuple(_row(files[number], told[number]) for number in order)
    head: list[Block] = [Note(strong(met_words(told)))]
    return Page((*head, Table(COLUMNS, rows, flush=True), *closing(worst_of(files, told), Note(RESTS))))


def worst_of(files: Sequence[str], told: Sequence[Brief | str]) -> Span:
    """The count once more, and what is worst of the rig that stands first."""
    number = worst_first(told)[0]
    first = told[number]
    worst = first.worst if isinstance(first, Brief) else first
    return strong(f"{met_words(told)}; first {files[number]}: {worst}")


def _row(file: str, one: Brief | str) -> Row:
    if isinstance(one, str):
        return (verdict_word(one), file, one, "", "")
    return (verdict_word(one), file, one.worst, str(one.dangers), str(one.cautions))
