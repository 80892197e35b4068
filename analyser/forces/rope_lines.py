"""Ropes as lines: between stations that grip, over everything the rope runs through.

A knot or a device that grips both ways ends a line. A device that grips one way couples the lines
on its two sides: rope may pass from its loaded side to the other (never back), so the loaded side
carries at least as much. That is one number, the rope that has passed, which is never negative.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from analyser.forces.lumps import Lumps
from analyser.language.identities import Span
from analyser.rig.model import Effects, Rig, Role, Rope, Station


@dataclass(slots=True)
class RopeLine:
    """One line of a rope: from station `first` to station `last`, over the lumps (or edges) of `path`.

    `at` are the stations that the path's places belong to. `passed` are the one-way grips whose
    rope passes into (+1: the line gets longer) or out of (-1) this line.
    """

    rope: Rope
    first: int
    last: int
    path: list[int | str]
    at: list[int]
    passed: list[tuple[str, int]] = field(default_factory=list)
    stoppers: tuple[bool, bool] = (False, False)
    """Does a stopper jam at its start, at its end? Then all the rope up to that stopper is in it."""

    @property
    def to_stopper(self) -> bool:
        return any(self.stoppers)

    @property
    def name(self) -> str:
        labels = [self.rope.stations[k].label for k in (self.first, self.last)]
        return Span(self.rope.name, labels[0], labels[1])


def station_lump(station: Station, lumps: Lumps) -> int | None:
    """The lump of a station's part, where it is there."""
    return lumps.soft_station.get(station.part, lumps.of.get(station.part))


def severed(station: Station, rig: Rig, effects: Effects) -> bool:
    """Does the edge at this station cut the rope? Only when none of its guards is left."""
    if station.role is not Role.OVER or station.part not in effects.cutting:
        return False
    return not {*station.guards, *rig.parts[station.part].guards} - effects.gone


def rope_lines(
    rig: Rig, effects: Effects, lumps: Lumps, hands: bool, free: frozenset[str] = frozenset()
) -> list[RopeLine]:
    """The lines of every rope after `effects`; `hands`: do bare hands grip? `free` are devices
    that rope runs through in both directions (a capture that is kept open)."""
    lines: list[RopeLine] = []
    for rope in rig.ropes:
        for piece in _pieces(rope, rig, effects):
            lines += _lines(rope, piece, effects, lumps, hands, free)
    return lines


def _pieces(rope: Rope, rig: Rig, effects: Effects) -> list[list[int]]:
    """The stretches of stations between cuts."""
    pieces: list[list[int]] = [[]]
    for k, station in enumerate(rope.stations):
        if severed(station, rig, effects):
            pieces.append([])
            continue
        pieces[-1].append(k)
        if k < len(rope.spans) and rope.spans[k] in effects.cut:
            pieces.append([])
    return [piece for piece in pieces if len(piece) > 1]


def _grips(
    station: Station, effects: Effects, lumps: Lumps, hands: bool, free: frozenset[str]
) -> tuple[bool, bool] | None:
    """Against which way of leaving the rope is gripped; None when nothing of the station is left."""
    if station.role is Role.OVER:
        return (False, False)
    if station.role is Role.HAND:
        grips = hands and station.part not in effects.open_hands and station.part not in effects.gone
        return (True, True) if grips and station_lump(station, lumps) is not None else None
    if station.role is Role.STOPPER or station_lump(station, lumps) is None:
        return None
    if station.role is Role.TIE:
        return (True, True)
    if station.role is Role.GRIP and station.part not in effects.ungripped and station.part not in free:
        return (station.to_start, station.to_end)
    return (False, False)


def _lines(
    rope: Rope, piece: list[int], effects: Effects, lumps: Lumps, hands: bool, free: frozenset[str]
) -> list[RopeLine]:
    grips: dict[int, tuple[bool, bool]] = {}
    for k in piece:
        told = _grips(rope.stations[k], effects, lumps, hands, free)
        if told is not None:
            grips[k] = told
    there = list(grips)
    jams = _jams(rope, piece, there, effects)
    holds = [k for k in there if any(grips[k])]
    ends = sorted({*holds, *jams.values()})
    lines = []
    for a, b in pairwise(ends):
        at = [k for k in there if a <= k <= b]
        path: list[int | str] = []
        for k in at:
            lump = station_lump(rope.stations[k], lumps)
            path.append(rope.stations[k].part if rope.stations[k].role is Role.OVER or lump is None else lump)
        stoppers = (a in jams.values() and a not in holds, b in jams.values() and b not in holds)
        lines.append(RopeLine(rope, a, b, path, at, [], stoppers))
    return _coupled(lines, grips, jams)


def _jams(rope: Rope, piece: list[int], there: list[int], effects: Effects) -> dict[int, int]:
    """For each stopper, the station further in at which it comes to stand."""
    found: dict[int, int] = {}
    passable = [k for k in there if rope.stations[k].role is not Role.OVER]
    for k in piece:
        station = rope.stations[k]
        if station.role is not Role.STOPPER or station.part in effects.gone or not passable:
            continue
        if k > passable[-1]:
            found[k] = passable[-1]
        elif k < passable[0]:
            found[k] = passable[0]
    return found


def _coupled(lines: list[RopeLine], grips: dict[int, tuple[bool, bool]], jams: dict[int, int]) -> list[RopeLine]:
    """Take out lines that a one-way grip lets run, and couple those that it parts."""
    jammed = set(jams.values())
    while True:
        starts = {line.first for line in lines}
        finish = {line.last for line in lines}

        def kept(line: RopeLine, starts: set[int] = starts, finish: set[int] = finish) -> bool:
            to_start, to_end = grips[line.first]
            held = to_end or line.first in jammed or (to_start and line.first in finish)
            to_start, to_end = grips[line.last]
            return held and (to_start or line.last in jammed or (to_end and line.last in starts))

        left = [line for line in lines if kept(line)]
        if len(left) == len(lines):
            break
        lines = left
    starting = {line.first: line for line in lines}
    for line in lines:
        k = line.last
        after, (to_start, to_end) = starting.get(k), grips[k]
        if after is None or to_start == to_end:
            continue
        loaded, other = (line, after) if to_start else (after, line)
        name = line.rope.stations[k].label
        loaded.passed.append((f"{line.rope.name} at {name}", -1))
        other.passed.append((f"{line.rope.name} at {name}", 1))
    return lines
