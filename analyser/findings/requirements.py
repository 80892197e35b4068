"""What the file requires, and whether it is met in the states that were analysed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from analyser.holding.outcome import Outcome, tipping_sets
from analyser.holding.reviewing import Review
from analyser.rig.model import Nature, Requirement, Rig

MOST_REASONS = 5
LATER = {
    "strength": "forces are not analysed yet",
    "drop": "drops are not analysed yet",
    "force": "forces are not analysed yet",
    "head-up": "the litter's attitude is not analysed yet",
}


@dataclass(frozen=True, slots=True)
class Judged:
    """`met` is None where it was not (or not fully) checked; `because` says why it isn't True."""

    requirement: Requirement
    met: bool | None
    because: tuple[str, ...] = ()
    states: tuple[int, ...] = ()


def judge(rig: Rig, outcome: Outcome) -> tuple[Judged, ...]:
    """Judge every requirement. Accepted failures are shown elsewhere; none fails a requirement."""
    return tuple(_judge(rig, outcome, requirement) for requirement in rig.requirements)


def _judge(rig: Rig, outcome: Outcome, requirement: Requirement) -> Judged:
    if requirement.rule in LATER:
        return Judged(requirement, None, (f"not checked: {LATER[requirement.rule]}",))
    if requirement.stage is not None:
        return Judged(requirement, None, ("not checked: stages are read, not analysed yet",))
    reasons = CHECKS[requirement.rule](rig, outcome, requirement)
    if reasons:
        shown = reasons[:MOST_REASONS]
        if len(reasons) > MOST_REASONS:
            shown.append(f"and {len(reasons) - MOST_REASONS} more")
        return Judged(requirement, False, tuple(shown), (0,))
    if rig.stages:
        count = len(rig.stages)
        text = (
            f"holds in the rig as first attached; not checked in the states of {count} "
            f"stage{'s' if count > 1 else ''}, which are read, not analysed yet"
        )
        return Judged(requirement, None, (text,))
    return Judged(requirement, True)


def _named(rig: Rig, requirement: Requirement, *, people: bool) -> list[str]:
    """The bodies a requirement speaks of: those named, every person, or everyone."""
    if requirement.names:
        return list(requirement.names)
    return [b.name for b in rig.bodies if not people or b.nature is Nature.PERSON]


def _accepted(rig: Rig) -> set[str]:
    return {one.failure for one in rig.accepted}


def _independent(rig: Rig, outcome: Outcome, requirement: Requirement) -> list[str]:
    accepted = _accepted(rig)
    review: Review | None = None
    reasons = []
    for name in _named(rig, requirement, people=requirement.rule == "independent"):
        if name not in outcome.failure_sets:  # stands where it cannot fall
            continue
        number = outcome.body(name).independent
        exact = outcome.body(name).independent_exact
        if accepted and number is not None and number < requirement.number:
            if review is None:
                review = Review(rig, failures=[f for f in rig.failures if f.id not in accepted])
            ways = review.independent(name)
            number, exact = ways.number, ways.exact
        if number is not None and number < requirement.number:
            singles = [cut[0] for cut in outcome.failure_sets[name] if len(cut) == 1]
            singles = [one for one in singles if one not in accepted]
            why = f": {_some(singles)} drops {name}" if singles else ""
            at_least = "" if exact else "at least "
            reasons.append(f"{name} has {at_least}{number}{why}")
    return reasons


def _held(rig: Rig, outcome: Outcome, requirement: Requirement) -> list[str]:
    accepted = _accepted(rig)
    names = _named(rig, requirement, people=requirement.rule == "held-people")
    names = [name for name in names if name in outcome.failure_sets]
    sets = outcome.failure_sets
    if requirement.number > outcome.order:
        found = Review(rig).failure_sets(names, requirement.number)
        sets = {name: tuple(cuts) for name, cuts in found.items()}
    reasons = []
    for name in names:
        for cut in sets[name]:
            if len(cut) > requirement.number or set(cut) & accepted:
                continue
            reasons.append(f"{' + '.join(cut)}: {name} falls" if cut else f"{name} falls with nothing failed")
    return reasons


def _hands_off(rig: Rig, outcome: Outcome, requirement: Requirement) -> list[str]:
    names = _named(rig, requirement, people=False)
    return [f"{name} falls when every hand lets go" for name in outcome.hands_off_falls if name in names]


def _not_by_person(rig: Rig, outcome: Outcome, requirement: Requirement) -> list[str]:
    return [
        f"{body.name} is held only by a person or by bare hands" for body in outcome.bodies if body.only_by_person
    ]


def _level(rig: Rig, outcome: Outcome, requirement: Requirement) -> list[str]:
    accepted = _accepted(rig)
    reasons = []
    for name in _named(rig, requirement, people=False):
        if rig.parts[name].ends is None:
            reasons.append(f"{name} has no two ends: give it points named head… and foot…, or `ends a, b | c, d`")
            continue
        body = outcome.body(name)
        if body.tips or not body.held:
            reasons.append(f"{name} {'tips' if body.tips else 'falls'} with nothing failed")
            continue
        if requirement.number > 2:
            reasons.append(f"not checked: tipping is searched up to 2 failures, not {requirement.number}")
            continue
        failures = [f for f in rig.failures if f.id not in accepted]
        for bad in tipping_sets(rig, name, failures, requirement.number):
            reasons.append(f"{' + '.join(bad)}: {name} tips or falls")
    return reasons


def _some(names: list[str]) -> str:
    if len(names) == 1:
        return f"{names[0]} alone"
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"any one of {len(names)} ({', '.join(names[:3])}{more})"


CHECKS: dict[str, Callable[[Rig, Outcome, Requirement], list[str]]] = {
    "independent": _independent,
    "independent-everyone": _independent,
    "held": _held,
    "held-people": _held,
    "hands-off": _hands_off,
    "not-by-person": _not_by_person,
    "level": _level,
}
