"""Can these pulls be balanced? A small mixed-integer linear program, solved by HiGHS through scipy.

Weightless clusters hang in strands of rope. Every strand has a tension that is never negative, and
pulls the cluster at its lower end up and the one at its upper end down. Which end is the upper one
may be chosen, but all choices must fit one order of heights. One cluster carries the weight 1. The
question is whether tensions and an order exist with which every cluster rests.

Nothing here knows of rigs: `balance.py` says what the strands are.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

MOST = 512.0
"""Tensions are looked for up to so many times the weight: nine tackles in a row, each two to one.
A balance that needed more would be told as none."""
NEAR = 1e-4
"""How far a rounded answer may be from balance, in weights, before it is solved again exactly."""

FIXED = -1
"""The cluster number of whatever takes any force."""


@dataclass(frozen=True)
class Strand:
    """A stretch of rope: its tension (by number), and at both ends a cluster and a position (by number)."""

    tension: int
    clusters: tuple[int, int]
    positions: tuple[int, int]


@dataclass(frozen=True)
class Pulls:
    """One question. Clusters are numbered from 0; cluster 0 carries the weight.

    `pulled_down`: clusters that something may pull down with any force, never up. `no_less`: pairs
    of tensions of which the first is no less than the second. `above`: pairs of positions of which
    the first is known to lie above the second.
    """

    clusters: int
    strands: tuple[Strand, ...]
    pulled_down: frozenset[int] = frozenset()
    no_less: frozenset[tuple[int, int]] = frozenset()
    above: frozenset[tuple[int, int]] = frozenset()

    @property
    def tensions(self) -> int:
        """How many tensions there are."""
        used = [strand.tension for strand in self.strands]
        return 1 + max([*used, *(t for pair in self.no_less for t in pair)], default=-1)

    @property
    def positions(self) -> int:
        """How many positions there are."""
        used = [position for strand in self.strands for position in strand.positions]
        return 1 + max([*used, *(p for pair in self.above for p in pair)], default=-1)


@functools.lru_cache(maxsize=1_000_000)
def balanced(pulls: Pulls) -> bool:
    """Do tensions and an order of heights exist with which every cluster rests?"""
    if not any(0 in strand.clusters for strand in pulls.strands):
        return False  # nothing holds the weight
    return _Program(pulls).solved()


class _Program:
    """The program: columns are tensions, then a few for each pair of positions whose order is open."""

    def __init__(self, pulls: Pulls) -> None:
        self.pulls = pulls
        self.columns = pulls.tensions
        """The tension of each strand, 0 or more."""
        self.rows: list[tuple[dict[int, float], float, float]] = []
        """Rows as column: factor, and the bounds of their sum."""
        self.whole: list[int] = []
        self.upper: dict[int, float] = {}
        between = {pair for s in pulls.strands if (pair := _sorted(s.positions)) and _matters(s)}
        self.open = sorted(p for p in between if p not in pulls.above and p[::-1] not in pulls.above)
        self.is_above = {pair: self._column(1.0, whole=True) for pair in self.open}
        """For each open pair: 1 where its first position lies above its second, 0 where it lies below."""
        self.shares: dict[tuple[int, tuple[int, int]], int] = {}
        self._heights()
        self._sums()
        for more, less in pulls.no_less:
            self.rows.append(({more: 1.0, less: -1.0}, 0.0, np.inf))

    def _column(self, upper: float, *, whole: bool = False) -> int:
        self.columns += 1
        self.upper[self.columns - 1] = upper
        if whole:
            self.whole.append(self.columns - 1)
        return self.columns - 1

    def _heights(self) -> None:
        """One real order: every position has a height, and those that differ differ by 1 at least."""
        if not self.open:
            return
        count = self.pulls.positions
        height = [self._column(count - 1.0) for _ in range(count)]
        for upper, lower in self.pulls.above:
            self.rows.append(({height[upper]: 1.0, height[lower]: -1.0}, 1.0, np.inf))
        for (p, q), is_above in self.is_above.items():
            self.rows.append(({height[p]: 1.0, height[q]: -1.0, is_above: -float(count)}, 1.0 - count, np.inf))
            self.rows.append(({height[q]: 1.0, height[p]: -1.0, is_above: float(count)}, 1.0, np.inf))

    def _sums(self) -> None:
        """The forces on every cluster sum to nought, or to the weight: up counts as more."""
        sums: list[dict[int, float]] = [{} for _ in range(self.pulls.clusters)]
        for strand in self.pulls.strands:
            if not _matters(strand):
                continue
            for here, there in ((0, 1), (1, 0)):
                cluster = strand.clusters[here]
                if cluster == FIXED:
                    continue
                for column, factor in self._pull(strand, strand.positions[there], strand.positions[here]):
                    sums[cluster][column] = sums[cluster].get(column, 0.0) + factor
        for cluster, row in enumerate(sums):
            weight = 1.0 if cluster == 0 else 0.0
            self.rows.append((row, weight, np.inf if cluster in self.pulls.pulled_down else weight))

    def _pull(self, strand: Strand, there: int, here: int) -> list[tuple[int, float]]:
        """What the strand does to what is `here`: plus its tension where `there` lies above, else minus."""
        tension = strand.tension
        if (there, here) in self.pulls.above:
            return [(tension, 1.0)]
        if (here, there) in self.pulls.above:
            return [(tension, -1.0)]
        pair = _sorted((there, here))
        share = self._share(tension, pair)
        if pair == (there, here):
            return [(share, 2.0), (tension, -1.0)]
        return [(share, -2.0), (tension, 1.0)]

    def _share(self, tension: int, pair: tuple[int, int]) -> int:
        """A column that is the tension where the pair's first position lies above its second, else 0."""
        if (tension, pair) not in self.shares:
            share, is_above = self._column(MOST), self.is_above[pair]
            self.rows.append(({share: 1.0, is_above: -MOST}, -np.inf, 0.0))
            self.rows.append(({share: 1.0, tension: -1.0}, -np.inf, 0.0))
            self.rows.append(({share: 1.0, tension: -1.0, is_above: -MOST}, -MOST, np.inf))
            self.shares[tension, pair] = share
        return self.shares[tension, pair]

    def solved(self) -> bool:
        """Solve it, and look whether the answer stands when its choices are made exact."""
        matrix = np.zeros((len(self.rows), self.columns))
        low, high = np.empty(len(self.rows)), np.empty(len(self.rows))
        for k, (row, least, most) in enumerate(self.rows):
            for column, factor in row.items():
                matrix[k, column] = factor
            low[k], high[k] = least, most
        upper = np.array([self.upper.get(column, MOST) for column in range(self.columns)])
        whole = np.zeros(self.columns)
        whole[self.whole] = 1
        for presolve in (True, False):  # one answer in a million was lost before the search began
            found = milp(
                np.zeros(self.columns),
                constraints=LinearConstraint(matrix, low, high),
                integrality=whole,
                bounds=Bounds(0.0, upper),
                options={"presolve": presolve},
            )
            if found.status != 2:
                break
        else:
            return False
        if found.x is None:
            raise RuntimeError(f"the solver gave up: {found.message}")
        lower = np.zeros(self.columns)
        lower[self.whole] = upper[self.whole] = np.round(found.x[self.whole])
        x = np.clip(found.x, lower, upper)
        for (tension, pair), share in self.shares.items():
            x[share] = x[tension] if x[self.is_above[pair]] else 0.0
        if np.all(matrix @ x >= low - NEAR) and np.all(matrix @ x <= high + NEAR):
            return True
        again = milp(
            np.zeros(self.columns), constraints=LinearConstraint(matrix, low, high), bounds=Bounds(lower, upper)
        )
        return bool(again.status == 0)


def _sorted(pair: tuple[int, int]) -> tuple[int, int]:
    return pair if pair[0] < pair[1] else (pair[1], pair[0])


def _matters(strand: Strand) -> bool:
    """Not where both its ends are on one cluster, or lie at one height."""
    return strand.clusters[0] != strand.clusters[1] and strand.positions[0] != strand.positions[1]


def balanced_by_trying(pulls: Pulls) -> bool:
    """The same question answered by trying every order of heights, with one linear program each.

    For few positions only. It shares nothing with the program above but the question.
    """
    places = range(pulls.positions)
    return any(_balanced_in(pulls, order) for order in permutations(places) if _fits(order, pulls.above))


def _fits(order: tuple[int, ...], above: Iterable[tuple[int, int]]) -> bool:
    """`order[p]` is the height of position p."""
    return all(order[upper] > order[lower] for upper, lower in above)


def _balanced_in(pulls: Pulls, height: tuple[int, ...]) -> bool:
    columns = pulls.tensions
    sums = np.zeros((pulls.clusters, columns + pulls.clusters))
    for cluster in pulls.pulled_down:
        sums[cluster, columns + cluster] = -1.0
    for strand in pulls.strands:
        (a, b), (p, q) = strand.clusters, strand.positions
        rises = np.sign(height[q] - height[p])
        if a != FIXED:
            sums[a, strand.tension] += rises
        if b != FIXED:
            sums[b, strand.tension] -= rises
    weight = np.zeros(pulls.clusters)
    weight[0] = 1.0
    less = np.zeros((len(pulls.no_less), columns + pulls.clusters))
    for k, (one, other) in enumerate(sorted(pulls.no_less)):
        less[k, one], less[k, other] = -1.0, 1.0
    found = linprog(
        np.zeros(columns + pulls.clusters),
        A_eq=sums,
        b_eq=weight,
        A_ub=less if len(less) else None,
        b_ub=np.zeros(len(less)) if len(less) else None,
    )
    return bool(found.status == 0)
