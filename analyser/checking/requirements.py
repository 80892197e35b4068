"""What the file requires, and whether it is met in the states that were analysed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from analyser.checking.bare_edge import bare_passages
from analyser.checking.connectors import connectors
from analyser.checking.finding import in_few, listed
from analyser.checking.no_stopper import open_ends
from analyser.checking.overloaded import breaks_words, why_not_told
from analyser.checking.runs_to_stopper import hands_off_on_stoppers
from analyser.holding.outcome import Outcome, tipping_sets
from analyser.holding.reviewing import Review, Watch
from analyser.rig.model import Effects, Nature, Requirement, Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads
    from analyser.forces.spreading import Range

MOST_REASONS = 5
MOST_TOGETHER = 3
AT_WORST = "at worst within the bands"
THROUGH = ("held-through", "held-through-people")
IN_TIME = ("force", "strength-after", *THROUGH)
"""Requirements that ask for what happens in time after every single failure."""
AFTER_FAILURES = ("drop", *IN_TIME)
"""Requirements that ask for what follows every single failure."""
OF_FORCES = ("strength", "head-up", *AFTER_FAILURES)
"""Requirements that ask for the forces, and so for places, lengths and masses."""


def asks_for_forces(rig: Rig) -> bool:
    """Does a requirement of the file ask for forces?"""
    return any(one.rule in OF_FORCES for one in rig.requirements)


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
    if requirement.rule in OF_FORCES and requirement.rule not in THROUGH:
        # while a step is being done, no forces are worked out
        asked = [m for m in asked if m.loads or m.lacking] or asked
    numbers = tuple(dict.fromkeys(m.number for m in asked))
    cases: list[Case] = []
    anybody = False
    for moment in asked:
        alike = cases and moment.outcome is cases[-1].outcome
        if alike and requirement.rule not in (*OF_PARTS, *OF_FORCES):
            cases.append(replace(cases[-1], moment=moment))
            continue
        case = Case(moment.rig, moment.outcome, requirement, watch, moment)
        cases.append(case)
        if requirement.rule in (*OF_PARTS, "strength", "strength-after") or (
            moment.outcome.bodies and (case.named() or not requirement.names)
        ):
            CHECKS[requirement.rule](case)
            anybody = True
    if not anybody:
        nobody = "not checked: nobody that it speaks of has to be held in this file"
        return Judged(requirement, None, (nobody,), unchecked=numbers)
    unchecked = _numbers([case for case in cases if case.open and not case.broken])
    broken = [case for case in cases if case.broken]
    if broken:
        reasons = _reasons([(case.moment, reason) for case in broken for reason in case.broken])
        shown = reasons[:MOST_REASONS]
        if len(reasons) > MOST_REASONS:
            shown.append(f"and {len(reasons) - MOST_REASONS} more")
        return Judged(requirement, False, tuple(shown), _numbers(broken), unchecked)
    unsure = _reasons([(case.moment, reason) for case in cases for reason in case.open])
    if unsure:
        return Judged(requirement, None, tuple(unsure), unchecked, unchecked)
    return Judged(requirement, True)


def _numbers(cases: Sequence[Case]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(case.moment.number for case in cases))


def speaks_of(requirement: Requirement, stage: str | None) -> bool:
    """Does a requirement ask anything of the states of a stage (None: of the rig as first attached)?"""
    if requirement.stage is not None:
        return stage == requirement.stage
    return requirement.except_stage is None or stage != requirement.except_stage


def _reasons(told: Sequence[tuple[Moment, str]]) -> list[str]:
    """Each reason once. Those of the first state stand bare, each by itself; those of later states stand
    together behind the states in which they hold."""
    states: dict[str, list[Moment]] = {}
    for moment, reason in told:
        states.setdefault(reason, []).append(moment)
    found = [reason for reason, moments in states.items() if moments[0].number == 0]
    together: dict[tuple[str, int], list[str]] = {}
    for reason, moments in states.items():
        if moments[0].number:
            more = len({one.number for one in moments} - {moments[0].number})
            together.setdefault((moments[0].words, more), []).append(reason)
    for (words, more), reasons in together.items():
        until = f" and in {more} state{'s' if more > 1 else ''} more" if more else ""
        rest = f"; and {len(reasons) - MOST_TOGETHER} more" if len(reasons) > MOST_TOGETHER else ""
        found.append(f"{words}{until}: {'; '.join(reasons[:MOST_TOGETHER])}{rest}")
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
            if number is not None:
                _independent_without_running(case, name)
            continue
        if not exact:
            case.open.append(f"not fully checked: {name} has at least {number}, the search was cut short")
            continue
        singles = [cut[0] for cut in outcome.failure_sets[name] if len(cut) == 1 and cut[0] not in accepted]
        why = f": {_some(singles)} drops {name}" if singles else ""
        case.broken.append(f"{name} has {number}{why}")


def _not_running(case: Case) -> Review | None:
    """The rig as if its stoppers were not there: whom only a stopper keeps has run down the rope to it
    first. None where there are none."""
    stoppers = frozenset(name for name, part in case.rig.parts.items() if part.nature is Nature.STOPPER)
    if not stoppers:
        return None
    failures = [f for f in case.rig.failures if f.id not in case.accepted and f.part not in stoppers]
    return Review(case.rig, failures=failures, already=Effects(gone=stoppers))


def _independent_without_running(case: Case, name: str) -> None:
    review = _not_running(case)
    number = review.independent(name).number if review else None
    if number and number < case.requirement.number:  # at 0 the stopper is what it hangs on with nothing failed
        case.broken.append(f"{name} has {number} that does not first run to a stopper")


def _held(case: Case) -> None:
    wanted, outcome = case.requirement.number, case.outcome
    names = case.named(people=case.requirement.rule.endswith("-people"))
    sets, complete = outcome.failure_sets, outcome.complete_to
    if wanted > outcome.order:
        searched = Review(case.rig).failure_sets(names, wanted, case.watch)
        sets = {name: tuple(cuts) for name, cuts in searched.found.items()}
        complete = searched.complete_to
    for name in names:
        for cut in sets[name]:
            if len(cut) <= wanted and not set(cut) & case.accepted:
                case.broken.append(f"{' + '.join(cut)}: {name} falls" if cut else f"{name} falls with nothing failed")
    review = _not_running(case)
    running = review.failure_sets(names, wanted, case.watch) if review else None
    for name, cuts in running.found.items() if running else ():
        fallen = [set(cut) for cut in sets[name]]
        for cut in cuts:
            if cuts != [()] and not any(one <= set(cut) for one in fallen):
                case.broken.append(f"{' + '.join(cut)}: {name} first runs to a stopper, how far is not told")
    complete = min(complete, running.complete_to if running else complete)
    if complete < wanted:
        case.open.append(f"not fully checked: the search was stopped, it is complete to {complete} together")


def _hands_off(case: Case) -> None:
    names = case.named()
    case.broken.extend(
        f"{name} falls when every hand lets go" for name in case.outcome.hands_off_falls if name in names
    )
    running, stoppers = hands_off_on_stoppers(case.rig, case.outcome)
    case.broken.extend(
        f"{name} runs to {listed(stoppers)} when every hand lets go" for name in running if name in names
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
        case.open.append(f"not checked: {in_few(unsaid)}: gate not given; add `locking` or `not locking`")


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
        if strength and strength.least < least:
            case.broken.append(f"{name} has {strength.text}")
    unsaid = [name for name, strength in given.items() if not strength]
    if unsaid:
        case.open.append(f"not checked: {in_few(unsaid)}: strength not given")


def _loads(case: Case) -> Loads | None:
    """The forces of this state; where there are none, why not."""
    loads, lacking = case.moment.loads, case.moment.lacking
    if loads is None:
        more = f" and {len(lacking) - 3} more (`stillheld forces` lists them)" if len(lacking) > 3 else ""
        case.open.append(f"not checked: the forces can be worked out once the file says {', '.join(lacking[:3])}{more}")
        return None
    if not loads.now.accepted:
        case.open.append("not checked: the forces of this state do not balance well enough to be told")
        return None
    if loads.spread and loads.spread.lost:
        cases = f"{loads.spread.lost} of the cases that were looked at within the bands"
        case.open.append(f"not checked: in {cases} the forces do not balance well enough")
    return loads


def _strength(case: Case) -> None:
    loads = _loads(case)
    if loads is None:
        return
    least, names = case.requirement.limits[0], case.requirement.names

    def asked(name: str) -> bool:
        return not names or bool({name, name.split("[")[0]} & {*names})

    for row in loads.factors.rows:
        if row.factor < least and asked(row.name):
            kept = f", of which {row.knot} keeps {row.kept:.0%}" if row.knot else ""
            case.broken.append(
                f"{row.name} has {row.factor:.3g}: {row.strength / 1000:.3g} kN{kept}, under {row.force / 1000:.3g} kN"
            )
    enough = {row.name for row in loads.factors.rows if row.factor < least}
    for (name,), band in _over_bands(case, loads, "factor"):
        if band.least < least and asked(name) and name not in enough:
            case.broken.append(f"{name} has {band.least:.3g} {AT_WORST}")
    told = {one for row in loads.factors.rows for one in (row.name, row.name.split("[")[0])}
    idle = [name for name in names if name not in told and name not in loads.factors.without]
    if idle:
        case.open.append(f"not checked: {in_few(idle)}: nothing is carried there at rest")
    unsaid = [name for name in loads.factors.without if not names or name in names]
    if unsaid:
        case.open.append(f"not checked: {in_few(unsaid)}: no strength given")


def _strength_after(case: Case) -> None:
    """The strength factors at rest, and after every single failure, at the new rest and on the way there."""
    _strength(case)
    loads = case.moment.loads
    if loads is None or not loads.now.accepted:
        return
    names = {*case.requirement.names}
    for failure, row in loads.short_after(case.rig, case.requirement.limits[0]):
        if failure not in case.accepted and (not names or {row.name, row.name.split("[")[0]} & names):
            case.broken.append(f"{failure}: {row.name} has {row.factor:.3g}, under {row.force / 1000:.3g} kN")
    _followed(case, loads, "strength factors are", in_time=True)


def _followed(case: Case, loads: Loads, what: str, *, in_time: bool = False) -> None:
    """What is open where single failures were, or had to be, followed by the forces."""
    if case.requirement.number > 1:
        case.open.append(f"not checked: {what} worked out after 1 failure, not {case.requirement.number}")
    if loads.after is None:
        case.open.append("not checked after failures: only in the rig as first attached")
    for one in loads.after or ():
        if not one.accepted and not set(one.failures) & case.accepted:
            case.open.append(f"not checked: after {'; '.join(one.failures)} the forces do not balance well enough")
    untold: dict[str, list[str]] = {}
    for one in loads.after or () if in_time else ():
        if one.accepted and not one.followed and not set(one.failures) & case.accepted:
            untold.setdefault(why_not_told(one.motion), []).append("; ".join(one.failures))
    for why, names in untold.items():
        case.open.append(f"not checked: after {in_few(names)} what happens in time is not told: {why}")


def _held_through(case: Case) -> None:
    """Held by the connections, and after all that breaks under its load as well."""
    _held(case)
    if case.moment.loads is None and not case.moment.lacking:
        return  # while a step is being done, no forces are worked out
    loads = _loads(case)
    if loads is None:
        return
    names = case.named(people=case.requirement.rule.endswith("-people"))
    for one in loads.overloads:
        if {*one.failures} & case.accepted:
            continue
        for falls in ([n for n in one.surely if n in names], [n for n in one.perhaps if n in names]):
            if falls:
                after = f"{'; '.join(one.failures)}: " if one.failures else ""
                case.broken.append(f"{after}{breaks_words(one)}")
                break
    for (part, failure), band in _over_bands(case, loads, "overload"):
        known = any(one.failures == (failure,) for one in loads.overloads)
        if not known:
            case.broken.append(f"{failure}: {part} may break, with {band.least:.2g} of what it carries, {AT_WORST}")
    _followed(case, loads, "overloads are", in_time=True)
    if loads.without:
        case.open.append(f"not checked: {in_few(loads.without)}: no strength given, taken as never breaking")


def _force(case: Case) -> None:
    loads = _loads(case)
    if loads is None:
        return
    most = case.requirement.limits[0]
    for name in case.named(people=not case.requirement.names):
        here = loads.on(name)
        if here and here.force > most:
            case.broken.append(f"{here.force / 1000:.3g} kN on {name} with nothing failed")
        over = {failure: peak for failure, peak in loads.people_after.get(name, {}).items() if peak > most}
        for failure, peak in over.items():
            if failure not in case.accepted:
                case.broken.append(f"{failure}: {peak / 1000:.3g} kN on {name}")
        for (person, failure), band in _over_bands(case, loads, "peak"):
            if person == name and band.most > most and failure not in over:
                case.broken.append(f"{failure}: {band.most / 1000:.3g} kN on {name} {AT_WORST}")
        here_at_worst = loads.spread and loads.spread.of("carries", name)
        if here_at_worst and here_at_worst.most > most and not (here and here.force > most):
            case.broken.append(f"{here_at_worst.most / 1000:.3g} kN on {name} with nothing failed, {AT_WORST}")
    _followed(case, loads, "peaks are", in_time=True)


def _drop(case: Case) -> None:
    loads = _loads(case)
    if loads is None:
        return
    most = case.requirement.limits[0]
    _followed(case, loads, "drops are")
    lost = {one.id: one.falls for one in case.outcome.failures}  # also where the statics find a jam
    for one in loads.after or ():
        if set(one.failures) & case.accepted or not one.accepted:
            continue
        for moved in one.moved:
            if moved.drop > most and moved.name not in lost.get(one.failures[0], ()):
                case.broken.append(f"{'; '.join(one.failures)}: {moved.name} drops about {moved.drop:.2g} m")
        for name in sorted({*one.falls, *lost.get(one.failures[0], ())}):
            if name in case.named():
                case.broken.append(f"{'; '.join(one.failures)}: {name} falls")
    told = {(m.name, one.failures[0]) for one in loads.after or () for m in one.moved if m.drop > most}
    for (name, failure), band in _over_bands(case, loads, "drop"):
        if band.most > most and (name, failure) not in told:
            case.broken.append(f"{failure}: {name} drops about {band.most:.2g} m {AT_WORST}")
    known = {(name, one.failures[0]) for one in loads.after or () for name in one.falls}
    for (name, failure), _ in _over_bands(case, loads, "falls"):
        if name in case.named() and failure and (name, failure) not in known:
            case.broken.append(f"{failure}: {name} falls {AT_WORST}")


def _head_up(case: Case) -> None:
    loads = _loads(case)
    if loads is None:
        return
    low, high = case.requirement.limits
    for pose in loads.now.poses:
        if pose.name not in case.requirement.names:
            continue
        if pose.head_up is None:
            case.open.append(f"not checked: {pose.name} has no head and foot")
        elif not low <= pose.head_up <= high:
            case.broken.append(f"{pose.name} hangs with its head {pose.head_up:.3g} deg up")
        else:
            band = loads.spread and loads.spread.of("head-up", pose.name)
            if band and (band.least < low or band.most > high):
                off = band.least if band.least < low else band.most
                case.broken.append(f"{pose.name} hangs with its head {off:.3g} deg up {AT_WORST}")


def _over_bands(case: Case, loads: Loads, what: str) -> list[tuple[tuple[str, ...], Range]]:
    """The figures of one sort over the bands of the file, less those after accepted failures."""
    figures = loads.spread.each(what) if loads.spread else []
    return [(key, one) for key, one in figures if not {*key[1:]} & case.accepted]


OF_PARTS = ("anchors-strong", "connectors-lock", "edges-padded", "ends-stopped")
"""Requirements that ask of parts, not of bodies."""
CHECKS: dict[str, Callable[[Case], None]] = {
    "independent": _independent,
    "independent-everyone": _independent,
    "held": _held,
    "held-people": _held,
    "held-through": _held_through,
    "held-through-people": _held_through,
    "hands-off": _hands_off,
    "not-by-person": _not_by_person,
    "level": _level,
    "connectors-lock": _connectors_lock,
    "edges-padded": _edges_padded,
    "anchors-strong": _anchors_strong,
    "ends-stopped": _ends_stopped,
    "strength": _strength,
    "strength-after": _strength_after,
    "force": _force,
    "drop": _drop,
    "head-up": _head_up,
}
