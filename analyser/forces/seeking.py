"""What a file makes the worst of its bands, and the search for it from corner to corner.

From the worst case so far one band after another is put to its other end, while that makes it worse: where a figure
only grows with each band, one pass finds the worst corner. Where none alone makes it worse any more, two at a time
are tried (at rest).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from analyser.forces.banding import NO_FORCE, Banded, Point
from analyser.rig.model import Nature, Rig

WORST_FAILURES = 6
"""Failures whose worst case is sought from corner to corner, those first that are worst so far."""
WORST_NAMES = 5
"""Parts or bodies whose worst case is sought by itself at rest, those first that are worst so far."""
WORST_AFTER = 2
"""The same after each of those failures."""
STARTS = 3
"""Worst cases from which each is sought: no further where two lead to the same."""

Key = tuple[str, ...]
Figures = list[dict[Key, float]]
"""The figures of one case, once for each end of its strengths."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A case: a point, the failures that are looked at there by id (None: all), and whether those that are followed
    over the bands are followed in time there."""

    point: Point
    failures: tuple[str, ...] | None = ()
    timed: bool = False


@dataclass(frozen=True, slots=True)
class Goal:
    """A figure whose worst is sought: the largest (`sign` 1) or the smallest (-1) of all with that first word in
    their key, of those names (none: of all), at rest or `after` each failure; `timed`: what happens in time counts."""

    what: str
    sign: int
    after: bool
    names: tuple[str, ...] = ()
    timed: bool = False

    def worst(self, figures: Mapping[Key, float], failure: str = "") -> float:
        """How bad a case is: more is worse; minus infinity where it tells nothing of this."""
        return max(
            (self.sign * value for key, value in figures.items() if self.counts(key, failure)), default=-math.inf
        )

    def counts(self, key: Key, failure: str) -> bool:
        """Is that one of the figures whose worst is sought?"""
        if key[0] != self.what or (self.after and key[-1] != failure):
            return False
        return not self.names or bool({key[1], key[1].split("[")[0]} & {*self.names})


def goals_of(rig: Rig) -> tuple[Goal, ...]:
    """What the requirements of a file make the worst; of a file that asks for no figure, the weakest part and the
    deepest drop."""
    told: dict[Goal, None] = {}
    for one in rig.requirements:
        match one.rule:
            case "strength":
                told[Goal("factor", -1, False, one.names)] = None
            case "strength-after":
                told[Goal("factor", -1, False, one.names)] = None
                told[Goal("factor-after", -1, True, one.names, timed=True)] = None
            case "force":
                told[Goal("carries", 1, False, one.names or _people(rig))] = None
                told[Goal("peak", 1, True, one.names, timed=True)] = None
            case "drop":
                told[Goal("drop", 1, True)] = None
            case "head-up":
                told |= dict.fromkeys(Goal("head-up", sign, False, one.names) for sign in (-1, 1))
            case "level":
                told |= dict.fromkeys(Goal("off-level", 1, after, one.names) for after in (False, True))
            case "held-through" | "held-through-people":
                told[Goal("factor-after", -1, True, timed=True)] = None
    return tuple(told) or (Goal("factor", -1, False), Goal("drop", 1, True))


def _people(rig: Rig) -> tuple[str, ...]:
    return tuple(body.name for body in rig.bodies if body.nature is Nature.PERSON)


class Search:
    """From the worst case so far, one band after another to its other end, while that makes it worse.

    `known` are the cases worked out, which grow; `case` works out one; `most` how many more of those that are
    followed in time there may be (they take long)."""

    def __init__(
        self,
        rig: Rig,
        banded: Sequence[Banded],
        known: dict[Tried, Figures | None],
        case: Callable[[Tried], Figures | None],
        most: int,
    ) -> None:
        self.rig, self.known, self.case, self.most = rig, known, case, most
        self.order = sorted(range(len(banded)), key=lambda k: (banded[k].of, banded[k].figure))
        self.acting = [k for k in self.order if banded[k].figure not in NO_FORCE]
        self.found: dict[Tried, Figures | None] = {}

    def at_rest(self, goal: Goal) -> None:
        """For those parts or bodies that are worst so far, each by itself: each has a worst corner of its own."""
        for one in self._each(goal, "")[:WORST_NAMES]:
            self._from_worst(one, "", timed=False)

    def after(self, goal: Goal) -> None:
        """For those failures that are worst so far; failures that bring just the same are taken once."""
        worst: dict[tuple[float, ...], str] = {}
        for failure in self.rig.failures:
            row = tuple(round(self._worst(goal, one, failure.id), 9) for one in self.known if one.failures is None)
            if row and max(row) > -math.inf:
                worst.setdefault(row, failure.id)
        for row in sorted(worst, key=lambda row: (-max(row), worst[row]))[:WORST_FAILURES]:
            for one in self._each(goal, worst[row])[:WORST_AFTER]:
                self._from_worst(one, worst[row], timed=False)

    def in_time(self, goal: Goal, moving: Sequence[str]) -> None:
        """For each failure that is followed in time over the bands, whatever is worst then."""
        for failure in moving:
            self._from_worst(goal, failure, timed=True)

    def _each(self, goal: Goal, failure: str) -> list[Goal]:
        """The goal for each name alone, those first that are worst so far."""
        worst: dict[str, float] = {}
        for several in self.known.values():
            for figures in several or ():
                for key, value in figures.items():
                    if goal.counts(key, failure):
                        worst[key[1]] = max(worst.get(key[1], -math.inf), goal.sign * value)
        return [replace(goal, names=(name,)) for name in sorted(worst, key=lambda name: (-worst[name], name))]

    def _from_worst(self, goal: Goal, failure: str, *, timed: bool) -> None:
        """One search from each of the worst cases known (in time, from the worst alone: each takes long)."""
        asked = (failure,) if failure else ()
        those = [one for one in self.known if one.timed >= timed]
        those = [one for one in those if not failure or one.failures is None or failure in one.failures]
        alone: list[tuple[int, ...]] = [(k,) for k in self.acting]
        pairs: list[tuple[int, ...]] = [] if failure else list(itertools.combinations(self.acting, 2))
        those.sort(key=lambda one: (-self._worst(goal, one, failure), [one.point[k] for k in self.order]))
        seen: set[Point] = set()
        for start in those[: 1 if timed else STARTS]:
            point, value = start.point, self._worst(goal, start, failure)
            ways = alone
            while ways:
                better = False
                for several in ways:
                    for ends in itertools.product((0.0, 1.0), repeat=len(several)):
                        tried = list(point)
                        for k, end in zip(several, ends, strict=True):
                            tried[k] = end
                        if tuple(tried) == point:
                            continue
                        now = self._value(goal, Tried(tuple(tried), asked, timed), failure)
                        if now > value:
                            point, value, better = tuple(tried), now, True
                ways = alone if better else pairs if ways is alone else []
            if point in seen:
                break
            seen.add(point)

    def _worst(self, goal: Goal, one: Tried, failure: str) -> float:
        return max((goal.worst(figures, failure) for figures in self.known[one] or ()), default=-math.inf)

    def _value(self, goal: Goal, one: Tried, failure: str) -> float:
        known = next((same for same in self._same(one) if same in self.known), None)
        if known is None:
            if one.timed and self.most <= 0:
                return -math.inf
            self.most -= one.timed
            known = one
            self.known[one] = self.found[one] = self.case(one)
        return self._worst(goal, known, failure)

    @staticmethod
    def _same(one: Tried) -> list[Tried]:
        """Cases that tell what this one would."""
        told = [one, replace(one, timed=True)] if not one.timed else [one]
        return [*told, *(replace(same, failures=None) for same in told)]
