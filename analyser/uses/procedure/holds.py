"""Who is held by what in one state, in words, and what is left of it after one failure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analyser.checking.consequences import effects
from analyser.checking.fates import Together
from analyser.checking.free_along import Free, freed
from analyser.checking.held_by import Legs, held_by, way_in_words
from analyser.checking.results import State
from analyser.holding.fate import Fate, Kind
from analyser.holding.outcome import BodyOutcome
from analyser.holding.reviewing import Review
from analyser.rig.model import Failure, Nature, Rig


@dataclass(frozen=True, slots=True)
class Hold:
    """One body: in how many independent ways it is held, and by what each runs.

    `independent` is None where no failure can drop it; `by` is empty where nothing holds it.
    """

    body: str
    kind: str
    fate: Fate
    independent: int | None
    by: tuple[str, ...]

    @property
    def held(self) -> bool:
        return not self.fate.not_held

    @property
    def tips(self) -> bool:
        return self.fate.kind in (Kind.TIPS, Kind.TURNS_OVER)

    @property
    def by_hand_only(self) -> bool:
        return self.fate.kind is Kind.BY_A_PERSON


def holds(state: State) -> tuple[Hold, ...]:
    """Every body of a state, people first."""
    return tuple(_hold(state.rig, body) for body in state.outcome.bodies)


def _hold(rig: Rig, body: BodyOutcome) -> Hold:
    by = tuple(way_in_words(rig, body.name, way) for way in body.ways)
    part = rig.parts[body.name]
    return Hold(body.name, part.kind, body.fate, body.independent, by)


@dataclass(frozen=True, slots=True)
class Worked:
    """A device and who works it."""

    device: str
    person: str


@dataclass(frozen=True, slots=True)
class Left:
    """Whom one more failure drops, after the first: `legs` are the parts on the way that is left, leg by leg and from
    the ground down, of which each does; where none is, `next` are the failures that do; `devices` those of them that
    somebody works."""

    bodies: tuple[str, ...]
    legs: Legs
    next: tuple[str, ...]
    devices: tuple[Worked, ...]

    @property
    def on(self) -> tuple[str, ...]:
        """The parts of all legs."""
        return tuple(name for leg in self.legs for name in leg)

    @property
    def chain(self) -> str:
        """The same in words: `bolt – rope – ring`, `far-tree – track – ring, with near-tree`."""
        return ", with ".join(" – ".join(leg) for leg in self.legs)


@dataclass(frozen=True, slots=True)
class Loss:
    """What one failure does to those who are held.

    `what` happens to those who are worse off by it, the worst first. `left` are those whom one more failure drops
    that could not do so before; `weakened` those who lose a way of being held and have two at least; `free` those
    who only run along a line then.
    """

    what: tuple[Together, ...] = ()
    left: tuple[Left, ...] = ()
    weakened: tuple[str, ...] = ()
    free: tuple[Free, ...] = ()

    @property
    def falls(self) -> tuple[str, ...]:
        """Those who are no longer held."""
        return tuple(sorted(name for one in self.what if one.fate.not_held for name in one.bodies))

    @property
    def shaken(self) -> tuple[str, ...]:
        """Those who are held all the same, and tip, turn over, drop first or run along a line."""
        shaken = {name for one in self.what if not one.fate.not_held for name in one.bodies}
        return tuple(sorted(shaken.union(*(one.bodies for one in self.free))))

    @property
    def tips(self) -> tuple[str, ...]:
        return tuple(
            sorted(n for one in self.what if one.fate.kind in (Kind.TIPS, Kind.TURNS_OVER) for n in one.bodies)
        )

    @property
    def left_on_one(self) -> tuple[str, ...]:
        return tuple(sorted(name for left in self.left for name in left.bodies))

    @property
    def anything(self) -> bool:
        return bool(self.what or self.left or self.weakened or self.free)


def losses(state: State) -> Iterator[tuple[str, Loss]]:
    """Every single failure of a state and its effect, in order of the failures."""
    outcome = state.outcome
    already = {body.name for body in outcome.bodies if not body.held}
    partners: dict[str, dict[str, set[str]]] = {}
    for name, sets in outcome.failure_sets.items():
        for cut in sets:
            for one, other in (cut, cut[::-1]) if len(cut) == 2 else ():
                partners.setdefault(one, {}).setdefault(name, set()).add(other)
    events = state.rig.index.failures
    free: dict[str, list[Free]] = {}
    for one_free, failures in freed(state.rig, outcome).items():
        for name in failures if one_free.sure else ():
            free.setdefault(name, []).append(one_free)
    known: dict[tuple[str, frozenset[str]], Legs] = {}
    for failure, told in effects(outcome):
        what = told.what
        falls = tuple(name for name in failure.falls if name not in already)
        mine = partners.get(failure.id, {})
        left: dict[tuple[Legs, tuple[str, ...]], list[str]] = {}
        for body in outcome.bodies:
            if body.name in mine and body.name not in falls:
                key = (body.name, frozenset(mine[body.name]))
                if key not in known:  # what drops a body then is the same, whichever failure came first
                    known[key] = _hangs_on(state, body, events[failure.id], mine[body.name])
                on = known[key]
                more = () if on else tuple(sorted(mine[body.name]))
                left.setdefault((on, more), []).append(body.name)
        gone = (*already, *falls, *mine)
        yield (
            failure.id,
            Loss(
                what,
                tuple(Left(tuple(b), on, more, tuple(_worked(state.rig, on))) for (on, more), b in left.items()),
                tuple(_weakened(state, [b for b in outcome.bodies if b.name not in gone], events[failure.id])),
                tuple(free.get(failure.id, ())),
            ),
        )


def _hangs_on(state: State, body: BodyOutcome, failure: Failure, others: set[str]) -> Legs:
    """The parts of which each now drops a body, in the order and by the legs of a way that is left to it."""
    rig = state.rig
    deadly = {_word(rig, rig.index.failures[one]) for one in others}
    way = next((way for way in body.ways if failure.id not in way), None)
    if way is None:
        way = next(iter(Review(rig, already=failure.effects).independent(body.name).ways), ())
    told: set[str] = set()
    legs = []
    for leg in held_by(rig, body.name, way):
        mine = tuple(name for name in leg if name in deadly and name not in told)
        told.update(mine)
        legs += [mine] if mine else []
    return tuple(legs)


def _word(rig: Rig, failure: Failure) -> str:
    """A stretch or a knot is told as its rope."""
    known = rig.parts.get(failure.part)
    return (known and known.rope) or failure.id.owner


def _weakened(state: State, bodies: Sequence[BodyOutcome], failure: Failure) -> Iterator[str]:
    """Who has fewer independent ways of being held after a failure, of those who have two at least then:
    with two to begin with, whoever loses one is left on one."""
    review: Review | None = None
    for body in bodies:
        before = body.independent
        if before is not None and before > 2 and any(failure.id in way for way in body.ways):
            review = review or Review(state.rig, already=failure.effects)
            after = review.independent(body.name).number
            if after is not None and after < before:
                yield body.name


def _worked(rig: Rig, legs: Legs) -> Iterator[Worked]:
    """Of the parts of these legs, the devices that somebody works."""
    for name in (name for leg in legs for name in leg):
        part = rig.parts.get(name)
        if part and part.nature is Nature.GRIP and part.operated_by:
            yield Worked(name, part.operated_by)
