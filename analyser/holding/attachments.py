"""How many attachments a body has: disjoint groups of its own contacts, each enough alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from analyser.holding.search import Packing, Search
from analyser.holding.structure import Structure
from analyser.holding.system import RigSystem
from analyser.language.identities import FailureId
from analyser.rig.model import Contact, Effects, Failure, Nature, Part, Rig, Role, Rope, Station


class Attached:
    """Bodies of a rig with a link of its own in each of their contacts, one rig for all of them.

    A body's contacts are those of its points with other parts, and ropes' stations at it.
    """

    def __init__(self, rig: Rig, bodies: Sequence[str], already: Effects | None = None) -> None:
        self.already = already
        self.links: dict[str, list[Failure]] = {}
        for body in bodies:
            rig, self.links[body] = _detachable(rig, body)
        self.rig = rig
        self.structure = Structure(rig, loose=False)

    def number(self, body: str) -> int:
        """The largest number of disjoint groups of a body's contacts, each of which holds it alone.

        A person who is standing is asked as if off their feet: standing is not an attachment.
        """
        if not self.links[body]:
            return 0
        system = RigSystem(self.rig, self.links[body], self.already, self.structure)
        system.goals = [body]
        packed: Packing = Search(system).independent(body)
        return packed.number or 0


def _detachable(rig: Rig, body: str) -> tuple[Rig, list[Failure]]:
    """The rig with a link of its own in each contact of the body, and the failures of the links."""
    own = {body, *rig.parts[body].points}
    parts = dict(rig.parts)
    parts[body] = replace(parts[body], standing=False, exposed=False)
    place = rig.parts[body].place
    failures: list[Failure] = []

    def opened(effect: Callable[[frozenset[str]], Effects]) -> str:
        name = f"attachment {len(failures) + 1} of {body}"
        failures.append(Failure(FailureId(name, "is opened"), effect(frozenset({name})), place))
        return name

    contacts: list[Contact] = []
    for contact in rig.contacts:
        if (contact.a in own) == (contact.b in own):
            contacts.append(contact)
            continue
        mine, other = (contact.a, contact.b) if contact.a in own else (contact.b, contact.a)
        name = opened(lambda names: Effects(gone=names))
        parts[name] = Part(name, "link", Nature.JOINT, place)
        contacts += [Contact(mine, name, contact.place), Contact(name, other, contact.place)]
    ropes: list[Rope] = []
    for rope in rig.ropes:
        stations: list[Station] = []
        for station in rope.stations:
            if station.role is Role.RUN and station.part in own:
                station = replace(station, opened_by=opened(lambda names: Effects(open_hands=names)))
            stations.append(station)
        ropes.append(replace(rope, stations=tuple(stations)))
    apart = replace(rig, parts=parts, contacts=tuple(contacts), ropes=tuple(ropes), failures=tuple(failures))
    return apart, failures
