"""A state in a line, as values: who has the fewest independent attachments, and after how few failures who falls."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from analyser.holding.outcome import Outcome


@dataclass(frozen=True, slots=True)
class Fewest:
    """Who has the fewest independent attachments, people before others; `fallen` are those who are not held:
    then nobody else is told. Without a `number` nothing that can fail drops anybody."""

    number: int | None
    names: tuple[str, ...]
    fallen: tuple[str, ...]
    nobody: bool
    """Is there nobody and nothing to be held?"""


@dataclass(frozen=True, slots=True)
class FallsAfter:
    """After how few failures somebody falls, and who; None where no set up to the order searched drops anybody.
    `every`: all do; `accepted`: each of these sets holds a failure that the file accepts."""

    size: int | None
    names: tuple[str, ...]
    every: bool
    accepted: bool


def fewest(outcome: Outcome) -> Fewest:
    people = [body for body in outcome.bodies if body.kind == "person"] or list(outcome.bodies)
    fallen = tuple(body.name for body in people if not body.held)
    counted = {body.name: body.independent for body in people if body.independent is not None and body.held}
    least = min(counted.values(), default=None)
    return Fewest(least, tuple(name for name, number in counted.items() if number == least), fallen, not people)


def falls_after(outcome: Outcome, accepted: Collection[str]) -> FallsAfter:
    sizes = {b.name: b.smallest_failure_set for b in outcome.bodies if b.smallest_failure_set is not None}
    least = min(sizes.values(), default=None)
    names = tuple(name for name, size in sizes.items() if size == least)
    known = bool(names) and all(outcome.failure_sets[name].up_to(least or 0).all_meet(set(accepted)) for name in names)
    return FallsAfter(least, names, len(names) == len(outcome.bodies), known)
