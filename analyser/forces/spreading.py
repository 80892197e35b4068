"""The forces over the bands of a file (`80 to 110 kg`), not at their middle alone.

The rig is worked out again and again, each time with one figure taken out of every band: in samples, and at corners,
where figures stand at their ends together, since what is worst mostly lies there. Up to 2^12 of them all are brought
to rest together (`cornering.py`), as the rig hangs and after each failure, and what is worst is worked out in full.
Beyond that, and for the peaks on the way to a new rest, from the worst case so far one band after another is put to
its other end while that makes it worse (`seeking.py`). The 5-95 % figures come from the samples alone, least and most
from all cases. That finds bad cases and never proves that there is none worse.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from analyser.forces.assembling import Case
from analyser.forces.attitudes import Lie
from analyser.forces.banding import NO_FORCE, SEED, Banded, Point, at_point, bands, corners, sampled
from analyser.forces.carried import part_forces
from analyser.forces.cornering import Corners
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.motion import motion
from analyser.forces.seeking import Figures, Goal, Key, Search, Tried, goals_of
from analyser.forces.strength import factors
from analyser.rig.model import Failure, Nature, Rig
from analyser.working.cases import Progress, in_order

MOST_CORNERS = 4096
"""Corners up to which all are brought to rest."""
FEW_CORNERS = 16
"""Corners up to which each is worked out in full, whether it is the worst of something or not."""
MOST_ASTRAY = 40
"""Corners that don't come to rest together with the others, and are then worked out by themselves."""
MOST_IN_TIME = 48
"""Cases that are followed in time to find a worse one, beside the samples and corners."""
NOTICED = 1e-6
"""Metres under which nothing has moved."""


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

    `samples` are cases at rest, `corners` corners brought to rest, `after` cases in which every single failure was
    looked at, the failures in `moving` in time (those that are hardest in the middle), the others at rest alone;
    `sought` those that were worked out because they might be the worst, `timed` of these the ones followed in time;
    `lost` of all those the ones in which the forces did not balance: nothing is known of them. `every`: were all
    corners brought to rest?

    The keys of `ranges`: `("carries", NAME)` and `("factor", NAME)` of parts and lines of rope; `("head-up", LITTER)`,
    `("roll", LITTER)` and `("off-level", LITTER)` in degrees; `("drop", BODY, FAILURE)` in metres; `("off-level",
    LITTER, FAILURE)`; `("peak", PERSON, FAILURE)` in newtons; `("factor-after", NAME, FAILURE)`, strength over what it
    carries at the most then (where a file asks for it), and `("overload", …)` where that is under 1; `("falls", BODY,
    FAILURE)`, 1 where it does (FAILURE is empty at rest)."""

    banded: tuple[Banded, ...]
    samples: int
    corners: int
    after: int
    sought: int
    timed: int
    lost: int
    every: bool
    moving: tuple[str, ...]
    ranges: dict[Key, Range] = field(repr=False)

    def of(self, *key: str) -> Range | None:
        return self.ranges.get(key)

    def each(self, what: str) -> list[tuple[Key, Range]]:
        """All figures of one sort, by name."""
        return [(key[1:], one) for key, one in sorted(self.ranges.items()) if key[0] == what]

    @property
    def acting(self) -> int:
        """Bands that change a force."""
        return sum(one.figure not in NO_FORCE for one in self.banded)


def spread(
    rig: Rig,
    samples: int,
    after_samples: int | None = None,
    *,
    moving: Sequence[str] = (),
    most_corners: int = MOST_CORNERS,
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
    rig = rig.alone
    look = _Look(rig, banded, goals_of(rig), frozenset(moving))
    resting = sampled(samples, banded, seed)
    ends, every = corners(banded, most_corners)
    in_full = ends if len(ends) <= FEW_CORNERS else corners(banded, FEW_CORNERS)[0]
    follow = after_samples is not None
    following = [*sampled(after_samples or 0, banded, seed + 1), *corners(banded, 4)[0]] if follow else []
    cases = [Tried(point) for point in (*resting, *in_full)]
    cases += [Tried(point, None, timed=True) for point in following]
    worst, aside = look.worst_corners(ends, follow=follow) if every else ([], [])
    extra = [one for one in worst if one not in {*cases}]
    given = (look.rig, look.banded, look.goals, look.moving)
    told = in_order([*cases, *extra], look.case, _several, given, progress, processes)
    search = Search(rig, banded, dict(zip([*cases, *extra], told, strict=True)), look.case, MOST_IN_TIME)
    for goal in look.goals:
        if not every and (follow or not goal.after):
            search.after(goal) if goal.after else search.at_rest(goal)
        if goal.timed and follow:
            search.in_time(goal, moving)
    found = [*told, *search.found.values()]
    timed = sum(one.timed for one in search.found)
    lost = sum(one is None for one in found) + len(aside)
    sought = len(extra) + len(search.found)
    ranges = _ranges(found, len(resting))
    return Spread(banded, len(resting), len(ends), len(following), sought, timed, lost, every, tuple(moving), ranges)


def _ranges(found: Sequence[Figures | None], samples: int) -> dict[Key, Range]:
    """Each figure over all cases, of which the first `samples` are samples."""
    ranges: dict[Key, Range] = {}
    rows: dict[Key, list[tuple[bool, float]]] = {}
    for at, several in enumerate(found):
        for figures in several or ():
            for key, value in figures.items():
                rows.setdefault(key, []).append((at < samples, value))
    for key, row in rows.items():
        values = sorted(value for _, value in row)
        inner = sorted(value for sample, value in row if sample) or values
        ranges[key] = Range(_share(inner, 0.05), _share(inner, 0.95), values[0], values[-1])
    return ranges


def _share(values: Sequence[float], share: float) -> float:
    """The value below which a share of sorted values lies, between two neighbours in proportion."""
    at = share * (len(values) - 1)
    low = math.floor(at)
    high = min(low + 1, len(values) - 1)
    if values[low] == values[high]:  # both may be without end
        return values[low]
    return values[low] + (at - low) * (values[high] - values[low])


class _Look:
    """One rig, case by case."""

    def __init__(self, rig: Rig, banded: Sequence[Banded], goals: Sequence[Goal], moving: frozenset[str]) -> None:
        self.rig, self.banded, self.goals, self.moving = rig, banded, goals, moving
        self.asked = {goal.what for goal in goals}
        self.people = {body.name for body in rig.bodies if body.nature is Nature.PERSON}
        statics = Statics.of(at_point(rig, banded, (0.5,) * len(banded)))
        if not isinstance(statics, Statics):
            raise ValueError(statics.text)
        self.statics = statics
        self.middle = statics.equilibrium()
        """The rest at the middle of every band, from which each case is solved."""

    def worst_corners(self, ends: Sequence[Point], *, follow: bool) -> tuple[list[Tried], list[Point]]:
        """The cases to be worked out in full, after all corners were brought to rest together: those that are worst,
        and those that didn't come to rest; and corners of which nothing is known, as their lengths contradict each
        other."""
        after = [goal for goal in self.goals if goal.after]
        pulls = any(goal.what not in ("drop", "off-level") for goal in after)
        found = Corners(self.rig, self.banded, ends, self.statics, self.middle)
        cases: dict[Tried, None] = {}
        for one in found.worst(self.rig.failures if follow and after else (), pulls=pulls):
            for point in dict.fromkeys(one.corner.values()):
                cases[Tried(point, (one.failure,) if one.failure else ())] = None
        for failure, point in found.astray[:MOST_ASTRAY]:
            cases[Tried(point, (failure,) if failure else ())] = None
        return list(cases), [*found.contradicting, *(point for _, point in found.astray[MOST_ASTRAY:])]

    def case(self, one: Tried) -> Figures | None:
        """The figures of one case, with strengths as drawn; at a corner with all strengths at their lower ends, and
        once more at their upper ones. None where its forces do not balance, or two lengths contradict each other."""
        rig = at_point(self.rig, self.banded, one.point)
        statics = Statics.of(rig)
        if not isinstance(statics, Statics):
            return None
        now = statics.equilibrium(near=self.middle)
        if not now.accepted:
            return None
        parts = part_forces(rig, now, angles=False)
        found: dict[Key, float] = {("carries", part.name): part.force for part in parts}
        found |= {("carries", line.name): line.tension for line in now.lines}
        weak: dict[Key, float] = {("factor", row.name): row.factor for row in factors(rig, now, forces=parts).rows}
        ropes = {line.name: line.rope for line in now.lines}
        for pose in now.poses:
            found |= {("head-up", pose.name): pose.head_up} if pose.head_up is not None else {}
            found |= {("roll", pose.name): pose.roll} if pose.roll is not None else {}
            found |= {("off-level", pose.name): _off_level(pose.lies)} if "off-level" in self.asked else {}
        found |= {("falls", name, ""): 1.0 for name in now.falls}
        carried = {part.name: part.force for part in parts if part.name in self.people}
        for failure in rig.failures:
            if one.failures is not None and failure.id not in one.failures:
                continue
            rest = statics.equilibrium(Case(failure.effects), now)
            if not rest.accepted:
                return None
            ropes |= {line.name: line.rope for line in rest.lines}
            found |= self._moved(now, rest, failure)
            least = {row.name: row.factor for row in factors(rig, rest).rows}
            if one.timed and failure.id in self.moving:
                found |= self._in_time(statics, now, failure, rest.falls, carried, least)
            if "factor-after" in self.asked:
                weak |= {("factor-after", name, failure.id): factor for name, factor in least.items()}
            else:
                weak |= {("overload", name, failure.id): factor for name, factor in least.items() if factor < 1}
        return self._both_ends(one.point, found, weak, ropes)

    def _moved(self, now: Equilibrium, rest: Equilibrium, failure: Failure) -> dict[Key, float]:
        """Where bodies come to rest after a failure, and how they lie."""
        found: dict[Key, float] = {("falls", name, failure.id): 1.0 for name in rest.falls}
        for body in self.rig.bodies:
            there = body.name in rest.at and body.name in now.at
            if there and body.name not in {*rest.falls, *failure.effects.gone}:
                before, after = now.at[body.name], rest.at[body.name]
                if math.dist(before, after) >= NOTICED:
                    found["drop", body.name, failure.id] = before[2] - after[2]
        for pose in rest.poses if "off-level" in self.asked else ():
            if pose.name not in rest.falls:
                found["off-level", pose.name, failure.id] = _off_level(pose.lies)
        return found

    def _in_time(
        self, statics: Statics, now: Equilibrium, failure: Failure, falls: Iterable[str], carried: dict[str, float],
        least: dict[str, float],
    ) -> dict[Key, float]:  # fmt: skip
        """The pulls on people on the way to a new rest; `least`, the strength factors at rest, is brought down to
        those on the way."""
        told = motion(statics, [failure], now, starts=0, breaking=False)
        if not told.told:
            return {}
        for one in told.weakest:
            row = one.factor
            least[row.name] = min(row.factor, least.get(row.name, math.inf))
        return {
            ("peak", name, failure.id): max(carried.get(name, 0.0), told.parts.get(name, (0.0, 0.0, 0.0))[0])
            for name in self.people - {*falls}
        }

    def _both_ends(
        self, point: Point, found: dict[Key, float], weak: dict[Key, float], ropes: dict[str, str | None]
    ) -> Figures:
        """With strengths as drawn, and those that stand at their lower ends once more at their upper."""
        more = {
            one.of: one.most / one.least
            for one, share in zip(self.banded, point, strict=True)
            if one.figure in NO_FORCE and share == 0
        }
        upper = {key: value * more.get(ropes.get(key[1]) or key[1], 1.0) for key, value in weak.items()}
        return [found | _overloads(one) for one in ((weak,) if upper == weak else (weak, upper))]


def _overloads(weak: dict[Key, float]) -> dict[Key, float]:
    """Strength factors, and those after failures under 1 once more as overloads."""
    over = {("overload", *key[1:]): factor for key, factor in weak.items() if key[0] == "factor-after" and factor < 1}
    return weak | over


def _off_level(lies: Lie) -> float:
    """Degrees off level; of what has turned over, how far its upper side is from plumb where that is more."""
    return max(lies.off_level, lies.tilt) if lies.over else lies.off_level


def _several(
    rig: Rig, banded: Sequence[Banded], goals: Sequence[Goal], moving: frozenset[str], cases: Iterable[Tried]
) -> list[Figures | None]:
    """Some cases, in a process of their own."""
    look = _Look(rig, banded, goals, moving)
    return [look.case(one) for one in cases]
