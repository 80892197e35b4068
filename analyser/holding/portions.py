"""What each body can depend on: a rig is searched in portions that are as small as may be.

A ground part that isn't `below` is held exactly while it is there, whatever happens elsewhere, so
nothing passes through it from one portion to another. Within a portion, what holds a body lies on
some way from it to the ground that meets nothing twice (what keeps a rope off an edge is joined to
that rope): whatever only hangs from such a way, another team's rope on the same ring say, weighs
nothing and can fail or not without any difference. Each portion keeps, beside its own parts, the whole
cluster of every part on its ropes, so that what moves with a body is told as in the whole. Where what is
told of heights contradicts itself, places far off matter too: then the portion is the whole rig. So it is where a body
hangs on the hands of somebody who may be brought down themselves, or on a frame that stands on what may be.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, replace
from typing import Any

from analyser.holding.brought_down import goes_with
from analyser.holding.structure import Structure
from analyser.language.mistakes import Place
from analyser.rig.model import Contact, Failure, Nature, Part, Rig, Role, Rope, Station

ROPED = (Role.TIE, Role.RUN, Role.GRIP)
"""The roles in which a rope can hold, and be held by, what it meets."""
NOT_OF_THE_ROPES: dict[str, Any] = {
    "title": "",
    "revision": None,
    "sound": (),
    "accepted": (),
    "waived": (),
    "latent": (),
    "place": Place("", 1, 1),
    "requirements": (),
    "notes": (),
    "cautions": (),
}
"""What a rig says that nobody hangs from: another title is not another rig."""


@dataclass(frozen=True, slots=True)
class Portion:
    """A part of a rig with the bodies in it, and the failures that can touch it."""

    rig: Rig
    bodies: tuple[str, ...]
    failures: tuple[Failure, ...]


def portions(rig: Rig, structure: Structure, failures: Iterable[Failure]) -> list[Portion]:
    """The portions that hold at least one body, in the order of their first body."""
    groups, members, ropes = _groups(rig, ROPED)
    place = {rope.name: k for k, rope in enumerate(rig.ropes)}
    cutting, beside, moved = _Cutting(rig, list(failures)), _beside(rig), _Moved(structure)
    going = _brought_down(rig)
    found: dict[tuple[frozenset[str], frozenset[str]], list[str]] = {}
    for root, inside in groups.items():
        blocks = _Blocks(_graph(rig, members[root], ropes[root], beside))
        for one in inside:
            if one in structure.told_at_odds:
                found.setdefault((frozenset(rig.parts), frozenset(place)), []).append(one)
                continue
            way = blocks.to_ground((one, *rig.parts[one].points))
            own = {one, *rig.parts[one].points, *(name for name in way if name in rig.parts)}
            mine = {rope.name for rope in ropes[root] if f"rope {rope.name}" in way}
            names = cutting.with_neighbours(own, [rope for rope in ropes[root] if rope.name in mine], moved)
            if any(not by.isdisjoint(names | mine) for by in going):
                names, mine = set(rig.parts), set(place)
            found.setdefault((frozenset(names), frozenset(mine)), []).append(one)
    return [
        cutting.portion(tuple(bodies), set(names), [rig.ropes[k] for k in sorted(map(place.__getitem__, mine))])
        for (names, mine), bodies in found.items()
    ]


def apart(rig: Rig) -> list[Portion]:
    """The portions that only ground parts join, hands and all: what is held in one of them (by people or weights too)
    is held whatever happens in the others. The failures in them are those of the rig that touch them."""
    groups, members, ropes = _groups(rig, (*ROPED, Role.HAND))
    cutting = _Cutting(rig, list(rig.failures))
    placed = any(part.at is not None for part in rig.parts.values())
    readings = [Structure(rig, loose=loose) for loose in (False, True)] if placed else []
    at_odds = {name for structure in readings for name in structure.told_at_odds}
    going = _brought_down(rig)
    for root, bodies in groups.items() if going else ():
        near = members[root] | {rope.name for rope in ropes[root]}
        at_odds |= {*bodies} if any(not by.isdisjoint(near) for by in going) else set()
    found, whole = [], [body.name for body in rig.bodies if body.name in at_odds]
    if whole:
        found.append(cutting.portion(tuple(whole), set(rig.parts), list(rig.ropes)))
    for root, bodies in groups.items():
        mine = tuple(body for body in bodies if body not in at_odds)
        if mine:
            names = cutting.with_neighbours(members[root], ropes[root])
            found.append(cutting.portion(mine, names, ropes[root]))
    return found


def _brought_down(rig: Rig) -> list[frozenset[str]]:
    """What the hands work, or hold, of each on whom others hang and who may be brought down themselves; and frames that
    stand on what may be."""
    return [one.by for one in goes_with(rig).values()]


def _beside(rig: Rig) -> dict[str, list[Contact]]:
    """The contacts of each part."""
    found: dict[str, list[Contact]] = {}
    for contact in rig.contacts:
        found.setdefault(contact.a, []).append(contact)
        found.setdefault(contact.b, []).append(contact)
    return found


def _grounds(rig: Rig) -> dict[str, Set[str]]:
    """The ground that each part touches, itself where it is some."""
    found: dict[str, set[str]] = {}
    for contact in rig.contacts:
        for ground in (contact.a, contact.b):
            if rig.parts[ground].holds_up:
                found.setdefault(contact.a, set()).add(ground)
                found.setdefault(contact.b, set()).add(ground)
    return {**found}


def _groups(
    rig: Rig, roles: tuple[Role, ...]
) -> tuple[dict[str, list[str]], dict[str, set[str]], dict[str, list[Rope]]]:
    """What hangs together without ground, where it has a body: by a name of its own the bodies, the parts, and the
    ropes, which join what they meet in one of these roles."""
    joined = _joined(rig, roles)
    groups: dict[str, list[str]] = {}
    for body in rig.bodies:
        groups.setdefault(joined.root(body.name), []).append(body.name)
    members: dict[str, set[str]] = {root: set() for root in groups}
    for name in rig.parts:
        root = joined.root(name)
        if root in members:
            members[root].add(name)
    ropes: dict[str, list[Rope]] = {root: [] for root in groups}
    for rope in rig.ropes:
        root = joined.root(f"rope {rope.name}")
        if root in ropes:
            ropes[root].append(rope)
    return groups, members, ropes


def _joined(rig: Rig, roles: tuple[Role, ...]) -> _Joined:
    """What hangs together without ground; ropes join what they meet in one of these roles."""
    joined = _Joined()
    for contact in rig.contacts:
        if not rig.parts[contact.a].holds_up and not rig.parts[contact.b].holds_up:
            joined.join(contact.a, contact.b)
    for rope in rig.ropes:
        for station in rope.stations:
            for name in _met(rig, station, roles):
                if not rig.parts[name].holds_up:
                    joined.join(f"rope {rope.name}", name)
    for part in rig.parts.values():
        for foot in part.needed:
            if not rig.parts[foot].holds_up:
                joined.join(part.name, foot)
        if part.stands_on:
            joined.join(part.name, part.stands_on)
    return joined


class _Moved:
    """What is on one cluster with some part on a rope."""

    def __init__(self, structure: Structure) -> None:
        self.by_rope: dict[str, set[int]] = {}
        """The clusters, by their numbers; what is on none by itself, counted from -1 down."""
        self.members: dict[int, set[str]] = {}
        for line in structure.lines:
            near = self.by_rope.setdefault(line.rope.name, set())
            for stop in line.stops:
                cluster = structure.cluster[stop.v]
                near.add(cluster if cluster >= 0 else -1 - stop.v)
        for cluster in set().union(*self.by_rope.values()):
            inside = structure.members[cluster] if cluster >= 0 else (-1 - cluster,)
            self.members[cluster] = {structure.names[v] for v in inside}


def _within_a_person(rig: Rig, contact: Contact) -> bool:
    one, two = rig.parts[contact.a], rig.parts[contact.b]
    return any(p.nature is Nature.PERSON and o.body == p.name for p, o in ((one, two), (two, one)))


GROUND = "the ground"
Graph = dict[str, set[str]]


def on_some_way(rig: Rig, masses: Iterable[str]) -> dict[str, frozenset[str]]:
    """For each of these parts, whatever its weight may ever come on, however little holds: all that lies on
    some way from it to the ground that meets nothing twice. Ropes are named `rope NAME`.

    Weight, unlike holding, passes through people, through bare hands and into those who stand.
    """
    graph = _graph(rig, set(rig.parts), list(rig.ropes), _beside(rig), through_people=True)
    at: dict[str, set[str]] = {part.name: set() for part in rig.parts.values() if part.holds_up}
    for contact in rig.contacts:
        for one, other in ((contact.a, contact.b), (contact.b, contact.a)):
            if one in at:
                at[one].add(other)
    for rope in rig.ropes:
        for station in rope.stations:
            if station.part in at:
                at[station.part].add(f"rope {rope.name}")
    for part in rig.parts.values():
        for foot in part.needed:
            if foot in at:
                at[foot].add(part.name)
    blocks = _Blocks(graph)
    ways = {name: blocks.to_ground((name, *rig.parts[name].points)) | {name} for name in masses}
    return {name: frozenset(way | {one for one, near in at.items() if near & way}) for name, way in ways.items()}


def _graph(
    rig: Rig,
    members: set[str],
    ropes: list[Rope],
    beside: Mapping[str, list[Contact]],
    *,
    through_people: bool = False,
) -> Graph:
    """A portion as a graph: contacts, needs, each rope joined to all its stations, and the ground.

    Not `through_people`: they are not joined to their own points, as nothing is held through somebody else.
    """
    graph: Graph = {GROUND: set()}
    roped = (*ROPED, Role.HAND) if through_people else ROPED

    def join(a: str, b: str) -> None:
        a = GROUND if a in rig.parts and rig.parts[a].holds_up else a
        b = GROUND if b in rig.parts and rig.parts[b].holds_up else b
        if a != b:
            graph.setdefault(a, set()).add(b)
            graph.setdefault(b, set()).add(a)

    for name in members:
        if rig.parts[name].nature is Nature.GROUND:  # one that is `below`: anchored, if not held
            join(name, GROUND)
        if through_people and rig.parts[name].standing:
            join(name, GROUND)
        for foot in rig.parts[name].needed:
            join(name, foot)
        deck = rig.parts[name].stands_on
        if deck:
            join(name, deck)
        for contact in beside.get(name, ()):
            if through_people or not _within_a_person(rig, contact):
                join(contact.a, contact.b)
    for rope in ropes:
        for station in rope.stations:
            for name in _met(rig, station, roped):
                join(f"rope {rope.name}", name)
    return graph


def _met(rig: Rig, station: Station, roles: tuple[Role, ...]) -> tuple[str, ...]:
    """The parts that a rope meets at a station: what it is at there, or what may keep it off an edge."""
    if station.role is Role.OVER:
        guards = (*station.guards, *rig.parts[station.part].guards)
        return tuple(guard for guard in guards if rig.parts[guard].nature is not Nature.PAD)
    return (station.part,) if station.role in roles else ()


class _Blocks:
    """What lies on some way to the ground that meets nothing twice: the biconnected components of a graph that hang
    from the ground, each by the vertex in which it hangs (Tarjan 1972, from memory)."""

    def __init__(self, graph: Graph) -> None:
        self.members: list[list[str]] = []
        """The vertices of each component without the one that it hangs from."""
        self.top: list[str] = []
        self.of: dict[str, int] = {}
        """Of each vertex the component through which it hangs."""
        self.known: dict[int, frozenset[str]] = {}
        number, low = {GROUND: 0}, {GROUND: 0}
        met: list[str] = []
        stack = [(GROUND, "", iter(graph[GROUND]))]
        while stack:
            here, above, further = stack[-1]
            for there in further:
                if there not in number:
                    number[there] = low[there] = len(number)
                    met.append(there)
                    stack.append((there, here, iter(graph[there])))
                    break
                if there != above:
                    low[here] = min(low[here], number[there])
            else:
                stack.pop()
                if above:
                    low[above] = min(low[above], low[here])
                    if low[here] >= number[above]:
                        self._hang(met, here, above)

    def _hang(self, met: list[str], first: str, top: str) -> None:
        """What was met since a vertex, and that one, hang from another."""
        start = len(met) - 1
        while met[start] != first:
            start -= 1
        self.of |= dict.fromkeys(met[start:], len(self.members))
        self.members.append(met[start:])
        self.top.append(top)
        del met[start:]

    def to_ground(self, names: Iterable[str]) -> set[str]:
        """Everything on some way from one of these to the ground that meets nothing twice."""
        found: set[str] = set()
        for start in {self.of[name] for name in names if name in self.of}:
            if start not in self.known:
                way, block = set(self.members[start]), start
                while (top := self.top[block]) != GROUND:
                    block = self.of[top]
                    way.update(self.members[block])
                self.known[start] = frozenset(way)
            found |= self.known[start]
        return found


class _Cutting:
    """A rig, looked up once for all portions that are cut out of it."""

    def __init__(self, rig: Rig, events: list[Failure]) -> None:
        self.rig = rig
        self.events = events
        self.touching = _touching(events)
        self.contacts = sorted(rig.contacts, key=lambda c: (c.place, c.a, c.b))
        self.beside: dict[str, list[int]] = {}
        """The contacts of each part, by their numbers."""
        for k, contact in enumerate(self.contacts):
            self.beside.setdefault(contact.a, []).append(k)
            self.beside.setdefault(contact.b, []).append(k)
        self.under: dict[str, Set[str]] = _grounds(rig)
        """The ground that a part touches, and what it needs."""
        for part in rig.parts.values():
            if part.needs:
                self.under[part.name] = {*self.under.get(part.name, ()), *part.needed}
        bodied = [part for part in rig.parts.values() if part.points or part.body]
        self.own = {part.name: {*part.points, *([part.body] if part.body else [])} for part in bodied}
        """The points of a body, and the body of a point."""
        self.met = {
            rope.name: {name for s in rope.stations for name in (s.part, *s.guards, *rig.parts[s.part].guards)}
            for rope in rig.ropes
        }
        """What is at each rope's stations, and guards it there."""

    def with_neighbours(self, own: set[str], ropes: list[Rope], moved: _Moved | None = None) -> set[str]:
        """The parts of a portion, the ground it touches, its edges and guards, and what moves with it."""
        names = set(own)
        for name in own & self.under.keys():
            names |= self.under[name]
        for rope in ropes:
            names |= self.met[rope.name]
        if moved:
            for cluster in set().union(*(moved.by_rope.get(rope.name, ()) for rope in ropes)):
                names |= moved.members[cluster] & self.rig.parts.keys()
        for name in names & self.own.keys():
            names |= self.own[name]
        return names

    def portion(self, bodies: tuple[str, ...], names: set[str], ropes: list[Rope]) -> Portion:
        rig = self.rig
        spans = {span for rope in ropes for span in rope.spans}
        chosen = sorted({k for name in (*names, *spans) for k in self.touching.get(name, ())})
        near = self.contacts
        if len(names) * 4 <= len(rig.parts):
            near = [self.contacts[k] for k in sorted({k for name in names for k in self.beside.get(name, ())})]
        inner = replace(
            rig,
            parts={name: _trimmed(rig.parts[name], names) for name in _ordered(rig, names)},
            contacts=tuple([c for c in near if c.a in names and c.b in names]),
            ropes=tuple(ropes),
            failures=tuple([self.events[k] for k in chosen]),
            hands_off=rig.hands_off.within(names | spans),
            **NOT_OF_THE_ROPES,
        )
        return Portion(inner, bodies, inner.failures)


def _trimmed(part: Part, names: set[str]) -> Part:
    """A frame reached only by what moves with a portion may stand outside it."""
    if part.needs and any(p not in names for p in part.needed):
        return replace(part, needs=())
    return part


def _ordered(rig: Rig, names: set[str]) -> list[str]:
    if len(names) * 4 > len(rig.parts):
        return [name for name in rig.parts if name in names]
    return sorted(names, key=lambda name: (rig.parts[name].place, name))


def _touching(events: list[Failure]) -> dict[str, list[int]]:
    """For each name that an effect speaks of, the failures that do."""
    found: dict[str, list[int]] = {}
    for k, event in enumerate(events):
        for group in event.effects.groups:
            for name in group:
                found.setdefault(name, []).append(k)
    return found


class _Joined:
    """Which names belong together (union-find with path halving)."""

    def __init__(self) -> None:
        self.above: dict[str, str] = {}

    def root(self, name: str) -> str:
        above = self.above
        while name in above and above[name] != name:
            above[name] = above.get(above[name], above[name])
            name = above[name]
        return name

    def join(self, a: str, b: str) -> None:
        one, two = self.root(a), self.root(b)
        if one != two:
            self.above[max(one, two)] = min(one, two)
