"""What was observed, as questions put to a rig: what must be down, what must stand, what did not happen.

How each fact is taken:

- *fell X*: X is not held in the strict reading (people hold nobody up).
- *fell X, then held*: X hangs no longer as before (not even held *still*: the strictest reading), or has lost their
  footing; and something catches them, were it a person: they ran to a stopper, swung, or dropped into what was slack.
- *stayed X*: X is caught, were it only by a person (the loose reading): somebody may well have been
  caught by a hand. An answer that needs that says so, and comes later.
- *found F*: F happened, by itself or because something did that has at least its effects: a common
  cause, a structure that took the part along, a person who lost their footing and so let go. A cause
  that is found is taken by itself only: what it does could have happened one by one. A span that is
  found cut beside an edge may have been cut by the edge, once everything that kept it off is gone.
- *found R is cut*, of a rope: some span of it was severed, whichever.
- *intact P*: nothing happened that makes P gone or severs it, by whatever name; of a span beside an
  edge also not the edge with its guards gone.
- *not F*: neither F happened nor anything with at least its effects (of a cause: only that cause). But a device that
  did not slip on the bench says nothing of the hand on it, nor the hand of the device.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from analyser.holding.outcome import after_each
from analyser.holding.reading import Reading
from analyser.holding.series import series
from analyser.holding.system import RigSystem
from analyser.language.identities import CUT, Cut, FailureId, Span
from analyser.rig.index import spans_of
from analyser.rig.model import Effects, Failure, Observation, Rig, Role
from analyser.uses.incident.slips import NEVER_MADE

Ids = frozenset[str]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing observed: one name of one fact (of `at`, the states). `also` are further facts that say the same."""

    verb: str
    name: str
    fact: Observation
    also: tuple[Observation, ...] = ()

    @property
    def words(self) -> str:
        """`stayed sam`, `fell sam, then held`, `found lip cuts`."""
        if self.verb == "at":
            return self.fact.words
        return f"fell {self.name}, then held" if self.verb == "caught" else f"{self.verb} {self.name}"

    @property
    def facts(self) -> tuple[Observation, ...]:
        return (self.fact, *self.also)


def items(observations: Iterable[Observation]) -> tuple[Item, ...]:
    """What was observed, one name at a time, each once; remarks are left out."""
    found: dict[tuple[str, object], Item] = {}
    for fact in observations:
        for name in fact.names or (("",) if fact.verb == "at" else ()):
            key = (fact.verb, name or fact.states)
            before = found.get(key)
            found[key] = replace(before, also=(*before.also, fact)) if before else Item(fact.verb, name, fact)
    return tuple(found.values())


def when(observed: Iterable[Item]) -> tuple[int, ...] | None:
    """The states in which it can have happened, by all that is told of it; None where nothing is."""
    told = [set(item.fact.states) for item in observed if item.verb == "at"]
    return tuple(sorted(set.intersection(*told))) if told else None


def against(one: Item, other: Item) -> bool:
    """Do two facts contradict each other by their words alone: who fell stayed?"""
    return one.name == other.name and {one.verb, other.verb} in ({"fell", "stayed"}, {"caught", "stayed"})


@dataclass(frozen=True, slots=True)
class Asked:
    """What one state of a rig is asked, in names: see the module."""

    fell: tuple[str, ...] = ()
    caught: tuple[str, ...] = ()
    """Who fell, and was then held."""
    stayed: tuple[str, ...] = ()
    happened: tuple[str, ...] = ()
    whole: tuple[str, ...] = ()
    ruled_out: tuple[str, ...] = ()

    @classmethod
    def of(cls, observed: Iterable[Item]) -> Asked:
        named: dict[str, list[str]] = {}
        for item in observed:
            named.setdefault(item.verb, []).append(item.name)
        verbs = ("fell", "caught", "stayed", "found", "intact", "not")
        named["fell"] = [one for one in named.get("fell", ()) if one not in named.get("caught", ())]  # says less
        return cls(*(tuple(sorted(named.get(verb, ()))) for verb in verbs))

    @property
    def contradicted(self) -> bool:
        """Did somebody both fall and stay?"""
        return not {*self.fell, *self.caught}.isdisjoint(self.stayed)


class Witnessed:
    """One state of a rig as a monotone system whose goals are what was seen of it.

    Goals: `fell X` (up while X is held), `dropped X` (up while X is held still), `stayed X` (up while X is caught,
    loosely), `found F` (up while F has not happened), `intact S` (up while no edge has severed the span S). Events are
    classes of failures that have the same consequence for all of these; what is ruled out is not among them.
    """

    def __init__(self, rig: Rig, asked: Asked) -> None:
        self.rig = rig
        self.asked = asked
        out = ruled_out(rig, asked)
        self.failures = tuple(f for f in rig.failures if f.id not in out)
        self.ways: dict[str, list[Ids]] = {f"found {one}": ways_of(rig, one, out) for one in asked.happened}
        self.kept: dict[str, list[Ids]] = {
            f"intact {one}": [way for way in by_an_edge(rig, one) if not way & out] for one in asked.whole
        }
        self.kept = {goal: ways for goal, ways in self.kept.items() if ways}
        self.classes = self._classes()
        self.system = RigSystem(rig, [group[0] for group in self.classes])
        self.events = self.system.events
        bodies = {body.name for body in rig.bodies}
        self.impossible = tuple(name for name in (*asked.fell, *asked.caught) if name not in bodies)
        """Said to have fallen, and standing where nobody falls in this state."""
        # what was found comes first: few failures account for it, so that the search stays narrow
        self.down = {f"fell {name}": name for name in asked.fell if name in bodies}
        self.moved = {f"dropped {name}": name for name in asked.caught if name in bodies}
        self.up = {f"stayed {name}": name for name in (*asked.stayed, *asked.caught) if name in bodies}
        self.fell = (*self.ways, *self.down, *self.moved)
        self.stayed = (*self.kept, *self.up)
        self.goals = (*self.fell, *self.stayed)
        number: dict[str, int] = {failure.id: k for k, group in enumerate(self.classes) for failure in group}
        self.events_of = {
            goal: [frozenset(number[one] for one in way) for way in ways]
            for goal, ways in {**self.ways, **self.kept}.items()
        }
        speaking = {one for ways in self.ways.values() for way in ways for one in way}
        self.free = frozenset(k for k, group in enumerate(self.classes) if group[0].id in speaking)
        """Events of which something was found."""

    @property
    def columns(self) -> int:
        return self.system.columns

    def _classes(self) -> list[tuple[Failure, ...]]:
        """Failures in series, taken apart where what was found speaks of one of them and not of another.

        Beside a bare hand the spans of a rope are no series in the loose reading: the hand may hold.
        """
        speaking: dict[str, set[tuple[str, Ids]]] = {}
        for goal, ways in {**self.ways, **self.kept}.items():
            for way in ways:
                for one in way:
                    speaking.setdefault(one, set()).add((goal, way - {one}))
        by_hand = {span for at in self.rig.index.stations(Role.HAND) for span in at.rope.spans}
        found: list[tuple[Failure, ...]] = []
        for group in series(self.rig, self.failures):
            parts: dict[object, list[Failure]] = {}
            for failure in group:
                mine = frozenset(speaking.get(failure.id, ()))
                parts.setdefault((mine, failure.part if failure.part in by_hand else ""), []).append(failure)
            found += [tuple(part) for part in parts.values()]
        return sorted(found, key=lambda group: group[0].id)

    def sweep(self, bits: Sequence[int], width: int, asked: Mapping[str, int]) -> dict[str, int]:
        found: dict[str, int] = {}
        rows = [(f.effects, b) for f, b in zip(self.system.failures, bits, strict=True)]
        readings = ((self.down, Reading.HELD), (self.moved, Reading.STILL), (self.up, Reading.BY_A_PERSON))
        for bodies, reading in readings:
            mine = {name: asked[goal] for goal, name in bodies.items() if goal in asked}
            if mine:
                held = self.system.read(reading, rows, width, mine)
                found |= {goal: held[name] for goal, name in bodies.items() if goal in asked}
        for goal, name in self.moved.items():
            for effects, columns in rows if goal in asked else ():
                found[goal] &= ~columns if name in effects.unfooted else -1
        full = (1 << width) - 1
        for goal in asked:
            if goal in self.events_of:
                happened = 0
                for way in self.events_of[goal]:
                    both = full
                    for event in way:
                        both &= bits[event]
                    happened |= both
                found[goal] = full & ~happened
        return found


# -- what a finding can be due to


def includes(failure: Failure, other: Failure) -> bool:
    """Does a failure do all that another does? A cause is included by nothing but itself."""
    if failure.id == other.id:
        return True
    if other.mode == "strikes" or not other.effects.anything:
        return False
    return all(mine >= theirs for mine, theirs in zip(failure.effects.groups, other.effects.groups, strict=True))


def meant_by(rig: Rig, found: str) -> tuple[Failure, ...]:
    """The failures of which one was found: it alone, or of a rope that is cut those of its spans."""
    known = rig.index.failures
    if found in known:
        return (known[found],)
    ids = [FailureId(span, CUT) for span in _spans(rig, found)] if isinstance(found, Cut) else []
    return tuple(known[one] for one in ids if one in known)


def _spans(rig: Rig, found: Cut) -> tuple[Span, ...]:
    rope = rig.index.ropes.get(found.part)
    return spans_of(rope, found) if rope else ()


def among(found: str, happened: Iterable[str]) -> bool:
    """Is what was found one of these; of a rope that is cut, a cut of one of its spans?"""
    if not isinstance(found, Cut):
        return found in happened
    return any(isinstance(one, FailureId) and one.mode == CUT and one.owner == found.part for one in happened)


def ways_of(rig: Rig, found: str, out: Ids = frozenset()) -> list[Ids]:
    """The sets of failures that each account for one that was found; none where it cannot happen here."""
    ways: list[Ids] = []
    for one in meant_by(rig, found):
        ways += [frozenset({failure.id}) for failure in rig.failures if includes(failure, one)]
        ways += by_an_edge(rig, one.part) if one.mode == CUT else []
    return [way for way in dict.fromkeys(ways) if not way & out]


def by_an_edge(rig: Rig, span: str) -> list[Ids]:
    """How an edge beside a span can have severed it: the edge cuts, and each guard there is gone."""
    found: list[Ids] = []
    begins = rig.index.spans.get(span)
    for station in (begins.station, begins.beside(1)) if begins else ():
        cuts = FailureId(station.part if station else "", "cuts")
        if station and station.role is Role.OVER and cuts in rig.index.failures:
            guards = sorted({*station.guards, *rig.parts[station.part].guards})
            gone = [[f.id for f in rig.failures if guard in f.effects.gone] for guard in guards]
            found += [frozenset({cuts, *others}) for others in product(*gone)]
    return found


def ruled_out(rig: Rig, asked: Asked) -> Ids:
    """The failures that did not happen, by what was found whole and what was ruled out."""
    whole = frozenset(asked.whole)
    never = [one for name in asked.ruled_out for one in meant_by(rig, name)]
    return frozenset(
        failure.id
        for failure in rig.failures
        if not whole.isdisjoint(failure.effects.gone | failure.effects.cut)
        or any(_cleared(failure, one) for one in never)
    )


BY_HAND = ("lets go", "holds on", "loses footing")


def _cleared(failure: Failure, one: Failure) -> bool:
    """Did a failure not happen, since another didn't? A hand and a device are looked into apart."""
    return includes(failure, one) and (failure.mode in BY_HAND) is (one.mode in BY_HAND)


# -- the states in which it can have happened


@dataclass(frozen=True, slots=True)
class Moment:
    """A state of the rig: the numbers of all states that are the same to the rules, the first told. `carried` are
    contacts that carried somebody in an earlier state: that they were never made is ruled out."""

    rig: Rig
    numbers: tuple[int, ...]
    words: str = field(default="as first attached")
    carried: tuple[str, ...] = ()

    def asking(self, asked: Asked) -> Witnessed:
        """What is asked of this state."""
        return Witnessed(self.rig, replace(asked, ruled_out=(*asked.ruled_out, *self.carried)))


CHANGES_NOTHING = ("check", "say", "note", "take in", "pay out", "move")
"""Steps that leave every contact, rope and device as it was."""


@dataclass(frozen=True, slots=True)
class State:
    """The rig after one step: its number, what is said of it, what the step does (nothing at first)."""

    number: int
    words: str
    verb: str
    rig: Rig


def states_of(rig: Rig) -> Iterator[State]:
    """Every state of a rig, in order."""
    yield State(0, "as first attached", "", rig)
    number = 0
    for stage in rig.stages:
        for place, step in enumerate(stage.steps, 1):
            number += 1
            words = f"after step {place} of “{stage.title}”: {step.words.splitlines()[0]}"
            yield State(number, words, step.verb, step.rig)


def moments(rig: Rig, states: Sequence[int] | None) -> list[Moment]:
    """The states in which it can have happened (all where that isn't known), like ones told once."""
    found: list[Moment] = []
    carried: frozenset[str] = frozenset()
    for same in _alike(rig):
        those = [one for one in same if states is None or one.number in states]
        if those:
            numbers = tuple(one.number for one in those)
            found.append(Moment(same[0].rig, numbers, those[0].words, tuple(sorted(carried))))
        carried = _carrying(same[0].rig, carried)
    return found


def _carrying(rig: Rig, before: frozenset[str]) -> frozenset[str]:
    """The slips of contacts never made that would have dropped somebody in this state, or in one before, and the
    contact has been there ever since."""
    joins = [one for one in rig.failures if one.mode == NEVER_MADE]
    if not joins:
        return frozenset()
    base, *after = after_each(rig, [Effects(), *(one.effects for one in joins)])
    dropping = {one.id for one, then in zip(joins, after, strict=True) if {*then.falls} - {*base.falls}}
    return frozenset(dropping | before & {one.id for one in joins})


def _alike(rig: Rig) -> Iterator[list[State]]:
    run: list[State] = []
    for state in states_of(rig):
        if run and state.verb not in CHANGES_NOTHING:
            yield run
            run = []
        run.append(state)
    yield run


# -- one scenario by itself


@dataclass(frozen=True, slots=True)
class Fitting:
    """A scenario that is consistent with everything observed: who of those who stayed or were caught was held by a
    person only, who fell of whom nothing is said, and who ran until a stopper or a knot caught them."""

    by_person: tuple[str, ...]
    others: tuple[str, ...]
    runs: tuple[str, ...]


def fitting(system: RigSystem, asked: Asked, happened: Sequence[Failure]) -> Fitting | None:
    """Is what happened, all together, consistent with what was observed of this state?

    Unlike `Witnessed` it takes failures that are not among the rig's own: a part that its load broke.
    """
    rig, goals = system.rig, set(system.goals)
    effects = Effects.joint(failure.effects for failure in happened)
    ids = {failure.id for failure in happened}

    def did(name: str) -> bool:
        return name in ids or any(includes(one, meant) for meant in meant_by(rig, name) for one in happened)

    if asked.contradicted or not goals.issuperset((*asked.fell, *asked.caught)):
        return None
    if not all(did(one) or any(way <= ids for way in ways_of(rig, one)) for one in asked.happened):
        return None
    if any(one in effects.gone | effects.cut or any(way <= ids for way in by_an_edge(rig, one)) for one in asked.whole):
        return None
    never = [meant for one in asked.ruled_out for meant in meant_by(rig, one)]
    if not ids.isdisjoint(asked.ruled_out) or any(_cleared(one, meant) for one in happened for meant in never):
        return None
    rows = [(effects, 1)]
    strict = system.read(Reading.HELD, rows, 1, dict.fromkeys(system.goals, 1))
    down = {name for name, bits in strict.items() if not bits}
    if not down.issuperset(asked.fell):
        return None
    if asked.caught:
        still = system.read(Reading.STILL, rows, 1, dict.fromkeys(asked.caught, 1))
        if any(still[name] and name not in effects.unfooted for name in asked.caught):
            return None
    caught = system.read(Reading.CAUGHT, rows, 1, dict.fromkeys(down, 1)) if down else {}
    runs = {name for name, bits in caught.items() if bits}
    doubtful = [name for name in (*asked.stayed, *asked.caught) if name in down - runs]
    if doubtful:
        loose = system.read(Reading.BY_A_PERSON, rows, 1, dict.fromkeys(doubtful, 1))
        if not all(loose.values()):
            return None
    others = down - runs - {*asked.fell, *asked.stayed, *asked.caught}
    return Fitting(tuple(sorted(doubtful)), tuple(sorted(others)), tuple(sorted(runs)))
