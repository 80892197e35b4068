"""Tests before weighting: one line weighted alone, the others on and slack, and what shows under it.

Which slips a test shows is asked of the holding rules, not guessed. A test slackens what leaves the ground
beside the line that is weighted: it is taken as not there. Whoever is still held then hangs on that line
alone. A slip *shows* where one of them is held no more once it is there as well: the load goes on to what was
slack, a hand's breadth lower. Stoppers are taken as not there in a test, and rope on the unloaded side of a
one-way device as slack: whoever runs before something else catches has shown it.

What is there and not done up (`MAY_HOLD`: a gate left unlocked, a knot half tied) may still hold once, so a
test shows it only if it gives. A slip that no test shows (a mat never placed) is to be looked at. A test tells
nothing of what gives only under more than its load, or later.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from analyser.checking.held_by import held_by
from analyser.checking.latent import slipped
from analyser.holding.happening import Scenario
from analyser.holding.outcome import after_each
from analyser.holding.reviewing import Review
from analyser.language.identities import Join
from analyser.rig.index import ON_THE_ROPE, reached
from analyser.rig.model import Contact, Effects, Failure, Nature, Rig, Role
from analyser.uses.field.grounded import grounded
from analyser.uses.incident.slips import join, with_slips

NEVER_JOINED = "never joined"
TOLD = "told by the file"
MAY_HOLD = ("unlocked", "undone", "half tied", "loose", TOLD)
"""What may hold this once: it shows under a test only if it gives then."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip in the rigging: `how` is one of `findings.latent.UNSEEN`, `NEVER_JOINED` (then `other` is what
    it was to be joined to) or `TOLD` (`reason` is the file's). `alone` fall, or run down a rope, with nothing
    else failed."""

    failure: str
    how: str
    part: str
    other: str | None
    reason: str | None
    alone: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trial:
    """One test: `line` is weighted, `slack` are the other lines, `bodies` hang on it then, `along` is what
    to look at from the ground down. `of` is whose own attachment it is, where it is one. `shows` are the
    slips by failure; `fresh` those that no test before shows."""

    number: int
    line: str
    of: str | None
    slack: tuple[str, ...]
    bodies: tuple[str, ...]
    along: tuple[str, ...]
    shows: tuple[str, ...]
    fresh: tuple[str, ...]
    uncaught: tuple[str, ...]
    """Slips it shows by dropping somebody, as nothing else would catch them: near the ground only."""


@dataclass(frozen=True, slots=True)
class Trials:
    """The tests in their order, every slip, and those that no test shows."""

    tests: tuple[Trial, ...]
    slips: tuple[Slip, ...]
    look: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Line:
    name: str
    effects: Effects
    of: str | None = None


def trials(rig: Rig) -> Trials:
    """The tests of a rig as first attached."""
    slipping = with_slips(rig.alone)
    whole = slipping.rig
    events = whole.index.failures
    ids = sorted(one for one in slipping.words if one in events)
    ids += sorted(one.failure for one in rig.latent if one.failure in events and one.failure not in ids)
    at_rest = _at_rest(whole)
    alone = after_each(whole, [at_rest, *(at_rest | events[one].effects for one in ids)])
    known = _slips(rig, events, ids, alone)
    found: list[Trial] = []
    shown: set[str] = set()
    lines = list(_lines(whole))
    left = [one for one in _tried(whole, lines, ids, events) if one.shows]
    while left:  # the test that shows most that is new first; ties as the file has the lines
        best = max(left, key=lambda one: len(set(one.shows) - shown))
        left.remove(best)
        found.append(best)
        shown |= set(best.shows)
    for person in whole.bodies:
        own = list(_own(whole, person.name))
        for one in _tried(whole, own, ids, events) if person.nature is Nature.PERSON and len(own) > 1 else ():
            if set(one.shows) - shown:
                found.append(one)
                shown |= set(one.shows)
    alone_deadly = {slip.failure for slip in known if slip.alone}
    seen: set[str] = set()
    tests = []
    for number, one in enumerate(found, 1):
        fresh = tuple(s for s in one.shows if s not in seen)
        seen |= set(fresh)
        uncaught = tuple(s for s in one.shows if s in alone_deadly)
        tests.append(replace(one, number=number, fresh=fresh, uncaught=uncaught))
    return Trials(tuple(tests), known, tuple(slip.failure for slip in known if slip.failure not in seen))


def _slips(rig: Rig, events: Mapping[str, Failure], ids: Sequence[str], alone: Sequence[Scenario]) -> tuple[Slip, ...]:
    base, *after = alone
    reasons = {str(one.failure): one.reason for one in rig.latent}
    found = []
    for one, then in zip(ids, after, strict=True):
        falls = tuple(name for name in then.falls if name not in base.falls)
        failure = events[one]
        if isinstance(failure.part, Join):
            found.append(Slip(one, NEVER_JOINED, failure.part.a, failure.part.b, None, falls))
            continue
        how = TOLD if one in reasons else slipped(rig, failure)
        found.append(Slip(one, how or TOLD, failure.part, None, reasons.get(one), falls))
    return tuple(found)


def _tried(rig: Rig, lines: Sequence[_Line], ids: Sequence[str], events: Mapping[str, Failure]) -> Iterator[Trial]:
    """A test of each line with the others slack: who hangs on it alone, and which slips show."""
    always = _at_rest(rig)
    slack = [Effects.joint((always, *(o.effects for o in lines if o is not line))) for line in lines]
    sound = after_each(rig, slack)
    (without,) = after_each(rig, [Effects.joint((always, *(line.effects for line in lines)))])
    for line, effects, held in zip(lines, slack, sound, strict=True):
        hanging = [name for name in held.held if name not in without.held]  # not who stands, or hangs otherwise
        bodies = tuple(name for name in hanging if line.of in (None, name))
        if not bodies:
            continue
        review = Review(rig, already=effects)
        ways = {body: review.independent(body).ways for body in bodies}
        near = _beside_litters(rig, bodies)
        # a slip that is not in some way of being held leaves that way whole
        may = {one for several in ways.values() if several for one in several[0]}
        tried = [one for one in ids if events[one].part not in always.gone and (one in may or events[one].part in near)]
        after = after_each(rig, [effects | events[one].effects for one in tried])
        weighted, upright = set(bodies), set(bodies) - set(held.tips)
        shows = tuple(
            one
            for one, then in zip(tried, after, strict=True)
            if weighted & set(then.falls) or upright & set(then.tips)
        )
        others = tuple(other.name for other in lines if other is not line)
        yield Trial(0, line.name, line.of, others, bodies, _along(rig, ways), shows, (), ())


def _beside_litters(rig: Rig, bodies: Iterable[str]) -> set[str]:
    """What joins a litter to what it hangs from: a slip there may tip it and drop nobody."""
    tipping = [body for body in bodies if rig.parts[body].ends is not None]
    points = [point for body in tipping for point in (body, *rig.parts[body].points)]
    return reached(rig.index.joined, points, rig.index.with_points() - set(points)) if tipping else set()


def _along(rig: Rig, ways: Mapping[str, Sequence[tuple[str, ...]]]) -> tuple[str, ...]:
    """What carries the bodies in a test, from the ground down, without the joins between parts."""
    found: dict[str, None] = {}
    for body, several in ways.items():
        for way in several:
            for leg in held_by(rig, body, way):
                found |= dict.fromkeys(name for name in leg if not join(rig, name))
    return tuple(sorted(found, key=lambda name: name not in rig.parts or rig.parts[name].nature is not Nature.GROUND))


def _at_rest(rig: Rig) -> Effects:
    """What catches nobody before they have run: stoppers, and rope on the unloaded side of one-way devices."""
    grips = (at for at in rig.index.stations(Role.GRIP) if at.station.one_way)
    slack = frozenset(span for at in grips if (span := at.after if at.station.to_start else at.before))
    return Effects(gone=frozenset(part.name for part in rig.index.natured(Nature.STOPPER)), cut=slack)


def _lines(rig: Rig) -> Iterator[_Line]:
    """What leaves the ground: each rope that runs from what is fixed, each thing fixed that a body is clipped to."""
    fixed = grounded(rig)
    spans: dict[str, set[str]] = {rope.name: set() for rope in rig.ropes}
    for at in rig.index.stations(*ON_THE_ROPE):
        if at.part in fixed:
            spans[at.rope.name] |= {span for span in (at.before, at.after) if span}
    yield from (_Line(rope, Effects(cut=frozenset(cut))) for rope, cut in spans.items() if cut)
    own = {name for body in rig.bodies for name in (body.name, *body.points)}
    for contact in rig.contacts:
        for mine, other in ((contact.a, contact.b), (contact.b, contact.a)):
            if mine in own and other not in own and other in fixed:
                yield _Line(_beyond(rig, other, mine), _parted(contact, other))


def _own(rig: Rig, person: str) -> Iterator[_Line]:
    """A person's own attachments, each as what is clipped to them."""
    own = {person, *rig.parts[person].points}
    for contact in rig.contacts:
        for mine, other in ((contact.a, contact.b), (contact.b, contact.a)):
            if mine in own and other not in own and join(rig, other):
                yield _Line(_beyond(rig, other, mine), _parted(contact, other), person)


def _parted(contact: Contact, other: str) -> Effects:
    return Effects(gone=frozenset({other}))


def _beyond(rig: Rig, joint: str, mine: str) -> str:
    """What is at the far side of a join: the name by which a line is called."""
    made = join(rig, joint)
    if made is None:
        return joint
    return made.a if made.b == mine else made.b
