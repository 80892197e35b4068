"""How requirements are judged: each in every state that it speaks of, its reasons gathered over the states."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from types import FunctionType
from typing import TYPE_CHECKING, cast

from analyser.checking.worst_sought import worst_sought
from analyser.holding.outcome import Outcome
from analyser.holding.reviewing import Watch
from analyser.rig.model import Nature, Requirement, Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads


OF_NOBODY = "nobody that it speaks of has to be held in this file"
MOST_REASONS = 5
MOST_TOGETHER = 3


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a requirement is broken; or, `open`, why it is not, or not fully, checked. `rank`: how far it is from
    somebody not being held with nothing failed; the nearest are told first."""

    words: str
    open: bool = False
    rank: int = 0


@dataclass(frozen=True, slots=True)
class Check:
    """How one sort of requirement is checked in a state.

    `find` asks by the names of its parameters for `requirement`, `rig`, `outcome`, `names` (the bodies that
    the requirement speaks of), `accepted` (failures that fail nothing), `watch` (told how far a search is,
    may stop it) and `loads` (forces that balance; where they don't, or can't be worked out, that is told for
    it). With a default, `loads` may be missing and the check is asked all the same.
    """

    find: Callable[..., Iterator[Reason]]
    people: bool = False
    """Where the requirement names nobody: does it speak of people alone?"""
    of_parts: bool = False
    """Does it ask of parts, whoever hangs on them?"""
    after: bool = False
    """Does it ask for what follows every single failure by the forces?"""
    in_time: bool = False
    """And for what happens on the way, in time?"""
    tearing: bool = False
    """Is what happens in time needed where something may slip or tear?"""
    known: Callable[..., Iterator[Reason]] | None = None
    """What the forces say against it where they are known anyway; asked as `find` is, and it asks for none."""

    @property
    def forces(self) -> bool:
        return "loads" in _wanted(self.find)[0]

    @property
    def forces_alone(self) -> bool:
        """Is there nothing to check without forces?"""
        names, needed = _wanted(self.find)
        return "loads" in names[:needed]


@dataclass(frozen=True, slots=True)
class Judged:
    """`met` is None where it was not (or not fully) checked; `because` says why it isn't True."""

    requirement: Requirement
    met: bool | None
    because: tuple[str, ...] = ()
    states: tuple[int, ...] = ()
    unchecked: tuple[int, ...] = ()
    """The states in which it was not (or not fully) checked, and is not known to be broken."""
    of_nobody: bool = False
    """Has nobody that it speaks of to be held?"""
    sought: str = ""
    """Where figures are bands: how its worst was sought."""

    @property
    def asked(self) -> str:
        """What was asked; met only because there is nobody to ask it of, that too."""
        return f"{self.requirement.text}: {OF_NOBODY}, nothing to ask" if self.met and self.of_nobody else self.text

    @property
    def text(self) -> str:
        return self.requirement.text

    @property
    def file(self) -> str | None:
        """Where it stands; None where it is assumed."""
        return None if self.requirement.assumed else self.requirement.place.file

    @property
    def line(self) -> int | None:
        return None if self.requirement.assumed else self.requirement.place.line


@dataclass(frozen=True, slots=True)
class Moment:
    """One state, or what is in between while its step is being done: the state's number, its stage, when
    that is in words (“after step …”), and how everybody is held."""

    number: int
    stage: str | None
    words: str
    rig: Rig
    outcome: Outcome
    loads: Loads | None = None
    lacking: tuple[str, ...] = ()
    """What to add before the forces can be worked out."""


@dataclass(frozen=True, slots=True)
class Case:
    """What was found of one requirement in one moment."""

    moment: Moment
    reasons: tuple[Reason, ...]

    @property
    def broken(self) -> tuple[Reason, ...]:
        return tuple(one for one in self.reasons if not one.open)

    @property
    def open(self) -> tuple[Reason, ...]:
        return tuple(one for one in self.reasons if one.open)


def judged(requirement: Requirement, check: Check, moments: Sequence[Moment], watch: Watch | None) -> Judged:
    """Judge one requirement in every state that it speaks of."""
    asked = [m for m in moments if speaks_of(requirement, m.stage)]
    if check.forces_alone:
        # while a step is being done, no forces are worked out
        asked = [m for m in asked if m.loads or m.lacking] or asked
    numbers = tuple(dict.fromkeys(m.number for m in asked))
    cases: list[Case] = []
    anything = anybody = False
    for moment in asked:
        alike = cases and moment.outcome is cases[-1].moment.outcome
        if alike and not check.of_parts and not check.forces and not (check.known and moment.loads):
            cases.append(replace(cases[-1], moment=moment))
            continue
        names = _names(requirement, check, moment)
        speaks = check.of_parts or bool(moment.outcome.bodies and (names or not requirement.names))
        anything, anybody = anything or speaks, anybody or check.of_parts or (speaks and bool(names))
        cases.append(Case(moment, tuple(_reasons(requirement, check, moment, names, watch)) if speaks else ()))
    if not anything:
        return Judged(requirement, None, (f"not checked: {OF_NOBODY}",), unchecked=numbers, of_nobody=True)
    sought = _sought(check, cases)
    unchecked = _numbers([case for case in cases if case.open and not case.broken])
    broken = [case for case in cases if case.broken]
    if broken:
        reasons = _told([(case.moment, reason) for case in broken for reason in case.broken])
        shown = reasons[:MOST_REASONS]
        if len(reasons) > MOST_REASONS:
            shown.append(f"and {len(reasons) - MOST_REASONS} more")
        return Judged(requirement, False, tuple(shown), _numbers(broken), unchecked, sought=sought)
    unsure = _told([(case.moment, reason) for case in cases for reason in case.open])
    if unsure:
        return Judged(requirement, None, tuple(unsure), unchecked, unchecked, sought=sought)
    return Judged(requirement, True, of_nobody=not anybody, sought=sought)


def _sought(check: Check, cases: Sequence[Case]) -> str:
    loads = [case.moment.loads for case in cases if case.moment.loads and case.moment.loads.now.accepted]
    return worst_sought(loads, after=check.after, in_time=check.in_time) if check.forces or check.after else ""


def _names(requirement: Requirement, check: Check, moment: Moment) -> list[str]:
    """The bodies the requirement speaks of, less those who stand where they cannot fall."""
    if requirement.names:
        return [name for name in requirement.names if name in moment.outcome.failure_sets]
    return [b.name for b in moment.rig.bodies if not check.people or b.nature is Nature.PERSON]


def _reasons(
    requirement: Requirement, check: Check, moment: Moment, names: list[str], watch: Watch | None
) -> Iterator[Reason]:
    loads = moment.loads if moment.loads and moment.loads.now.accepted else None
    if loads is not None or not check.forces_alone:
        given: Mapping[str, object] = {
            "requirement": requirement,
            "rig": moment.rig,
            "outcome": moment.outcome,
            "names": names,
            "accepted": {one.failure for one in moment.rig.accepted},
            "watch": watch,
            "loads": loads,
        }
        yield from check.find(*(given[name] for name in _wanted(check.find)[0]))
        if check.known and loads is not None:
            yield from check.known(*(given[name] for name in _wanted(check.known)[0]))
    if check.forces and (check.forces_alone or moment.loads or moment.lacking):
        yield from _without_forces(moment)


def _without_forces(moment: Moment) -> Iterator[Reason]:
    """Why the forces of a moment tell nothing, or not everything."""
    loads, lacking = moment.loads, moment.lacking
    if loads is None:
        more = f" and {len(lacking) - 3} more (`stillheld forces` lists them)" if len(lacking) > 3 else ""
        words = f"not checked: the forces can be worked out once the file says {', '.join(lacking[:3])}{more}"
        yield Reason(words, open=True)
    elif not loads.now.accepted:
        yield Reason("not checked: the forces of this state do not balance well enough to be told", open=True)
    elif loads.spread and loads.spread.lost:
        cases = f"{loads.spread.lost} of the cases that were looked at within the bands"
        yield Reason(f"not checked: in {cases} the forces do not balance well enough", open=True)


@cache
def _wanted(find: Callable[..., object]) -> tuple[tuple[str, ...], int]:
    """The names of a check's parameters, and how many of them, the first ones, have no default."""
    code = cast(FunctionType, find).__code__
    names = code.co_varnames[: code.co_argcount]
    return names, len(names) - len(cast(FunctionType, find).__defaults__ or ())


def _numbers(cases: Sequence[Case]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(case.moment.number for case in cases))


def speaks_of(requirement: Requirement, stage: str | None) -> bool:
    """Does a requirement ask anything of the states of a stage (None: of the rig as first attached)?"""
    if requirement.stage is not None:
        return stage == requirement.stage
    return requirement.except_stage is None or stage != requirement.except_stage


def _told(told: Sequence[tuple[Moment, Reason]]) -> list[str]:
    """Each reason once, the worst first. Those of the first state stand bare, each by itself; those of later states
    stand together behind the states in which they hold."""
    states: dict[Reason, list[Moment]] = {}
    for moment, reason in sorted(told, key=lambda one: one[1].rank):
        states.setdefault(reason, []).append(moment)
    found = [(reason.rank, reason.words) for reason, moments in states.items() if moments[0].number == 0]
    together: dict[tuple[str, int], list[Reason]] = {}
    for reason, moments in states.items():
        if moments[0].number:
            more = len({one.number for one in moments} - {moments[0].number})
            together.setdefault((moments[0].words, more), []).append(reason)
    for (words, more), reasons in together.items():
        until = f" and in {more} state{'s' if more > 1 else ''} more" if more else ""
        rest = f"; and {len(reasons) - MOST_TOGETHER} more" if len(reasons) > MOST_TOGETHER else ""
        some = "; ".join(reason.words for reason in reasons[:MOST_TOGETHER])
        found.append((reasons[0].rank, f"{words}{until}: {some}{rest}"))
    return [words for _, words in sorted(found, key=lambda one: one[0])]
