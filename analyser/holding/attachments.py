"""How many attachments a body has: disjoint groups of its own contacts, each enough alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyser.holding.search import Packing, Search
from analyser.holding.structure import Structure
from analyser.holding.system import RigSystem
from analyser.rig.model import Contact, Effects, Failure, Nature, Part, Rig, Role, Rope, Station


class Attached:
    """Bodies of a rig with a link of its own in each of their contacts.

    A body's contacts are those of its points with other parts, and ropes' stations at it. Links in
    contacts change nothing for other bodies, so that one rig serves them all; a link between a rope
    and the point it runs through does (what moves with somebody beside it would end at the point),
    so that such a body has a rig of its own.
    """

    def __init__(self, rig: Rig, bodies: Sequence[str], already: Effects | None = None) -> None:
        self.already = already
        self.links: dict[str, list[Failure]] = {}
        self.made: dict[str, tuple[Rig, Structure]] = {}
        runs = {s.part for rope in rig.ropes for s in rope.stations if s.role is Role.RUN}
        apart = [body for body in bodies if not runs.isdisjoint((body, *rig.parts[body].points))]
        shared = rig
        for body in bodies:
            if body not in apart:
                shared, self.links[body] = _detachable(shared, body)
        made = (shared, Structure(shared, loose=False))
        self.made |= dict.fromkeys(self.links, made)
        for body in apart:
            own, self.links[body] = _detachable(rig, body)
            self.made[body] = (own, Structure(own, loose=False))

    def number(self, body: str) -> int:
        """The largest number of disjoint groups of a body's contacts, each of which holds it alone.

        A person who is standing is asked as if off their feet: standing is not an attachment.
        """
        if not self.links[body]:
            return 0
        rig, structure = self.made[body]
        system = RigSystem(rig, self.links[body], self.already, structure)
        system.goals = [body]
        packed: Packing = Search(system).independent(body)
        return packed.number or 0


def _detachable(rig: Rig, body: str) -> tuple[Rig, list[Failure]]:
    """The rig with a link of its own in each contact of the body, and the failures of the links."""
    own = {body, *rig.parts[body].points}
    parts = dict(rig.parts)
    parts[body] = replace(parts[body], standing=False, exposed=False)
    place = rig.parts[body].place
    links: list[str] = []

    def link() -> str:
        name = f"attachment {len(links) + 1} of {body}"
        links.append(name)
        parts[name] = Part(name, "link", Nature.JOINT, place)
        return name

    contacts: list[Contact] = []
    for contact in rig.contacts:
        if (contact.a in own) == (contact.b in own):
            contacts.append(contact)
            continue
        mine, other = (contact.a, contact.b) if contact.a in own else (contact.b, contact.a)
        name = link()
        contacts += [Contact(mine, name, contact.place), Contact(name, other, contact.place)]
    ropes: list[Rope] = []
    for rope in rig.ropes:
        stations: list[Station] = []
        for station in rope.stations:
            if station.role is Role.RUN and station.part in own:
                name = link()
                contacts.append(Contact(station.part, name, station.place))
                stations.append(replace(station, part=name))
            else:
                stations.append(station)
        ropes.append(replace(rope, stations=tuple(stations)))
    failures = [Failure(f"{n} is opened", n, "is opened", Effects(gone=frozenset({n})), place) for n in links]
    apart = replace(rig, parts=parts, contacts=tuple(contacts), ropes=tuple(ropes), failures=tuple(failures))
    return apart, failures
