"""Which failure leads, through overloads, to what was seen; and how far the parts that failed were from breaking.

A *beginning* is one failure, or none (the rig as it hangs), or the failures of an explanation that the
connections alone gave, or some of these. From each, what its load breaks is failed in turn, twice: under what is
left at rest (`forces.cascade`), and in time, by following the motion (`forces/motion.py`). A *chain* is a beginning
with at least one overload after it that, all together, is consistent with everything observed (`evidence.fitting`):
who falls and who is held is asked of the rules of holding, as everywhere.

Three verdicts: it follows already at rest; only on the way, in time; or not. What happens in time is followed
from one start, undamped (`forces/statics.md` says what that is worth), so that the last is no proof.

For each explanation of several failures the forces also say what each part carried against its strength, as it
hung and with the others gone, and from how high somebody would have had to drop for it to break.

Never more than `WORK` is done, counted and not timed, so that the same file gives the same answer; what was not
looked at is counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from analyser.checking.analysing import forces_asked_for
from analyser.holding.system import RigSystem
from analyser.language.identities import FailureId, Span
from analyser.rig.model import Effects, Failure, Nature, Part, Rig, Rope
from analyser.uses.incident.evidence import (
    Asked,
    Fitting,
    Item,
    State,
    among,
    fitting,
    ruled_out,
    states_of,
    ways_of,
    when,
)
from analyser.uses.incident.reconstruction import BROUGHT_ABOUT, Explanation, Reconstruction, standing_in

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath, Cascade
    from analyser.forces.dropping import Raised
    from analyser.forces.equilibrium import Equilibrium, Statics
    from analyser.forces.missing import Missing
    from analyser.forces.strength import Factor

SHARES = (0.0, 1.0)
"""The load at rest, and in time."""
IN_TIME = 8
"""Aftermaths that following one motion counts as."""
WORK = 24_000
"""Lines times aftermaths that are worked out at most, for the chains and as many again for the weighing."""
MOST_WEIGHED = 8
"""Explanations whose parts are weighed."""
CHANGES_NO_FORCE = ("check", "say", "note")
BY_LOAD = ("fails", "is cut")
"""Modes in which a load can break a part."""
OVERLOADED = "broken by its load"


@dataclass(frozen=True, slots=True)
class Overloaded:
    """A part, or a rope at its worst knot, that its load breaks; newtons. `force` is that of the least share at
    which its chain fits, `most` that of the greatest."""

    failure: str
    name: str
    knot: str | None
    strength: float
    kept: float
    force: float
    most: float

    @property
    def times(self) -> tuple[float, float]:
        """The forces as shares of the strength that is left."""
        return self.force / (self.strength * self.kept), self.most / (self.strength * self.kept)


@dataclass(frozen=True, slots=True)
class Chain:
    """One of each of `begins`, then the overloads in their order. `shares` are those at which it is consistent
    with what was observed; forces are those in the first state and with the first begin."""

    begins: tuple[tuple[str, ...], ...]
    overloads: tuple[Overloaded, ...]
    shares: tuple[float, ...]
    states: tuple[int, ...]
    words: str
    assumed: int
    """Failures at the beginning that nothing found speaks of."""
    fits: Fitting
    explanation: int | None = None
    """The number of the explanation by connections alone that takes all of these as failures by themselves."""

    @property
    def first(self) -> tuple[str, ...]:
        return tuple(choice[0] for choice in self.begins)

    @property
    def every(self) -> tuple[str, ...]:
        """All of it: the first beginning, and the overloads."""
        return (*self.first, *(one.failure for one in self.overloads))

    @property
    def least(self) -> float:
        return self.shares[0]

    def standing(self, item: Item) -> str:
        """How it stands to a fact that it is consistent with: as `reconstruction.standing_of`, and what was found
        may have been broken by its load."""
        if item.verb == "found" and not among(item.name, self.first):
            return OVERLOADED if among(item.name, self.every) else BROUGHT_ABOUT
        return standing_in(self.first, self.fits.by_person, item)

    @property
    def verdict(self) -> str:
        if self.least == 0:
            return "already at rest"
        return "on the way, in time"

    @property
    def key(self) -> tuple[object, ...]:
        """Fewest at the beginning, fewest assumed, what follows most readily, fewest overloads."""
        length = len(self.overloads)
        return (len(self.begins), self.assumed, self.least, len(self.fits.by_person), length, self.begins, self.states)


@dataclass(frozen=True, slots=True)
class Weighed:
    """One failure of an explanation, its part against its strength. Newtons, all None where no strength is given
    or the part carries nothing.

    `resting` as the rig hangs; `left` at rest and `peak` at the most in time once the explanation's other
    failures have happened. `drop` is what would have been needed then."""

    failure: str
    by_load: bool
    """Can a load do this at all?"""
    lacks_strength: bool = False
    knot: str | None = None
    strength: float | None = None
    kept: float = 1.0
    resting: float | None = None
    left: float | None = None
    peak: float | None = None
    drop: Raised | None = None
    words: str = ""
    """The state in which it was weighed: of those of the explanation, where the part is nearest to breaking."""

    @property
    def needed(self) -> float | None:
        """Times the peak in time that would have been needed to break it; below 1 where it breaks."""
        most = self.peak or self.resting
        return self.strength * self.kept / most if self.strength is not None and most else None


@dataclass(frozen=True, slots=True)
class Tested:
    """One explanation by connections alone, put under its load, in its first state and with its first choices:
    what breaks as well at rest and in time, and at which of the two it still fits."""

    explanation: int
    resting: tuple[str, ...]
    upper: tuple[str, ...]
    shares: tuple[float, ...]
    parts: tuple[Weighed, ...]
    """Where it has several failures."""


@dataclass(frozen=True)
class Sequences:
    """All that the forces add. `why_not` says why they add nothing; `wanted` are lines to add to the file."""

    chains: tuple[Chain, ...] = ()
    tested: tuple[Tested, ...] = ()
    why_not: str = ""
    wanted: tuple[str, ...] = ()
    looked_at: int = 0
    """Beginnings, counted once for each state."""
    left_out: int = 0
    unweighed: int = 0
    """Parts whose drop was not looked for, for the work it is."""
    without: tuple[str, ...] = ()
    """What carries load and has no strength given, so that it never breaks here."""
    middles: bool = False
    """Has the file bands? They are taken at their middle."""

    def of(self, explanation: int) -> Tested | None:
        return next((one for one in self.tested if one.explanation == explanation), None)


def sequences(made: Reconstruction, rig: Rig, work: int = WORK) -> Sequences:
    """`rig` is as read, without slips: a slip in the rigging has no place, and starts no chain. Cost: an aftermath
    for each failure in each state, and as many more as parts break; about twenty for each drop; `work` at most."""
    if not forces_asked_for(rig):
        return Sequences(why_not="the file does not place and weigh what hangs: see `stillheld forces`")
    if not any("strength" in dict(one.quantities) for state in states_of(rig) for one in _with_figures(state.rig)):
        why = "no part or rope has a strength given, so that nothing can be said to break"
        return Sequences(why_not=why, wanted=("PART: strength N kN",))
    return _Search(made, rig, work).answer()


def _with_figures(rig: Rig) -> Iterator[Part | Rope]:
    yield from rig.parts.values()
    yield from rig.ropes


class _Standing:
    """One state: its statics, how it hangs, and what was worked out of it."""

    def __init__(self, state: State, statics: Statics, base: Equilibrium, asked: Asked) -> None:
        self.state = state
        self.rig = state.rig
        self.statics = statics
        self.base = base
        self.system = RigSystem(state.rig)
        self.known = state.rig.index.failures
        self.seen: dict[Effects, Aftermath] = {}
        self.drops: dict[tuple[str, Effects], Raised | None] = {}
        out = ruled_out(state.rig, asked)
        self.possible = [failure for failure in state.rig.failures if failure.id not in out]
        ways = [way for one in asked.happened for way in ways_of(state.rig, one, out)]
        self.speaking = {one for way in ways for one in way}

    def broken(self, cascade: Cascade) -> list[Failure]:
        return [self._failure(one.name, one.effects) for one in cascade.broken]

    def _failure(self, name: str, lost: Effects) -> Failure:
        """What its load does to a part, as a failure of the rig, or one of its own where the rig has none."""
        span = next(iter(lost.cut), "")
        broken, cut = FailureId(name, "fails"), FailureId(span, "is cut")
        for one in (broken, cut):
            if one in self.known:
                return self.known[one]
        part = self.rig.parts.get(name)
        return Failure(cut if span else broken, lost, part.place if part else self.rig.place)


class _Search:
    def __init__(self, made: Reconstruction, rig: Rig, most: int) -> None:
        self.made = made
        self.most = most
        self.rig = rig
        self.asked = made.asked
        self.when = when(made.observed)
        self.standing: dict[int, _Standing] = {}
        self.same: dict[int, list[int]] = {}
        """For each state that was looked at, those after it with the same forces."""
        self.left_out = 0
        self.looked_at = 0
        self.unweighed = 0
        self.without: set[str] = set()
        self.work = 0

    def answer(self) -> Sequences:
        from analyser.forces.missing import Missing

        stands = self._stand()
        if isinstance(stands, Missing):
            lines = tuple(one.line for one in stands.wanted) or tuple(one.why for one in stands.contradictions)
            return Sequences(why_not="the file lacks what the forces need", wanted=lines)
        if not self.standing:
            return Sequences(why_not=stands or "no balance was found in any state")
        found: dict[object, Chain] = {}
        for stand, begin in self._beginnings():
            if self.work + 1 > self._most(stand):
                self.left_out += 1
                continue
            for chain in self._chains(stand, begin):
                self._add(found, chain)
        chains = sorted(_grouped(found.values()), key=lambda one: one.key)
        self.work = 0
        tested = tuple(self._tested(n, one) for n, one in enumerate(self.made.explanations[:MOST_WEIGHED], 1))
        return Sequences(
            tuple(replace(one, explanation=self._explanation(one)) for one in chains),
            tuple(one for one in tested if one),
            looked_at=self.looked_at,
            left_out=self.left_out,
            unweighed=self.unweighed,
            without=tuple(sorted(self.without)),
            middles=any(q.band for one in _with_figures(self.rig) for _, q in one.quantities),
        )

    def _stand(self) -> Missing | str:
        """Put every state under its load; what is missing, or why there is no balance, if no state can be."""
        from analyser.forces.equilibrium import Statics
        from analyser.forces.missing import Missing
        from analyser.forces.remembered import Remembered

        remembered = Remembered()
        why = ""
        last = -1
        for state in states_of(self.rig):
            if self.when is not None and state.number not in self.when:
                last = -1
                continue
            if state.verb in CHANGES_NO_FORCE and last in self.standing:
                self.same[last].append(state.number)
                continue
            last = -1
            statics = Statics.of(state.rig, remembered=remembered)
            if isinstance(statics, Missing):
                return statics
            base = statics.equilibrium()
            if not base.accepted:
                why = "the statics find no balance"
                continue
            last = state.number
            self.same[last] = [last]
            self.standing[last] = _Standing(state, statics, base, self.asked)
        return why

    def _most(self, stand: _Standing) -> int:
        return self.most // max(1, len(stand.base.lines))

    def _beginnings(self) -> Iterator[tuple[_Standing, tuple[Failure, ...]]]:
        """None, what was found, what the explanations name and some of each, then every other failure: so that
        what is left out, where it is too much, is what least speaks for itself."""
        named = [one for one in self.made.explanations if one.size]
        for rank in range(4):
            for stand in self.standing.values():
                inside = {f for one in named for choice in one.choices for f in choice}
                if rank == 0:
                    yield stand, ()
                elif rank < 3:
                    for failure in stand.possible:
                        mine = 1 if failure.id in stand.speaking or failure.id in inside else 2
                        if mine == rank:
                            yield stand, (failure,)
                else:
                    sets = {s for one in named[:MOST_WEIGHED] for n in range(2, one.size + 1)
                            for s in combinations(one.first, n)}  # fmt: skip
                    for one in sorted(sets):
                        if all(name in stand.known for name in one):
                            yield stand, tuple(stand.known[name] for name in one)

    def _cascades(self, stand: _Standing, begin: Sequence[Failure]) -> list[tuple[float, Cascade]]:
        """What breaks at rest, and in time."""
        from analyser.forces.aftermath import cascade
        from analyser.forces.alike import cascade_in_time
        from analyser.forces.strength import factors

        before, known = len(stand.seen), len(stand.statics.remembered.answers)
        resting = cascade(stand.statics, begin, base=stand.base, seen=stand.seen)
        moving = cascade_in_time(stand.statics, begin, stand.base, stand.seen)
        if not moving.broken:
            then = stand.seen[Effects.joint(one.effects for one in begin)]
            told = factors(stand.rig, then.equilibrium)
            self.without |= {*told.without, *told.lessened}
            self.without |= {*(then.motion.without if then.motion else ())}
        self.work += len(stand.seen) - before
        self.work += IN_TIME * (len(stand.statics.remembered.answers) > known)
        return [(0.0, resting), (1.0, moving)]

    def _chains(self, stand: _Standing, begin: tuple[Failure, ...]) -> Iterator[Chain]:
        self.looked_at += 1
        if begin and fitting(stand.system, self.asked, begin) is not None:
            return  # nothing need break: it is an explanation by itself
        alike: dict[tuple[str, ...], list[tuple[float, Cascade, list[Failure], Fitting]]] = {}
        for share, one in self._cascades(stand, begin):
            broken = stand.broken(one)
            if not broken or not one.final.accepted:
                continue
            fits = fitting(stand.system, self.asked, [*begin, *broken])
            if fits is not None:
                alike.setdefault(tuple(sorted(f.id for f in broken)), []).append((share, one, broken, fits))
        for same in alike.values():
            _, one, broken, fits = same[0]
            _, last, last_broken, _ = same[-1]
            most = {f.id: b.factor.force for f, b in zip(last_broken, last.broken, strict=True)}
            yield Chain(
                tuple((failure.id,) for failure in begin),
                tuple(_overloaded(f.id, b.factor, most[f.id]) for f, b in zip(broken, one.broken, strict=True)),
                tuple(share for share, *_ in same),
                tuple(self.same[stand.state.number]),
                stand.state.words,
                sum(failure.id not in stand.speaking for failure in begin),
                fits,
            )

    def _add(self, found: dict[object, Chain], chain: Chain) -> None:
        """A chain, unless it is in a state before with the same loads; or one that begins with less, and does all
        of it, was found."""
        same = (chain.begins, tuple(o.failure for o in chain.overloads), chain.shares, chain.fits)
        ids = {*chain.first, *(o.failure for o in chain.overloads)}
        for one in found.values():
            less = {*one.first} < {*chain.first} and {*one.first, *(o.failure for o in one.overloads)} <= ids
            if less and set(one.states) & set(chain.states):
                return
        if same in found:
            found[same] = replace(found[same], states=(*found[same].states, *chain.states))
        else:
            found[same] = chain

    def _explanation(self, chain: Chain) -> int | None:
        ids = {name for choice in chain.begins for name in choice} | {o.failure for o in chain.overloads}
        sizes = [
            (-one.size, number)
            for number, one in enumerate(self.made.explanations, 1)
            if one.size > len(chain.begins) and all(ids & set(choice) for choice in one.choices)
        ]
        return min(sizes)[1] if sizes else None

    # -- the explanations by connections alone, under load

    def _tested(self, number: int, one: Explanation) -> Tested | None:
        stands = [s for n, s in self.standing.items() if set(self.same[n]) & set(one.states)]
        stands = [stand for stand in stands if all(name in stand.known for name in one.first)]
        if not stands:
            return None
        stand = stands[0]
        if self.work + 1 > self._most(stand):
            self.left_out += 1
            return None
        begin = tuple(stand.known[name] for name in one.first)
        every = self._cascades(stand, begin)
        if not all(cascade.final.accepted for _, cascade in every):
            return None
        shares = []
        for share in SHARES:
            cascade = next((c for s, c in every if s == share), every[-1][1])
            if fitting(stand.system, self.asked, [*begin, *stand.broken(cascade)]) is not None:
                shares.append(share)
        at = [tuple(f.id for f in stand.broken(c)) for _, c in every]
        parts = tuple(self._weighed(stands, one)) if one.size > 1 else ()
        return Tested(number, at[0], at[-1], tuple(shares), parts)

    def _weighed(self, stands: Sequence[_Standing], one: Explanation) -> Iterator[Weighed]:
        """Each failure in the state in which its part is nearest to breaking, the first of them where it is alike."""
        for at, choice in enumerate(one.choices):
            others = [other[0] for k, other in enumerate(one.choices) if k != at]
            for name in choice:
                if name not in stands[0].known or stands[0].known[name].mode not in BY_LOAD:
                    yield Weighed(name, False)
                    continue
                told: list[tuple[Weighed, _Standing]] = []
                for stand in stands:
                    if self.work < self._most(stand) or not told:
                        told.append((self._against_strength(stand, name, others), stand))
                worst, stand = min(told, key=lambda pair: _rounded(pair[0].needed))
                if worst.needed is None or worst.needed < 1:
                    yield worst
                else:
                    yield replace(worst, drop=self._let_go(stand, name, others))

    def _against_strength(self, stand: _Standing, failure: str, others: Sequence[str]) -> Weighed:
        from analyser.forces.aftermath import after
        from analyser.forces.alike import one_in_time
        from analyser.forces.strength import factors

        gone = tuple(stand.known[name] for name in others)
        effects = Effects.joint(one.effects for one in gone)
        if effects not in stand.seen:
            stand.seen[effects] = after(stand.statics, gone, stand.base)
            self.work += 1
        if stand.seen[effects].motion is None:
            stand.seen[effects] = one_in_time(stand.statics, stand.base, stand.seen[effects], gone)
            self.work += IN_TIME
        then = stand.seen[effects]
        told = [factors(stand.rig, stand.base), factors(stand.rig, then.equilibrium)]
        name = _loaded_name(stand, stand.known[failure])
        rows = [next((row for row in one.rows if row.name == name), None) for one in told]
        moving = [one.factor for one in (then.motion.weakest if then.motion else ()) if one.name == name]
        rows.append(min((row for row in (*moving, rows[1]) if row), key=lambda row: row.factor, default=None))
        row = rows[2] or rows[1] or rows[0]
        if row is None:
            lacks = any({name, stand.known[failure].id.owner} & {*one.without, *one.lessened} for one in told)
            return Weighed(failure, True, lacks, words=stand.state.words)
        resting, left, peak = (one.force if one else 0.0 for one in rows)
        words = stand.state.words
        return Weighed(failure, True, False, row.knot, row.strength, row.kept, resting, left, peak, words=words)

    def _let_go(self, stand: _Standing, failure: str, others: Sequence[str]) -> Raised | None:
        gone = tuple(stand.known[name] for name in others)
        same = (_loaded_name(stand, stand.known[failure]), Effects.joint(one.effects for one in gone))
        if same not in stand.drops:
            stand.drops[same] = self._drop(stand, same[0], gone)
        return stand.drops[same]

    def _drop(self, stand: _Standing, name: str, others: Iterable[Failure]) -> Raised | None:
        """The least drop of one of those who fell that breaks a part, with the others gone; None where nobody of
        them is a point mass that can be let go, or it is too much work."""
        from analyser.forces.dropping import height_to_break

        def count() -> bool:
            self.work += IN_TIME
            return self.work <= self._most(stand)

        lying = {pose.name for pose in stand.base.poses}
        found: list[Raised] = []
        for body in stand.rig.bodies:
            if body.nature is Nature.LITTER or body.name in lying or body.name not in self.asked.fell:
                continue
            if body.name not in stand.base.at:
                continue
            told = height_to_break(stand.statics, stand.base, body.name, name, tuple(others), count=count)
            if told is not None:
                found.append(told)
        if self.work > self._most(stand):
            self.unweighed += 1
            return None
        enough = [one for one in found if one.height is not None]
        return min(enough or found, key=lambda one: (one.height or one.most, one.body), default=None)


def _rounded(needed: float | None) -> float:
    """For an order that the last digits of a solver don't decide."""
    return math.inf if needed is None else float(f"{needed:.4g}")


def _overloaded(failure: str, row: Factor, most: float) -> Overloaded:
    return Overloaded(failure, row.name, row.knot, row.strength, row.kept, row.force, most)


def _loaded_name(stand: _Standing, failure: Failure) -> str:
    """Under what name the strength factors tell of a failure's part: itself, or the line that has its span."""
    span = failure.part
    if isinstance(span, Span):
        for line in stand.base.lines:
            if line.rope == span.rope and {span.a, span.b} <= {*line.labels}:
                return line.name
    return failure.part


def _grouped(chains: Iterable[Chain]) -> list[Chain]:
    """Chains that differ only in what begins them, told as one: what is in series ends alike."""
    found: dict[object, Chain] = {}
    for one in chains:
        forces = tuple((o.failure, f"{o.force:.4g}", f"{o.most:.4g}") for o in one.overloads)
        same = (len(one.begins) == 1 and forces, one.shares, one.states, one.assumed, one.fits)
        if len(one.begins) == 1 and same in found:
            before = found[same]
            found[same] = replace(before, begins=((*before.begins[0], *one.begins[0]),))
        else:
            found[same if len(one.begins) == 1 else (same, one.begins)] = one
    return list(found.values())
