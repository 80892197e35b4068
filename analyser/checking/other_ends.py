"""Straps that end at a person, or all at one anchor: where they could end instead, so that nothing that is required is
broken.

A cheap look, not a search: rings, plates and connectors by which that person is held, near first, in a few
combinations; for one of several on one anchor the other anchors, those first from which somebody doesn't hang to
begin with.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product

from analyser.checking.held_by import held_by
from analyser.checking.instead import MOST_PARTS, MOST_STATES
from analyser.checking.judging import Moment
from analyser.checking.requirements import judge
from analyser.checking.results import Result, State
from analyser.holding.outcome import assess
from analyser.rig.index import outward
from analyser.rig.model import Maker, Nature, Rig

MEETING = ("ring", "plate")
"""What several things are meant to meet in; then what closes round them."""
CLOSING = "connector"
MOST_TRIED = 6


@dataclass(frozen=True, slots=True)
class OtherEnd:
    """A strap that ends `now` at somebody, what it could end at, and the first state in which it is there."""

    strap: str
    now: str
    to: str
    state: State


def other_ends(result: Result, state: State, holder: str, straps: Sequence[str]) -> tuple[OtherEnd, ...]:
    """Another end for each of the straps by which somebody hangs from a person in a state: with these no state breaks
    a requirement, and nobody is held by nothing or by one alone, by the connections. Nothing where a few tries find
    none."""
    if _too_much(result, state):
        return ()
    ends = {one: [name for name in _own(state.rig, holder) if name in state.rig.index.joined[one]] for one in straps}
    several = [list(_targets(state.rig, holder, points[0])) if len(points) == 1 else [] for points in ends.values()]
    for chosen in islice(product(*several), MOST_TRIED):
        moved = {
            frozenset((strap, points[0])): (strap, to) for (strap, points), to in zip(ends.items(), chosen, strict=True)
        }
        if len(set(chosen)) == len(chosen) and _kept(result, moved):
            return tuple(
                OtherEnd(strap, points[0], to, _first(result, strap, points[0]))
                for (strap, points), to in zip(ends.items(), chosen, strict=True)
            )
    return ()


def another_anchor(result: Result, state: State, body: str, now: str, straps: Sequence[str]) -> tuple[OtherEnd, ...]:
    """Another anchor for one of the straps by which somebody hangs from a single one, the last first: so that all is
    kept as above. Nothing where a few tries find none."""
    if _too_much(result, state):
        return ()
    every = [part for part in state.rig.parts.values() if part.nature is Nature.GROUND and part.name != now]
    ground = [part.name for part in every if part.made_by is not Maker.LANDING]
    first = result.states[0]
    ways = first.outcome.body(body).ways
    left = {name for way in ways for leg in held_by(first.rig, body, way) for name in leg}
    near = sorted(ground, key=lambda name: name in left)
    for strap, to in islice(product(reversed(straps), near), MOST_TRIED):
        if _kept(result, {frozenset((strap, now)): (strap, to)}):
            return (OtherEnd(strap, now, to, _first(result, strap, now)),)
    return ()


def _too_much(result: Result, state: State) -> bool:
    many = len(result.states) > MOST_STATES or len(result.states) * len(state.rig.parts) > MOST_PARTS
    return many or result.of_a_state


def _own(rig: Rig, person: str) -> tuple[str, ...]:
    return person, *rig.parts[person].points


def _targets(rig: Rig, holder: str, point: str) -> Iterator[str]:
    """What holds a person from a point on over contacts: rings and plates first, each near before far."""
    stop = {name for name, part in rig.parts.items() if part.holds_up or part.is_body or part.body} - {point}
    near = list(outward([point], lambda one: () if one in stop else rig.index.beside.get(one, ())))
    mine = [name for name in near if name not in stop and rig.parts[name].nature is Nature.JOINT]
    yield from (name for name in mine if not {*MEETING}.isdisjoint(rig.parts[name].family))
    yield from (name for name in mine if CLOSING in rig.parts[name].family)


def _first(result: Result, strap: str, point: str) -> State:
    """The first state in which a strap is attached at a point."""
    return next(one for one in result.states if point in one.rig.index.joined.get(strap, ()))


def _kept(result: Result, moved: Mapping[frozenset[str], tuple[str, str]]) -> bool:
    """Is everything kept in every state with some contacts moved?"""
    outcome = None
    for state in result.every_state:
        rig = _moved(state.rig, moved)
        if any(one.a not in rig.parts or one.b not in rig.parts for one in rig.contacts):
            return False  # what it would end at is not there yet, or no more
        outcome = assess(rig, before=outcome)
        accepted = {str(one.failure) for one in rig.accepted}
        if not all(body.held for body in outcome.bodies):
            return False
        if any(failure.falls and failure.id not in accepted for failure in outcome.failures):
            return False
        if any(one.met is False for one in judge([Moment(state.number, state.stage, "", rig, outcome)])):
            return False
    return True


def _moved(rig: Rig, moved: Mapping[frozenset[str], tuple[str, str]]) -> Rig:
    def one(pair: tuple[str, str]) -> tuple[str, str]:
        return moved.get(frozenset(pair), pair)

    contacts = []
    for contact in rig.contacts:
        a, b = one((contact.a, contact.b))
        contacts.append(contact if (a, b) == (contact.a, contact.b) else replace(contact, a=a, b=b))
    return replace(rig, contacts=tuple(contacts))
