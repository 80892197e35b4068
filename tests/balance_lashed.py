"""What is lashed to a body by rope alone moves with it: sentence 35 at the head of `balance.py`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyser.rig.model import Nature, Role, Rope

if TYPE_CHECKING:
    from balance_view import View

BODIES = (Nature.GROUND, Nature.FRAME, Nature.PERSON, Nature.LOAD, Nature.LITTER)


def lashed(view: View, part: str) -> bool:
    """Is this part's cluster held, as written, by nothing else than tails to bodies, and is one whole now?"""
    hardware = _hardware(view, part)
    if hardware is None or part not in view.joined.cluster:
        return False
    before = view.before
    tails = []
    for rope in view.case.ropes.values():
        for k, station in enumerate(rope.stations):
            if station.role is not Role.TIE or station.part not in hardware:
                continue
            for n in {k - 1, k + 1} & {*range(len(rope.stations))}:
                other = rope.stations[n]
                if other.role is not Role.TIE or other.part in hardware or not before.on_a_body(other.part):
                    return False
                tails.append((rope, k, n))
    return any(_whole(view, part, *tail) for tail in tails)


def _whole(view: View, part: str, rope: Rope, k: int, n: int) -> bool:
    """Does this tail, from one knot to the next, tie the part to what moves with the body now?"""
    here, there = rope.stations[k].part, rope.stations[n].part
    if rope.name not in view.ropes or rope.spans[min(k, n)] in view.effects.cut:
        return False
    one = view.joined.cluster.get(here) == view.joined.cluster[part]
    return one and view.ties(here) and view.ties(there) and view.on_a_body(there)


def _hardware(view: View, part: str) -> set[str] | None:
    """What touches a part as the rig is written, over everything; None where ground, somebody or a body is in it."""
    found, todo = {part}, [part]
    while todo:
        one = view.parts[todo.pop()]
        if (view.parts[one.body] if one.body else one).nature in BODIES:
            return None
        new = view.case.touching[one.name] - found
        found |= new
        todo += new
    return found
