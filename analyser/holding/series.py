"""Failures in series: events that always have the same consequence, searched as one.

Two parts that only touch each other and one part each beyond fail alike: the chain is open either
way, and what is left of it hangs there and holds nothing. So do two spans with no place between
them where rope can be gripped, and the end knot of a rope and its last span. Sets found for one
event of a series are told for each of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from operator import attrgetter

from analyser.holding.by_class import FailureSets
from analyser.rig.model import Failure, Nature, Rig, Role

SIMPLE = (Nature.JOINT, Nature.PULLEY)


def series(rig: Rig, failures: Iterable[Failure], *, hands: bool = True) -> list[tuple[Failure, ...]]:
    """The failures in classes, each in order of id; a failure with consequences of its own is alone. `hands`: is a bare
    hand no place where rope is gripped? (It is none for who is held, and one for who hangs from a person.)"""
    events = list(failures)
    passed = (Role.OVER, Role.RUN, Role.HAND) if hands else (Role.OVER, Role.RUN)
    gone: dict[str, int] = {}
    cut: dict[str, int] = {}
    for k, event in enumerate(events):
        effects = event.effects
        if len(effects.gone) == 1 and event.mode in ("fails", "slips") and not effects.ungripped:
            gone[next(iter(effects.gone))] = k
        elif event.mode == "is cut":
            cut[event.part] = k
    above = list(range(len(events)))

    def root(k: int) -> int:
        while above[k] != k:
            above[k] = k = above[above[k]]
        return k

    def alike(one: int | None, two: int | None) -> None:
        if one is not None and two is not None:
            above[root(one)] = root(two)

    beside: dict[str, list[str]] = {name: [] for name in rig.parts}
    for contact in rig.contacts:
        beside[contact.a].append(contact.b)
        beside[contact.b].append(contact.a)
    busy = _busy(rig)
    lone = [part for part in rig.parts.values() if len(beside[part.name]) < 3 and part.name not in busy]
    simple = {part.name for part in lone if part.nature in SIMPLE and len(beside[part.name]) == 2}
    tips = {
        part.name for part in lone if part.nature is Nature.GROUND and not part.needs and len(beside[part.name]) == 1
    }
    ends: set[str] = set()
    for rope in rig.ropes:
        stations = rope.stations
        for k in range(1, len(rope.spans)):
            if stations[k].role in passed:
                alike(cut.get(rope.spans[k - 1]), cut.get(rope.spans[k]))
        if rope.closed:
            continue
        for knot, span in ((stations[0], rope.spans[0]), (stations[-1], rope.spans[-1])):
            if knot.role is Role.TIE and knot.part not in busy and len(beside[knot.part]) == 1:
                ends.add(knot.part)
                alike(gone.get(knot.part), cut.get(span))
    for name in simple:
        for other in beside[name]:
            if other in tips or other in ends or (name < other and other in simple):
                alike(gone.get(name), gone.get(other))
    groups: dict[int, list[Failure]] = {}
    for k, event in enumerate(events):
        groups.setdefault(root(k), []).append(event)
    by_id = attrgetter("id")
    return sorted((tuple(sorted(g, key=by_id)) for g in groups.values()), key=lambda g: g[0].id)


def _busy(rig: Rig) -> set[str]:
    """Parts that do more than touch: rope runs through them, they guard, something stands on them."""
    busy: set[str] = set()
    for rope in rig.ropes:
        for station in rope.stations:
            if station.role is not Role.TIE:
                busy.add(station.part)
            busy |= {*station.guards, *rig.parts[station.part].guards}
    return busy | rig.stood_on


def told_for_each(cuts: Iterable[frozenset[int]], classes: Sequence[tuple[str, ...]]) -> FailureSets:
    """Cuts of classes as failure sets: one of each class, in every combination."""
    return FailureSets(tuple(tuple(classes[c] for c in sorted(cut)) for cut in cuts))
