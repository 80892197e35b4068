"""One scenario: a rig after some failures, as if they were how it is rigged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyser.checking.analysing import forces_asked_for
from analyser.checking.calling import At
from analyser.checking.delivered import Delivered
from analyser.checking.fates import in_words, together
from analyser.checking.results import BodyHeld, On, bodies_held
from analyser.checking.sentences import listed
from analyser.holding.outcome import Outcome, assess
from analyser.rig.model import Effects, Failure, Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.faring import Faring
    from analyser.forces.overloads import Overload


@dataclass(frozen=True, slots=True, repr=False)
class After(Delivered):
    """The rig after some failures: a whole outcome, as if they were how it is rigged."""

    SHAPE = "analyser.checking.shapes.WhatIf"

    at: At
    failures: tuple[Failure, ...]
    outcome: Outcome
    aftermath: Aftermath | None = None
    """What the forces say of it, where the file gives what they need."""
    overload: Overload | None = None
    """What breaks under its load then."""
    faring: Faring | None = None
    """Which frames tip then, and who turns over."""

    @property
    def rig(self) -> Rig:
        return self.at.rig

    @property
    def falls(self) -> tuple[str, ...]:
        """Who falls, by the connections or once what is overloaded has broken as well (also where that takes
        a start a centimetre aside)."""
        fallen = {*self.falls_by_connections}
        if self.overload:
            fallen |= {*self.overload.surely, *self.overload.perhaps}
        return tuple(sorted(fallen))

    @property
    def on(self) -> On:
        balanced = self.aftermath is not None and self.aftermath.accepted
        return "connections and forces" if balanced else "connections only"

    @property
    def failed(self) -> tuple[str, ...]:
        return tuple(failure.id for failure in self.failures)

    @property
    def bodies(self) -> tuple[BodyHeld, ...]:
        """How each body is held then, by name."""
        return bodies_held(self.rig, self.outcome)

    @property
    def falls_by_connections(self) -> tuple[str, ...]:
        return tuple(sorted(body.name for body in self.outcome.bodies if not body.held))

    @property
    def failure_sets(self) -> dict[str, tuple[tuple[str, ...], ...]]:
        """What drops each body that is still held, of what has not failed yet."""
        return self.outcome.failure_sets

    @property
    def short(self) -> str:
        then = together((body.name, body.fate) for body in self.outcome.bodies)
        return f"after {listed(self.failed) or 'nothing'}: {in_words(then) or 'nobody is to be held'}"


def after_failures(at: At, failures: Sequence[Failure], order: int = 2) -> After:
    """What is left after these failures: who falls, who is down to one, what holds the rest."""
    effects = Effects.joint(failure.effects for failure in failures)
    return After(at, tuple(failures), assess(at.rig, order, effects), *_what_follows(at.rig, failures))


def _what_follows(rig: Rig, failures: Sequence[Failure]) -> tuple[Aftermath | None, Overload | None, Faring | None]:
    if not forces_asked_for(rig):
        return None, None, None
    from analyser.forces.aftermath import after
    from analyser.forces.equilibrium import Statics
    from analyser.forces.faring import faring
    from analyser.forces.grounds import ground_of
    from analyser.forces.motion import motion
    from analyser.forces.overloads import overload

    statics = Statics.of(rig)
    if not isinstance(statics, Statics):
        return None, None, None
    now = statics.equilibrium()
    ground = ground_of(rig)
    then = after(statics, failures, now, ground)
    if now.accepted and then.accepted:
        then = then.moving(motion(statics, failures, now, ground=ground))
    return then, overload(statics, now, then), faring(statics, then.equilibrium, then.failures, now)
