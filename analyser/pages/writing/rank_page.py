"""The page of `rank`: parts by what hangs on them; then, with likelihoods, how likely each body falls."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.ranked import Likely, Ranked
from analyser.checking.results import Result
from analyser.checking.sentences import listed, more
from analyser.pages.tree import Block, Column, Fact, Line, Page, Row, Table, alarm, section, strong
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.grouping import in_brief
from analyser.rig.model import Rig

MOST_ROWS = 20
MOST_IMPORTANCES = 5


def rank_page(result: Result, parts: Sequence[Ranked], chances: Sequence[Likely], file: str) -> Page:
    independent = "Failures are taken as independent of each other, but for the causes that the file names"
    blocks: tuple[Block, ...] = (
        rig_title(result.rig, file),
        section("On which parts the most hangs", _ranked(result, parts)),
        section("How likely", _chances(result.rig, chances)),
        *closing("", Fact("searched", f"{result.complete}. {independent}.")),
    )
    return Page(blocks, result.rig.title)


def _ranked(result: Result, parts: Sequence[Ranked]) -> Iterator[Block]:
    if not parts:
        yield Line("no set of failures up to the order searched drops anybody")
        return
    sizes = range(2, result.order + 1)

    def row(one: Ranked) -> Row:
        alone = alarm(listed(one.alone)) if one.alone else "–"
        return (strong(one.part), alone, *(str(one.counts[size - 1]) for size in sizes), listed(one.bodies))

    counts = (Column(f"in sets of {size}", figures=True) for size in sizes)
    columns = (Column("part"), Column("drops alone"), *counts, Column("concerns"))
    yield Table(columns, tuple(map(row, parts[:MOST_ROWS])))
    if len(parts) > MOST_ROWS:
        yield Line(more(len(parts) - MOST_ROWS, "`--json` lists each"))


def _chances(rig: Rig, chances: Sequence[Likely]) -> Iterator[Block]:
    if not chances:
        yield Line("no likelihood is given, so none is told: structure alone is ranked")
    for one in chances:
        if one.value is None:
            yield Fact(one.body, f"not told: no likelihood for {in_brief(rig, one.missing)}")
            continue
        kind = "from the failure sets searched" if one.exact else "at most, from the failure sets searched"
        yield Fact(one.body, f"falls with probability {one.value:.3g} ({kind})")
        for i in one.importances[:MOST_IMPORTANCES]:
            yield Fact("", f"{i.event}: Fussell–Vesely {i.fussell_vesely:.3g}, Birnbaum {i.birnbaum:.3g}")
