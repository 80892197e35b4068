"""Slips in the rigging as further failures: the rig of the file may not be the rig of the day.

Three sorts. What may be there unseen (`findings/latent.py`: a knot half tied, a gate left unlocked, a
device the wrong way round, a pad never placed) has the same effects as the failure it amounts to, so
such a failure is only *told* as a slip as well. Where the file takes that failure as impossible, it
comes back as a candidate: that somebody said "inspected" does not tie a knot. And for each contact that
somebody made, it may never have been made (a connector not clipped, a knot tied to nothing, a tail not
attached): that is no failure of a part, so each contact becomes a part of its own that can be gone.
A further part in a contact changes nothing else: what touches through it touches as before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from analyser.checking.latent import unseen
from analyser.language.identities import FailureId, Join
from analyser.rig.failing import what_fails
from analyser.rig.model import Contact, Effects, Failure, Maker, Nature, Part, Rig
from analyser.rig.plan import Plan

NEVER_MADE = "never joined"
GENERIC = "contact"


@dataclass(frozen=True)
class Slipped:
    """The rig with its slips among the failures, and each of them in words, by failure."""

    rig: Rig
    words: dict[str, str]


def with_slips(rig: Rig) -> Slipped:
    """The rig, and each state of its stages, with slips added to what may have happened."""
    words: dict[str, str] = {}
    first = _slipping(rig, words)
    if not isinstance(first, Plan):
        return Slipped(first, words)
    stages = tuple(
        replace(stage, steps=tuple(replace(step, rig=_slipping(step.rig, words)) for step in stage.steps))
        for stage in first.stages
    )
    return Slipped(replace(first, first=_slipping(first.first, words), stages=stages), words)


def _slipping(rig: Rig, words: dict[str, str]) -> Rig:
    impossible = {one.failure: one for one in rig.sound}
    back: list[Failure] = []
    for failure in (*rig.failures, *what_fails(rig.parts, rig.ropes).values()):
        said = unseen(rig, failure)
        if not said:
            continue
        if failure.id in impossible:
            back.append(failure)
            said += f" (line {impossible[failure.id].place.line} takes it as impossible)"
        words[failure.id] = said
    parts = dict(rig.parts)
    contacts: list[Contact] = []
    for contact in rig.contacts:
        if not contact.given or not _made_by_hand(rig, contact):
            contacts.append(contact)
            continue
        name = Join(contact.a, contact.b)
        parts[name] = Part(name, GENERIC, Nature.JOINT, contact.place, made_by=Maker.SLIP)
        contacts += [replace(contact, b=name), replace(contact, a=name)]
        failure = Failure(FailureId(name, NEVER_MADE), Effects(gone=frozenset({name})), contact.place)
        back.append(failure)
        words[failure.id] = f"{contact.a} was never joined to {contact.b}"
    failures = {failure.id: failure for failure in (*rig.failures, *back)}
    return replace(
        rig, parts=parts, contacts=tuple(contacts), failures=tuple(failures[one] for one in sorted(failures))
    )


def _made_by_hand(rig: Rig, contact: Contact) -> bool:
    """Not the ground under what was landed, nor what goes with something made for gear only."""
    one, two = rig.parts[contact.a], rig.parts[contact.b]
    return not (one.gear_only or two.gear_only) and Maker.LANDING not in (one.made_by, two.made_by)


def join(rig: Rig, name: str) -> Join | None:
    """The contact that a part of a rig with slips stands for; None for a part of the file."""
    part = rig.parts.get(name)
    return part.name if part is not None and isinstance(part.name, Join) else None
