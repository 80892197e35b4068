"""Failure sets kept by class tell the same as all of them one by one."""

from __future__ import annotations

import random
from itertools import product

import pytest

import analyser
from analyser.checking.consequences import after_alike, after_sets
from analyser.holding.by_class import FailureSets, brought_down_by
from analyser.holding.outcome import assess
from analyser.pages.writing.grouping import number_of, one_by_one
from tests.bench import bounds, generating


def some_sets(draw: random.Random) -> tuple[FailureSets, list[tuple[str, ...]]]:
    """Sets by class, and the same one by one."""
    names = [f"e{k}" for k in range(9)]
    draw.shuffle(names)
    classes = [tuple(sorted(names[:2])), tuple(sorted(names[2:5])), (names[5],), tuple(sorted(names[6:]))]
    cuts = {tuple(sorted(draw.sample(range(4), draw.randrange(4)))) for _ in range(draw.randrange(5))}
    kept = FailureSets(tuple(tuple(classes[k] for k in cut) for cut in sorted(cuts)))
    told = [tuple(sorted(one)) for cut in cuts for one in product(*(classes[k] for k in cut))]
    return kept, sorted(told, key=lambda names: (len(names), names))


@pytest.mark.parametrize("seed", range(100))
def test_they_are_the_sets(seed: int) -> None:
    kept, told = some_sets(random.Random(seed))
    assert list(kept) == told
    assert kept == told
    assert kept == FailureSets.of(told)
    assert len(kept) == len(told)
    assert bool(kept) is bool(told)
    assert kept.singles == tuple(one[0] for one in told if len(one) == 1)
    assert kept.smallest == min(map(len, told), default=None)
    assert kept.names == {name for one in told for name in one}
    assert list(kept.up_to(1)) == [one for one in told if len(one) <= 1]
    assert all(one in kept for one in told)
    assert (() in kept) is (() in told)
    assert ("no such failure",) not in kept
    some = set(random.Random(seed).sample([f"e{k}" for k in range(9)], 5))
    assert kept.all_meet(some) is all(some & set(one) for one in told)


@pytest.mark.parametrize("seed", range(100))
def test_whom_they_bring_down(seed: int) -> None:
    draw = random.Random(seed)
    kept, told = some_sets(draw)
    other = FailureSets.of(one for one in told if draw.random() < 0.7) if seed % 2 else kept.up_to(2)
    sets = {"ann": kept, "bob": other}
    alike = {name: names[0] for groups in kept.groups for names in groups for name in names}
    for size in (1, 2, 3):
        found = brought_down_by(sets, size, alike.__getitem__)
        each = {one: bodies for groups, bodies in found.items() for one in one_by_one([groups])}
        wanted = {one: tuple(n for n in sets if one in list(sets[n])) for one in told if len(one) == size}
        assert each == wanted
        assert number_of(found) == len(wanted)


@pytest.mark.parametrize(
    "text",
    [generating.joined(90), generating.ladder(24), generating.hung_ropes(20), bounds.row(30), generating.plain(60)],
    ids=["joined", "ladder", "hung", "row", "plain"],
)
def test_what_happens_after_them(text: str) -> None:
    outcome = assess(analyser.read_text(text).alone)
    pairs = sorted({one for sets in outcome.failure_sets.values() for one in sets if len(one) == 2})
    each = after_sets(outcome, pairs, list(outcome.failure_sets))
    together = {one: what for groups, what in after_alike(outcome, 2).items() for one in one_by_one([groups])}
    assert together == each
    assert each
