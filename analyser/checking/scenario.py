"""One scenario: a rig after some failures, as if they were how it is rigged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

from analyser.checking.analysing import forces_asked_for
from analyser.checking.calling import At
from analyser.checking.delivered import Delivered
from analyser.checking.dropping_told import as_followed
from analyser.checking.fates import in_words, together
from analyser.checking.free_along import Free, freed_after
from analyser.checking.off_their_feet import footing_lost
from analyser.checking.results import BodyHeld, On, bodies_held
from analyser.checking.sentences import listed
from analyser.holding.fate import Fate
from analyser.holding.outcome import Outcome, after_each, assess, what_if
from analyser.rig.model import Effects, Failure, Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.equilibrium import Equilibrium
    from analyser.forces.faring import Faring
    from analyser.forces.overloads import Overload


MOST_ALIKE = 8
"""So many that are as bad are told apart by who is left with least."""


@dataclass(frozen=True, slots=True)
class InTurn:
    """One of several ways in which what was asked can be, and what happens then."""

    failures: tuple[Failure, ...]
    fates: tuple[tuple[str, Fate], ...]

    @property
    def failed(self) -> tuple[str, ...]:
        return tuple(failure.id for failure in self.failures)

    def bad(self) -> tuple[int, list[int]]:
        """How bad it is, by the connections: the least is the worst."""
        return -len(self.falls), sorted(fate.kind.rank for _, fate in self.fates)

    @property
    def falls(self) -> tuple[str, ...]:
        """Who is not held then."""
        return tuple(sorted(name for name, fate in self.fates if fate.not_held))


def each_in_turn(rig: Rig, asked: Sequence[tuple[Failure, ...]]) -> list[InTurn]:
    """One of each of these, in every combination: the worst first, and of what is as bad the first."""
    several = list(product(*asked))
    after = after_each(rig, [Effects.joint(one.effects for one in some) for some in several])
    found = [InTurn(some, then.fates) for some, then in zip(several, after, strict=True)]
    found.sort(key=InTurn.bad)
    alike = [one for one in found if one.bad() == found[0].bad()]
    if 1 < len(alike) <= MOST_ALIKE:  # who is left with least then
        alike.sort(key=lambda one: _left(rig, one))
    return [*alike, *found[len(alike) :]]


def _left(rig: Rig, one: InTurn) -> int:
    """How many independent ways of being held are left, of all."""
    then = assess(rig, 1, Effects.joint(failure.effects for failure in one.failures))
    return sum(body.independent or 0 for body in then.bodies)


def the_worst(rig: Rig, asked: Sequence[tuple[Failure, ...]]) -> list[Failure]:
    """One of each of these: those that do the worst together."""
    if all(len(one) == 1 for one in asked):
        return [one[0] for one in asked]
    return list(each_in_turn(rig, asked)[0].failures)


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
    in_turn: tuple[InTurn, ...] = ()
    """Where a rope was said to be cut, and not where: each of its spans, the worst first, which is told."""
    bars_that_tip: tuple[str, ...] = ()
    """Bars that an end, or a side, has let go of: structure, that nobody asks after."""

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
    def free(self) -> tuple[Free, ...]:
        """Who is held all the same, and only runs along a line then."""
        effects = Effects.joint(failure.effects for failure in self.failures)
        return freed_after(self.rig, effects, (body.name for body in self.outcome.bodies if body.held))

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
        return {name: sets.told for name, sets in self.outcome.failure_sets.items()}

    @property
    def short(self) -> str:
        then = together((body.name, body.fate) for body in self.outcome.bodies)
        return f"after {listed(self.failed) or 'nothing'}: {in_words(then) or 'nobody is to be held'}"


def after_asked(at: At, asked: Sequence[tuple[Failure, ...]], order: int = 2) -> After:
    """The same of failures that are named; of a rope that is cut and not where, the worst of its spans."""
    turns = each_in_turn(at.rig, asked) if any(len(one) > 1 for one in asked) else []
    failures = turns[0].failures if turns else the_worst(at.rig, asked)
    return replace(after_failures(at, failures, order), in_turn=tuple(turns))


def after_failures(at: At, failures: Sequence[Failure], order: int = 2) -> After:
    """What is left after these failures: who falls, who is down to one, what holds the rest."""
    effects = Effects.joint(failure.effects for failure in failures)
    scenario = what_if(at.rig, failures)
    now, then, breaking, fares = _what_follows(at.rig, failures)
    effects |= footing_lost(at.rig, then.equilibrium if then else None, fares)
    outcome = assess(at.rig, order, effects).no_better_than(scenario)
    bars = tuple(name for name in scenario.tips if not at.rig.parts[name].is_body)
    return After(at, tuple(failures), as_followed(outcome, then, now), then, breaking, fares, bars_that_tip=bars)


def _what_follows(
    rig: Rig, failures: Sequence[Failure]
) -> tuple[Equilibrium | None, Aftermath | None, Overload | None, Faring | None]:
    if not forces_asked_for(rig):
        return None, None, None, None
    from analyser.forces.aftermath import after
    from analyser.forces.equilibrium import Statics
    from analyser.forces.faring import faring
    from analyser.forces.grounds import ground_of
    from analyser.forces.motion import motion
    from analyser.forces.overloads import overload

    statics = Statics.of(rig)
    if not isinstance(statics, Statics):
        return None, None, None, None
    now = statics.equilibrium()
    ground = ground_of(rig)
    then = after(statics, failures, now, ground)
    if now.accepted and then.accepted:
        then = then.moving(motion(statics, failures, now, ground=ground))
    return now, then, overload(statics, now, then), faring(statics, then.equilibrium, then.failures, now)
