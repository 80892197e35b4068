"""Masses followed from a moment on: how hard each line pulls at most, what breaks and when, and how it went.

Each start has a clock and a step of its own; a step that is too wrong is taken again, shorter. What may break
is asked of the caller where a bound says that it might, and the time at which it does is sought within the step.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

import numpy as np

from analyser.forces.formulas import FINE_PULL
from analyser.forces.masses import Masses, quickest
from analyser.forces.network import Array, Ints
from analyser.forces.stepping import Moment, energy, kept, order, rates, step
from analyser.forces.stiffness import GRAVITY

FIRST_STEP = 1e-3
LONGEST_STEP = 0.05
"""Seconds: nothing is caught and let go again between two looks."""
STEADY = 1.2
"""Radians of the quickest shaking that a step may be long: longer ones feed it out of nothing."""
MOST_STEPS = 6000
"""Steps of one start: a line that is too stiff to be followed in so many is not told."""
ON = 1.0
"""Seconds followed after everybody was lowest for the first time."""
LONGEST = 15.0
"""Seconds followed at most."""
NOTICED = 0.01
"""Metres that a mass must have come down to be one that drops or swings."""

BETWEEN = 0.9
"""Share of what is asked after from which on the top between two looks is looked at."""
SAME_TOP = 1.002
"""A later top counts as another only if it is higher by more than that."""

T = TypeVar("T")
Judge = Callable[[int, Moment], tuple[float, T]]
"""Of one start at one moment: the largest share of its strength that anything carries, and what that is."""


@dataclass(slots=True)
class Bounds:
    """Up to where nothing can break: newtons of each line, and for some places the sum over the lines there
    (`touching[place, line]`: how often the line pulls there)."""

    line: Array
    touching: Array
    place: Array


@dataclass(slots=True)
class Path:
    """How one start went: every look at it, in order. `energy` in joules: of motion, and all."""

    times: list[float] = field(default_factory=list)
    points: list[Array] = field(default_factory=list)
    speeds: list[Array] = field(default_factory=list)
    centres: list[Array] = field(default_factory=list)
    going: list[Array] = field(default_factory=list)
    turns: list[Array] = field(default_factory=list)
    light: list[Array] = field(default_factory=list)
    passed: list[Array] = field(default_factory=list)
    slipped: list[Array] = field(default_factory=list)
    tension: list[Array] = field(default_factory=list)

    def add(self, now: Moment, k: int) -> None:
        self.times.append(float(now.time[k]))
        self.points.append(now.points[k].copy())
        self.speeds.append(now.speeds[k].copy())
        self.centres.append(now.centres[k].copy())
        self.going.append(now.going[k].copy())
        self.turns.append(now.turns[k].copy())
        self.light.append(now.seen.light[k].copy())
        self.passed.append(now.seen.passed[k].copy())
        self.slipped.append(now.held.slipped[k].copy())
        self.tension.append(now.tension[k].copy())


@dataclass(slots=True)
class Followed(Generic[T]):
    """One start, followed. `peak` and `when` of each line; `pull` and `pulled_when` of every point with mass and
    every body: the largest sum of what its lines pull on it. `end` is where it stopped: `why` is "done", "breaks"
    (`broken` says what) or "steps" (the steps ran out). `lowest_at`: when each mass was lowest for the first
    time (nan: it did not come down). `lost` joules were taken by slipping and by lines that lose."""

    path: Path
    peak: Array
    when: Array
    pull: Array
    pulled_when: Array
    lowest_at: Array
    dropped: Array
    lost: float
    most_moving: float
    gain: float
    """Joules by which all of them grew, which nothing put there."""
    end: Moment
    why: str
    broken: T | None = None


def follow(
    masses: Masses,
    begin: Moment,
    *,
    until: float | None = None,
    bounds: Bounds | None = None,
    judge: Judge[T] | None = None,
    longest: float = LONGEST,
    together: bool = False,
) -> list[Followed[T]]:
    """Every start followed `until` a time in seconds, by default one second after every mass that comes down
    was lowest for the first time, or as long again as that took (the whole first swing). `together`: all of them
    for as long as the first, unless something breaks in that."""
    return _Following(masses, begin, until, bounds, judge, longest, together).run()


@dataclass(slots=True)
class _Look:
    """Of each start: the time, tensions and their rates, and pulls on the masses."""

    time: Array
    tension: Array
    rate: Array
    pulls: Array

    def of(self, which: Ints) -> _Look:
        return _Look(self.time[which], self.tension[which], self.rate[which], self.pulls[which])

    def put(self, which: Ints, new: _Look) -> None:
        self.time[which], self.tension[which] = new.time, new.tension
        self.rate[which], self.pulls[which] = new.rate, new.pulls


class _Following(Generic[T]):
    def __init__(
        self,
        masses: Masses,
        begin: Moment,
        until: float | None,
        bounds: Bounds | None,
        judge: Judge[T] | None,
        longest: float,
        together: bool,
    ) -> None:
        self.together = together
        count = len(begin.time)
        self.masses = masses
        self.now = begin
        self.ids: Ints = np.arange(count)
        self.until = until
        self.bounds = bounds
        self.judge = judge
        self.longest = longest
        self.step = np.full(count, FIRST_STEP)
        self.steps = np.zeros(count, dtype=int)
        wide = masses.points + masses.bodies
        self.peak = begin.tension.copy()
        self.when = np.repeat(begin.time[:, None], masses.lines, axis=1)
        self.pull = self._pulls(begin)
        self.pulled_when = np.repeat(begin.time[:, None], wide, axis=1)
        self.heights = _heights(begin)
        self.begun = begin.time.copy()
        self.lowest_at = np.full((count, wide), np.nan)
        self.dropped = np.zeros((count, wide))
        self.lost = np.zeros(count)
        self.most_moving = np.zeros(count)
        self.energy = energy(masses, begin)[1]
        self.paths = [Path() for _ in range(count)]
        for k in range(count):
            self.paths[k].add(begin, k)
        self.before = [_Look(begin.time.copy(), *self._extended(begin), self.pull.copy()) for _ in range(2)]
        self.asked: list[Array] = []
        if bounds is not None:
            self.asked = [np.repeat(one[None], count, axis=0) for one in (bounds.line, bounds.place)]
        self.told: dict[int, Followed[T]] = {}

    def run(self) -> list[Followed[T]]:
        count = len(self.ids)
        if self.bounds is not None:
            self._breaking(np.arange(count), self.now, None, None)
        while len(self.ids):
            self._one_step()
        return [self.told[k] for k in range(count)]

    def _one_step(self) -> None:
        masses, now = self.masses, self.now
        trial, wrong = step(masses, now, self.step)
        wrong = np.where(np.isfinite(wrong), wrong, 1e6)
        good = wrong <= 1.0
        taken = self.step.copy()
        change = 0.9 * np.maximum(wrong, 1e-6) ** (-1.0 / order(masses))
        self.step = np.minimum(taken * np.clip(change, 0.1, np.where(good, 4.0, 1.0)), LONGEST_STEP)
        self.step = np.minimum(self.step, STEADY / np.maximum(quickest(masses, trial.seen.lines), 1.0))
        self.steps[self.ids] += 1
        which = np.flatnonzero(good)
        if len(which):
            before = now if len(which) == len(good) else now.of(which)
            after = trial if len(which) == len(good) else trial.of(which)
            after, lost = kept(masses, after)
            self.lost[self.ids[which]] += lost
            broken = self._breaking(which, after, before, taken[which])
            if len(which) == len(good):
                self.now = after
            else:
                now.put(which, after)
            if broken:
                self._finish(broken)
                which = np.array([k for k in which if k not in broken], dtype=int)
            self._look(which)
            if broken:
                self._drop(sorted(broken))
        done = self._done()
        if len(done):
            for k in done:
                self._tell(int(k), self.now, "done", None)
            self._drop([int(k) for k in done])
        over = np.flatnonzero(self.steps[self.ids] >= MOST_STEPS)
        if len(over):
            for k in over:
                self._tell(int(k), self.now, "steps", None)
            self._drop([int(k) for k in over])

    # -- what is noted of every look

    def _look(self, which: Ints) -> None:
        if not len(which):
            return
        now = self.now if len(which) == len(self.ids) else self.now.of(which)
        ids = self.ids[which]
        for at, k in enumerate(ids):
            self.paths[k].add(now, at)
        second, first = (one.of(which) for one in self.before)
        last = _Look(now.time, *self._extended(now), self._pulls(now))
        top, when = _inside(first, last, FINE_PULL * self.masses.load)
        _higher(self.peak, self.when, ids, now.tension, last.time[:, None], second.time)
        _higher(self.peak, self.when, ids, np.minimum(top, self.masses.slips), when, second.time)
        top, when = _vertex(second, first, last)
        _higher(self.pull, self.pulled_when, ids, last.pulls, last.time[:, None], second.time)
        _higher(self.pull, self.pulled_when, ids, top, when, second.time)
        heights = _heights(now)
        self.dropped[ids] = np.maximum(self.dropped[ids], self.heights[ids] - heights)
        rising = np.concatenate([now.speeds[:, :, 2], now.going[:, :, 2]], axis=1) >= 0
        lowest = rising & np.isnan(self.lowest_at[ids]) & (self.dropped[ids] > NOTICED)
        self.lowest_at[ids] = np.where(lowest, now.time[:, None], self.lowest_at[ids])
        self.most_moving[ids] = np.maximum(self.most_moving[ids], energy(self.masses, now)[0])
        for old, new in zip(self.before, (first, last), strict=True):
            old.put(which, new)

    def _extended(self, now: Moment) -> tuple[Array, Array]:
        """Tensions as if lines could push, and lost nothing: smooth, and at their tops the same. And their rates."""
        compliance = self.masses.compliance
        if self.masses.slipping:
            compliance = compliance + now.held.slipped / self.masses.slip_ea
        return now.seen.lines.stretch / compliance, rates(self.masses, now) / compliance

    def _pulls(self, now: Moment) -> Array:
        masses = self.masses
        points = now.seen.pushes.copy()
        points[:, :, 2] += masses.weights[: masses.points]
        bodies = now.seen.on_bodies.copy()
        if masses.bodies:
            bodies[:, :, 2] += masses.body_mass * GRAVITY
        both = np.concatenate([points, bodies], axis=1)
        found: Array = np.sqrt((both**2).sum(axis=2))
        return found

    # -- when it ends

    def horizon(self, k: int) -> float:
        """Seconds until which a start is followed (infinite: not yet known)."""
        if self.until is not None:
            return self.until
        if self.together and k > 0:
            if 0 not in self.told:
                return self.horizon(0)
            if self.told[0].why == "done":
                return float(self.told[0].end.time[0])
        came = self.dropped[k] > NOTICED
        at = self.lowest_at[k][came]
        first = float(self.begun[k])
        if not len(at):
            return first + ON
        if np.isnan(at).any():
            return math.inf
        return float(at.max() + max(ON, at.max() - first))

    def _done(self) -> Ints:
        ends = np.array([min(self.horizon(int(k)), self.begun[k] + self.longest) for k in self.ids])
        done: Ints = np.flatnonzero(self.now.time >= ends)
        return done

    def _tell(self, k: int, now: Moment, why: str, broken: T | None) -> None:
        self._ended(int(self.ids[k]), now.of(np.array([k])), why, broken)

    def _ended(self, start: int, end: Moment, why: str, broken: T | None) -> None:
        gain = float(energy(self.masses, end)[1][0] + self.lost[start] - self.energy[start])
        self.told[start] = Followed(
            self.paths[start],
            self.peak[start],
            self.when[start],
            self.pull[start],
            self.pulled_when[start],
            self.lowest_at[start],
            self.dropped[start],
            float(self.lost[start]),
            float(self.most_moving[start]),
            gain,
            end,
            why,
            broken,
        )

    def _drop(self, gone: Sequence[int]) -> None:
        left = np.setdiff1d(np.arange(len(self.ids)), gone)
        self.ids = self.ids[left]
        self.now = self.now.of(left)
        self.step = self.step[left]
        self.before = [one.of(left) for one in self.before]

    # -- what breaks

    def _breaking(
        self, which: Ints, after: Moment, before: Moment | None, taken: Array | None
    ) -> dict[int, tuple[Moment, T]]:
        """What breaks in which start, and the moment at which it does."""
        bounds = self.bounds
        if bounds is None or self.judge is None:
            return {}
        sums = after.tension @ bounds.touching.T
        ids = self.ids[which]
        near = (after.tension > self.asked[0][ids]).any(axis=1) | (sums > self.asked[1][ids]).any(axis=1)
        found: dict[int, tuple[Moment, T]] = {}
        for at in np.flatnonzero(near):
            k, start = int(which[at]), int(ids[at])
            share, told = self.judge(start, after.of(np.array([at])))
            if share < 1.0:
                room = 1 + 0.5 * (1 / share - 1) if share > 0 else 2.0
                for asked, value in zip(self.asked, (after.tension[at], sums[at]), strict=True):
                    asked[start] = np.where(value > asked[start], value * room, asked[start])
            elif before is None or taken is None:
                found[k] = after.of(np.array([at])), told
            else:
                found[k] = self._moment_of(
                    start, before.of(np.array([at])), float(taken[at]), share, told, after, int(at)
                )
        if before is not None and taken is not None:
            high = after.tension > BETWEEN * self.asked[0][ids]
            high |= before.tension > BETWEEN * self.asked[0][ids]
            full = (sums > BETWEEN * self.asked[1][ids]) | (
                before.tension @ bounds.touching.T > BETWEEN * self.asked[1][ids]
            )
            for at in np.flatnonzero(high.any(axis=1) | full.any(axis=1)):
                if int(which[at]) in found:
                    continue
                between = self._between(int(which[at]), before.of(np.array([at])), after.of(np.array([at])))
                if between is not None:
                    found[int(which[at])] = between
        if before is None:
            for k in sorted(found):
                self._tell_broken(k, *found[k])
            self._drop(sorted(found))
            return {}
        return found

    def _between(self, k: int, before: Moment, after: Moment) -> tuple[Moment, T] | None:
        """What breaks at the top between two looks, where it does at neither."""
        assert self.judge is not None and self.bounds is not None
        start = int(self.ids[k])
        first = self.before[1].of(np.array([k]))
        last = _Look(after.time, *self._extended(after), first.pulls)
        top, when = _inside(first, last, FINE_PULL * self.masses.load)
        top = np.minimum(top, self.masses.slips)
        lines, places = top[0] > self.asked[0][start], top[0] @ self.bounds.touching.T > self.asked[1][start]
        if not lines.any() and not places.any():
            return None
        wide = float(after.time[0] - before.time[0])
        part = float(when[0, int(np.argmax(top[0] / np.maximum(self.asked[0][start], 1.0)))] - before.time[0])
        if not 0 < part < wide:
            return None
        trial, _ = kept(self.masses, step(self.masses, before, np.array([part]))[0])
        share, told = self.judge(start, trial)
        if share < 1.0:
            room = 1 + 0.5 * (1 / share - 1) if share > 0 else 2.0
            self.asked[0][start] = np.where(
                lines, np.maximum(self.asked[0][start], top[0] * room), self.asked[0][start]
            )
            sums = top[0] @ self.bounds.touching.T
            self.asked[1][start] = np.where(places, np.maximum(self.asked[1][start], sums * room), self.asked[1][start])
            return None
        return self._moment_of(start, before, part, share, told, trial, 0)

    def _moment_of(
        self, start: int, before: Moment, taken: float, share: float, told: T, after: Moment, at: int
    ) -> tuple[Moment, T]:
        """Within a step: when the first thing carries just what it can, by false position."""
        assert self.judge is not None
        low, high = 0.0, 1.0
        under, over = self.judge(start, before)[0] - 1.0, share - 1.0
        best = after.of(np.array([at])), told
        for _ in range(12):
            if over < 1e-3 or high - low < 1e-4:
                break
            part = low + (high - low) * min(max(-under / (over - under), 0.05), 0.95)
            trial, _ = step(self.masses, before, np.array([part * taken]))
            trial, _ = kept(self.masses, trial)
            share, told = self.judge(start, trial)
            if share < 1.0:
                low, under = part, share - 1.0
            else:
                high, over, best = part, share - 1.0, (trial, told)
        return best

    def _finish(self, broken: dict[int, tuple[Moment, T]]) -> None:
        for k, (moment, told) in broken.items():
            self._tell_broken(k, moment, told)

    def _tell_broken(self, k: int, moment: Moment, told: T) -> None:
        start = int(self.ids[k])
        self.paths[start].add(moment, 0)
        higher = moment.tension[0] > self.peak[start]
        self.peak[start] = np.where(higher, moment.tension[0], self.peak[start])
        self.when[start] = np.where(higher, moment.time[0], self.when[start])
        pull = self._pulls(moment)[0]
        self.pulled_when[start] = np.where(pull > self.pull[start], moment.time[0], self.pulled_when[start])
        self.pull[start] = np.maximum(self.pull[start], pull)
        self.dropped[start] = np.maximum(self.dropped[start], self.heights[start] - _heights(moment)[0])
        self._ended(start, moment, "breaks", told)


def _heights(now: Moment) -> Array:
    return np.concatenate([now.points[:, :, 2], now.centres[:, :, 2]], axis=1)


def _higher(most: Array, when: Array, ids: Ints, value: Array, time: Array, since: Array) -> None:
    """Note what is higher than before; of a new top (the last one was before `since`) the time only where it
    is so by more than the steps are wrong."""
    was = most[ids]
    higher = (value > was * SAME_TOP + 1e-9) | ((value > was) & (when[ids] >= since[:, None]))
    when[ids] = np.where(higher, time, when[ids])
    most[ids] = np.maximum(was, value)


def _inside(first: _Look, last: _Look, least: float) -> tuple[Array, Array]:
    """The tops of lines between two looks: of the cubic with their tensions and rates; where there is none, the
    first look's. None lies above the tangents at looks at which the line carries `least` newtons or more: between
    loose lines points without mass are nowhere in particular, and rates mean nothing."""
    h = (last.time - first.time)[:, None]
    a, b, down, up = first.tension, last.tension, h * last.rate, h * first.rate
    under = np.maximum(np.where(a >= least, a + up, -np.inf), np.where(b >= least, b - down, -np.inf))
    top = (up > 0) & (down < 0) & (h > 0) & (under > np.maximum(a, b))
    # p(s) = a + up s + c s^2 + d s^3
    c, d = 3 * (b - a) - 2 * up - down, 2 * (a - b) + up + down
    root = np.sqrt(np.maximum(c * c - 3 * up * d, 0.0))
    share = np.where(top, up / np.where(top, root - c, 1.0), 0.0)  # the zero of the slope that is a top
    share = np.clip(np.where(np.isfinite(share), share, 0.0), 0.0, 1.0)
    found = np.minimum(a + share * (up + share * (c + share * d)), np.where(top, under, a))
    return found, first.time[:, None] + share * h


def _vertex(second: _Look, first: _Look, last: _Look) -> tuple[Array, Array]:
    """The tops of pulls on masses: of a parabola through three looks, where the middle one is highest."""
    t2, x2, t1, x1, t0, x0 = second.time, second.pulls, first.time, first.pulls, last.time, last.pulls
    a, b = (t1 - t2)[:, None], (t0 - t1)[:, None]
    top = (x1 >= x2) & (x1 >= x0) & (a > 0) & (b > 0)
    a, b = np.where(a > 0, a, 1.0), np.where(b > 0, b, 1.0)
    up, down = (x1 - x2) / a, (x0 - x1) / b
    bend = (down - up) / (a + b)
    slope = (up * b + down * a) / (a + b)
    flat = bend >= -1e-12
    off = np.where(top & ~flat, -slope / (2 * np.where(flat, -1.0, bend)), 0.0)
    off = np.clip(off, -a, b)
    value = np.where(top, x1 + slope * off + bend * off * off, x1)
    return value, t1[:, None] + off
