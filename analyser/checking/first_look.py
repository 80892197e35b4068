"""What a paper answers before anything else: who hangs on one, on what, and where to look first. Plain data."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from analyser.checking.consequences import effects, newly_on_one, on_one_already, shaken
from analyser.checking.fates import SHAKEN, Together, together
from analyser.checking.foremost import broken, unchecked
from analyser.checking.free_along import free_already, freed
from analyser.checking.hanging_from import holder_and_straps
from analyser.checking.held_by import held_by
from analyser.checking.holds_nobody import facing_wrong
from analyser.checking.hung_on import Thing, of_kinds, things
from analyser.checking.other_ends import another_anchor, other_ends
from analyser.checking.results import Result, State
from analyser.checking.shaking import worst_shaking
from analyser.checking.step_to_stop import At, Breaks, Off, at_step, breaks_at, taken_off
from analyser.holding.fate import Kind
from analyser.holding.outcome import BodyOutcome, FailureOutcome
from analyser.language.identities import FailureId
from analyser.rig.model import Nature, Rig

UNHELD, ALONE, ACCEPTED = range(3)
"""How bad it is to hang on one, the worst first: with nothing failed; after one failure; that the file accepts."""


@dataclass(frozen=True, slots=True)
class OnOne:
    """Bodies that are alike in what drops them: `fates` with nothing failed, or after each of `things` alone, which are
    in order from the ground down. `at` is None as first attached, and where one state alone is looked at. `free` are
    points of theirs at which nothing is attached, `turned` what would help to hold them and faces the wrong way."""

    bodies: tuple[str, ...]
    fates: tuple[Together, ...]
    things: tuple[Thing, ...]
    failures: tuple[str, ...]
    at: At | None
    accepted: bool
    free: tuple[str, ...]
    turned: tuple[str, ...]
    earlier: At | None = None
    """Where they are not held with nothing failed: the first step before that after which some hang on one already."""
    already: tuple[str, ...] = ()
    """Those."""
    sooner: OnOne | None = None
    """The same of those, after that step."""
    until: At | None = None
    """The step after which it is so no more, where there is one, and it is not so again later."""
    holders: tuple[str, ...] = ()
    """The person who alone holds them, where that can be told."""
    by: tuple[str, ...] = ()
    """What leads from them to that person, and ends there."""
    sharing: tuple[str, ...] = ()
    """Their attachments, two at least, all of which the one thing holds; `apart`: it is an anchor, and there they
    end."""
    apart: bool = False
    also: tuple[str, ...] = ()
    """Who tips or drops with them after the one failure that drops them, and is held then."""
    left: tuple[str, ...] = ()
    """Who hangs on one after it, and doesn't before."""
    in_a_row: bool = True
    """Do they hang on the things one after the other, and not on several ways that are needed together?"""
    taken_off: tuple[Off, ...] = ()
    """What is taken off, from the step after which some hang on one until they don't, or nothing is broken any more."""

    @property
    def since(self) -> At | None:
        """After which step some of them hang on one first; None as first attached."""
        return self.earlier or self.at

    @property
    def unheld(self) -> bool:
        """Are they not held with nothing failed?"""
        return not self.things


@dataclass(frozen=True, slots=True)
class Instead:
    """Two steps in the other order: `first` before `then`, and by the connections no state on the way breaks anything;
    `slack`: something that holds a litter or a load is opened by it, and no tension was computed."""

    first: At
    then: At
    slack: bool
    next: bool = False
    """Is `first` the step that comes next, if `then` was done already?"""
    later: bool = False
    """Is it `then` that is moved, to after `first` and all that comes before that?"""
    still: At | None = None
    """The first step after those that breaks something all the same."""


@dataclass(frozen=True, slots=True)
class End:
    """A strap that ends `now` at a person, and where it could end so that nothing breaks; `at` is the step that
    attaches it, None where it is there as first attached; `other`: what it is attached to at its other end."""

    strap: str
    now: str
    to: str
    at: At | None
    other: str = ""


@dataclass(frozen=True, slots=True)
class Unsettled:
    """Bodies that are held all the same after any of `failing` fails, the worst first, and first tip, turn over or drop
    by `drop`, m; None where that isn't told."""

    bodies: tuple[str, ...]
    drop: float | None
    failing: tuple[Thing, ...]
    at: At | None


@dataclass(frozen=True)
class FirstLook:
    """Who hangs on one, the worst first; where nobody does, what leaves most of them on one.

    `broken` are the requirements that are not met, or not checked, in the words of the file; `shaken` those who are
    held after any single failure and tip, drop or run first; `accepted` and `assumed` the failures of which the file
    says so.
    """

    on_one: tuple[OnOne, ...]
    bodies: tuple[str, ...]
    broken: tuple[str, ...]
    shaken: tuple[str, ...]
    next: tuple[Thing, ...]
    """After any of which most are left on one."""
    left: tuple[str, ...]
    """Those."""
    accepted: tuple[str, ...]
    assumed: tuple[str, ...]
    unsettled: Unsettled | None = None
    """Who of them comes off worst, if that is more than a drop of which nobody told how far."""
    instead: Instead | None = None
    """For the step to stop before: the order in which nothing is broken, where a quick look found one."""
    ends: tuple[End, ...] = ()
    """For who hangs only from a person: where the straps could end instead, where a quick look found that; for who has
    all attachments on one anchor: where one of them could end, as good as the order in `instead` where there is one."""
    movable: bool = False
    """Before the step to stop before, may each of those straps be taken off, one at a time, so that nobody is left on
    one by it?"""

    breaks: Breaks | None = None
    """Where a step is the first that breaks a requirement, and all were met as first attached."""
    staged: bool = False
    """Are there steps?"""
    dangers: int = 0
    """Findings that are dangers, and not accepted."""

    @property
    def step(self) -> At | None:
        """The step to stop before: the first after which anybody hangs on one, or that breaks what is asked for. (To
        stop before the worst would be too late for them.)"""
        if self.stopped_by_rule and self.breaks:
            return self.breaks.at
        return self.first.since if self.first else None

    @property
    def stopped_by_rule(self) -> bool:
        """Is it a step that leaves nobody on one, and breaks what is asked for?"""
        if self.breaks is None or not (self.endangered or self.broken):
            return False
        hanging = self.first.since if self.first else None
        return not self.endangered or (hanging is not None and self.breaks.at.state < hanging.state)

    @property
    def first(self) -> OnOne | None:
        """Who hangs on one first of all; the worst off, where they do as first attached."""
        if not self.endangered or self.endangered[0].at is None:
            return self.endangered[0] if self.endangered else None
        return min((one for one in self.endangered if one.at), key=lambda one: one.since.state if one.since else 0)

    @cached_property
    def endangered(self) -> tuple[OnOne, ...]:
        """Those of whom the file does not accept it."""
        return tuple(one for one in self.on_one if not one.accepted)


def first_look(result: Result) -> FirstLook:
    """The answers of a result, over all its states."""
    following, left = _next(result)
    look = FirstLook(
        tuple(_on_one(result)),
        tuple(dict.fromkeys(body.name for state in result.states for body in state.outcome.bodies)),
        tuple(one.requirement.text for one in (*broken(result), *unchecked(result))),
        tuple(_shaken(result)),
        following,
        left,
        tuple(one.failure for one in result.rig.accepted),
        tuple(one.failure for one in result.rig.sound),
        unsettled=_unsettled(result),
        staged=len(result.states) > 1,
        dangers=result.dangers,
        breaks=breaks_at(result),
    )
    instead = _instead(result, look.step) if look.step else None
    look = replace(look, instead=instead, ends=_ends(result, look, ordered=bool(instead)))
    return replace(look, movable=_movable(result, look))


def _movable(result: Result, look: FirstLook) -> bool:
    """Does each strap that is to end elsewhere come on by a step, and needs nobody it until the step to stop before?"""
    return bool(look.step and look.ends) and all(_spare(result, end, look.step) for end in look.ends)


def _spare(result: Result, end: End, stop: At | None) -> bool:
    if end.at is None or stop is None:
        return False
    for state in result.states[end.at.state : stop.state]:
        gone = [one for one in state.outcome.failures if one.part == end.strap]
        if not gone or any(one.falls or one.down_to_one for one in gone):
            return False
    return True


def _ends(result: Result, look: FirstLook, *, ordered: bool) -> tuple[End, ...]:
    """Where the straps could end by which the worst off hang only from a person, or all from one anchor; `ordered`:
    another order of steps was found already."""
    worst = look.endangered[0] if look.endangered else None
    if worst is None or (worst.at and worst.at.during):
        return ()
    number = worst.at.number if worst.at else result.states[0].numbered
    state = next(one for one in result.states if one.numbered == number)
    if worst.apart:
        found = another_anchor(result, state, worst.bodies[0], worst.things[0].name, worst.sharing)
    elif worst.by and not ordered:
        found = other_ends(result, state, worst.holders[0], worst.by)
    else:
        return ()
    return tuple(
        End(one.strap, one.now, one.to, at_step(result, one.state), _other_end(one.state.rig, one.strap, one.now))
        for one in found
    )


def _other_end(rig: Rig, strap: str, now: str) -> str:
    """What a strap touches besides, where that is one thing."""
    others = [name for name in rig.touching.get(strap, ()) if name != now]
    return others[0] if len(others) == 1 else ""


def _instead(result: Result, step: At) -> Instead | None:
    """Of what is broken only in between, the order that keeps it, if the step is one of those that break it."""
    for run in filter(None, (one.moving for one in result.in_between)):
        if any(result.states[number].numbered == step.number for number in run.states):
            by_line = {state.line: at_step(result, state) for state in result.states if state.stage == run.stage}
            moved, other = by_line.get(run.move or 0), by_line.get(run.of or 0)
            if moved and other:
                first, then = (moved, other) if run.where == "before" else (other, moved)
                lines = [state.line for state in result.states]
                after = lines.index(first.line) - lines.index(then.line) == 1 and len(run.states) == 1
                left = next((number for number in result.broken_states if number > run.last), None)
                still = at_step(result, result.states[left]) if left is not None else None
                return Instead(first, then, bool(run.opens), after, run.where == "after", still)
    return None


def _shaken(result: Result) -> Iterator[str]:
    """Who is held after any single failure and tips, drops or runs first, people first as they stand in the file."""
    names = {name for one in shaken(state.outcome for state in result.every_state) for name in one.bodies}
    for state in result.every_state:
        for one in (*freed(state.rig, state.outcome), *free_already(state.rig, state.outcome)):
            names.update(one.bodies if one.sure else ())
    yield from dict.fromkeys(b.name for state in result.states for b in state.outcome.bodies if b.name in names)


def _unsettled(result: Result) -> Unsettled | None:
    worst = worst_shaking(result, {one.failure for one in result.rig.accepted})
    if worst is None or not worst.what.loud:
        return None
    rig = worst.state.rig
    failing = dict.fromkeys((*things(rig, worst.failures[:1]), *things(rig, worst.failures[1:])))
    return Unsettled(worst.what.bodies, worst.drop, tuple(failing), at_step(result, worst.state))


# -- who hangs on one


@dataclass(frozen=True, slots=True)
class _Found:
    """One body at its worst: how bad that is, where, and the failures that drop it alone."""

    rank: int
    state: State
    body: BodyOutcome
    failures: tuple[FailureId, ...]


def _on_one(result: Result) -> Iterator[OnOne]:
    """Everybody at their worst, in the first state in which that is so; alike ones together."""
    worst: dict[str, _Found] = {}
    alone: dict[str, _Found] = {}
    better: dict[str, At | None] = {}
    for state in result.held_otherwise:
        accepted = {str(one.failure) for one in state.rig.accepted}
        singles: dict[str, list[FailureId]] = {}
        for failure in state.outcome.failures:
            for name in failure.falls:
                singles.setdefault(name, []).append(failure.id)
        for body in state.outcome.bodies:
            found = _of_one(state, body, singles.get(body.name, ()), accepted)
            if found and found.rank == ALONE:
                alone.setdefault(body.name, found)
            if found and (body.name not in worst or found.rank < worst[body.name].rank):
                worst[body.name] = found
                better.pop(body.name, None)
            elif body.name in worst:
                if found is None or ACCEPTED == found.rank > worst[body.name].rank:
                    better.setdefault(body.name, at_step(result, state))
                elif body.name in better:
                    better[body.name] = None  # it is so again, or they hang on one after they were not held at all
    alike: dict[tuple[int, int, tuple[FailureId, ...]], list[_Found]] = {}
    for one in worst.values():
        alike.setdefault((one.rank, id(one.state.outcome), one.failures), []).append(one)
    told = sorted(alike.values(), key=lambda several: _order(result, several))
    for several in told:
        on, state = _told(result, several), several[0].state
        known = [alone[name] for name in on.bodies if name in alone and alone[name].state.number < state.number]
        if on.unheld and known and (before := min(known, key=lambda one: one.state.number)).state.step:
            alike_then = [one for one in known if one.state is before.state]
            mine = tuple(one.body.name for one in alike_then)
            same = [one for one in alike_then if one.failures == before.failures]
            on = replace(on, earlier=at_step(result, before.state), already=mine, sooner=_told(result, same))
        over = {better.get(name) for name in on.bodies}
        if len(over) == 1:
            on = replace(on, until=over.pop())
        if on.since and on.at:
            last = on.until.state - 1 if on.until else max((on.at.state, *result.broken_states))
            on = replace(on, taken_off=tuple(taken_off(result, on.since.state, last)))
        yield _hanging(state.rig, on) if on.unheld else on


def _of_one(state: State, body: BodyOutcome, singles: Sequence[FailureId], accepted: Collection[str]) -> _Found | None:
    if not body.held:
        return _Found(UNHELD, state, body, ())
    mine = tuple(one for one in singles if one not in accepted)
    if mine:
        return _Found(ALONE, state, body, mine)
    return _Found(ACCEPTED, state, body, tuple(singles)) if singles else None


def _order(result: Result, several: Sequence[_Found]) -> tuple[int, ...]:
    """Worse first, then people, then most of them, then the earliest state."""
    people = sum(one.state.rig.parts[one.body.name].nature is Nature.PERSON for one in several)
    return several[0].rank, -int(bool(people)), several[0].state.number, -people, -len(several)


def _told(result: Result, several: Sequence[_Found]) -> OnOne:
    first = several[0]
    state, rig = first.state, first.state.rig
    names = tuple(one.body.name for one in several)
    after = {one.id: one for one in state.outcome.failures}
    now = after[first.failures[0]].fate if first.failures else lambda name: state.outcome.body(name).fate
    fates = together((name, now(name)) for name in names)
    few = [one.body.name for one in several if hangs_by_one(one.body)]
    return OnOne(
        names,
        fates,
        tuple(of_kinds(rig, tuple(things(rig, first.failures, _from_the_ground(rig, first.body))))),
        first.failures,
        at_step(result, state),
        first.rank == ACCEPTED,
        tuple(point for name in few for point in _free(rig, state, name)) if first.rank != ACCEPTED else (),
        tuple(_turned(state)) if first.rank != ACCEPTED else (),
        sharing=(shared := _sharing(state, several)),
        also=_with_them(after[first.failures[0]]) if len(first.failures) == 1 else (),
        left=_left(state, after[first.failures[0]]) if len(first.failures) == 1 else (),
        apart=bool(shared) and _end_at_an_anchor(rig, first.failures[0], shared),
        in_a_row=all(len(held_by(rig, first.body.name, way)) < 2 for way in first.body.ways),
    )


def _with_them(failure: FailureOutcome) -> tuple[str, ...]:
    return tuple(name for name, fate in failure.fates if fate.kind in SHAKEN)


def _left(state: State, failure: FailureOutcome) -> tuple[str, ...]:
    """Who hangs on one after a failure, and didn't before."""
    return newly_on_one(failure, on_one_already(state.outcome))


def _sharing(state: State, several: Sequence[_Found]) -> tuple[str, ...]:
    """All the attachments of one body, where they are several and one thing alone holds each of them."""
    body = several[0].body
    if len(several) > 1 or body.attachments < 2 or len(several[0].failures) != 1 or several[0].rank != ALONE:
        return ()
    thing = state.rig.index.failures[several[0].failures[0]].id.part
    legs = [leg for way in state.outcome.review.enough_ways(body.name, 1) for leg in held_by(state.rig, body.name, way)]
    last = dict.fromkeys(leg[-1] for leg in legs if thing in leg[:-1])
    every = all(thing in leg for leg in legs)
    return tuple(last) if every and len(last) == body.attachments else ()


def _end_at_an_anchor(rig: Rig, failure: FailureId, straps: Sequence[str]) -> bool:
    """Does each of these end at the very ground that fails?"""
    thing = rig.index.failures[failure].id.part
    return rig.parts[thing].nature is Nature.GROUND and all(thing in rig.touching.get(one, ()) for one in straps)


def _hanging(rig: Rig, one: OnOne) -> OnOne:
    """With the person from whom they hang, and by what, where that is one."""
    if len(one.bodies) > 1 or one.fates[0].fate.kind is not Kind.BY_A_PERSON:
        return one
    person, straps = holder_and_straps(rig, one.bodies[0])
    return replace(one, holders=(person,), by=straps) if person else one


def hangs_by_one(body: BodyOutcome) -> bool:
    """Has a body less than two attachments, so that a free point of it may be where something is missing?"""
    return (body.independent or 0) < 2 and body.attachments < 2


def free_points(rig: Rig, body: str) -> Iterator[str]:
    """The points of a body at which nothing is attached, but for those that are for gear only."""
    own = {body, *rig.parts[body].points}
    for point in rig.parts[body].points:
        if not rig.parts[point].gear_only and own.issuperset(rig.index.meeting.get(point, ())):
            yield point


def _free(rig: Rig, state: State, name: str) -> Iterator[str]:
    """The free points of a body, and of what hangs and they stand on where that holds no feet."""
    yield from free_points(rig, name)
    deck = rig.parts[name].stands_on
    if deck in rig.parts and not state.outcome.body(name).held and state.outcome.body(str(deck)).held:
        yield from free_points(rig, str(deck))


def _turned(state: State) -> Iterator[str]:
    """What holds nobody as it is put in, and would if it were turned round."""
    for one in state.findings:
        if one.rule == "holds-nobody" and one.mend and (turned := facing_wrong(state.rig, one.about)):
            yield turned[0]


def _from_the_ground(rig: Rig, body: BodyOutcome) -> list[str]:
    """What a body is held by, from the ground down."""
    return list(dict.fromkeys(name for way in body.ways for leg in held_by(rig, body.name, way) for name in leg))


# -- where nobody does: what comes nearest


def _next(result: Result) -> tuple[tuple[Thing, ...], tuple[str, ...]]:
    """After which failures most are left on one, people before others, in the first state in which it is so."""
    best: tuple[tuple[int, int], tuple[str, ...], State, list[str]] | None = None
    for state in result.held_otherwise:
        people = {one.name for one in state.rig.bodies if one.nature is Nature.PERSON}
        groups: dict[tuple[str, ...], list[str]] = {}
        for failure, effect in effects(state.outcome):
            if effect.on_one and not failure.falls:
                groups.setdefault(effect.on_one, []).append(failure.id)
        for bodies, failures in groups.items():
            worth = (len(people & {*bodies}), len(bodies))
            if best is None or worth > best[0]:
                best = (worth, bodies, state, failures)
    if best is None:
        return (), ()
    _, bodies, state, failures = best
    return tuple(things(state.rig, failures)), bodies
