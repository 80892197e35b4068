"""Rigs between the old and the new: with some of the changes made. What did it is found by trying.

Making a change may need others (nothing can be attached to a ring that isn't there yet), so changes
are always made together with what they need. A mixed rig is put together from pieces of both
revisions, and what can fail in it is listed anew (`rig/failing.py`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from math import comb

from analyser.holding.reading import Reading
from analyser.holding.system import RigSystem
from analyser.rig.failing import hands_off, what_fails
from analyser.rig.model import Contact, Effects, Failure, Judged, Part, Rig, Rope
from analyser.uses.comparing.changes import Change, Key, Value, links, pieces

MOST_TRIED, WORK = 600, 30_000
"""Mixed rigs that are tried for one comparison, and parts in all of them together, before the sets of
changes are only made small, not smallest."""
MOST_ANSWERS = 4

Cut = tuple[str, tuple[str, ...]]
"""A body and a set of failures."""


@dataclass(frozen=True, slots=True)
class Doing:
    """What brought something about: sets of changes (by number), each enough by itself. `smallest` says
    that no fewer changes would do, where every smaller set was tried."""

    sets: tuple[tuple[int, ...], ...]
    smallest: bool

    @property
    def numbers(self) -> tuple[tuple[int, ...], ...]:
        """The sets by the numbers that people see, from 1."""
        return tuple(tuple(number + 1 for number in one) for one in self.sets)


class Mixing:
    """Both revisions and the changes between them."""

    def __init__(self, old: Rig, new: Rig, changes: Sequence[Change]) -> None:
        self.old, self.new, self.changes = old, new, changes
        self.was, self.now = pieces(old), pieces(new)
        self.tried: dict[frozenset[int], _Mixed] = {}

    @cached_property
    def needs(self) -> list[frozenset[int]]:
        """For each change the changes that it can't be made without, itself among them."""
        owner = {key: number for number, change in enumerate(self.changes) for key in change.keys}
        direct: list[set[int]] = [{number} for number in range(len(self.changes))]
        for key, number in owner.items():
            was, now = self.was.get(key), self.now.get(key)
            for name in links(now) if now is not None else ():
                part = ("part", name)
                if part in owner and part not in self.was:  # what it now touches has to be brought
                    direct[number].add(owner[part])
            for name in links(was) if was is not None and not isinstance(was, Contact) else ():
                part = ("part", name)
                if part in owner and part not in self.now:  # what is taken away has to be let go of first
                    direct[owner[part]].add(number)
        found = []
        for number in range(len(self.changes)):
            seen, stack = {number}, [number]
            while stack:
                for other in direct[stack.pop()] - seen:
                    seen.add(other)
                    stack.append(other)
            found.append(frozenset(seen))
        return found

    def closed(self, chosen: Iterable[int]) -> frozenset[int]:
        return frozenset().union(*(self.needs[number] for number in chosen))

    def rig(self, made: frozenset[int]) -> Rig:
        """The old rig with these changes made; `made` holds what they need."""
        keys = frozenset().union(*(self.changes[number].keys for number in made))
        values: dict[Key, Value] = {}
        for key in dict.fromkeys([*self.was, *self.now]):
            value = (self.now if key in keys or key not in self._different else self.was).get(key)
            if value is not None:
                values[key] = value
        parts = {one.name: one for one in values.values() if isinstance(one, Part)}
        parts = {name: self._whole(part, parts) for name, part in parts.items()}
        ropes = tuple(one for one in values.values() if isinstance(one, Rope))
        contacts = tuple(
            one for one in values.values() if isinstance(one, Contact) and one.a in parts and one.b in parts
        )
        failures = what_fails(parts, ropes, contacts)
        known = {*parts, *(span for rope in ropes for span in rope.spans)}
        for one in values.values():
            if isinstance(one, Failure):
                effects = Effects(*(group & known for group in one.effects.groups))
                if effects.anything or not one.effects.anything:
                    failures[one.id] = replace(one, effects=effects)
        sound = {one.failure for one in values.values() if isinstance(one, Judged)}
        return replace(
            self.new.alone,
            parts=parts,
            contacts=contacts,
            ropes=ropes,
            failures=tuple(failures[id] for id in sorted(failures) if id not in sound),
            hands_off=hands_off(parts),
            cautions=(),
        )

    @cached_property
    def _different(self) -> frozenset[Key]:
        return frozenset().union(*(change.keys for change in self.changes))

    def _whole(self, part: Part, parts: dict[str, Part]) -> Part:
        """The part with those of its points that are there."""
        if not part.points and not part.is_body:
            return part
        every = dict.fromkeys(
            name
            for key, value in (*self.was.items(), *self.now.items())
            if isinstance(value, Part) and value.body == part.name and (name := value.name) in parts
        )
        return replace(part, points=tuple(every))

    # -- what did it

    def did(self, cuts: Sequence[Cut], *, gained: bool) -> list[Doing]:
        """For each body and set of failures: which changes make it a failure set that nothing can be left
        out of (`gained`), or leave the body held after it.

        Alone first, then two together, and so on; where there are too many to try, from all of them one
        after another is taken away again.
        """
        answers: list[dict[frozenset[int], None]] = [{} for _ in cuts]
        left = list(range(len(cuts)))
        for group in self._groups():
            for made in group:
                told = self._so(made, [cuts[k] for k in left], gained)
                for k, so in zip(left, told, strict=True):
                    if so and not any(one < made for one in answers[k]):
                        answers[k][made] = None
            left = [k for k in left if not answers[k]]
            if not left:
                break
        found = [Doing(_shown(one), True) for one in answers]
        if left:
            every = self.closed(range(len(self.changes)))
            fewest = self._fewer(every, [cuts[k] for k in left], gained)
            for k, numbers in zip(left, fewest, strict=True):
                found[k] = Doing((numbers,), len(numbers) < 2)
        return found

    def _groups(self) -> Iterator[list[frozenset[int]]]:
        """Sets of changes with what they need, by how many were chosen, while there are few enough."""
        most = min(MOST_TRIED, WORK // (len(self.old.parts) + len(self.new.parts) + 1))
        seen: set[frozenset[int]] = set()
        for size in range(1, len(self.changes) + 1):
            if comb(len(self.changes), size) + len(seen) > most:
                return
            fresh = {self.closed(chosen) for chosen in combinations(range(len(self.changes)), size)} - seen
            seen |= fresh
            yield sorted(fresh, key=lambda one: (len(one), sorted(one)))

    def _fewer(self, every: frozenset[int], cuts: Sequence[Cut], gained: bool) -> list[tuple[int, ...]]:
        """From all changes, one after another taken away (with what needs it) while the answer stays."""
        kept = [every for _ in cuts]
        for number in sorted(every):
            alike: dict[frozenset[int], list[int]] = {}
            for k, made in enumerate(kept):
                if number in made:
                    alike.setdefault(made, []).append(k)
            for made, members in alike.items():
                without = frozenset(one for one in made if number not in self.needs[one])
                for k, so in zip(members, self._so(without, [cuts[k] for k in members], gained), strict=True):
                    if so:
                        kept[k] = without
        return [tuple(sorted(made)) for made in kept]

    def _so(self, made: frozenset[int], cuts: Sequence[Cut], gained: bool) -> list[bool]:
        if made not in self.tried:
            self.tried[made] = _Mixed(self.rig(made))
        return self.tried[made].minimal(cuts) if gained else self.tried[made].held(cuts)


def _shown(sets: Iterable[frozenset[int]]) -> tuple[tuple[int, ...], ...]:
    fewest = sorted((tuple(sorted(one)) for one in sets), key=lambda one: (len(one), one))
    return tuple(one for one in fewest if len(one) == len(fewest[0]))[:MOST_ANSWERS]


class _Mixed:
    """One mixed rig, and who falls in it."""

    def __init__(self, rig: Rig) -> None:
        self.effects: dict[str, Effects] = {failure.id: failure.effects for failure in rig.failures}
        self.system = RigSystem(rig)

    def minimal(self, cuts: Sequence[Cut]) -> list[bool]:
        """Does each body fall after its set, every failure of which there is, and not after any less?"""
        asked = [[(body, failures), *((body, less) for less in _without_one(failures))] for body, failures in cuts]
        told = iter(self._held([cut for several in asked for cut in several]))
        found = []
        for several in asked:
            whole, *less = [next(told) for _ in several]
            there = all(id in self.effects for id in several[0][1])
            found.append(there and whole is False and all(one is True for one in less))
        return found

    def held(self, cuts: Sequence[Cut]) -> list[bool]:
        """Is each body held after its set? Of the set, what there is happens."""
        return [one is True for one in self._held(cuts)]

    def _held(self, cuts: Sequence[Cut]) -> list[bool | None]:
        """None for a body that isn't there."""
        goals = self.system.goals
        if not cuts or not goals:
            return [None for _ in cuts]
        width = len(cuts) + 1  # the last column: nothing failed
        rows: list[tuple[Effects, int]] = []
        for column, (_, failures) in enumerate(cuts):
            rows.append((Effects.joint(self.effects[id] for id in failures if id in self.effects), 1 << column))
        held = self.system.read(Reading.HELD, rows, width, dict.fromkeys(goals, (1 << width) - 1))
        return [
            bool(held[body] >> (width - 1) & held[body] >> column & 1) if body in held else None
            for column, (body, _) in enumerate(cuts)
        ]


def _without_one(failures: tuple[str, ...]) -> list[tuple[str, ...]]:
    return [failures[:k] + failures[k + 1 :] for k in range(len(failures))]
