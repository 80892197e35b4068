"""How many attachments a body has: disjoint groups of its own contacts, each enough alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from analyser.holding.batch import Rows
from analyser.holding.reading import Reading
from analyser.holding.search import Packing, Search
from analyser.holding.structure import Structure
from analyser.holding.system import RigSystem
from analyser.language.identities import FailureId
from analyser.rig.failing import baskets
from analyser.rig.model import Contact, Effects, Failure, Nature, Part, Rig, Role, Rope, Station

FEW = 5
"""Of so many contacts every group is asked after, of all such bodies at once; more are searched."""


class Attached:
    """Bodies of a rig with a link of its own in each of their contacts, one rig for all of them.

    A body's contacts are those of its points with other parts, and ropes' stations at it. A person who is standing is
    asked as if off their feet: standing is not an attachment.
    """

    def __init__(self, rig: Rig, bodies: Sequence[str], already: Effects | None = None) -> None:
        self.already = already
        self.links: dict[str, list[Failure]] = {body: [] for body in bodies}
        self.owner = {own: body for body in bodies for own in (body, *rig.parts[body].points)}
        self.parts = dict(rig.parts)
        self.rig = self._detachable(rig)
        self.structure = Structure(self.rig, loose=False)
        self._numbers = self._of_few()

    def number(self, body: str) -> int:
        """The largest number of disjoint groups of a body's contacts, each of which holds it alone."""
        if body not in self._numbers:
            system = RigSystem(self.rig, self.links[body], self.already, self.structure)
            system.goals = [body]
            packed: Packing = Search(system).independent(body)
            self._numbers[body] = packed.number or 0
        return self._numbers[body]

    def _of_few(self) -> dict[str, int]:
        """The number of each body with few contacts: a column for every group of them that is left."""
        rows: Rows = []
        start: dict[str, int] = {}
        asked: dict[str, int] = {}
        width = 0
        for body, links in self.links.items():
            if len(links) <= FEW:
                groups = range(1 << len(links))
                rows += [
                    (link.effects, sum(1 << width + left for left in groups if not left >> k & 1))
                    for k, link in enumerate(links)
                ]
                start[body], asked[body] = width, (1 << len(groups)) - 1 << width
                width += len(groups)
        system = RigSystem(self.rig, (), self.already, self.structure)
        held = system.read(Reading.HELD, rows, width, asked)
        return {body: _most_apart(held[body] >> at, len(self.links[body])) for body, at in start.items()}

    def _detachable(self, rig: Rig) -> Rig:
        """The rig with a link in each contact of the bodies."""
        for body in self.links:
            self.parts[body] = replace(self.parts[body], standing=False, exposed=False)
        contacts: list[Contact] = []
        slides_off, none = baskets(rig.parts, rig.contacts), frozenset[str]()
        for contact in rig.contacts:
            whose = self.owner.get(contact.a), self.owner.get(contact.b)
            bodies = [body for body in whose if body is not None] if whose[0] != whose[1] else []
            with_it = slides_off.get(contact.a, none) & slides_off.get(contact.b, none)
            links = [self._link(body, with_it) for body in bodies]
            steps = pairwise((contact.a, *links, contact.b))
            contacts += [Contact(a, b, contact.place) for a, b in steps] if links else [contact]
        ropes = tuple(self._with_openings(rope) for rope in rig.ropes)
        failures = tuple(link for links in self.links.values() for link in links)
        return replace(rig, parts=self.parts, contacts=tuple(contacts), ropes=ropes, failures=failures)

    def _link(self, body: str, with_it: Iterable[str]) -> str:
        """`with_it`: what lies in a basket, and slides off when that contact is opened."""
        name = self._opened(body, lambda names: Effects(gone=names.union(with_it)))
        self.parts[name] = Part(name, "link", Nature.JOINT, self.parts[body].place)
        return name

    def _opened(self, body: str, effect: Callable[[frozenset[str]], Effects]) -> str:
        """One more link of a body, by its name."""
        name = f"attachment {len(self.links[body]) + 1} of {body}"
        failure = Failure(FailureId(name, "is opened"), effect(frozenset({name})), self.parts[body].place)
        self.links[body].append(failure)
        return name

    def _with_openings(self, rope: Rope) -> Rope:
        """The rope, which each body that it runs through may let out."""
        stations: list[Station] = []
        for station in rope.stations:
            body = self.owner.get(station.part) if station.role is Role.RUN else None
            if body is not None:
                station = replace(station, opened_by=self._opened(body, lambda names: Effects(open_hands=names)))
            stations.append(station)
        return replace(rope, stations=tuple(stations))


def _most_apart(held: int, count: int) -> int:
    """The largest number of disjoint groups of so many contacts that each hold alone: bit `g` of `held` tells it of
    the group with a bit for each of its contacts. None where the body is held by no contact at all."""
    every = (1 << count) - 1
    if held & 1 or not held >> every & 1:
        return 0
    most = [0] * (every + 1)
    for left in range(1, every + 1):
        group = left
        while group:
            if held >> group & 1:
                most[left] = max(most[left], 1 + most[left ^ group])
            group = group - 1 & left
    return most[every]
