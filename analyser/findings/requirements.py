"""What the file requires, and whether it is met in the states that were analysed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from analyser.findings.bare_edge import bare_passages
from analyser.findings.connectors import connectors
from analyser.findings.finding import listed
from analyser.findings.no_stopper import open_ends
from analyser.holding.outcome import Outcome, tipping_sets
from analyser.holding.reviewing import Review, Watch
from analyser.rig.model import Nature, Requirement, Rig

MOST_REASONS = 5
LATER = {
    "strength": "forces are not analysed yet",
    "drop": "drops are not analysed yet",
    "force": "forces are not analysed yet",
    "head-up": "the litter's attitude is not analysed yet",
}


@dataclass(frozen=True, slots=True)
class Judged:
    """`met` is None where it was not (or not fully) checked; `because` says why it isn't True."""

    requirement: Requirement
    met: bool | None
    because: tuple[str, ...] = ()
    states: tuple[int, ...] = ()
    unchecked: tuple[int, ...] = ()
    """The states in which it was not (or not fully) checked, and is not known to be broken."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One state: its number, its stage, the step it follows in words, and how everybody is held."""

    number: int
    stage: str | None
    words: str
    rig: Rig
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Case:
    """What a check looks at, and what it finds: `broken` reasons, and what is `open`."""

    rig: Rig
    outcome: Outcome
    requirement: Requirement
    watch: Watch | None
    moment: Moment
    broken: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)

    @property
    def accepted(self) -> set[str]:
        return {one.failure for one in self.rig.accepted}

    def named(self, *, people: bool = False) -> list[str]:
        """The bodies the requirement speaks of, less those who stand where they cannot fall."""
        bodies = [b.name for b in self.rig.bodies if not people or b.nature is Nature.PERSON]
        return [n for n in self.requirement.names if n in self.outcome.failure_sets] or (
            [] if self.requirement.names else bodies
        )


def judge(moments: Sequence[Moment], watch: Watch | None = None) -> tuple[Judged, ...]:
    """Judge every requirement in every state that it speaks of. Accepted failures are shown elsewhere;
    none fails a requirement."""
    return tuple(_judge(requirement, moments, watch) for requirement in moments[0].rig.requirements)


def _judge(requirement: Requirement, moments: Sequence[Moment], watch: Watch | None) -> Judged:
    asked = [m for m in moments if speaks_of(requirement, m.stage)]
    numbers = tuple(m.number for m in asked)
    if requirement.rule in LATER:
        return Judged(requirement, None, (f"not checked: {LATER[requirement.rule]}",), unchecked=numbers)
    cases: list[Case] = []
    anybody = False
    for moment in asked:
        if cases and moment.outcome is cases[-1].outcome and requirement.rule not in OF_PARTS:
            cases.append(replace(cases[-1], moment=moment))
            continue
        case = Case(moment.rig, moment.outcome, requirement, watch, moment)
        cases.append(case)
        if requirement.rule in OF_PARTS or (moment.outcome.bodies and (case.named() or not requirement.names)):
            CHECKS[requirement.rule](case)
            anybody = True
    if not anybody:
        nobody = "not checked: nobody that it speaks of has to be held in this file"
        return Judged(requirement, None, (nobody,), unchecked=numbers)
    unchecked = tuple(case.moment.number for case in cases if case.open and not case.broken)
    broken = [case for case in cases if case.broken]
    if broken:
        reasons = _reasons([(case.moment, reason) for case in broken for reason in case.broken])
        shown = reasons[:MOST_REASONS]
        if len(reasons) > MOST_REASONS:
            shown.append(f"and {len(reasons) - MOST_REASONS} more")
        return Judged(requirement, False, tuple(shown), tuple(case.moment.number for case in broken), unchecked)
    unsure = _reasons([(case.moment, reason) for case in cases for reason in case.open])
    if unsure:
        return Judged(requirement, None, tuple(unsure), unchecked, unchecked)
    return Judged(requirement, True)


def speaks_of(requirement: Requirement, stage: str | None) -> bool:
    """Does a requirement ask anything of the states of a stage (None: of the rig as first attached)?"""
    if requirement.stage is not None:
        return stage == requirement.stage
    return requirement.except_stage is None or stage != requirement.except_stage


def _reasons(told: Sequence[tuple[Moment, str]]) -> list[str]:
    """Each reason once, with the states in which it holds: those of the first state stand bare."""
    states: dict[str, list[Moment]] = {}
    for moment, reason in told:
        states.setdefault(reason, []).append(moment)
    found = []
    for reason, moments in states.items():
        first = moments[0]
        if first.number == 0:
            found.append(reason)
            continue
        more = len(moments) - 1
        until = f" and in {more} state{'s' if more > 1 else ''} more" if more else ""
        found.append(f"after step {first.words}{until}: {reason}")
    return found


def _independent(case: Case) -> None:
    outcome, wanted, accepted = case.outcome, case.requirement.number, case.accepted
    review: Review | None = None
    for name in case.named(people=case.requirement.rule == "independent"):
        number, exact = outcome.body(name).independent, outcome.body(name).independent_exact
        if accepted and number is not None and number < wanted:
            if review is None:
                review = Review(case.rig, failures=[f for f in case.rig.failures if f.id not in accepted])
            ways = review.independent(name)
            number, exact = ways.number, ways.exact
        if number is None or number >= wanted:
            continue
        if not exact:
            case.open.append(f"not fully checked: {name} has at least {number}, the search was cut short")
            continue
        singles = [cut[0] for cut in outcome.failure_sets[name] if len(cut) == 1 and cut[0] not in accepted]
        why = f": {_some(singles)} drops {name}" if singles else ""
        case.broken.append(f"{name} has {number}{why}")


def _held(case: Case) -> None:
    wanted, outcome = case.requirement.number, case.outcome
    names = case.named(people=case.requirement.rule == "held-people")
    sets, complete = outcome.failure_sets, outcome.complete_to
    if wanted > outcome.order:
        searched = Review(case.rig).failure_sets(names, wanted, case.watch)
        sets = {name: tuple(cuts) for name, cuts in searched.found.items()}
        complete = searched.complete_to
    for name in names:
        for cut in sets[name]:
            if len(cut) <= wanted and not set(cut) & case.accepted:
                case.broken.append(f"{' + '.join(cut)}: {name} falls" if cut else f"{name} falls with nothing failed")
    if complete < wanted:
        case.open.append(f"not fully checked: the search was stopped, it is complete to {complete} together")


def _hands_off(case: Case) -> None:
    names = case.named()
    case.broken.extend(
        f"{name} falls when every hand lets go" for name in case.outcome.hands_off_falls if name in names
    )


def _not_by_person(case: Case) -> None:
    case.broken.extend(
        f"{body.name} is held only by a person or by bare hands" for body in case.outcome.bodies if body.only_by_person
    )


def _level(case: Case) -> None:
    wanted = case.requirement.number
    for name in case.named():
        body = case.outcome.body(name)
        if case.rig.parts[name].ends is None:
            case.open.append(
                f"not checked: {name} has no two ends; give it points named head… and foot…, or `ends a, b | c, d`"
            )
        elif body.tips or not body.held:
            case.broken.append(f"{name} {'tips' if body.tips else 'falls'} with nothing failed")
        elif wanted > 2:
            case.open.append(f"not checked: tipping is searched for up to 2 failures, not {wanted}")
        else:
            failures = [f for f in case.rig.failures if f.id not in case.accepted]
            for bad in tipping_sets(case.rig, name, failures, wanted):
                case.broken.append(f"{' + '.join(bad)}: {name} tips or falls")


def _some(names: list[str]) -> str:
    if len(names) == 1:
        return f"{names[0]} alone"
    if len(names) == 2:
        return f"either of {names[0]} and {names[1]}"
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"any one of {len(names)} ({', '.join(names[:3])}{more})"


def _connectors_lock(case: Case) -> None:
    for part in connectors(case.rig):
        if part.locking is False:
            case.broken.append(f"{part.name} does not lock (line {part.place.line})")
    unsaid = [part.name for part in connectors(case.rig) if part.locking is None]
    if unsaid:
        case.open.append(f"not checked: {_few(unsaid)}: gate not given; add `locking` or `not locking`")


def _edges_padded(case: Case) -> None:
    for edge, rope in bare_passages(case.rig):
        case.broken.append(f"{rope} passes {edge} bare")


def _ends_stopped(case: Case) -> None:
    for end in open_ends(case.rig):
        case.broken.append(f"the {end.side} of {end.rope} has no stopper")


def _anchors_strong(case: Case) -> None:
    least = case.requirement.limits[0]
    anchors = [p for p in case.rig.parts.values() if p.nature is Nature.GROUND and "anchor" in p.family]
    given = {part.name: dict(part.quantities).get("strength") for part in anchors}
    for name, strength in given.items():
        if strength and strength.si < least:
            case.broken.append(f"{name} has {strength.text}")
    unsaid = [name for name, strength in given.items() if not strength]
    if unsaid:
        case.open.append(f"not checked: {_few(unsaid)}: strength not given")


def _few(names: list[str]) -> str:
    return listed(names) if len(names) < 5 else f"{', '.join(names[:3])} and {len(names) - 3} more"


OF_PARTS = ("anchors-strong", "connectors-lock", "edges-padded", "ends-stopped")
"""Requirements that ask of parts, not of bodies."""
CHECKS: dict[str, Callable[[Case], None]] = {
    "independent": _independent,
    "independent-everyone": _independent,
    "held": _held,
    "held-people": _held,
    "hands-off": _hands_off,
    "not-by-person": _not_by_person,
    "level": _level,
    "connectors-lock": _connectors_lock,
    "edges-padded": _edges_padded,
    "anchors-strong": _anchors_strong,
    "ends-stopped": _ends_stopped,
}
