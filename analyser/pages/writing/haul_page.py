"""The page of `haul`: advantage, the hand's pull as a band, travel, and what holds with hands off."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.finding import listed, verb
from analyser.pages.writing.terminal import hanging, heading, title
from analyser.pages.writing.tilting import assumed, force
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces import Equilibrium
    from analyser.forces.hauling import Advantage, NoHaul


def haul_page(rig: Rig, file: str, told: Mapping[str, Advantage | NoHaul], found: Equilibrium) -> RenderableType:
    """Each rope that hands hold, in order of name."""
    from analyser.forces import NoHaul

    rows: list[RenderableType] = [title(rig, file)]
    worst = 0.0
    for name, one in sorted(told.items()):
        rows.append(heading("Hauling on ", name))
        if isinstance(one, NoHaul):
            rows.append(hanging("not told", one.why))
            continue
        worst = max(worst, one.residual)
        rows += _haul(one)
    rows += assumed(found, worst, friction="friction only where an efficiency is given, at the places found without it")
    return Group(*rows)


def _haul(one: Advantage) -> list[RenderableType]:
    rows: list[RenderableType] = [
        hanging("comes up", f"{listed(one.lifted)}, {force(one.weight)}, when {one.person} takes rope in"),
        hanging("ideal", f"{one.ideal:.2f} : 1, without friction"),
        hanging("travel", f"{one.travel:.2f} m of rope in for 1 m of rise"),
    ]
    if one.practical is not None and one.lowering is not None and one.raising is not None:
        band = f"{force(one.lowering.hand)} to {force(one.raising.hand)}"
        if any(efficiency < 1 for _, efficiency in one.wheels):
            rows.append(hanging("practical", f"{one.practical:.2f} : 1 when raising, with the efficiencies given"))
            rows.append(hanging("at rest", f"the hand may feel {band}: less lets it run down, more brings it up"))
    else:
        rows.append(hanging("with friction", f"not told: {one.why_not}"))
    rows += [Text(), _pulls(one), Text()]
    wheels = [f"{part} {efficiency:.2f}" for part, efficiency in one.wheels if part not in one.without]
    rows.append(hanging("efficiency", ", ".join(wheels) if wheels else "none given"))
    if one.without:
        words = f"{listed(one.without)}: no efficiency given, taken as 1: the pull to raise will be more"
        rows.append(hanging("", words))
    if one.opened:
        words = f"{listed(one.opened)} {verb(one.opened, 'lets', 'let')} rope in; to lower, somebody must keep "
        rows.append(hanging("one-way", words + f"{verb(one.opened, 'it', 'them')} open"))
    held = f"held by {listed(one.holds_at_rest)}" if one.holds_at_rest else "no grip holds the load"
    if one.falls:
        held = f"{listed(one.falls).upper()} {verb(one.falls, 'FALLS', 'FALL')}"
    rows.append(hanging("hands off", held))
    return rows


def _pulls(one: Advantage) -> RenderableType:
    """The hand and every anchor, to raise, to hold and to lower."""
    ways = [("raising", one.raising), ("no friction", one.hold), ("lowering", one.lowering)]
    anchors = sorted(name for name, newtons in one.hold.anchors.items() if newtons > 1 and name != one.person)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  kN", f"hand of {one.person}", *anchors):
        table.add_column(Text(column), header_style="", justify="left" if column == "  kN" else "right")
    for words, pull in ways:
        if pull is None:
            table.add_row(f"  {words}", "not told", *("" for _ in anchors))
            continue
        figures = [f"{pull.anchors.get(name, 0.0) / 1000:.2f}" for name in anchors]
        table.add_row(f"  {words}", f"{pull.hand / 1000:.2f}", *figures)
    return table
