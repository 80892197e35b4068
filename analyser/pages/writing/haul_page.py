"""The page of `haul`: advantage, the hand's pull as a band, travel, and what holds with hands off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from analyser.checking.sentences import do, listed, verb
from analyser.checking.standing import frame_words
from analyser.pages.tree import Block, Column, Fact, Gap, Page, Span, Table, alarm, section, strong
from analyser.pages.writing.attitude_page import assumed
from analyser.pages.writing.ends import rig_title
from analyser.pages.writing.one_sheet import one_sheet
from analyser.rig.figures import as_force, force_number, units
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces import Equilibrium
    from analyser.forces.hauling import Advantage, NoHaul

NEARLY = 5.0
"""Degrees within which strands count as parallel."""
FRICTION = "friction only where an efficiency is given, at the places found without it"


def haul_page(
    rig: Rig, file: str, told: Mapping[str, Advantage | NoHaul], found: Equilibrium, *, full: bool = False
) -> Page:
    """Each rope that hands hold, in order of name; what is gravest in line 2."""
    from analyser.forces import NoHaul

    blocks: list[Block] = [rig_title(rig, file)]
    for name, one in sorted(told.items()):
        rows = (Fact("not told", one.why),) if isinstance(one, NoHaul) else _haul(one)
        blocks.append(section("Hauling on ", rows, name))
    worst = max((one.residual for one in told.values() if not isinstance(one, NoHaul)), default=0.0)
    page = Page((*blocks, *assumed(found, worst, found.assumed, FRICTION)), rig.title)
    return one_sheet(page, _verdict(told, found), full=full)


def _verdict(told: Mapping[str, Advantage | NoHaul], found: Equilibrium) -> Span:
    """Who falls, what tips; else the rope that is hardest to haul, by name."""
    from analyser.forces import NoHaul

    if found.falls:
        return alarm(f"FALLS: nothing in the statics holds {listed(found.falls)}")
    hauls = [one for _, one in sorted(told.items()) if not isinstance(one, NoHaul)]
    for one in hauls:
        pulls = (one.raising, one.hold, one.lowering)
        for frame in (frame for pull in pulls if pull for frame in pull.frames if not frame.stands):
            return alarm(f"hauling on {one.rope}: {frame_words(frame)}")
    for one in hauls:
        if one.falls:
            return alarm(
                f"{listed(one.falls)} {verb(one.falls, 'falls', 'fall')} when {one.person} lets go of {one.rope}"
            )
    if not hauls:
        return alarm("; ".join(f"{name}: not told" for name in sorted(told)) or "nobody hauls on a rope")
    hardest = max(hauls, key=lambda one: (one.raising or one.hold).hand)
    pull = as_force((hardest.raising or hardest.hold).hand)
    how = f"{hardest.practical:.2f} : 1" if hardest.practical else f"{hardest.ideal:.2f} : 1 without friction"
    return strong(f"{hardest.person} pulls {pull} on {hardest.rope} to raise {listed(hardest.lifted)}: {how}")


def _haul(one: Advantage) -> Iterator[Block]:
    yield Fact("comes up", f"{listed(one.lifted)}, {as_force(one.weight)}, when {one.person} takes rope in")
    yield Fact("ideal", f"{one.ideal:.2f} : 1 as it is rigged, without friction")
    yield from _as_counted(one)
    yield Fact(
        "travel", f"{one.travel:.2f} {units().length} of rope in for 1 {units().length} of rise, stretch left out"
    )
    if one.practical is not None and one.lowering is not None and one.raising is not None:
        band = f"{as_force(one.lowering.hand)} to {as_force(one.raising.hand)}"
        if any(efficiency < 1 for _, efficiency in one.wheels):
            yield Fact("practical", f"{one.practical:.2f} : 1 when raising, with the efficiencies given")
            yield Fact("at rest", f"the hand may feel {band}: less lets it run down, more brings it up")
    else:
        yield Fact("with friction", f"not told: {one.why_not}")
    yield from (Gap(), _pulls(one), Gap())
    for words, pull in (("to raise", one.raising), ("to hold", one.hold), ("to lower", one.lowering)):
        for frame in pull.frames if pull else ():
            if not frame.stands:
                yield Fact(alarm(frame.name), f"{words}: {frame_words(frame)}")
    wheels = [f"{part} {efficiency:.2f}" for part, efficiency in one.wheels if part not in one.without]
    yield Fact("efficiency", ", ".join(wheels) if wheels else "none given")
    if one.without:
        yield Fact("", f"{listed(one.without)}: no efficiency given, taken as 1: the pull to raise will be more")
    if one.opened:
        kept = f"to lower, somebody must keep {verb(one.opened, 'it', 'them')} open"
        yield Fact("one-way", f"{do(one.opened, 'lets', 'let')} rope in; {kept}")
    held = f"held by {listed(one.holds_at_rest)}"
    if not one.holds_at_rest:
        held = f"no device carries it: what is tied holds it, from {listed(one.tied_to)}"
    if one.falls:
        held = f"{listed(one.falls).upper()} {verb(one.falls, 'FALLS', 'FALL')}"
    yield Fact("hands off", held)


def _as_counted(one: Advantage) -> Iterator[Block]:
    """Why it isn't what one counts: strands that aren't parallel."""
    if one.counted is None or abs(one.counted - one.ideal) < 0.02 * one.ideal:
        return
    apart = [f"{part} {angle:.0f} deg" for part, angle in one.angles if NEARLY < angle < 180 - NEARLY]
    between = f"; between the strands at {listed(apart)}" if apart else ""
    yield Fact("counted", f"{one.counted:.4g} : 1 with all strands parallel: the strands stand at angles{between}")


def _pulls(one: Advantage) -> Table:
    """The hand and every anchor, to raise, to hold and to lower."""
    ways = [("raising", one.raising), ("no friction", one.hold), ("lowering", one.lowering)]
    every = [pull.anchors for _, pull in ways if pull]
    anchors = sorted({name for pull in every for name, newtons in pull.items() if newtons > 1} - {one.person})
    rows = []
    for words, pull in ways:
        if pull is None:
            rows.append((words, "not told", *("" for _ in anchors)))
            continue
        figures = (force_number(pull.anchors.get(name, 0.0)) for name in anchors)
        rows.append((words, force_number(pull.hand), *figures))
    heads = (f"hand of {one.person}", *anchors)
    return Table((Column(units().force), *(Column(head, figures=True) for head in heads)), tuple(rows))
