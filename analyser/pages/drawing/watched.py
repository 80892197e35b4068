"""Who watches what: people their devices, guards their edges."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.rig.model import Rig, Role, Rope

NEAR = 3
"""A device at most so many contacts away is on the person's own harness."""


@dataclass(frozen=True, slots=True)
class Watching:
    """`loose`: the watcher touches nothing else, and may be drawn anywhere.

    `passage` is the rope and station that a guard keeps off the edge.
    """

    watcher: str
    watched: str
    loose: bool
    passage: tuple[Rope, int] | None = None


def watching(rig: Rig) -> tuple[Watching, ...]:
    """Every such pair.

    A person with a device on the person's own harness is left out: the words at the device say it.
    """
    touching: dict[str, set[str]] = {}
    for contact in rig.contacts:
        touching.setdefault(contact.a, set()).add(contact.b)
        touching.setdefault(contact.b, set()).add(contact.a)
    roped = {station.part for rope in rig.ropes for station in rope.stations}
    found = []
    for watcher, watched, passage in [*_workers(rig), *_guards(rig)]:
        own = {watcher, *rig.parts[watcher].points}
        reach = set(own)
        for _ in range(NEAR):
            reach |= {name for part in reach for name in touching.get(part, ())}
        if watched not in reach:
            found.append(Watching(watcher, watched, not roped & own and reach == own, passage))
    return tuple(found)


def _workers(rig: Rig) -> Iterator[tuple[str, str, None]]:
    for part in rig.parts.values():
        for person in dict.fromkeys((part.operated_by, part.minded_by)):
            if person:
                yield person, part.name, None


def _guards(rig: Rig) -> Iterator[tuple[str, str, tuple[Rope, int]]]:
    for rope in rig.ropes:
        for k, station in enumerate(rope.stations):
            if station.role is Role.OVER:
                for guard in dict.fromkeys([*station.guards, *rig.parts[station.part].guards]):
                    yield guard, station.part, (rope, k)
