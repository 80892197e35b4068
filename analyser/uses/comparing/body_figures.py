"""The figures of a body in two revisions: what is worse."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.checking.fates import who
from analyser.holding.fate import Fate
from analyser.holding.outcome import BodyOutcome

ORDER = 2
"""Up to how many failures together two revisions are compared."""


@dataclass(frozen=True, slots=True)
class Figures:
    """One body in both revisions; None in one that doesn't have to hold it."""

    name: str
    kind: str
    was: BodyOutcome | None
    now: BodyOutcome | None


def figure(figure: float, without: str) -> str:
    return without if figure == float("inf") else f"{figure:g}"


def worse_than(now: Fate, was: Fate) -> bool:
    return now.kind.rank < was.kind.rank


def least_of(body: BodyOutcome) -> tuple[tuple[str, float], ...]:
    """The figures of a body of which more is better, with what fewer of them is called."""
    many = float("inf")
    independent = many if body.independent is None else body.independent
    smallest = many if body.smallest_failure_set is None else body.smallest_failure_set
    return (("attachment", body.attachments), ("independent attachment", independent), ("failure", smallest))


def worse_figures(one: Figures) -> Iterator[str]:
    was, now, name = one.was, one.now, one.name
    if now is None:
        return
    if was is None:
        if now.smallest_failure_set is not None and now.smallest_failure_set < 2:
            after = "one failure alone" if now.smallest_failure_set else "nothing failed"
            yield f"{name} is new, and is not held after {after}"
        return
    if worse_than(now.fate, was.fate):
        yield f"with nothing failed {who((name,), now.fate)}"
    for (word, before), (_, left) in zip(least_of(was), least_of(now), strict=True):
        if left < before:
            many = word if left == 1 else f"{word}s"
            if word == "failure":
                yield f"{name} is not held after {left:g} {many} (was {figure(before, f'more than {ORDER}')})"
            else:
                yield f"{name} has {left:g} {many} (was {figure(before, 'any number')})"
