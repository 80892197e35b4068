"""Sets of events that meet ways of being held, and ways of which no two share an event."""

from __future__ import annotations

from collections.abc import Sequence

from analyser.holding.cut_search import Events


def smallest_hitting(ways: Sequence[Events], least: int) -> Events:
    """A smallest set of events that meets every way, found by deepening from `least`."""
    depth = max(1, least)
    while True:
        found = _hit(sorted(ways, key=lambda w: (len(w), sorted(w))), frozenset(), depth)
        if found is not None:
            return found
        depth += 1


def meeting(ways: Sequence[Events], most: int) -> list[Events]:
    """Sets of at most `most` events that meet every way, each without an event that was not called for.

    >>> sorted(map(sorted, meeting([frozenset({1, 2}), frozenset({1, 3})], 2)))
    [[1], [2, 3]]
    """
    found: list[Events] = [frozenset()]
    for way in ways:
        missed = [one for one in found if not one & way]
        wider = {one | {event} for one in missed if len(one) < most for event in way}
        met = [one for one in found if one & way]
        found = met + [one for one in wider if not any(other < one for other in met)]
    return sorted(set(found), key=lambda one: (len(one), sorted(one)))


def _hit(ways: Sequence[Events], taken: Events, depth: int) -> Events | None:
    missed = [way for way in ways if not way & taken]
    if not missed:
        return taken
    if depth <= _disjoint(missed) - 1:
        return None
    shared: dict[int, int] = {}
    for way in missed:
        for event in way:
            shared[event] = shared.get(event, 0) + 1
    for event in sorted(missed[0], key=lambda e: (-shared[e], e)):
        found = _hit(missed, taken | {event}, depth - 1)
        if found is not None:
            return found
    return None


def _disjoint(ways: Sequence[Events]) -> int:
    used: set[int] = set()
    count = 0
    for way in ways:
        if not used & way:
            used |= way
            count += 1
    return count


def pack(ways: Sequence[Events], enough: int) -> list[Events]:
    """The most pairwise disjoint ways, by branch and bound; stops at `enough`."""
    best: list[Events] = []

    def extend(candidates: Sequence[Events], taken: list[Events]) -> None:
        nonlocal best
        if len(taken) > len(best):
            best = list(taken)
        if len(best) >= enough or len(taken) + len(candidates) <= len(best):
            return
        for k, way in enumerate(candidates):
            if len(taken) + len(candidates) - k <= len(best):
                return
            extend([w for w in candidates[k + 1 :] if not w & way], [*taken, way])
            if len(best) >= enough:
                return

    extend(ways, [])
    return best
