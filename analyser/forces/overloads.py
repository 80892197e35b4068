"""What breaks under its load, at rest and after each single failure, and who falls then.

Twice: under what is left at rest, which follows from the figures; and at the upper end of the peak, which is
an estimate. What breaks under the first breaks under the second as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyser.forces.aftermath import Aftermath, Broken, Cascade, cascade
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.strength import factors


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


def overloads(statics: Statics, now: Equilibrium, after: Sequence[Aftermath]) -> tuple[Overload, ...]:
    """Every overload: of the rig at rest, then of what follows each failure, in the order given."""
    found: list[Overload] = []
    weakest = factors(statics.rig, now).weakest
    if weakest and weakest.factor < 1:
        found.append(Overload((), cascade(statics, base=now, peaks=False), None))
    return (*found, *(one for then in after if (one := overload(statics, now, then))))


def overload(statics: Statics, now: Equilibrium, then: Aftermath) -> Overload | None:
    """What one aftermath breaks, or None. `now` is the rig at rest before it."""
    if not then.accepted or not _short(statics, then):
        return None
    rest = cascade(statics, then.failures, base=now, peaks=False)
    return Overload(then.failures, rest, cascade(statics, then.failures, base=now))


def _short(statics: Statics, then: Aftermath) -> bool:
    weakest = factors(statics.rig, then.equilibrium, then.peaks).weakest
    return weakest is not None and weakest.factor < 1


def without_strength(statics: Statics, now: Equilibrium, after: Sequence[Aftermath]) -> tuple[str, ...]:
    """What carries load, at rest or after a failure, and has no strength given, by name."""
    found = {*factors(statics.rig, now).without}
    for then in after:
        if then.accepted:
            found |= {*factors(statics.rig, then.equilibrium).without}
    return tuple(sorted(found))
