"""A rig as the forces see it: who stands on what hangs rests on it, a bar with ends is as rigid as a load, and what
is attached to a harness that carries through doesn't hang on whoever stands in it."""

from __future__ import annotations

from dataclasses import replace

from analyser.rig.model import Contact, Nature, Part, Rig


def as_pulled(rig: Rig) -> Rig:
    """The rig in which whoever stands on what hangs touches that, and is on no ground."""
    feet = [part for part in rig.parts.values() if part.stands_on and part.standing]
    bars = [part for part in rig.parts.values() if part.nature is Nature.JOINT and len(part.points) > 1]
    loops = {part.name: part.body for part in rig.parts.values() if part.carries_through and _stands(rig, part)}
    if not feet and not bars and not loops:
        return rig
    parts = {**rig.parts, **{part.name: replace(part, standing=False) for part in feet}}
    parts |= {part.name: replace(part, nature=Nature.LOAD) for part in bars}
    contacts = (*rig.contacts, *(Contact(part.name, str(part.stands_on), part.place) for part in feet))
    return replace(
        rig, parts=parts, contacts=tuple(c for c in contacts if loops.get(c.a, "") != c.b and loops.get(c.b, "") != c.a)
    )


def _stands(rig: Rig, harness: Part) -> bool:
    return bool(harness.body) and rig.parts[str(harness.body)].standing


def on_it(rig: Rig, contact: Contact, unfooted: frozenset[str]) -> bool:
    """Is this contact still there, as far as it is somebody's feet?"""
    lost = ((a, b) for a, b in ((contact.a, contact.b), (contact.b, contact.a)) if a in unfooted)
    return not any(rig.parts[a].stands_on == b for a, b in lost)
