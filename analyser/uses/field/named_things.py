"""Bodies, parts and ropes as papers name them, in no language yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyser.checking.hung_on import Thing
from analyser.uses.field.said import Said, said

MOST = 8
"""Things named on which somebody hangs; the lists below name all."""
MOST_NAMES = 8
"""Names in the head."""
CUTS, HOLDS_ON = "cuts", "holds on"
MODES = {
    "slips": "thing-slips",
    "shifts": "thing-shifts",
    "cuts": "thing-cuts",
    "lets go": "thing-lets-go",
    "holds on": "thing-holds-on",
    "loses footing": "thing-loses-footing",
    "strikes": "thing-strikes",
}


def joined(key: str, several: Sequence[Said]) -> Said:
    """One after the other, by a sentence with a gap for `one` and one for the `other`."""
    whole, *more = several
    for one in more:
        whole = said(key, one=whole, other=one)
    return whole


def names_of(bodies: tuple[str, ...]) -> Said:
    """Names, the first of them where they are many."""
    if len(bodies) <= MOST_NAMES + 1:
        return said("names", names=bodies)
    return said("names-and-more", names=", ".join(bodies[:MOST_NAMES]), more=len(bodies) - MOST_NAMES)


def thing(one: Thing) -> Said:
    """A part, a rope, a stretch of one, with what it does where that is not simply to fail."""
    if one.a:
        return said("thing-between", name=one.name, a=one.a, b=one.b)
    if one.mode:
        return said(MODES[one.mode], name=one.name)
    return said("thing-of-kind", name=one.name, kind=one.kind) if one.kind else said("names", names=(one.name,))


def places(things: Sequence[Thing]) -> tuple[Thing, ...]:
    """The same to be looked at, whatever they may do; an edge does not fail, it cuts."""
    return tuple(dict.fromkeys(replace(one, mode=one.mode if one.mode == CUTS else "", kind="") for one in things))


def all_of(things: Sequence[Thing], most: int = MOST, *, chain: bool = False) -> Said:
    """Things one after another, the first of them where they are many; of a `chain` from the ground down."""
    shown = things if len(things) <= most + 1 else things[:most]
    first = [thing(one) for one in shown]
    if left := len(things) - len(first):
        return said("names-and-more", names=joined("chain-then" if chain else "both", first), more=left)
    if chain:
        return joined("chain-then", first)
    if len(first) > 1:
        return said("and", first=joined("both", first[:-1]), last=first[-1])
    return first[0]
