"""What carries what, as lines: the weakest first, the litter's attitude, what follows a failure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from analyser.checking.requirements import asks_for_forces
from analyser.checking.results import Result, State
from analyser.checking.sentences import in_few, listed, more, percent
from analyser.checking.standing import amiss, frame_words
from analyser.checking.under_load import grown, moves, resting_apart
from analyser.checking.worst_loads import WorstLoad
from analyser.checking.worst_sought import how_after, how_at_rest, how_in_time
from analyser.pages.tree import (
    Block,
    Column,
    Fact,
    Gap,
    Line,
    Page,
    Row,
    Section,
    Table,
    alarm,
    marked,
    section,
    strong,
)
from analyser.pages.writing.arriving import belay_section, steps_section, track_section
from analyser.pages.writing.carrying import worst_section
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.motion_page import in_time_words, motion_section, pull_words
from analyser.rig.figures import as_force, as_length, as_place, force_number, units
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.anchors import AnchorPull
    from analyser.forces.belaying import Belayed
    from analyser.forces.equilibrium import Equilibrium
    from analyser.forces.faring import Fares
    from analyser.forces.loads import Loads
    from analyser.forces.spreading import Spread
    from analyser.forces.strength import Factor
    from analyser.forces.tracks import Track

MOST_ROWS = 12
MOST_AFTER = 8
MOST_ANCHORS = 4
NOT_IN_IT = (
    "Friction, the weight of the rope and its condition are not in these figures. A peak is told where the motion was "
    "followed (`forces --motion`: after every single failure); where none stands, the figure is at rest."
)


def forces_page(
    result: Result,
    worst: Sequence[WorstLoad],
    held: Sequence[Track],
    hands: Sequence[Belayed],
    file: str,
    *,
    motion: bool = False,
) -> Page:
    """All that is known of the first state's forces (`motion`: what happens in time after every single failure, as
    a table), and a line a step; or what each part may come to carry at worst. `held`: tracks with what runs on them
    held somewhere; `hands`: what they would hold."""
    rig, loads = result.rig, result.states[0].loads
    sections = forces_sections(result, whole=True, motion=motion)
    if loads and loads.tracks:
        sections.append(track_section(loads.tracks, loads.worst_places, held))
    if loads and (loads.belayed or hands):
        sections.append(belay_section(result.states[0].rig, loads.belayed, hands))
    if len(result.states) > 1:
        sections.append(steps_section(result))
    if worst or not sections:
        sections.append(worst_section(rig, worst))
    return Page((rig_title(rig, file), *(one for one in sections if one.blocks), *closing()), rig.title)


def forces_sections(result: Result, *, whole: bool = False, motion: bool = False) -> list[Section]:
    """The forces of the first state; `whole`: every row, and what to add where they can't be told; `motion`: what
    happens in time after every single failure, as a table."""
    state = result.states[0]
    loads = state.loads
    if loads is None:
        asked = whole or asks_for_forces(result.rig)
        return [section("What carries what", _lacking(state.lacking, whole))] if state.lacking and asked else []
    if not loads.now.accepted:
        return [section("What carries what", [Line("the forces do not balance well enough to be told")])]
    found = [section("What carries what", _carried(result, state, loads, whole, motion))]
    if motion:
        called = {one.name: loads.now.called(one) for one in loads.now.lines}
        found.append(motion_section(result.rig, loads.after or (), called))
    return found


def _carried(result: Result, state: State, loads: Loads, whole: bool, motion: bool) -> Iterator[Block]:
    yield Table(_columns(loads.spread), tuple(_rows(state, loads, whole)))
    if whole and len(loads.anchors) > 1:
        yield from (Gap(), _anchors(loads.anchors), Gap())
    yield from not_as_meant(loads.now, not loads.disagreements)
    if without := loads.factors.without:
        yield Fact("no strength", f"given for {in_few(without, 5)}")
    for pose in loads.now.poses:
        if pose.head_up is not None:
            roll = f", rolled {abs(pose.roll):.1f} deg" if pose.roll is not None and abs(pose.roll) >= 0.05 else ""
            angle = round(pose.head_up, 1) + 0.0
            over = _over(loads, "head-up", pose.name, "deg over the bands", 1)
            yield Fact(pose.name, f"hangs with its head {angle:.1f} deg up{roll}{over}")
    for one in resting_apart(state.rig, loads):
        place = as_place(one.rest, how=".1f")
        words = f"{one.body} comes to rest at {place}, {as_length(one.apart, '.1f')} from the place in the file"
        yield Fact("elsewhere", f"{words}: places are read as drawn before loading, and lengths decide")
    if loads.now.slack:
        yield Fact("slack", ", ".join(map(loads.now.said, loads.now.slack)))
    yield from frames_facts(loads)
    yield from (Fact("statics", f"{d.body}: {d.why}") for d in loads.disagreements)
    yield from _after(result, loads, whole)
    told = [one.motion for one in loads.after or () if one.motion is not None and one.motion.moved]
    if told and not motion:
        yield Fact("in time", in_time_words(told))
    if loads.ground and loads.after:
        yield Fact("ground", loads.ground.words)
    if loads.spread:
        yield Fact("bands", bands_words(loads.spread))
    if loads.now.assumed:
        yield Fact("taken", "; ".join(loads.now.assumed))
    yield Fact("left out", marked(NOT_IN_IT))


def frames_facts(loads: Loads) -> Iterator[Fact]:
    """The frames that don't stand under their load, or only by exact balance."""
    for one in loads.frames:
        if not one.stands:
            yield Fact(alarm(one.name), frame_words(one))
    for ask in loads.faring[0].asks:
        yield Fact(ask.of, marked(f"{ask.wanted.why}; add `{ask.wanted.line}`"))


def not_as_meant(found: Equilibrium, jams: bool = True) -> Iterator[Fact]:
    """Who falls, what jams (where that isn't told elsewhere), and what is in doubt."""
    if found.falls:
        words = f"nothing in the statics holds {listed(found.falls)}: no figure here counts for them"
        yield Fact(alarm("FALLS"), words)
    if jams:
        yield from (Fact("runs up", f"{a} to {b}, and jams there: the rules count on no jam") for a, b in found.jammed)
    yield from (Fact("in doubt", f"line {one.place.line}: {one.why}") for one in found.doubts)


def bands_words(spread: Spread) -> str:
    """What the bands are, and in how many cases they were looked at."""
    after, timed = how_after(spread), how_in_time(spread)
    followed = f", in {spread.after} every single failure was looked at" if after else ""
    how = how_at_rest(spread) if after in (None, how_at_rest(spread)) else f"{how_at_rest(spread)}; then {after}"
    how += f"; in time {timed}" if timed else ""
    lost = f"; in {spread.lost} the forces did not balance, and nothing is known of those" if spread.lost else ""
    count = len(spread.banded)
    return (
        f"{in_few([one.words for one in spread.banded], 5)} {'is a band' if count == 1 else 'are bands'}: all "
        f"figures are at their middle, but where “over the bands” stands. Looked at: {spread.samples} samples, from "
        f"which 5-95 % come{followed}{lost}. The worst was sought so: {how}. Worse may lie between them"
    )


def _over(loads: Loads, what: str, name: str, unit: str, digits: int) -> str:
    """` (3.1 to 4.2 deg over the bands)`, or nothing."""
    one = loads.spread.of(what, name) if loads.spread else None
    if one is None:
        return ""
    return f" ({one.least + 0.0:.{digits}f} to {one.most + 0.0:.{digits}f} {unit})"


def not_worked_out(lacking: Sequence[str]) -> str:
    missing = "1 fact is" if len(lacking) == 1 else f"{len(lacking)} facts are"
    return f"not worked out: {missing} missing"


def _lacking(lacking: Sequence[str], whole: bool) -> Iterator[Block]:
    shown = lacking if whole else lacking[:3]
    yield Line(f"{not_worked_out(lacking)}. Add, with your figures:")
    yield from (Line(("  ", one.strip("`"))) for one in shown)
    if len(lacking) > len(shown):
        yield Line(marked(more(len(lacking) - len(shown), "`stillheld forces` lists them")))


# -- the tables


def _columns(spread: Spread | None) -> tuple[Column, ...]:
    over = ("5-95 %", "at most") if spread else ()
    figures = ("carries", *over, "strength", "factor", *(("at worst",) if spread else ()))
    return (Column("part, at rest"), *(Column(head, figures=True) for head in figures), Column(""))


def _strength(rig: Rig, row: Factor) -> str:
    """What it is worked out with; as written too, where that is in another unit than the page."""
    name = row.name.split("[")[0]
    of = rig.parts.get(name) or rig.index.ropes.get(name)
    given = dict(of.quantities).get("strength") if of else None
    plain = as_force(row.strength, "g")
    return given.text if given and not units().usual and given.si == row.strength else plain


def _rows(state: State, loads: Loads, whole: bool) -> Iterator[Row]:
    """The weakest first; then what carries weight and has no strength given."""
    spread = loads.spread

    def loaded(name: str) -> list[str]:
        one = spread.of("carries", name) if spread else None
        if one is None:
            return ["–", "–"] if spread else []
        return [f"{force_number(one.low)}-{force_number(one.high)}", as_force(one.most)]

    def worst(name: str) -> list[str]:
        one = spread.of("factor", name) if spread else None
        return ([f"{one.least:.1f}"] if one else ["–"]) if spread else []

    def weighed(name: str, called: str, newtons: float, note: str = "") -> Row:
        return (strong(called), as_force(newtons), *loaded(name), "–", "–", *worst(name), note)

    angles = {one.name: f"{one.included:.0f} deg between" for one in loads.parts if one.included is not None}
    short = {one.name: loads.now.called(one) for one in loads.now.lines}
    bands = {one.of: one.text for one in spread.banded if one.figure == "strength"} if spread else {}
    rows = loads.factors.rows if whole else loads.factors.rows[:MOST_ROWS]
    for row in rows:
        knot = [f"{row.knot} keeps {row.kept:.0%}"] if row.knot else []
        yield (
            strong(short.get(row.name, row.name)),
            f"{'≤ ' if row.at_most else ''}{as_force(row.force)}",
            *loaded(row.name),
            bands.get(row.name.split("[")[0]) or _strength(state.rig, row),
            f"{'≥ ' if row.at_most else ''}{row.factor:.1f}",
            *worst(row.name),
            ", ".join([*knot, *([angles[row.name]] if row.name in angles else [])]),
        )
    told = {row.name for row in rows}
    people = {body.name for body in state.rig.bodies}
    for one in loads.parts:
        if one.name not in told and (whole or one.name in people) and one.force > 0.5:
            yield weighed(one.name, one.name, one.force, angles.get(one.name, ""))
    for rope in loads.now.lines if whole else ():
        if rope.rope is not None and rope.name not in told and not rope.slack:
            yield weighed(rope.name, short[rope.name], rope.tension)


def _anchors(anchors: Sequence[AnchorPull]) -> Table:
    """What each anchor carries at rest, and once another has gone."""
    gone = {name for one in anchors for name in one.without}
    others = [one.name for one in anchors if one.name in gone][:MOST_ANCHORS]
    heads = ("carries", "share", "off plumb", *(f"without {name}" for name in others))
    rows: list[Row] = []
    for one in anchors:
        plumb = "–" if one.from_plumb is None else f"{one.from_plumb:.0f} deg"
        then = (one.without.get(name) for name in others)
        told = ("–" if force is None else as_force(force) for force in then)
        rows.append((strong(one.name), as_force(one.force), percent(one.share), plumb, *told))
    return Table((Column("anchor"), *(Column(head, figures=True) for head in heads)), tuple(rows))


# -- what follows failures


def _after(result: Result, loads: Loads, whole: bool) -> Iterator[Block]:
    """What follows single failures: the deepest drops first, those with the same effect together."""
    alike: dict[str, list[Aftermath]] = {}
    lost = {str(one.id): one.falls for one in result.states[0].outcome.failures}
    for one in loads.after or ():
        if one.accepted and one.moved:
            words = _follows(one, lost.get(one.failures[0], ()), loads.spread)
            alike.setdefault("; ".join(words), []).append(one)
    alike.pop("", None)
    order = sorted(alike, key=lambda text: (-max(m.drop for m in alike[text][-1].moved), text))
    shown = order if whole else order[:MOST_AFTER]
    for text in shown:
        names = in_brief(result.rig, [one.failures[0] for one in alike[text]])
        yield Fact("after" if text is shown[0] else "", (strong(names), f": {text}"))
    if len(order) > len(shown):
        yield Line(marked(more(len(order) - len(shown), "`stillheld forces` lists them")))
    yield from _would_tell(result.rig, loads)
    unsolved = [one.failures[0] for one in loads.after or () if not one.accepted]
    if unsolved:
        yield Fact("not told", f"after {in_brief(result.rig, unsolved)}: the forces do not balance well enough")


def _would_tell(rig: Rig, loads: Loads) -> Iterator[Fact]:
    """Facts that would decide what follows failures, and that aren't asked for at rest already."""
    at_rest = {ask.wanted.line for ask in loads.faring[0].asks}
    wanted: dict[tuple[str, str], list[str]] = {}
    for faring in loads.faring[1:]:
        for ask in faring.asks:
            if ask.wanted.line not in at_rest:
                wanted.setdefault((ask.wanted.line, ask.wanted.why), []).append(faring.failures[0])
    for (line, why), failures in wanted.items():
        yield Fact("not told", marked(f"after {in_brief(rig, failures)}: {why}; add `{line}`"))


def _follows(one: Aftermath, falls: Sequence[str], spread: Spread | None) -> Iterator[str]:
    """How everybody moves after a failure, what carries more, what comes near."""
    for m in one.moved:
        if moves(m):
            over = spread.of("drop", m.name, one.failures[0]) if spread else None
            at_most = f" ({as_length(over.most)} at most over the bands)" if over and over.most >= 0.01 else ""
            yield _moved(m.name, m.drop, m.swing, at_most, m.name in falls)
    if band := grown(one):
        rest = f"{one.equilibrium.said(band.name)} from {force_number(band.before)} to {as_force(band.static)}"
        yield (
            rest
            if band.peak is None
            else f"{rest}, in time {pull_words(band.peak, band.low, band.high, band.when or 0.0)}"
        )
    if one.reaches_ground:
        yield f"{listed(one.reaches_ground)} {'comes' if one.followed else 'may come'} down to the ground"
    yield from (f"{line} comes to lie {as_length(m, '.1f')} from {edge}" for line, edge, m in one.near_edges)
    if fall := one.arrest:
        yield f"{as_length(fall.free_fall)} free on {as_length(fall.rope)}, fall factor {fall.fall_factor:.2g}"


def followed(body: str, aftermath: Aftermath, fares: Fares | None) -> str:
    """How one body fares after failures: `held without drop`, `caught after a drop of about …`, and what is amiss
    then; empty where the forces don't tell."""
    how = _caught(body, aftermath)
    words = amiss(fares) if how else ""
    return f"{how}, but {words}" if words else how


def _caught(body: str, aftermath: Aftermath) -> str:
    if body in aftermath.falls or not aftermath.accepted:
        return ""
    moved = next((one for one in aftermath.moved if one.name == body), None)
    if moved is None or not moves(moved):
        return "held without drop"
    if moved.drop < 0.01:
        return f"held, after a swing of {as_length(moved.swing)}"
    swing = f" and a swing of {as_length(moved.swing)}" if moved.swing >= 0.01 else ""
    return f"caught after a drop of about {as_length(moved.drop)}{swing}"


def _moved(name: str, drop: float, swing: float, over_bands: str, falls: bool) -> str:
    """`falls`: the rules count it as lost, though the statics find a rest for it (a jam, a guiding line)."""
    if falls:
        where = f"about {as_length(max(drop, 0.0))} down"
        return f"{name} falls by the rules, which count on no jam and no guide; by the forces alone it stops {where}"
    pieces = []
    if drop >= 0.01:
        pieces.append(f"drops about {as_length(drop)}{over_bands}")
    elif drop <= -0.01:
        pieces.append(f"rises {as_length(-drop)}")
    if swing >= 0.01:
        pieces.append(f"swings {as_length(swing)}")
    return f"{name} {' and '.join(pieces)}"
