"""Who stands on what hangs: for the forces they touch it, and their weight rests there until they lose footing."""

from __future__ import annotations

from dataclasses import replace

from analyser.rig.model import Contact, Rig


def with_feet(rig: Rig) -> Rig:
    """The rig in which whoever stands on what hangs touches that, and is on no ground."""
    on = [part for part in rig.parts.values() if part.stands_on and part.standing]
    if not on:
        return rig
    feet = (Contact(part.name, str(part.stands_on), part.place) for part in on)
    parts = {**rig.parts, **{part.name: replace(part, standing=False) for part in on}}
    return replace(rig, parts=parts, contacts=(*rig.contacts, *feet))


def stands(rig: Rig, contact: Contact, unfooted: frozenset[str]) -> bool:
    """Is this contact still there, as far as it is somebody's feet?"""
    lost = ((a, b) for a, b in ((contact.a, contact.b), (contact.b, contact.a)) if a in unfooted)
    return not any(rig.parts[a].stands_on == b for a, b in lost)
