"""What single failures do to people, as values: failures that do the same stand together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from analyser.holding.outcome import FailureOutcome, Outcome


@dataclass(frozen=True, slots=True)
class Effect:
    """What a failure does that was not so before it: `falls` are those who were held, `by_person` who of them
    may hang from a person, `on_one` who is newly left one failure from falling."""

    falls: tuple[str, ...]
    by_person: tuple[str, ...]
    tips: tuple[str, ...]
    on_one: tuple[str, ...]


def not_held(outcome: Outcome) -> tuple[str, ...]:
    """Who falls with nothing failed, by name."""
    return tuple(sorted(body.name for body in outcome.bodies if not body.held))


def effects(outcome: Outcome) -> Iterator[tuple[FailureOutcome, Effect]]:
    """Every single failure of an outcome, and what it does."""
    already = not_held(outcome)
    on_one_before = {body.name for body in outcome.bodies if body.smallest_failure_set in (0, 1)}
    for failure in outcome.failures:
        falls = tuple(name for name in failure.falls if name not in already)
        by_person = tuple(name for name in falls if name in failure.only_by_person)
        on_one = tuple(name for name in failure.down_to_one if name not in on_one_before)
        yield failure, Effect(falls, by_person, failure.tips, on_one)


def singles(outcome: Outcome) -> tuple[tuple[Effect, tuple[str, ...]], ...]:
    """The single failures that drop somebody who is held, by what they do: the most failures first."""
    groups: dict[Effect, list[str]] = {}
    for failure, what in effects(outcome):
        if what.falls:
            groups.setdefault(what, []).append(failure.id)
    ordered = sorted(groups.items(), key=lambda item: (-len(item[1]), item[1]))
    return tuple((what, tuple(failures)) for what, failures in ordered)


def tipping(outcome: Outcome) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """(who tips, failures): the single failures that tip somebody and drop nobody who is held."""
    tips: dict[tuple[str, ...], list[str]] = {}
    for failure, what in effects(outcome):
        if what.tips and not what.falls:
            tips.setdefault(what.tips, []).append(failure.id)
    return tuple((names, tuple(failures)) for names, failures in sorted(tips.items()))


def only_accepted(outcome: Outcome, body: str, accepted: Iterable[str]) -> bool:
    """Is every single failure that drops a body one that the file accepts?"""
    return {cut[0] for cut in outcome.failure_sets[body] if len(cut) == 1} <= set(accepted)


def left_singles(outcome: Outcome, body: str) -> tuple[str, ...]:
    """The single failures that drop a body."""
    return tuple(cut[0] for cut in outcome.failure_sets[body] if len(cut) == 1)


def newly_dropping(before: Outcome, outcome: Outcome) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """(who falls, failures): single failures of a state that drop whom they, or nothing failed, did not drop in
    the state before it."""
    was = {(body, cut) for body, cuts in before.failure_sets.items() for cut in cuts}
    drops: dict[tuple[str, ...], list[str]] = {}
    for failure in outcome.failures:
        fresh = (name for name in failure.falls if (name, (failure.id,)) not in was and (name, ()) not in was)
        falls = tuple(name for name in fresh if () not in outcome.failure_sets[name])
        if falls:
            drops.setdefault(falls, []).append(failure.id)
    return tuple((names, tuple(failures)) for names, failures in drops.items())
