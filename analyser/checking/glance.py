"""Who is held as a rig is, and which single failures alone bring them down: a few sweeps, before all else is known.

No pairs, no rules, no requirements, no forces, and the rig as first attached alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from analyser.checking.fates import SHAKEN
from analyser.holding.fate import HELD, Fate
from analyser.holding.outcome import after_each
from analyser.holding.portions import NOT_OF_THE_ROPES, Portion, apart
from analyser.language.identities import FailureId
from analyser.rig.model import Effects, Rig


@dataclass(frozen=True, slots=True)
class Glance:
    """A body, what becomes of it as the rig is, and after which failures alone it is no longer held (none, where it
    isn't to begin with; None where that was not asked); `shaken`: some failure alone leaves it held, and tips or drops
    it first."""

    body: str
    fate: Fate
    alone: tuple[FailureId, ...] | None = None
    shaken: bool = False


def as_it_is(rig: Rig) -> tuple[Glance, ...]:
    """Everybody with nothing failed."""
    (first,) = after_each(rig, [Effects()])
    return tuple(Glance(body.name, first.fate(body.name)) for body in rig.bodies)


class Glances:
    """What was told of the pieces of a rig before, for a text that is being written: of what only ground joins to the
    rest, and is as it was, nothing is worked out again."""

    def __init__(self) -> None:
        self._known: list[tuple[Portion, tuple[Glance, ...]]] = []

    def of(self, rig: Rig) -> tuple[Glance, ...]:
        """The same as `at_a_glance`."""
        if rig.origin:
            return at_a_glance(rig)
        found = []
        for piece in apart(replace(rig.alone, **NOT_OF_THE_ROPES)):
            same = (told for known, told in self._known if known == piece)
            found.append((piece, next(same, ()) or at_a_glance(piece.rig)))
        self._known = found
        told = {one.body: one for piece, glances in found for one in glances if one.body in piece.bodies}
        return tuple(told[body.name] for body in rig.bodies)


def at_a_glance(rig: Rig) -> tuple[Glance, ...]:
    """Everybody with nothing failed, and after each failure alone."""
    first, *after = after_each(rig, [Effects(), *(one.effects for one in rig.failures)])
    amiss = [(failure.id, then.fated) for failure, then in zip(rig.failures, after, strict=True)]
    found = []
    for body in rig.bodies:
        fate = first.fate(body.name)
        then = [(failure, fates.get(body.name, HELD)) for failure, fates in amiss]
        alone = () if fate.not_held else tuple(failure for failure, one in then if one.not_held)
        shaken = fate.kind in SHAKEN or any(one.kind in SHAKEN for _, one in then)
        found.append(Glance(body.name, fate, alone, shaken))
    return tuple(found)
