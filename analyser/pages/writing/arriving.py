"""Beside what carries what: track lines, what arrives at devices and hands, and a line a step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from analyser.checking.results import Result, State
from analyser.checking.sentences import in_few, listed
from analyser.pages.tree import Block, Column, Fact, Row, Section, Table, marked, section, strong
from analyser.pages.writing.grouping import in_brief
from analyser.rig.figures import as_force, as_length, force_number, units
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.belaying import Arriving, Belayed
    from analyser.forces.tracks import Track

LEAST = 5.0
"""Newtons under which a line is slack."""
MOST_LINES = 5
"""Lines that a table of steps shows: those that come to pull hardest."""
FEW = 4
"""So many failures that bring the same are told each; of more the first, and how many there are."""
ALIKE = 10.0
"""Newtons within which two failures bring the same."""


def track_section(tracks: Sequence[Track], worst: Sequence[Track], held: Sequence[Track]) -> Section:
    """Each track at rest, with its load where it pulls hardest, and where it was asked to be held."""
    return section("Track lines", _tracks(tracks, worst, held))


def _tracks(tracks: Sequence[Track], worst: Sequence[Track], held: Sequence[Track]) -> Iterator[Block]:
    for one, at_worst in zip(tracks, worst, strict=True):
        yield Fact(strong(one.rope), f"{as_length(one.span)} from end to end; at rest {_track(one)}")
        yield Fact("", f"worst place: {_track(at_worst)}")
        yield from (Fact("", f"held there: {_track(other)}") for other in held if other.name == one.name)
    yield Fact("taken", "control lines that hold the load at a place pull along the track, and carry none of it")


def _track(one: Track) -> str:
    """`load 14.99 m along, sag 3.00 m (10 %), 2.50 kN; near 2.45 kN level, 11 deg below level, …`."""
    ends = []
    for end in one.ends:
        way = "below" if end.below_level >= 0 else "above"
        ends.append(f"{end.at} {as_force(end.level)} level, {abs(end.below_level):.0f} deg {way} level")
    place = f"load {as_length(one.along)} along, sag {as_length(one.sag)} ({one.sag / one.span:.0%})"
    return f"{place}, {as_force(one.tension)}; {'; '.join(ends)}"


def belay_section(rig: Rig, devices: Sequence[Belayed], hands: Sequence[Belayed]) -> Section:
    """For each device and each pair of hands: the pull before, and after each single failure, those alike together."""
    return section("What arrives at devices and hands", _belay(rig, devices, hands))


def _belay(rig: Rig, devices: Sequence[Belayed], hands: Sequence[Belayed]) -> Iterator[Block]:
    rows: list[Row] = []
    for one in (*devices, *hands):
        at = f"{one.device} ({one.person})" if one.device else f"hands of {one.person}"
        first = (strong(at), one.rope, as_force(one.before))
        told = _alike(one)
        if not told:
            rows.append((*first, "as before", "whatever fails alone", ""))
        for k, (row, failures) in enumerate(told):
            head = ("", "", "") if k else first
            peak = "" if row.peak is None else as_force(row.peak)
            rows.append((*head, as_force(row.rest), f"after {_failures(rig, failures)}", peak))
    heads = ("at", "rope", "before", "at rest", "", "in time")
    columns = tuple(Column(head, figures=head in ("before", "at rest", "in time")) for head in heads)
    if rows:
        yield Table(columns, tuple(rows))
    if hands:
        yield Fact("hands", "what they would have to hold, closed; nobody is counted as held by them")


def _failures(rig: Rig, failures: Sequence[str]) -> str:
    """By what happens, where they are few."""
    return in_brief(rig, failures) if len(failures) <= FEW else in_few(failures)


def _alike(one: Belayed) -> list[tuple[Arriving, list[str]]]:
    """The failures that bring more or less than before, those alike together, the hardest first."""
    found: list[tuple[Arriving, list[str]]] = []
    for row in one.after:
        same = next((r for r in found if _near(r[0].rest, row.rest) and _near(r[0].peak or 0.0, row.peak or 0.0)), None)
        if same:
            same[1].append(row.failure)
        else:
            found.append((row, [row.failure]))
    found = [(row, names) for row, names in found if _differs(row, one.before)]
    return sorted(found, key=lambda told: (-_most(told[0]), told[1]))


def _differs(row: Arriving, before: float) -> bool:
    return not (_near(row.rest, before) and _near(_most(row), before))


def _near(a: float, b: float) -> bool:
    return abs(a - b) < ALIKE


def _most(row: Arriving) -> float:
    return max(row.rest, row.peak or 0.0)


def steps_section(result: Result) -> Section:
    """A line a state: the tension of those lines that come to pull hardest, and how each litter hangs."""
    return section("Step by step", _steps(result.states))


def _steps(states: Sequence[State]) -> Iterator[Block]:
    most: dict[str, float] = {}
    litters: dict[str, None] = {}
    for state in states:
        now = state.loads.now if state.loads and state.loads.now.accepted else None
        for line in now.lines if now else ():
            name = now.called(line) if now else ""
            most[name] = max(most.get(name, 0.0), line.tension)
        litters |= dict.fromkeys(pose.name for pose in (now.poses if now else ()) if pose.head_up is not None)
    shown = sorted(most, key=lambda name: (-round(most[name], 3), name))[:MOST_LINES]
    if not shown:
        return
    rows: list[Row] = []
    for state in states:
        words = f"{state.number} {state.step or 'as first attached'}"
        if state.loads is None or not state.loads.now.accepted:
            why = "not told: facts are missing" if state.loads is None else "not told: no balance"
            rows.append((words, why, *("" for _ in [*shown, *litters][1:])))
            continue
        now = state.loads.now
        pulls = {now.called(line): line.tension for line in now.lines}
        cells = ["–" if n not in pulls else "slack" if pulls[n] < LEAST else force_number(pulls[n]) for n in shown]
        poses = {pose.name: pose.head_up for pose in now.poses}
        angles = ["–" if (up := poses.get(name)) is None else f"{up + 0.0:.1f} deg" for name in litters]
        rows.append((words, *cells, *angles))
    heads = (*shown, *(f"{name}, head up" for name in litters))
    yield Table((Column("step"), *(Column(head, figures=True) for head in heads)), tuple(rows))
    rest = len(most) - len(shown)
    more = f"; {rest} lines more: `--state N`" if rest > 0 else ""
    yield Fact("", marked(f"{units().force} at rest: {listed(shown)}{more}"))
