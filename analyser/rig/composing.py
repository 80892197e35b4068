"""A state put together: what is there, what of it can fail, and what the file says of that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from analyser.language.identities import FailureId, Revision
from analyser.language.mistakes import Place
from analyser.rig.elements import Contact, Failure, Part, Rope
from analyser.rig.failing import hands_off, slid_off, two_ended, what_fails
from analyser.rig.figures import Units
from analyser.rig.model import Judged, Requirement, Rig, Waived
from analyser.rig.naming import Written, striking
from analyser.rig.present import Present, contacts_in, parts_in, ropes_in, undying


@dataclass(frozen=True)
class Said:
    """What a file says of every state alike."""

    title: str
    revision: Revision | None
    place: Place
    notes: tuple[str, ...]
    requirements: tuple[Requirement, ...]
    causes: Mapping[str, Written]
    sound: tuple[Judged, ...]
    accepted: tuple[Judged, ...]
    latent: tuple[Judged, ...]
    waived: tuple[Waived, ...]
    likely: Mapping[FailureId, float]
    units: Units


@dataclass(frozen=True)
class Composed:
    """One state: its pieces, and every failure that is possible by them alone."""

    parts: dict[str, Part]
    contacts: tuple[Contact, ...]
    ropes: tuple[Rope, ...]
    failures: dict[FailureId, Failure]

    def struck(self, causes: Mapping[str, Written]) -> dict[FailureId, Failure]:
        return striking(causes, self.failures, self.parts, self.ropes)


def in_a_basket(present: Present) -> frozenset[str]:
    """What lies in a basket by two ends in a state: by one, in another, it slides off."""
    return two_ended(present.parts, present.contacts.values())


def composed(present: Present, had_two: frozenset[str]) -> Composed:
    """One state of several: `had_two` is what lies in a basket by two ends in this or another of them."""
    parts, ropes = parts_in(present), ropes_in(present)
    contacts = tuple(slid_off(parts, contacts_in(present), ropes, had_two & parts.keys()))
    failures = what_fails(parts, ropes, contacts)
    for one in undying(present):
        failures.pop(one, None)
    return Composed(parts, contacts, ropes, failures)


def rig_of(one: Composed, said: Said, origin: Rig | None = None) -> Rig:
    """One state as a rig, `origin` the first: what is taken as sound does not fail, and what is given as likely is."""
    impossible = {judged.failure for judged in said.sound}
    possible = [f for f in (*one.failures.values(), *one.struck(said.causes).values()) if f.id not in impossible]
    likely = (replace(f, likelihood=said.likely.get(f.id, f.likelihood)) for f in possible)
    return Rig(
        title=said.title,
        revision=said.revision,
        place=said.place,
        parts=one.parts,
        contacts=one.contacts,
        ropes=one.ropes,
        failures=tuple(sorted(likely, key=lambda f: f.id)),
        sound=said.sound,
        accepted=said.accepted,
        waived=said.waived,
        latent=said.latent,
        requirements=said.requirements,
        notes=said.notes,
        units=said.units,
        hands_off=hands_off(one.parts),
        origin=origin,
    )
