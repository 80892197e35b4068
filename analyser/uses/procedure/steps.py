"""A step in plain words: what is done, by whom, and how it is undone."""

from __future__ import annotations

from collections.abc import Callable

from analyser.checking.finding import listed
from analyser.language.spelling import listed as commas
from analyser.language.spelling import spelt_chain, spelt_done
from analyser.language.syntax import STILL
from analyser.rig.figures import as_place
from analyser.rig.model import Part, Rig, Role, Rope, Station, Step

LEFT_LYING = (*STILL, "declare")
"""Steps that nothing is taken back of: what was brought in may lie where it is."""


OFF_THE_KNOT = tuple(role for role in Role if role is not Role.TIE)


def told(step: Step) -> str:
    """What is done, as an order."""
    words = _done(step).replace(" - ", " – ")
    if step.still:
        return step.text
    if step.verb == "declare":
        return f"Bring in: {words}"
    if step.verb == "rope":
        return f"Bring in the rope {step.about}: {_laid(step.rig, step.about)}"
    if step.verb == "rerig":
        return f"Lay {step.about} anew: {_laid(step.rig, step.about)}"
    if step.verb == "derig":
        return f"Take the rope {step.about} out"
    if step.verb == "lift":
        return f"{_upper(words)} the ground"
    return _upper(words)


def undone(step: Step, before: Rig) -> str | None:
    """How a step is taken back; None where there is nothing to take back."""
    return None if step.verb in LEFT_LYING else UNDOING[step.verb](step, before)


def _done(step: Step) -> str:
    """The step as written, without who does it."""
    return spelt_done(step.line) if step.line.by else step.words


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _laid(rig: Rig, name: str) -> str:
    """A rope's stations from its start to its end, in words."""
    rope = rig.index.ropes[name]
    return "; ".join(_station(rig, rope, station) for station in rope.stations)


def _station(rig: Rig, rope: Rope, station: Station) -> str:
    name = station.part
    if station.role is Role.TIE:
        part = rig.parts[name]
        others = [one for one in rig.index.ropes_at(name, Role.TIE) if one != rope.name]
        if others:
            return f"joined to {listed(others)} with {part.kind} {name}"
        ends = listed(rig.touching[name])
        knot = part.kind if part.rope == rope.name else "knot"
        return f"tied to {ends} with {knot} {name}" if ends else f"{knot} {name}"
    if station.role is Role.OVER:
        guards = (*station.guards, *rig.parts[name].guards)
        return f"over {name}, padded by {listed(guards)}" if guards else f"over {name}, bare"
    if station.role is Role.STOPPER:
        return f"stopper {name}{' at the end' if station in (rope.stations[0], rope.stations[-1]) else ''}"
    words = {Role.RUN: "through", Role.GRIP: "gripped by", Role.HAND: "in the hands of"}
    return f"{words[station.role]} {name}"


def _undo_attach(step: Step, before: Rig) -> str:
    onto = step.line.onto
    if onto:
        part = onto.station.name or onto.station.chain[0].name or onto.station.chain[0].kind
        again = f"Once it is slack, take {part.text if part else 'it'} off {onto.rope.text} again"
        return f"{again}, and take off {spelt_chain(step.line.chain, ' – ')}" if len(step.line.chain) > 1 else again
    return f"Once it is slack, take off again: {spelt_chain(step.line.chain, ' – ')}"


def _undo_detach(step: Step, before: Rig) -> str:
    names = [word.text for word in step.line.names]
    bends = [name for name in names if name in before.index.bends]
    again = [f"join {_both(before, name)} again with {before.parts[name].kind} {name}" for name in bends]
    if step.line.others and not bends:
        return f"Attach {commas(step.line.names)} to {commas(step.line.others)} again"
    for name in (name for name in names if name not in bends):
        ropes = list(before.index.ropes_at(name, *OFF_THE_KNOT))
        own = before.parts[name].points
        touched = [other for one in (name, *own) for other in before.touching[one]]
        again.append(f"attach {name} again to {listed(touched + ropes)}")
    return _upper("; ".join(again))


def _both(rig: Rig, bend: str) -> str:
    return listed(rig.index.ropes_at(bend, Role.TIE))


def _undo_mode(step: Step, before: Rig) -> str:
    """A device goes back to what it was: it gripped nothing, by itself, or was in hand, or was locked off."""
    name = step.about
    part: Part = before.parts[name]
    if part.held_open:
        return f"Hold {name} open again"
    grips = before.index.at(name, Role.GRIP)
    if grips and not any(at.station.to_start or at.station.to_end for at in grips):
        return f"Open {name} again"
    if step.verb == "hold open" and (part.self_locking or part.minded_by) and not part.in_hand:
        return f"Let {name} grip again"
    locked = part.self_locking and not part.in_hand
    return f"Lock off {name} again" if locked or not part.operated_by else f"Take {name} in hand again"


def _undo_move(step: Step, before: Rig) -> str:
    at = before.parts[step.about].at
    place = as_place(at) if at else "where it was"
    return f"Move {step.about} back to {place}"


def _undo_rerig(step: Step, before: Rig) -> str:
    """Laid as it was; a rope that had been taken out before is taken out again."""
    if step.about not in before.index.ropes:
        return f"Once it is slack, take the rope {step.about} out again"
    return f"Lay {step.about} as it was: {_laid(before, step.about)}"


UNDOING: dict[str, Callable[[Step, Rig], str]] = {
    "attach": _undo_attach,
    "detach": _undo_detach,
    "lock off": _undo_mode,
    "take in hand": _undo_mode,
    "open": _undo_mode,
    "hold open": _undo_mode,
    "let grip": _undo_mode,
    "move": _undo_move,
    "rope": lambda step, before: f"Once it is slack, take the rope {step.about} out again",
    "rerig": _undo_rerig,
    "derig": lambda step, before: f"Lay {step.about} again: {_laid(before, step.about)}",
    "take in": lambda step, before: _upper(_done(step).replace("take in", "pay out")),
    "pay out": lambda step, before: _upper(_done(step).replace("pay out", "take in")),
    "slide": lambda step, before: _upper(_done(step).replace(" along ", " back along ")),
    "land": lambda step, before: f"Lift {step.about} off the ground again",
    "lift": lambda step, before: f"Land {step.about} on the ground again",
}
"""How each kind of step is taken back."""
