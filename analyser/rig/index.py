"""One rig looked up: what stands where, what touches what, what can fail, and how far something reaches.

Everything is worked out once, when it is first asked for; whoever asks of a part gets its rows in the
order of the file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from analyser.language.identities import Cut, Span
from analyser.rig.elements import BODIES, Contact, Failure, Nature, Part, Role, Rope, Station

ON_THE_ROPE = (Role.TIE, Role.RUN, Role.GRIP)
"""How a rope meets what it can pull on."""
Joined = Mapping[str, frozenset[str]]
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class At:
    """A station where it stands on its rope: `rope.stations[number]`."""

    rope: Rope
    number: int

    @property
    def station(self) -> Station:
        return self.rope.stations[self.number]

    @property
    def part(self) -> str:
        return self.station.part

    @property
    def before(self) -> Span | None:
        """The span that ends here; None at the rope's start."""
        return self.rope.spans[self.number - 1] if self.number else None

    @property
    def after(self) -> Span | None:
        """The span that begins here; None at the rope's end."""
        return self.rope.spans[self.number] if self.number < len(self.rope.spans) else None

    def beside(self, by: int) -> Station | None:
        """The station that many further on (back, where less than nought); None beyond the rope's ends."""
        other = self.number + by
        return self.rope.stations[other] if 0 <= other < len(self.rope.stations) else None


class Index:
    """The rows of one rig by name."""

    def __init__(
        self, parts: Mapping[str, Part], contacts: Iterable[Contact], ropes: Iterable[Rope], failures: Iterable[Failure]
    ) -> None:
        self._parts = parts
        self._contacts = tuple(contacts)
        self._ropes = tuple(ropes)
        self._failures = tuple(failures)
        self._with_points: dict[tuple[Nature, ...], frozenset[str]] = {}
        self.legs: dict[tuple[str, tuple[str, ...]], tuple[tuple[str, ...], ...]] = {}
        """By a body and a way in which it is held, the legs of that as they are told (`checking/held_by.py`)."""

    # -- by name

    @cached_property
    def ropes(self) -> Mapping[str, Rope]:
        return {rope.name: rope for rope in self._ropes}

    @cached_property
    def failures(self) -> Mapping[str, Failure]:
        """By id."""
        return {failure.id: failure for failure in self._failures}

    @cached_property
    def _of(self) -> Mapping[str, tuple[Failure, ...]]:
        return _grouped((owner, failure) for failure in self._failures for owner in {failure.part, failure.id.owner})

    def failures_of(self, name: str) -> tuple[Failure, ...]:
        """What can fail of a part, a span, a cause; of a rope the cuts of its spans."""
        return self._of.get(name, ())

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Every part and rope."""
        return (*self._parts, *self.ropes)

    @cached_property
    def place(self) -> Mapping[str, int]:
        """Where each of these stands in the file."""
        return {name: k for k, name in enumerate(self.names)}

    def natured(self, *natures: Nature) -> tuple[Part, ...]:
        """The parts of some natures."""
        return tuple(part for part in self._parts.values() if part.nature in natures)

    def with_points(self, natures: Iterable[Nature] = BODIES) -> frozenset[str]:
        """All bodies of some natures, with their points: not what carries through."""
        asked = tuple(natures)
        if asked not in self._with_points:
            own = frozenset(name for part in self.natured(*asked) for name in (part.name, *part.points))
            through = {part.name for part in self.natured(Nature.HARNESS) if part.carries_through}
            self._with_points[asked] = own - through
        return self._with_points[asked]

    @cached_property
    def in_order(self) -> Mapping[str, int]:
        """Where each failure stands in the list of all, by id."""
        return {failure.id: number for number, failure in enumerate(self._failures)}

    @cached_property
    def can_fail(self) -> frozenset[str]:
        """Every part and span that can fail in some way."""
        return frozenset(failure.part for failure in self._failures)

    # -- stations and spans

    @cached_property
    def _stations(self) -> tuple[At, ...]:
        return tuple(At(rope, k) for rope in self._ropes for k in range(len(rope.stations)))

    @cached_property
    def _at(self) -> Mapping[str, tuple[At, ...]]:
        return _grouped((one.part, one) for one in self._stations)

    def at(self, part: str, *roles: Role) -> tuple[At, ...]:
        """The stations at a part; in some roles only, where any are named."""
        found = self._at.get(part, ())
        return tuple(one for one in found if one.station.role in roles) if roles else found

    def stations(self, *roles: Role) -> Iterator[At]:
        """The stations of all ropes; in some roles only, where any are named."""
        return (one for one in self._stations if not roles or one.station.role in roles)

    def ropes_at(self, part: str, *roles: Role) -> tuple[str, ...]:
        """The names of the ropes that have a station at a part, each once."""
        return tuple(dict.fromkeys(one.rope.name for one in self.at(part, *roles)))

    def parts_in(self, *roles: Role) -> frozenset[str]:
        """The parts at which some rope has a station in such a role."""
        return frozenset(one.part for one in self.stations(*roles))

    @cached_property
    def spans(self) -> Mapping[str, At]:
        """Each span by name, as the station at which it begins."""
        return {span: At(rope, k) for rope in self._ropes for k, span in enumerate(rope.spans)}

    @cached_property
    def bends(self) -> frozenset[str]:
        """The knots that join two ropes: each is in both."""
        ropes: dict[str, set[str]] = {}
        for one in self.stations(Role.TIE):
            ropes.setdefault(one.part, set()).add(one.rope.name)
        return frozenset(knot for knot, several in ropes.items() if len(several) > 1)

    def guards(self, edge: str) -> tuple[str, ...]:
        """What keeps some rope off an edge: for every rope first, then for each."""
        own = self._parts[edge].guards
        return tuple(dict.fromkeys((*own, *(guard for one in self.at(edge) for guard in one.station.guards))))

    # -- what touches what

    @cached_property
    def contacts(self) -> Mapping[str, tuple[Contact, ...]]:
        """By either part."""
        return _grouped((name, one) for one in self._contacts for name in (one.a, one.b))

    @cached_property
    def beside(self) -> Mapping[str, tuple[str, ...]]:
        """What each part touches over any contact, a point's own body among it, by name."""
        pairs = {pair for one in self._contacts for pair in ((one.a, one.b), (one.b, one.a))}
        return _grouped(sorted(pairs))

    @cached_property
    def bearing(self) -> tuple[Contact, ...]:
        """The contacts over which anything holds: none of a part that is made for gear only.

        A person's gear loop still hangs from the person, but the person never from it.
        """
        gear = {part.name for part in self._parts.values() if part.gear_only}
        return tuple(one for one in self._contacts if one.a not in gear and one.b not in gear)

    @cached_property
    def meeting(self) -> Mapping[str, tuple[str, ...]]:
        """What meets what, in order of names: over bearing contacts, along the spans of ropes, and a frame what it
        needs."""
        found: dict[str, set[str]] = {}

        def meet(one: str, other: str) -> None:
            found.setdefault(one, set()).add(other)
            found.setdefault(other, set()).add(one)

        for contact in self.bearing:
            meet(contact.a, contact.b)
        for span, at in self.spans.items():
            meet(span, at.station.part)
            meet(span, at.rope.stations[at.number + 1].part)
            if at.before:
                meet(span, at.before)
        for part in self._parts.values():
            if part.needs:
                found.setdefault(part.name, set()).update(part.needed)
        return {name: tuple(sorted(others)) for name, others in found.items()}

    @cached_property
    def meets(self) -> Mapping[str, frozenset[str]]:
        """The same as sets."""
        return {name: frozenset(others) for name, others in self.meeting.items()}

    @cached_property
    def lasting(self) -> frozenset[str]:
        """Every part and span that can't fail, and is nobody's."""

        def of_a_person(name: str) -> bool:
            part = self._parts.get(name)
            owner = self._parts[part.body] if part and part.body else part
            return owner is not None and owner.nature is Nature.PERSON

        every = {*self._parts, *self.spans} - self.can_fail
        return frozenset(name for name in every if not of_a_person(name))

    @cached_property
    def meeting_lasting(self) -> Mapping[str, tuple[str, ...]]:
        """Of what meets it only that."""
        return {name: tuple(filter(self.lasting.__contains__, others)) for name, others in self.meeting.items()}

    @cached_property
    def touching(self) -> Mapping[str, tuple[str, ...]]:
        """What each part touches over contacts that were made and that bear: no body its own points."""
        made = (one for one in self.bearing if one.given)
        pairs = sorted(pair for one in made for pair in ((one.a, one.b), (one.b, one.a)))
        return dict.fromkeys(self._parts, ()) | _grouped(pairs)

    # -- how far something reaches

    @cached_property
    def joined(self) -> Joined:
        """What is joined to what without a rope: contacts that bear, and what frames stand on."""
        found: dict[str, set[str]] = {name: set() for name in self._parts}
        for one in self.bearing:
            found[one.a].add(one.b)
            found[one.b].add(one.a)
        for part in self._parts.values():
            found[part.name] |= {*part.needed}
        return {name: frozenset(others) for name, others in found.items()}

    @cached_property
    def clump(self) -> Mapping[str, str]:
        """What each part that is neither ground nor a frame is joined to without a rope, none of these between: by the
        name of one part of it."""
        ends = {part.name for part in self.natured(Nature.GROUND, Nature.FRAME)}
        found: dict[str, str] = {}
        for name in self._parts:
            if name not in found and name not in ends:
                found |= dict.fromkeys(outward((name,), self.joined.__getitem__, lambda one: one not in ends), name)
        return found

    @cached_property
    def joined_by_ropes(self) -> Joined:
        """The same with the ropes that can hold, each by its name: a tag line steers."""
        found = {name: set(others) for name, others in self.joined.items()}
        for one in (at for at in self.stations(*ON_THE_ROPE) if not at.rope.tag_line):
            found.setdefault(one.rope.name, set()).add(one.part)
            found[one.part].add(one.rope.name)
        return {name: frozenset(others) for name, others in found.items()}

    @cached_property
    def grounded(self) -> frozenset[str]:
        """What leads, over contacts and along ropes, to a ground part that doesn't lie below, past no person."""
        back: dict[str, set[str]] = {}
        for name, others in self.joined_by_ropes.items():  # a frame leads to its feet, and they not to it
            for other in others:
                back.setdefault(other, set()).add(name)
        ground = [part.name for part in self._parts.values() if part.holds_up]
        return frozenset(reached(back, ground, self.with_points((Nature.PERSON,))))

    @cached_property
    def fixed(self) -> frozenset[str]:
        """What is joined to the ground over contacts alone, through nobody and along no rope."""
        ground = [part.name for part in self.natured(Nature.GROUND)]
        return frozenset(reached(self.joined, ground, self.with_points()))


def spans_of(rope: Rope, cut: Cut) -> tuple[Span, ...]:
    """The spans that are meant where a rope is said to be cut; none where it has no such stations."""
    if not cut.a:
        return rope.spans
    labels = [str(station.label) for station in rope.stations]
    if cut.a not in labels or cut.b not in labels:
        return ()
    low, high = sorted((labels.index(cut.a), labels.index(cut.b)))
    return rope.spans[low:high]


def reached(joined: Mapping[str, AbstractSet[str]], start: Iterable[str], border: Iterable[str] = ()) -> set[str]:
    """Everything that is joined to `start` without passing the border."""
    barred = set(border)
    seen = set(start) - barred
    stack = sorted(seen)
    while stack:
        for there in joined.get(stack.pop(), ()):
            if there not in seen and there not in barred:
                seen.add(there)
                stack.append(there)
    return seen


def outward(
    start: Iterable[str], beyond: Callable[[str], Iterable[str]], inside: Callable[[str], bool] = lambda name: True
) -> Iterator[str]:
    """Names one after another, nearest first: `beyond` gives those behind one, `inside` which of them count."""
    seen = dict.fromkeys(start)
    queue = list(seen)
    for here in queue:
        yield here
        for there in beyond(here):
            if there not in seen and inside(there):
                seen[there] = None
                queue.append(there)


def _grouped(pairs: Iterable[tuple[str, Row]]) -> dict[str, tuple[Row, ...]]:
    found: dict[str, list[Row]] = {}
    for name, row in pairs:
        found.setdefault(name, []).append(row)
    return {name: tuple(rows) for name, rows in found.items()}
