"""Why a failure set drops a body: the ways in which the body is held, and what breaks each of them."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.held_by import Legs, held_by
from analyser.holding.reviewing import Review
from analyser.rig.model import Rig

MOST_WAYS = 60


@dataclass(frozen=True, slots=True)
class Way:
    """One way of being held: its legs in the rig's words, and the failures that must not happen."""

    number: int
    legs: Legs
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Reason:
    """One failure set, and for each of its failures the ways (by number) that it breaks.

    Failures that break the same ways are told together by `why` in text; here each stands alone.
    """

    failures: tuple[str, ...]
    breaks: tuple[tuple[str, tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True)
class Reasons:
    """`all_ways` is False when there are more ways than were listed: a set then breaks more."""

    body: str
    ways: tuple[Way, ...]
    all_ways: bool
    sets: tuple[Reason, ...]


def reasons(rig: Rig, body: str, order: int = 2, most: int = MOST_WAYS) -> Reasons:
    """Every way in which a body is held, and for each failure set which ways each failure breaks.

    By the ways' definition every failure set breaks every way; the ways are numbered from 1, the
    ones with the fewest things that can fail first.
    """
    review = Review(rig)
    found, complete = review.ways(body, 10 * most)
    complete = complete and len(found) <= most
    ways = tuple(Way(k, held_by(rig, body, way), way) for k, way in enumerate(found[:most], 1))
    sets = review.failure_sets([body], order).found[body]
    told = tuple(
        Reason(cut, tuple((one, tuple(w.number for w in ways if one in w.needs)) for one in cut)) for cut in sets
    )
    return Reasons(body, ways, complete, told)
