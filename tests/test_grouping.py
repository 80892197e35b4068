"""Pairs in few lines: the same lines as when all of them are looked at again for each, and in no time."""

from __future__ import annotations

import random

import pytest

from analyser.pages.writing.grouping import any_with_any

Pair = tuple[str, ...]


def by_definition(pairs: list[Pair]) -> list[tuple[Pair, Pair]]:
    """The line that tells the most pairs, the first by name of such lines, then the same of what is left."""
    left = {frozenset(pair) for pair in pairs}
    lines = []
    while left:
        partners = {
            event: {other for pair in left if event in pair for other in pair - {event}} for event in set().union(*left)
        }
        best: tuple[Pair, Pair] = ((), ())
        for event in sorted(partners):
            theirs = partners[event]
            like = {other for other in partners if partners[other] >= theirs}
            if len(like) * len(theirs) > len(best[0]) * len(best[1]):
                one, two = sorted((tuple(sorted(like)), tuple(sorted(theirs))))
                best = one, two
        lines.append(best)
        left -= {frozenset((a, b)) for a in best[0] for b in best[1]}
    return sorted(lines, key=lambda line: (-len(line[0]) * len(line[1]), line))


@pytest.mark.parametrize("seed", range(200))
def test_the_same_lines(seed: int) -> None:
    draw = random.Random(seed)
    names = [f"e{k}" for k in range(draw.randrange(2, 12))]
    pairs = {tuple(sorted(draw.sample(names, 2))) for _ in range(draw.randrange(12))}
    for _ in range(draw.randrange(4)):
        some = draw.sample(names, draw.randrange(2, len(names) + 1))
        cut = draw.randrange(1, len(some))
        pairs |= {tuple(sorted((a, b))) for a in some[:cut] for b in some[cut:]}
    chosen = sorted(pairs)
    draw.shuffle(chosen)
    assert any_with_any(chosen) == by_definition(chosen)


def test_many_with_many_are_one_line() -> None:
    left, right = [f"l{k:03}" for k in range(300)], [f"r{k:03}" for k in range(300)]
    assert any_with_any((a, b) for a in left for b in right) == [(tuple(left), tuple(right))]
