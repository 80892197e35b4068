"""Figures given as bands (`80 to 110 kg`): which a file has, the rig with one figure out of each, and which are tried.

Samples are Latin hypercubes: every band cut into as many equal slices as there are samples, each slice used once,
each figure as likely as any other of its band and none following from another. In which order a band's slices come
follows from the band's own name, so that the order of statements in a file changes nothing.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyser.rig.figures import as_length, length_number
from analyser.rig.model import Part, Quantity, Rig, Rope

SEED = 20
"""The same samples for everybody."""
AXES = ("x", "y", "z")
NO_FORCE = ("strength",)
"""Figures that change no force: their worst is at the lower end, whatever the others are."""
Point = tuple[float, ...]
"""One case: for each band a number from 0 (its lower end) to 1."""


@dataclass(frozen=True, slots=True)
class Banded:
    """One band of the file: of what (a part or a rope), which figure, and its ends in SI."""

    of: str
    figure: str
    least: float
    most: float
    text: str

    @property
    def words(self) -> str:
        return f"{self.of}: {self.text}" if self.figure == "mass" else f"{self.of}: {self.figure} {self.text}"


def bands(rig: Rig) -> tuple[Banded, ...]:
    """The bands of a rig, in order of the file."""
    found: list[Banded] = []
    for part in rig.parts.values():
        found += _quantities(part)
        for axis, at, off in zip(AXES, part.at or (), part.off, strict=False):
            if off:
                found.append(
                    Banded(
                        part.name,
                        axis,
                        at - off,
                        at + off,
                        f"{length_number(at - off, 'g')} to {as_length(at + off, 'g')}",
                    )
                )
    for rope in rig.ropes:
        found += _quantities(rope)
        for station in rope.stations:
            if station.slack and station.slack.band:
                what = f"slack before {station.label}"
                found.append(Banded(rope.name, what, *station.slack.band, station.slack.text))
    return tuple(found)


def _quantities(of: Part | Rope) -> list[Banded]:
    return [Banded(of.name, key, *one.band, one.text) for key, one in of.quantities if one.band]


def at_point(rig: Rig, banded: Sequence[Banded], point: Point) -> Rig:
    """The rig with one figure out of every band."""
    chosen = {
        (one.of, one.figure): one.least + share * (one.most - one.least)
        for one, share in zip(banded, point, strict=True)
    }

    def fixed(of: Part | Rope) -> tuple[tuple[str, Quantity], ...]:
        return tuple(
            (key, replace(one, si=chosen[of.name, key], band=None) if one.band else one) for key, one in of.quantities
        )

    parts = {}
    for name, part in rig.parts.items():
        if any(one.band for _, one in part.quantities):
            part = replace(part, quantities=fixed(part))
        if part.at is not None and any(part.off):
            x, y, z = (chosen.get((name, axis), at) for axis, at in zip(AXES, part.at, strict=True))
            part = replace(part, at=(x, y, z), off=(0.0, 0.0, 0.0))
        parts[name] = part
    ropes = []
    for rope in rig.ropes:
        if any(one.band for _, one in rope.quantities):
            rope = replace(rope, quantities=fixed(rope))
        if any(s.slack and s.slack.band for s in rope.stations):
            stations = tuple(
                replace(s, slack=replace(s.slack, si=chosen[rope.name, f"slack before {s.label}"], band=None))
                if s.slack and s.slack.band
                else s
                for s in rope.stations
            )
            rope = replace(rope, stations=stations)
        ropes.append(rope)
    return replace(rig, parts=parts, ropes=tuple(ropes))


def sampled(count: int, banded: Sequence[Banded], seed: int = SEED) -> list[Point]:
    """Points of the unit cube by Latin hypercube sampling: in each direction one in each of `count` slices.

    Source: M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (1979), 239-245 (from memory).
    """
    columns = []
    for one in banded:
        draw = random.Random(f"{seed} {one.of} {one.figure}")
        column = [(k + draw.random()) / count for k in range(count)]
        draw.shuffle(column)
        columns.append(column)
    return list(zip(*columns, strict=True)) if columns else []


def corners(banded: Sequence[Banded], most: int) -> tuple[list[Point], bool]:
    """Points at which each figure stands at an end, and whether those are all: all of them where they are no more
    than `most`, else the four at which masses stand at one end and all the rest at one end. Figures that change no
    force stand at their lower end."""
    acting = [k for k, one in enumerate(banded) if one.figure not in NO_FORCE]
    every = 2 ** len(acting) <= most
    if every:
        chosen = list(itertools.product((0.0, 1.0), repeat=len(acting)))
    else:
        ends = ((1.0, 0.0), (1.0, 1.0), (0.0, 0.0), (0.0, 1.0))
        chosen = [tuple(heavy if banded[k].figure == "mass" else rest for k in acting) for heavy, rest in ends]
        chosen = list(dict.fromkeys(chosen))
    points = []
    for one in chosen:
        point = [0.0] * len(banded)
        for k, share in zip(acting, one, strict=True):
            point[k] = share
        points.append(tuple(point))
    return points, every
