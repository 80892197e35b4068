"""A second opinion on who is held, written from `analyser/holding/rules.md` alone and deliberately plain.

One scenario at a time, sets and recursion, no cleverness: the engine is compared with it on small
rigs. It shares no code with the engine. The recursion of rule 5 is memoised by the spans taken
away, which is all that keeps it quick. The rules' numbers below are those of section 3.

Everything is in names: parts, spans and bodies are the full names of the rig's model; a set of
parts is a frozenset of names; a contact is a frozenset of the two names that touch; a station is
a pair (rope's name, index from the rope's start).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import reduce
from itertools import combinations

import analyser
from analyser.holding.system import sets_with
from analyser.rig.model import Effects, Failure, Nature, Part, Rig, Role, Rope, Station

NOTHING: frozenset = frozenset()
NO_EFFECTS = Effects()


@dataclass(frozen=True)
class Section:
    """A stretch of rope gripped inward at both ends (rule 5).

    `first` and `last` are the station indices at which its end parts stand; `spans` are all the
    spans between the two gripping stations, also those on to a stopper beyond an end part.
    """

    rope: Rope
    first: int
    last: int
    spans: frozenset[str]


class View:
    """One rig with one set of effects laid over it, read strictly or loosely."""

    def __init__(
        self,
        rig: Rig,
        effects: Effects,
        *,
        loose: bool = False,
        without_contacts: frozenset[frozenset[str]] = NOTHING,
        without_stations: frozenset[tuple[str, int]] = NOTHING,
        ignore_body: str | None = None,
    ) -> None:
        self.rig = rig
        self.effects = effects
        self.loose = loose
        self.without_contacts = without_contacts
        self.without_stations = without_stations
        self.ignore_body = ignore_body
        self.there = frozenset(name for name in rig.parts if self._is_there(name))
        self._sets: dict[tuple[bool, frozenset[str]], frozenset[str]] = {}
        self._touching: dict[frozenset[str], dict[str, set[str]]] = {}
        self._moving: dict[tuple[str, frozenset[str]], frozenset[str]] = {}

    # What is there, and what touches what.

    def _is_there(self, name: str) -> bool:
        """Is the part there? A gone body takes its points along; an ignored body does not."""
        body = self.rig.parts[name].body
        gone = self.effects.gone
        return name not in gone and body not in gone and name != self.ignore_body

    def _person_of(self, name: str) -> Part | None:
        """The person that this part is, or is a point of."""
        part = self.rig.parts[name]
        if part.nature is Nature.PERSON:
            return part
        owner = self.rig.parts.get(part.body) if part.body else None
        return owner if owner and owner.nature is Nature.PERSON else None

    def _whole(self, span: str, removed: frozenset[str]) -> bool:
        return span not in self.effects.cut and span not in removed

    def touching(self, removed: frozenset[str]) -> dict[str, set[str]]:
        """For each part that is there, the parts that it touches, without the removed spans."""
        if removed not in self._touching:
            parts = self.rig.parts
            pairs = [(c.a, c.b) for c in self.rig.contacts if not parts[c.a].gear_only and not parts[c.b].gear_only]
            for rope in self.rig.ropes:
                for k, span in enumerate(rope.spans):
                    here, there = rope.stations[k], rope.stations[k + 1]
                    if here.role is Role.TIE and there.role is Role.TIE and self._whole(span, removed):
                        pairs.append((here.part, there.part))
            touching: dict[str, set[str]] = {name: set() for name in self.there}
            for a, b in pairs:
                if a in touching and b in touching and frozenset((a, b)) not in self.without_contacts:
                    touching[a].add(b)
                    touching[b].add(a)
            self._touching[removed] = touching
        return self._touching[removed]

    # Ropes.

    def on_rope(self, rope: Rope, k: int) -> bool:
        """Does station k put its part on the rope (rule 5's *p*, and what may be firm)?"""
        station = rope.stations[k]
        if station.part not in self.there or (rope.name, k) in self.without_stations:
            return False
        if station.role is Role.HAND:
            return self.loose and station.part not in self.effects.open_hands
        return station.role in (Role.TIE, Role.RUN, Role.GRIP)

    def _grips(self, rope: Rope, k: int, *, to_end: bool) -> bool:
        """Does station k grip against rope leaving towards the end (or else the start)?"""
        station = rope.stations[k]
        if station.role in (Role.TIE, Role.STOPPER):
            return station.part in self.there and (rope.name, k) not in self.without_stations
        if not self.on_rope(rope, k) or station.role is Role.RUN:
            return False
        if station.role is Role.GRIP and station.part in self.effects.ungripped:
            return False
        return station.to_end if to_end else station.to_start

    def _severs(self, station: Station) -> bool:
        """Does this passage over an edge sever the rope?"""
        if station.role is not Role.OVER or station.part not in self.effects.cutting:
            return False
        guards = (*station.guards, *self.rig.parts[station.part].guards)
        return not any(guard in self.there for guard in guards)

    def sections(self, removed: frozenset[str]) -> Iterator[Section]:
        """Every section of every rope, one for each choice of what a stopper jams against."""
        for rope in self.rig.ropes:
            for i, j in combinations(range(len(rope.stations)), 2):
                if not self._grips(rope, i, to_end=True) or not self._grips(rope, j, to_end=False):
                    continue
                spans = rope.spans[i:j]
                if not all(self._whole(span, removed) for span in spans):
                    continue
                if any(self._severs(station) for station in rope.stations[i + 1 : j]):
                    continue
                for first in self._end_places(rope, i, i, j):
                    for last in self._end_places(rope, j, i, j):
                        if first < last:
                            yield Section(rope, first, last, frozenset(spans))

    def _end_places(self, rope: Rope, end: int, i: int, j: int) -> list[int]:
        """Where the end part of the gripping station `end` (i or j) may stand."""
        if rope.stations[end].role is not Role.STOPPER:
            return [end]
        jams = (Role.TIE, Role.RUN, Role.GRIP)
        return [k for k in range(i + 1, j) if rope.stations[k].role in jams and self.on_rope(rope, k)]

    def parts_on(self, section: Section) -> list[tuple[int, str]]:
        """The parts on the section with their station indices, in order."""
        stations = section.rope.stations
        places = range(section.first, section.last + 1)
        return [(k, stations[k].part) for k in places if self.on_rope(section.rope, k)]

    # Moving together.

    def moving(self, p: str, removed: frozenset[str]) -> frozenset[str]:
        """What moves with p (p among it)."""
        if (p, removed) not in self._moving:
            touching = self.touching(removed)
            reached, todo = {p}, [p]
            while todo:
                part = todo.pop()
                if part != p and not self._passes_on(part, p):
                    continue
                for neighbour in touching[part] - reached:
                    reached.add(neighbour)
                    todo.append(neighbour)
            self._moving[p, removed] = frozenset(reached)
        return self._moving[p, removed]

    def _passes_on(self, name: str, p: str) -> bool:
        """May what moves with p be followed through this part?"""
        if self.rig.parts[name].needs:
            return False
        person = self._person_of(name)
        if person is None:
            return True
        mine = self._person_of(p)
        if mine is not None and mine.name == person.name:
            return True
        return self.loose and not person.standing

    # The two sets.

    def held(self, removed: frozenset[str] = NOTHING) -> frozenset[str]:
        """What cannot fall, in the rig without the removed spans."""
        return self._least(False, removed)

    def anchored(self, removed: frozenset[str] = NOTHING) -> frozenset[str]:
        """What cannot be pulled away, in the rig without the removed spans."""
        return self._least(True, removed)

    def _least(self, anchored: bool, removed: frozenset[str]) -> frozenset[str]:
        key = (anchored, removed)
        if key not in self._sets:
            found: set[str] = set()
            while new := (self._by_rules_1_to_4(found, anchored, removed) or self._by_rule_5(found, anchored, removed)):
                found |= new
            self._sets[key] = frozenset(found)
        return self._sets[key]

    def _bearing(self, found: Iterable[str], anchored: bool) -> set[str]:
        """Those of the found parts that bear."""
        bearing = set()
        for name in found:
            person = self._person_of(name)
            if person is None or (self.loose and (anchored or not person.below)):
                bearing.add(name)
        return bearing

    def _by_rules_1_to_4(self, found: set[str], anchored: bool, removed: frozenset[str]) -> set[str]:
        """Parts not found yet that ground, contact, body or needs bring in."""
        bearing = self._bearing(found, anchored)
        touching = self.touching(removed)
        new = set()
        for name in self.there - found:
            part = self.rig.parts[name]
            if part.needs:
                comes_in = self._stands(part, found, anchored, removed)
            else:
                comes_in = (
                    self._is_ground(part, anchored)
                    or bool(touching[name] & bearing)
                    or (part.is_body and any(p in found and not self.rig.parts[p].gear_only for p in part.points))
                )
            if comes_in:
                new.add(name)
        return new

    def _is_ground(self, part: Part, anchored: bool) -> bool:
        if part.nature is Nature.GROUND:
            return anchored or not part.below
        return part.nature is Nature.PERSON and part.standing and part.name not in self.effects.unfooted

    def _stands(self, part: Part, found: set[str], anchored: bool, removed: frozenset[str]) -> bool:
        """Are the part's needs met? People hold nobody up: strictly, a person's foot counts not."""
        base = found if anchored else self.anchored(removed)
        bearing = self._bearing(base, True)
        return all(sum(name in bearing for name in need.parts) >= need.count for need in part.needs)

    def _by_rule_5(self, found: set[str], anchored: bool, removed: frozenset[str]) -> set[str]:
        """Parts not found yet that some section brings in: those of the first that brings any."""
        for section in self.sections(removed):
            on_it = {part for _, part in self.parts_on(section)}
            people = {
                person.name
                for person in self.rig.parts.values()
                if person.nature is Nature.PERSON
                and person.name in self.there
                and self.moving(person.name, removed) & on_it
            }
            new = {
                p
                for p in (on_it | people) - found
                if not self.rig.parts[p].needs and self._held_by(section, p, anchored, removed)
            }
            if new:
                return new
        return set()

    def _held_by(self, section: Section, p: str, anchored: bool, removed: frozenset[str]) -> bool:
        """Does the section hold p?"""
        with_p = self.moving(p, removed)
        on_it = self.parts_on(section)
        others = {part for _, part in on_it} - with_p
        if not others:
            return False
        rest = removed | section.spans
        fixed = self._bearing(self.anchored(rest), True)
        firm = fixed if anchored else self._bearing(self.held(rest), False)
        if not others & firm:  # (b)
            return False

        one, other = on_it[0][1], on_it[-1][1]
        together = other in self.moving(one, removed) or one in self.moving(other, removed)
        if together and one not in with_p and other not in with_p:  # (a')
            return True
        for end, inward in ((one, on_it), (other, on_it[::-1])):  # (a)
            if end in with_p:
                continue
            if end not in fixed:
                return False
            if not anchored and end not in firm:
                nearest = next(n for n, (_, part) in enumerate(inward) if part in with_p)
                if not any(part in firm for _, part in inward[1:nearest]):
                    return False
        return True


def held(
    rig: Rig,
    effects: Effects,
    *,
    loose: bool = False,
    without_contacts: frozenset[frozenset[str]] = NOTHING,
    without_stations: frozenset[tuple[str, int]] = NOTHING,
    ignore_body: str | None = None,
) -> frozenset[str]:
    """The parts that cannot fall once these effects are there.

    Contacts are given as pairs of names and stations as (rope, index) to leave out. An ignored
    body is taken out of the rig while its points stay: what is then held is held without its help.
    """
    return View(
        rig,
        effects,
        loose=loose,
        without_contacts=without_contacts,
        without_stations=without_stations,
        ignore_body=ignore_body,
    ).held()


def anchored(
    rig: Rig,
    effects: Effects,
    *,
    loose: bool = False,
    without_contacts: frozenset[frozenset[str]] = NOTHING,
    without_stations: frozenset[tuple[str, int]] = NOTHING,
    ignore_body: str | None = None,
) -> frozenset[str]:
    """The parts that cannot be pulled away; arguments as for `held`."""
    return View(
        rig,
        effects,
        loose=loose,
        without_contacts=without_contacts,
        without_stations=without_stations,
        ignore_body=ignore_body,
    ).anchored()


# Bodies.


def union(failures: Iterable[Failure]) -> Effects:
    """What the failures do together."""
    return reduce(lambda so_far, failure: so_far | failure.effects, failures, NO_EFFECTS)


def against(rig: Rig, body: str, effects: Effects) -> Effects:
    """The effects as they count for this body: its own being gone is left out."""
    own = {body} | {p for p in rig.parts[body].points if rig.parts[p].nature is Nature.POINT}
    return Effects(
        effects.gone - own,
        effects.ungripped,
        effects.open_hands,
        effects.unfooted,
        effects.cut,
        effects.cutting,
    )


def _stays(rig: Rig, body: str, effects: Effects, loose: bool = False) -> bool:
    """Is the body held after these effects, and in the strict reading also before them?

    "A body that isn't held to begin with falls in every scenario" speaks of the answer, which is
    strict; whether somebody is held loosely is asked of each scenario by itself.
    """
    if body not in held(rig, against(rig, body, effects), loose=loose):
        return False
    return loose or body in held(rig, NO_EFFECTS)


def body_held(rig: Rig, body: str, failures: Iterable[Failure], loose: bool = False) -> bool:
    """Is the body still held after all these failures?"""
    return _stays(rig, body, union(failures), loose)


def _only_by_person(rig: Rig, effects: Effects) -> list[str]:
    names = sorted(body.name for body in rig.bodies)
    return [b for b in names if not _stays(rig, b, effects) and _stays(rig, b, effects, loose=True)]


def _falls(rig: Rig, effects: Effects) -> list[str]:
    return [b for b in sorted(body.name for body in rig.bodies) if not _stays(rig, b, effects)]


def falls(rig: Rig, failures: Iterable[Failure]) -> list[str]:
    """The bodies that fall after these failures, by name."""
    return _falls(rig, union(failures))


def only_by_person(rig: Rig, failures: Iterable[Failure]) -> list[str]:
    """The bodies that only a person holds after these failures, by name. They are among `falls`."""
    return _only_by_person(rig, union(failures))


def tips(rig: Rig, body: str, failures: Iterable[Failure]) -> bool:
    """Is the body held, but at only one of its two ends without its own help?"""
    ends = rig.parts[body].ends
    failures = tuple(failures)
    if ends is None or not body_held(rig, body, failures):
        return False
    found = held(rig, against(rig, body, union(failures)), ignore_body=body)
    return sum(any(point in found for point in end) for end in ends) == 1


def hands_off(rig: Rig) -> dict[str, list[str]]:
    """Who falls, and whom only a person holds, when every person lets go at once."""
    return {"falls": _falls(rig, rig.hands_off), "only_by_person": _only_by_person(rig, rig.hands_off)}


# Counting.


def failure_sets(rig: Rig, body: str, order: int) -> list[tuple[str, ...]]:
    """The minimal sets of at most `order` failures after which the body falls.

    Each is a sorted tuple of failure names; they are sorted by size and then text. A body that is
    not held to begin with has one such set, the empty one.
    """
    found: list[frozenset[str]] = []
    for size in range(order + 1):
        for failures in combinations(rig.failures, size):
            names = frozenset(failure.id for failure in failures)
            if not any(smaller <= names for smaller in found) and not body_held(rig, body, failures):
                found.append(names)
    return sorted((tuple(sorted(names)) for names in found), key=lambda names: (len(names), names))


def attachments(rig: Rig, body: str) -> int:
    """The largest number of disjoint groups of the body's own contacts that each would hold it.

    A person who stands is counted as if he had lost his footing.
    """
    own = {body, *rig.parts[body].points}
    contacts = {frozenset((c.a, c.b)) for c in rig.contacts if (c.a in own) != (c.b in own)}
    stations = {(rope.name, k) for rope in rig.ropes for k, station in enumerate(rope.stations) if station.part in own}
    effects = Effects(unfooted=frozenset({body})) if rig.parts[body].standing else NO_EFFECTS

    def holds(group: frozenset) -> bool:
        return body in held(
            rig,
            effects,
            without_contacts=frozenset(contacts - group),
            without_stations=frozenset(stations - group),
        )

    return most_disjoint(smallest_sets([*contacts, *stations], holds))


def independent(rig: Rig, body: str) -> int | None:
    """The largest number of ways of being held of which no two share a failure.

    0 if the body is not held to begin with, None if no possible failure can drop it.
    """
    ways = ways_held(rig, body)
    return None if NOTHING in ways else most_disjoint(ways)


def ways_held(rig: Rig, body: str) -> list[frozenset[str]]:
    """Every minimal set of failures that must not happen for the body to be held."""
    by_name = {failure.id: failure for failure in rig.failures}

    def holds(spared: frozenset[str]) -> bool:
        return body_held(rig, body, [f for name, f in by_name.items() if name not in spared])

    return smallest_sets(list(by_name), holds)


def smallest_sets(items: list, enough: Callable[[frozenset], bool]) -> list[frozenset]:
    """Every minimal set of items that is enough, where more is never less.

    Looks at every smallest choice of items that hits all sets found so far: if what such a choice
    leaves is enough, a new set lies in it; when none leaves enough, there are no more.
    """
    known: dict[frozenset, bool] = {}

    def ask(group: frozenset) -> bool:
        if group not in known:
            known[group] = enough(group)
        return known[group]

    everything = frozenset(items)
    found: list[frozenset] = []
    hitting = [NOTHING]
    while True:
        left = next((everything - hit for hit in hitting if ask(everything - hit)), None)
        if left is None:
            return found
        for item in items:
            if item in left and ask(left - {item}):
                left -= {item}
        found.append(left)
        grown = {hit for hit in hitting if hit & left}
        grown |= {hit | {item} for hit in hitting if not hit & left for item in left}
        hitting = [hit for hit in grown if not any(other < hit for other in grown)]


def most_disjoint(groups: list[frozenset]) -> int:
    """The largest number of groups of which no two share an item (none of them empty)."""
    if not groups:
        return 0
    first, rest = groups[0], groups[1:]
    without = most_disjoint(rest)
    return max(without, 1 + most_disjoint([group for group in rest if not group & first]))


# What can fail.


def _goes_with(rig: Rig, name: str) -> frozenset[str]:
    """What is part of a part, and of that, and so on."""
    found: frozenset[str] = frozenset()
    more = frozenset({name})
    while more - found:
        found |= more
        more = frozenset(p.name for p in rig.parts.values() if set(p.part_of) & found)
    return found - {name}


def possible_failures(rig: Rig) -> dict[str, Effects]:
    """Every failure of section 2's table by name, without causes: they are not in the model.

    Sound ones are among them. The points of a gone body are left to be understood.
    """
    grips = {s.part for r in rig.ropes for s in r.stations if s.role is Role.GRIP and (s.to_start or s.to_end)}
    hands = {s.part for r in rig.ropes for s in r.stations if s.role is Role.HAND}
    edges = {s.part for r in rig.ropes for s in r.stations if s.role is Role.OVER}
    guards = {g for edge in edges for g in rig.parts[edge].guards}
    guards |= {g for r in rig.ropes for s in r.stations for g in s.guards}
    breaks = (
        Nature.GROUND,
        Nature.JOINT,
        Nature.PULLEY,
        Nature.GRIP,
        Nature.FRAME,
        Nature.HARNESS,
        Nature.LITTER,
    )
    table: dict[str, Effects] = {}
    for name, part in rig.parts.items():
        me = frozenset({name})
        if part.nature in (*breaks, Nature.STRUCTURE):
            table[f"{name} fails"] = Effects(gone=me | _goes_with(rig, name))
        inside = {
            f"{span}" for r in rig.ropes for span, s in zip(r.spans, r.stations[1:], strict=True) if name in s.inside
        }
        if inside:
            table[f"{name} fails"] = Effects(gone=me, cut=frozenset(inside))
        if part.nature in (Nature.KNOT, Nature.STOPPER):
            table[f"{name} slips"] = Effects(gone=me)
        if name in grips:
            table[f"{name} slips"] = Effects(ungripped=me)
        if name in edges:
            table[f"{name} cuts"] = Effects(cutting=me)
        if part.nature is Nature.PAD and name in guards:
            table[f"{name} shifts"] = Effects(gone=me)
        if part.nature is Nature.PERSON:
            worked = {d.name for d in rig.parts.values() if d.operated_by == name and not d.self_locking}
            minded = {d.name for d in rig.parts.values() if d.minded_by == name}
            lets_go = Effects(ungripped=frozenset(worked), open_hands=me)
            if name in hands or worked & grips:
                table[f"{name} lets go"] = lets_go
            if minded:
                table[f"{name} holds on"] = Effects(ungripped=frozenset(minded))
            if part.standing and part.exposed:
                table[f"{name} loses footing"] = lets_go | Effects(unfooted=me)
    for rope in rig.ropes:
        for span in rope.spans:
            table[f"{span} is cut"] = Effects(cut=frozenset({span}))
    return table


# The engine of the first edition against this (it goes with that edition: `differential.py` compares the
# engine with `balance.py` now).

MOST_FAILURES = 18
"""More, and the naive evaluator takes minutes."""


def differences(rig: Rig, rng: random.Random) -> Iterator[str]:
    """Every place where the engine and the naive evaluator disagree, in words."""
    yield from _sets(rig, rng)
    order = 3 if len(rig.failures) <= 11 else 2
    result = analyser.check(rig, order)
    for failure, told in zip(rig.failures, result.failures, strict=True):
        ours = (told.falls, told.only_by_person, told.tips)
        tipping = sorted(b.name for b in rig.bodies if tips(rig, b.name, [failure]))
        theirs = (
            tuple(sorted(falls(rig, [failure]))),
            tuple(sorted(only_by_person(rig, [failure]))),
            tuple(tipping),
        )
        if ours != theirs:
            yield f"{failure.id}: {ours} against {theirs}"
    for body in result.bodies:
        sets = failure_sets(rig, body.name, order)
        if list(result.failure_sets[body.name]) != list(sets):
            yield f"failure sets of {body.name}: {result.failure_sets[body.name]} against {sets}"
        numbers = (attachments(rig, body.name), independent(rig, body.name))
        if (body.attachments, body.independent) != numbers:
            yield f"{body.name}: {body.attachments}, {body.independent} against {numbers}"
    hands = hands_off(rig)
    if sorted(hands["falls"]) != list(result.states[0].outcome.hands_off_falls):
        yield f"hands off: {result.states[0].outcome.hands_off_falls} against {hands}"


def _sets(rig: Rig, rng: random.Random) -> Iterator[str]:
    """Anchored and held, part by part, in both readings, for every single and some larger sets."""
    failures = list(rig.failures)
    scenarios: list[tuple[Failure, ...]] = [(), *((one,) for one in failures)]
    for _ in range(6 if len(failures) > 1 else 0):
        scenarios.append(tuple(rng.sample(failures, rng.randint(2, min(4, len(failures))))))
    for scenario in scenarios:
        effects = union(scenario)
        for loose in (False, True):
            ours = tuple(frozenset(s & rig.parts.keys()) for s in sets_with(rig, effects, loose=loose))
            theirs = (
                anchored(rig, effects, loose=loose) & rig.parts.keys(),
                held(rig, effects, loose=loose) & rig.parts.keys(),
            )
            if ours != theirs:
                names = [failure.id for failure in scenario]
                apart = [sorted(a ^ b) for a, b in zip(ours, theirs, strict=True)]
                yield f"{'loose' if loose else 'strict'} after {names}: {apart}"
