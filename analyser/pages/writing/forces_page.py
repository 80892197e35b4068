"""What carries what, as lines: the weakest first, the litter's attitude, what follows a failure."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.finding import in_few, listed
from analyser.checking.requirements import asks_for_forces
from analyser.checking.results import Result, State
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.motion_page import in_time_words, motion_table
from analyser.pages.writing.terminal import hanging, heading, line

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath, Band
    from analyser.forces.anchors import AnchorPull
    from analyser.forces.equilibrium import Equilibrium
    from analyser.forces.loads import Loads
    from analyser.forces.spreading import Spread

MOST_ROWS = 12
MOST_AFTER = 8
MOST_ANCHORS = 4
APART = 0.5
"""Metres between a body's written place and its rest from which that is said."""
NOT_IN_IT = (
    "Friction, the weight of the rope and its condition are not in these figures. A peak is told where the motion was "
    "followed (`forces --motion`: after every single failure); where none stands, the figure is at rest."
)


def forces_lines(result: Result, *, whole: bool = False, motion: bool = False) -> list[RenderableType]:
    """The forces of the first state; `whole`: every row, and what to add where they can't be told; `motion`: what
    happens in time after every single failure, as a table."""
    state = result.states[0]
    loads = state.loads
    if loads is None:
        asked = whole or asks_for_forces(result.rig)
        return _lacking(state.lacking, whole) if state.lacking and asked else []
    if not loads.now.accepted:
        return [heading("What carries what"), line("the forces do not balance well enough to be told")]
    rows: list[RenderableType] = [heading("What carries what"), _table(state, loads, whole)]
    if whole and len(loads.anchors) > 1:
        rows += _anchors(loads.anchors)
    rows += not_as_meant(loads.now, not loads.disagreements)
    without = loads.factors.without
    if without:
        rows.append(hanging("no strength", f"given for {in_few(without, 5)}"))
    for pose in loads.now.poses:
        if pose.head_up is not None:
            roll = f", rolled {abs(pose.roll):.1f} deg" if pose.roll is not None and abs(pose.roll) >= 0.05 else ""
            angle = round(pose.head_up, 1) + 0.0
            over = _over(loads, "head-up", pose.name, "deg over the bands", 1)
            rows.append(hanging(pose.name, f"hangs with its head {angle:.1f} deg up{roll}{over}"))
    rows += [hanging("rests apart", words) for words in _moved_to_rest(state, loads)]
    slack = loads.now.slack
    if slack:
        rows.append(hanging("slack", ", ".join(slack)))
    for frame in loads.frames:
        if not frame.stands:
            rows.append(hanging(frame.name, "does not stand under this pull", "bold red"))
    rows += [hanging("statics", f"{d.body}: {d.why}") for d in loads.disagreements]
    rows += _after(result, loads, whole)
    called = {one.name: loads.now.called(one) for one in loads.now.lines}
    told = [one.motion for one in loads.after or () if one.motion is not None and one.motion.moved]
    if motion:
        rows += motion_table(result.rig, loads.after or (), called)
    elif told:
        rows.append(hanging("in time", in_time_words(told)))
    if loads.ground and loads.after:
        rows.append(hanging("ground", loads.ground.words))
    if loads.spread:
        rows.append(hanging("bands", bands_words(loads.spread)))
    if loads.now.assumed:
        rows.append(hanging("taken", "; ".join(loads.now.assumed)))
    rows.append(hanging("left out", NOT_IN_IT))
    return rows


def not_as_meant(found: Equilibrium, jams: bool = True) -> list[RenderableType]:
    """Who falls, what jams (where that isn't told elsewhere), and what is in doubt."""
    rows: list[RenderableType] = []
    if found.falls:
        words = f"nothing in the statics holds {listed(found.falls)}: no figure here counts for them"
        rows.append(hanging("FALLS", words, "bold red"))
    if jams:
        rows += [hanging("runs up", f"{a} to {b}, and jams there: the rules count on no jam") for a, b in found.jammed]
    return rows + [hanging("in doubt", f"line {one.place.line}: {one.why}") for one in found.doubts]


def bands_words(spread: Spread) -> str:
    """What the bands are, and in how many cases they were looked at."""
    followed = f", in {spread.after} every single failure was looked at" if spread.after else ""
    if spread.moving:
        followed += f" (in time those that are hardest in the middle: {in_few(spread.moving)})"
    lost = f"; in {spread.lost} the forces did not balance, and nothing is known of those" if spread.lost else ""
    count = len(spread.banded)
    return (
        f"{in_few([one.words for one in spread.banded], 5)} {'is a band' if count == 1 else 'are bands'}: all "
        f"figures are at their middle, but where “over the bands” stands. Looked at: {spread.samples} samples, from "
        f"which 5-95 % come, and {spread.corners} cases with figures at their ends together{followed}{lost}. Worse "
        "may lie between them"
    )


def _over(loads: Loads, what: str, name: str, unit: str, digits: int) -> str:
    """` (3.1 to 4.2 deg over the bands)`, or nothing."""
    one = loads.spread.of(what, name) if loads.spread else None
    if one is None:
        return ""
    return f" ({one.least + 0.0:.{digits}f} to {one.most + 0.0:.{digits}f} {unit})"


def _moved_to_rest(state: State, loads: Loads) -> list[str]:
    """Bodies that come to rest well away from where the file writes them: its places and lengths then say
    two things, and the figures are those of the rest."""
    found = []
    for body in state.rig.bodies:
        rest = loads.now.at.get(body.name)
        if body.at is None or rest is None or body.name in loads.now.falls:
            continue
        apart = dist(body.at, rest)
        if apart > APART:
            place = ", ".join(f"{x:.1f}" for x in rest)
            found.append(
                f"{body.name} comes to rest at ({place}), {apart:.1f} m from where the file writes it: places are "
                "read as drawn before loading, and lengths decide"
            )
    return found


def not_worked_out(lacking: Sequence[str]) -> str:
    missing = "1 fact is" if len(lacking) == 1 else f"{len(lacking)} facts are"
    return f"not worked out: {missing} missing"


def _lacking(lacking: Sequence[str], whole: bool) -> list[RenderableType]:
    shown = lacking if whole else lacking[:3]
    rows: list[RenderableType] = [heading("What carries what")]
    rows.append(line(f"{not_worked_out(lacking)}. Add, with your figures:"))
    rows += [line("  ", one.strip("`")) for one in shown]
    if len(lacking) > len(shown):
        rows.append(line(f"… and {len(lacking) - len(shown)} more (`stillheld forces` lists them)"))
    return rows


def _table(state: State, loads: Loads, whole: bool) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    spread = loads.spread
    columns = ["  part, at rest", "carries", *(["5-95 %", "at most"] if spread else []), "strength", "factor"]
    for column in [*columns, *(["at worst"] if spread else []), ""]:
        right = column not in (columns[0], "")
        table.add_column(column, header_style="", justify="right" if right else "left")

    def loaded(name: str) -> list[str]:
        one = spread.of("carries", name) if spread else None
        if one is None:
            return ["–", "–"] if spread else []
        return [f"{one.low / 1000:.2f}-{one.high / 1000:.2f}", f"{one.most / 1000:.2f} kN"]

    def worst(name: str) -> list[str]:
        one = spread.of("factor", name) if spread else None
        return ([f"{one.least:.1f}"] if one else ["–"]) if spread else []

    angles = {one.name: one.included for one in loads.parts if one.included is not None}
    short = {one.name: loads.now.called(one) for one in loads.now.lines}
    bands = {one.of: one.text for one in spread.banded if one.figure == "strength"} if spread else {}
    told = set()
    for row in loads.factors.rows if whole else loads.factors.rows[:MOST_ROWS]:
        told.add(row.name)
        notes = [f"{row.knot} keeps {row.kept:.0%}"] if row.knot else []
        notes += [f"{angles[row.name]:.0f} deg between"] if row.name in angles else []
        table.add_row(
            Text(f"  {short.get(row.name, row.name)}", style="bold"),
            f"{'≤ ' if row.at_most else ''}{row.force / 1000:.2f} kN",
            *loaded(row.name),
            bands.get(row.name.split("[")[0], f"{row.strength / 1000:g} kN"),
            f"{'≥ ' if row.at_most else ''}{row.factor:.1f}",
            *worst(row.name),
            ", ".join(notes),
        )
    people = {body.name for body in state.rig.bodies}
    for one in loads.parts:
        if one.name not in told and (whole or one.name in people) and one.force > 0.5:
            angle = f"{one.included:.0f} deg between" if one.included is not None else ""
            figures = (f"{one.force / 1000:.2f} kN", *loaded(one.name), "–", "–", *worst(one.name))
            table.add_row(Text(f"  {one.name}", style="bold"), *figures, angle)
    for rope in loads.now.lines if whole else ():
        if rope.rope is not None and rope.name not in told and not rope.slack:
            figures = (f"{rope.tension / 1000:.2f} kN", *loaded(rope.name), "–", "–", *worst(rope.name))
            table.add_row(Text(f"  {short[rope.name]}", style="bold"), *figures, "")
    return table


def _at_most(spread: Spread | None, body: str, failure: str) -> str:
    """` (0.24 m at most over the bands)`."""
    one = spread.of("drop", body, failure) if spread else None
    return f" ({one.most:.2f} m at most over the bands)" if one and one.most >= 0.01 else ""


def _anchors(anchors: Sequence[AnchorPull]) -> list[RenderableType]:
    """What each anchor carries at rest, and once another has gone."""
    gone = {name for one in anchors for name in one.without}
    others = [one.name for one in anchors if one.name in gone][:MOST_ANCHORS]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("  anchor", header_style="")
    for column in ("carries", "share", "off plumb", *(f"without {name}" for name in others)):
        table.add_column(column, header_style="", justify="right")
    for one in anchors:
        then = [one.without.get(name) for name in others]
        table.add_row(
            Text(f"  {one.name}", style="bold"),
            f"{one.force / 1000:.2f} kN",
            f"{one.share:.0%}",
            "–" if one.from_plumb is None else f"{one.from_plumb:.0f} deg",
            *("–" if force is None else f"{force / 1000:.2f} kN" for force in then),
        )
    return [Text(), table, Text()]


def _after(result: Result, loads: Loads, whole: bool) -> list[RenderableType]:
    """What follows single failures: the deepest drops first, those with the same effect together."""
    after, spread = loads.after or (), loads.spread
    alike: dict[str, list[str]] = {}
    depth: dict[str, float] = {}
    unsolved = [one.failures[0] for one in after if not one.accepted]
    lost = {str(one.id): one.falls for one in result.states[0].outcome.failures}
    for one in after:
        if not one.accepted or not one.moved:
            continue
        falls = lost.get(one.failures[0], ())
        words = [
            _moved(m.name, m.drop, m.swing, _at_most(spread, m.name, one.failures[0]), m.name in falls)
            for m in one.moved
            if m.drop >= 0.01 or m.swing >= 0.01
        ]
        words += _grown(one)
        if one.reaches_ground:
            words.append(f"{listed(one.reaches_ground)} {'comes' if one.followed else 'may come'} down to the ground")
        words += [f"{line} comes to lie {m:.1f} m from {edge}" for line, edge, m in one.near_edges]
        if one.arrest:
            fall = one.arrest
            words.append(f"{fall.free_fall:.2f} m free on {fall.rope:.2f} m, fall factor {fall.fall_factor:.2g}")
        if words:
            text = "; ".join(words)
            alike.setdefault(text, []).append(one.failures[0])
            depth[text] = max(m.drop for m in one.moved)
    rows: list[RenderableType] = []
    order = sorted(alike, key=lambda text: (-depth[text], text))
    for text in order if whole else order[:MOST_AFTER]:
        label = Text.assemble((in_brief(result.rig, alike[text]), "bold"), f": {text}")
        rows.append(hanging("after" if not rows else "", label))
    if len(order) > MOST_AFTER and not whole:
        rows.append(line(f"… and {len(order) - MOST_AFTER} more (`stillheld forces` lists them)"))
    if unsolved:
        where = f"after {in_brief(result.rig, unsolved)}"
        rows.append(hanging("not told", f"{where}: the forces do not balance well enough"))
    return rows


def _grown(one: Aftermath) -> list[str]:
    """The line whose pull grows most: before, at rest, and at its peak where that is told."""

    def most(band: Band) -> float:
        return band.static if band.peak is None else band.peak

    grown = max(one.lines, key=lambda band: most(band) - band.before, default=None)
    if grown is None or most(grown) <= grown.before * 1.05 + 1:
        return []
    words = f"{grown.name} from {grown.before / 1000:.2f} to {grown.static / 1000:.2f} kN"
    if grown.peak is None:
        return [words]
    low, high = (f"{(end or grown.peak) / 1000:.2f}" for end in (grown.low, grown.high))
    band = f" ({low} to {high})" if low != high else ""
    return [f"{words}, peak {grown.peak / 1000:.2f} kN{band} after {grown.when or 0.0:.2f} s"]


def followed(body: str, aftermath: Aftermath) -> str:
    """How one body fares after failures: `held without drop`, `caught after a drop of about …`; empty
    where the forces don't tell."""
    if body in aftermath.falls or not aftermath.accepted:
        return ""
    moved = next((one for one in aftermath.moved if one.name == body), None)
    if moved is None or (moved.drop < 0.01 and moved.swing < 0.01):
        return "held without drop"
    if moved.drop < 0.01:
        return f"held, after a swing of {moved.swing:.2f} m"
    swing = f" and a swing of {moved.swing:.2f} m" if moved.swing >= 0.01 else ""
    return f"caught after a drop of about {moved.drop:.2f} m{swing}"


def _moved(name: str, drop: float, swing: float, over_bands: str, falls: bool) -> str:
    """`falls`: the rules count it as lost, though the statics find a rest for it (a jam, a guiding line)."""
    if falls:
        return f"{name} falls, unless what the rules count on no more stops it about {max(drop, 0.0):.2f} m down"
    pieces = []
    if drop >= 0.01:
        pieces.append(f"drops about {drop:.2f} m{over_bands}")
    elif drop <= -0.01:
        pieces.append(f"rises {-drop:.2f} m")
    if swing >= 0.01:
        pieces.append(f"swings {swing:.2f} m")
    return f"{name} {' and '.join(pieces)}"
