"""What breaks under its load, at rest and after each single failure, and who falls then.

Twice: under what is left at rest, which follows from the figures; and at the upper end of the peak, which is
an estimate. What breaks under the first breaks under the second as well.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath, Broken, Cascade, cascade
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.strength import Factors, factors
from analyser.rig.model import Effects


@dataclass(frozen=True, slots=True)
class Overload:
    """What breaks one after the other after `failures` (none: as it hangs), the weakest first.

    `peak` may break more than `rest`: the tensions on the way may come up to it. None with nothing failed."""

    failures: tuple[str, ...]
    rest: Cascade
    peak: Cascade | None

    @property
    def surely(self) -> tuple[str, ...]:
        """Who falls where the load at rest alone is enough."""
        return self.rest.final.falls

    @property
    def perhaps(self) -> tuple[str, ...]:
        """Who falls beside them where the peak comes near its upper end."""
        return tuple(name for name in (self.peak.final.falls if self.peak else ()) if name not in self.surely)

    @property
    def broken(self) -> tuple[Broken, ...]:
        """All that may break, in order: what breaks at rest where anything does, else at the peak."""
        return self.rest.broken or (self.peak.broken if self.peak else ())


def overload_at_rest(statics: Statics, now: Equilibrium, told: Factors) -> Overload | None:
    """What breaks as the rig hangs, with nothing failed; `told` are its strength factors."""
    if told.weakest is None or told.weakest.factor >= 1:
        return None
    return Overload((), cascade(statics, base=now, peaks=False), None)


def overload(statics: Statics, now: Equilibrium, then: Aftermath, told: Factors | None = None) -> Overload | None:
    """What one aftermath breaks, or None. `now` is the rig at rest before it, `told` the strength factors at
    the upper end of the peak, where they are known."""
    if not then.accepted:
        return None
    told = told or factors(statics.rig, then.equilibrium, then.peaks)
    if told.weakest is None or told.weakest.factor >= 1:
        return None
    seen: dict[Effects, Aftermath] = {}
    rest = cascade(statics, then.failures, base=now, peaks=False, seen=seen)
    return Overload(then.failures, rest, cascade(statics, then.failures, base=now, seen=seen))
