"""What breaks under its load, at rest and after each single failure, and who falls then.

Twice: under what is left at rest, which follows from the figures alone; and in time, one after the other as it
happens on the way (`motion.py`). What breaks under the first is taken to break as well where that isn't told.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath, Cascade, cascade
from analyser.forces.breaking import Broken
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.motion import Motion
from analyser.forces.strength import Factors, factors


@dataclass(frozen=True, slots=True)
class Overload:
    """What breaks one after the other after `failures` (none: as it hangs): under the load at rest the weakest
    first, in time (`motion`, where it was followed) in order."""

    failures: tuple[str, ...]
    rest: Cascade
    motion: Motion | None

    @property
    def surely(self) -> tuple[str, ...]:
        """Who falls where the load at rest is enough, or in time from the start as drawn."""
        return tuple(sorted({*self.rest.final.falls, *(self.motion.falls if self.motion else ())}))

    @property
    def perhaps(self) -> tuple[str, ...]:
        """Who falls beside them in time, from a start a centimetre aside."""
        return tuple(name for name in (self.motion.perhaps if self.motion else ()) if name not in self.surely)

    @property
    def broken(self) -> tuple[Broken, ...]:
        """All that breaks, in order: in time where that is told, else what breaks at rest."""
        moving = tuple(one.broken for one in self.motion.broken) if self.motion else ()
        return moving or self.rest.broken

    @property
    def aside(self) -> tuple[str, ...]:
        """What breaks only from some start a centimetre aside."""
        told = {one.name for one in self.broken}
        return tuple(
            dict.fromkeys(name for one in (self.motion.aside if self.motion else ()) for name in one.broken
                          if name not in told)
        )  # fmt: skip


def overload_at_rest(statics: Statics, now: Equilibrium, told: Factors) -> Overload | None:
    """What breaks as the rig hangs, with nothing failed; `told` are its strength factors."""
    if told.weakest is None or told.weakest.factor >= 1:
        return None
    return Overload((), cascade(statics, base=now), None)


def overload(statics: Statics, now: Equilibrium, then: Aftermath) -> Overload | None:
    """What one aftermath breaks, or None. `now` is the rig at rest before it."""
    if not then.accepted:
        return None
    told = factors(statics.rig, then.equilibrium)
    moving = then.motion is not None and (then.motion.broken or any(one.broken for one in then.motion.aside))
    if not moving and (told.weakest is None or told.weakest.factor >= 1):
        return None
    return Overload(then.failures, cascade(statics, then.failures, base=now), then.motion)
