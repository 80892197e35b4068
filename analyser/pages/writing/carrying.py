"""The plumb weight that may come on each part, as a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.sentences import listed, more
from analyser.checking.worst_loads import LEFT_OUT, WorstLoad, who_words, without_mass
from analyser.pages.tree import Block, Column, Fact, Line, Row, Section, Table, marked, section, strong
from analyser.rig.figures import as_force, as_mass
from analyser.rig.model import Rig

MOST_ROWS = 30
COLUMNS = (Column("part"), Column("weight", True), Column("of"), Column("strength"), Column("times that", True))


def worst_section(rig: Rig, loads: Sequence[WorstLoad]) -> Section:
    """The section that needs no places: an upper bound of plumb weight for each part and rope."""
    return section("Plumb weight that may come on each part, no places needed", _worst(rig, loads))


def _worst(rig: Rig, loads: Sequence[WorstLoad]) -> Iterator[Block]:
    if not loads:
        yield Line("nothing leads from any weight to the ground")
        return
    yield Table(COLUMNS, tuple(_row(rig, one) for one in loads[:MOST_ROWS]))
    if len(loads) > MOST_ROWS:
        yield Line(marked(more(len(loads) - MOST_ROWS, "`--json` lists each")))
    if unknown := without_mass(loads):
        label = "+" if any(one.load.newtons and one.load.unknown for one in loads[:MOST_ROWS]) else "not told"
        yield Fact(
            label, marked(f"{listed(unknown)}, whose mass is not given: write `{unknown[0]}: {as_mass(80, '.2g')}`")
        )
    yield Fact("how", "all whose weight has the part on some way to the ground, through people too")
    yield Fact(strong("no bound"), LEFT_OUT)


def _row(rig: Rig, one: WorstLoad) -> Row:
    most = f"{as_force(one.load.newtons)}{' +' if one.load.unknown else ''}" if one.load.newtons else "not told"
    strength = one.strength.text if one.strength else "none given"
    factor = "–" if one.factor is None else f"{one.factor:.1f}"
    return (one.name, most, who_words(rig, one.load), strength, factor)
