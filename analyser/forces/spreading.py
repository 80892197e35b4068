"""Figures given as bands (`80 to 110 kg`): the forces over all of them, not at their middle alone.

The rig is worked out again and again, each time with one figure taken out of every band: by Latin hypercube
sampling with a fixed seed (every band cut into as many equal slices as there are samples, each slice used
once), each figure as likely as any other of its band and none following from another; and at corners, where
figures stand at their ends together, since what is worst mostly lies there. The 5-95 % figures come from the
samples alone, least and most from both. That finds bad cases and never proves that there is none worse.
"""

from __future__ import annotations

import itertools
import math
import os
import random
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from time import monotonic

from analyser.forces.aftermath import after
from analyser.forces.carried import part_forces
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.motion import motion
from analyser.forces.strength import factors
from analyser.rig.model import Nature, Part, Quantity, Rig, Rope

SEED = 20
"""The same samples for everybody."""
IN_ONE_PROCESS = 2.0
"""Seconds of work for which no second process is started."""
AXES = ("x", "y", "z")

Key = tuple[str, ...]
Progress = Callable[[int, int], None]
"""Told how many cases are done, and of how many."""
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


@dataclass(frozen=True, slots=True)
class Range:
    """A figure over the bands: 5 and 95 % of the samples, and the least and the most of all cases."""

    low: float
    high: float
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Spread:
    """What a state carries over its bands.

    `samples` and `corners` are the cases at rest, `after` those in which every single failure was looked at, the
    failures in `moving` in time (those that are hardest in the middle), the others at rest alone; `lost` of all
    those the ones in which the forces did not balance: nothing is known of them. The keys of
    `ranges`: `("carries", NAME)` and `("factor", NAME)` of parts and lines of rope; `("head-up", LITTER)` and
    `("roll", LITTER)` in degrees; `("drop", BODY, FAILURE)` in metres; `("peak", PERSON, FAILURE)` in newtons;
    `("overload", NAME, FAILURE)`, strength over what it carries at the most, where that is under 1;
    `("falls", BODY, FAILURE)`, 1 where it does (FAILURE is empty at rest)."""

    banded: tuple[Banded, ...]
    samples: int
    corners: int
    after: int
    lost: int
    moving: tuple[str, ...]
    ranges: dict[Key, Range] = field(repr=False)

    def of(self, *key: str) -> Range | None:
        return self.ranges.get(key)

    def each(self, what: str) -> list[tuple[Key, Range]]:
        """All figures of one sort, by name."""
        return [(key[1:], one) for key, one in sorted(self.ranges.items()) if key[0] == what]


def bands(rig: Rig) -> tuple[Banded, ...]:
    """The bands of a rig, in order of the file."""
    found: list[Banded] = []
    for part in rig.parts.values():
        found += _quantities(part)
        for axis, at, off in zip(AXES, part.at or (), part.off, strict=False):
            if off:
                found.append(Banded(part.name, axis, at - off, at + off, f"{at - off:g} to {at + off:g} m"))
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


def sampled(count: int, width: int, seed: int = SEED) -> list[Point]:
    """Points of the unit cube by Latin hypercube sampling: in each direction one in each of `count` slices.

    Source: M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (1979), 239-245 (from memory).
    """
    draw = random.Random(seed)
    columns = []
    for _ in range(width):
        column = [(k + draw.random()) / count for k in range(count)]
        draw.shuffle(column)
        columns.append(column)
    return list(zip(*columns, strict=True)) if columns else []


def corners(banded: Sequence[Banded], most: int) -> list[Point]:
    """Points at which each figure stands at an end: all of them where they are no more than `most`, else the
    four at which masses stand at one end and all the rest at one end."""
    if 2 ** len(banded) <= most:
        return list(itertools.product((0.0, 1.0), repeat=len(banded)))
    four = [
        tuple(heavy if one.figure == "mass" else rest for one in banded)
        for heavy, rest in ((1.0, 0.0), (1.0, 1.0), (0.0, 0.0), (0.0, 1.0))
    ]
    return list(dict.fromkeys(four))


def spread(
    rig: Rig,
    samples: int,
    after_samples: int | None = None,
    *,
    moving: Sequence[str] = (),
    most_corners: int = 64,
    seed: int = SEED,
    progress: Progress | None = None,
    processes: int | None = None,
) -> Spread | None:
    """The forces of a state over its bands; None for a rig without any.

    `samples` at rest; `after_samples` in which every single failure is looked at as well (None: in none), those
    in `moving` in time.
    Raises ValueError for a rig whose forces cannot be worked out: ask `Statics.of` first.
    """
    banded = bands(rig)
    if not banded:
        return None
    resting = sampled(samples, len(banded), seed)
    ends = corners(banded, most_corners)
    cases = [(point, False) for point in (*resting, *ends)]
    following = 0
    if after_samples is not None:
        points = [*sampled(after_samples, len(banded), seed + 1), *corners(banded, 4)]
        following = len(points)
        cases += [(point, True) for point in points]
    told = _all(rig.alone, banded, cases, frozenset(moving), progress, processes)
    ranges: dict[Key, Range] = {}
    rows: dict[Key, list[tuple[int, float]]] = {}
    for at, one in enumerate(told):
        for key, value in (one or {}).items():
            rows.setdefault(key, []).append((at, value))
    for key, row in rows.items():
        inner = sorted(value for at, value in row if at < len(resting)) or sorted(value for _, value in row)
        values = [value for _, value in row]
        ranges[key] = Range(_share(inner, 0.05), _share(inner, 0.95), min(values), max(values))
    lost = sum(one is None for one in told)
    return Spread(banded, len(resting), len(ends), following, lost, tuple(moving), ranges)


def _share(values: Sequence[float], share: float) -> float:
    """The value below which a share of sorted values lies, between two neighbours in proportion."""
    at = share * (len(values) - 1)
    low = math.floor(at)
    high = min(low + 1, len(values) - 1)
    if values[low] == values[high]:  # both may be without end
        return values[low]
    return values[low] + (at - low) * (values[high] - values[low])


def _all(
    rig: Rig,
    banded: Sequence[Banded],
    cases: Sequence[tuple[Point, bool]],
    moving: frozenset[str],
    progress: Progress | None,
    processes: int | None,
) -> list[dict[Key, float] | None]:
    """Every case, in order: in this process, and in others as well where there is much to do."""
    told: list[dict[Key, float] | None] = [None] * len(cases)
    middle = _middle(rig, banded)
    begun, at = monotonic(), 0
    workers = min(os.cpu_count() or 1, 8) if processes is None else processes
    while at < len(cases):
        told[at] = _case(rig, banded, middle, *cases[at], moving)
        at += 1
        if progress:
            progress(at, len(cases))
        mean = (monotonic() - begun) / at
        if workers > 1 and at >= 4 and mean * (len(cases) - at) > IN_ONE_PROCESS:
            break
    if at < len(cases):
        rest = range(at, len(cases))
        pieces = [rest[k :: 4 * workers] for k in range(4 * workers) if rest[k :: 4 * workers]]
        with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
            waiting = {pool.submit(_several, rig, banded, [cases[k] for k in piece], moving): piece for piece in pieces}
            for done in as_completed(waiting):
                for k, one in zip(waiting[done], done.result(), strict=True):
                    told[k] = one
                at += len(waiting[done])
                if progress:
                    progress(at, len(cases))
    return told


def _several(
    rig: Rig, banded: Sequence[Banded], cases: Sequence[tuple[Point, bool]], moving: frozenset[str]
) -> list[dict[Key, float] | None]:
    """Some cases, in a process of their own."""
    middle = _middle(rig, banded)
    return [_case(rig, banded, middle, *case, moving) for case in cases]


def _middle(rig: Rig, banded: Sequence[Banded]) -> Equilibrium:
    """The rest at the middle of every band, from which each case is solved."""
    statics = Statics.of(at_point(rig, banded, (0.5,) * len(banded)))
    if not isinstance(statics, Statics):
        raise ValueError(statics.text)
    return statics.equilibrium()


def _case(
    rig: Rig, banded: Sequence[Banded], near: Equilibrium, point: Point, failures: bool, moving: frozenset[str]
) -> dict[Key, float] | None:
    """The figures of one case; None where its forces do not balance, or two lengths contradict each other."""
    rig = at_point(rig, banded, point)
    statics = Statics.of(rig)
    if not isinstance(statics, Statics):
        return None
    now = statics.equilibrium(near=near)
    if not now.accepted:
        return None
    parts = part_forces(rig, now, angles=False)
    found: dict[Key, float] = {("carries", one.name): one.force for one in parts}
    found |= {("carries", line.name): line.tension for line in now.lines}
    found |= {("factor", row.name): row.factor for row in factors(rig, now, forces=parts).rows}
    for pose in now.poses:
        found |= {("head-up", pose.name): pose.head_up} if pose.head_up is not None else {}
        found |= {("roll", pose.name): pose.roll} if pose.roll is not None else {}
    found |= {("falls", name, ""): 1.0 for name in now.falls}
    people = {body.name for body in rig.bodies if body.nature is Nature.PERSON}
    for failure in rig.failures if failures else ():
        then = after(statics, [failure], now)
        if not then.accepted:
            return None
        found |= {("drop", moved.name, failure.id): moved.drop for moved in then.moved}
        found |= {("falls", name, failure.id): 1.0 for name in then.falls}
        rows = list(factors(rig, then.equilibrium).rows)
        if failure.id in moving:
            told = motion(statics, [failure], now, starts=0, breaking=False)
            if told.told:
                rows += [one.factor for one in told.weakest]
                for name in people - {*then.falls}:
                    here = next((part.force for part in parts if part.name == name), 0.0)
                    found["peak", name, failure.id] = max(here, told.parts.get(name, (0.0, 0.0, 0.0))[0])
        for row in rows:
            if row.factor < min(1.0, found.get(("overload", row.name, failure.id), 1.0)):
                found["overload", row.name, failure.id] = row.factor
    return found
