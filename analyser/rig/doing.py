"""What a step is about, and who does it, where the file says."""

from __future__ import annotations

from analyser.rig.model import Rig, Role, Step

STILL = ("check", "say", "note")
"""Steps that change nothing."""


def named(step: Step) -> str:
    """The part, body or rope that a step is about, as its words have it."""
    words = step.words.split()
    return words[2] if step.verb in ("lock off", "take in", "pay out") else words[1].rstrip(":")


def done_by(step: Step, before: Rig) -> tuple[str, ...]:
    """Who does a step, where the file says: who works the device, or the devices and hands on a rope."""
    if step.verb in (*STILL, "declare", "attach", "detach", "rope", "rerig", "derig", "land", "lift", "move"):
        return ()
    name = named(step)
    part = before.parts.get(name)
    if part is not None:
        return (part.operated_by,) if part.operated_by else ()
    rope = next((one for one in before.ropes if one.name == name), None)
    stations = rope.stations if rope else ()
    found = [before.parts[s.part].operated_by for s in stations if s.role is Role.GRIP]
    found += [s.part for s in stations if s.role is Role.HAND]
    return tuple(dict.fromkeys(one for one in found if one))
