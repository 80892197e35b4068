"""Requirements of forces: strength factors, what falls once overloads have broken, pulls on people, drops, attitude.

Each is judged on the forces at rest, after single failures where these were followed, and over the bands of the
file. The mechanics (`judging.py`) tell where there are no forces, or none that balance.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from analyser.checking.finding import in_few
from analyser.checking.judging import Reason
from analyser.checking.overloaded import breaks_words, why_not_told
from analyser.checking.required_holding import held
from analyser.checking.worst_sought import AT_WORST
from analyser.holding.outcome import Outcome
from analyser.holding.reviewing import Watch
from analyser.language.identities import owner, spoken
from analyser.rig.figures import as_force, as_length
from analyser.rig.model import Requirement, Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.aftermath import Aftermath, Moved
    from analyser.forces.loads import Loads
    from analyser.forces.spreading import Range

Accepted = Collection[str]


def strength(requirement: Requirement, accepted: Accepted, loads: Loads) -> Iterator[Reason]:
    least, names = requirement.limits[0], requirement.names

    def asked(name: str) -> bool:
        return not names or bool({name, owner(name)} & {*names})

    for row in loads.factors.rows:
        if row.factor < least and asked(row.name):
            kept = f", of which {row.knot} keeps {row.kept:.0%}" if row.knot else ""
            carried = f"{as_force(row.strength, '.3g')}{kept}, under {as_force(row.force, '.3g')}"
            yield Reason(f"{row.name} has {row.factor:.3g}: {carried}")
    enough = {row.name for row in loads.factors.rows if row.factor < least}
    for (name,), band in _over_bands(accepted, loads, "factor"):
        if band.least < least and asked(name) and name not in enough:
            yield Reason(f"{name} has {band.least:.3g} {AT_WORST}")
    told = {one for row in loads.factors.rows for one in (row.name, owner(row.name))}
    idle = [name for name in names if name not in told and name not in loads.factors.without]
    if idle:
        yield Reason(f"not checked: {in_few(idle)}: nothing is carried there at rest", open=True)
    unsaid = [name for name in loads.factors.without if not names or name in names]
    if unsaid:
        yield Reason(f"not checked: {in_few(unsaid)}: no strength given", open=True)


def strength_after(requirement: Requirement, rig: Rig, accepted: Accepted, loads: Loads) -> Iterator[Reason]:
    """The strength factors at rest, and after every single failure, at the new rest and on the way there."""
    yield from strength(requirement, accepted, loads)
    names = {*requirement.names}
    told = set()
    for failure, row in loads.short_after(rig, requirement.limits[0]):
        if failure not in accepted and (not names or {row.name, owner(row.name)} & names):
            yield Reason(f"{spoken(failure)}: {row.name} has {row.factor:.3g}, under {as_force(row.force, '.3g')}")
            told.add((row.name, failure))
    for (name, failure), band in _over_bands(accepted, loads, "factor-after"):
        short = band.least < requirement.limits[0] and (name, failure) not in told
        if short and (not names or {name, owner(name)} & names):
            yield Reason(f"{spoken(failure)}: {name} has {band.least:.3g} {AT_WORST}")
    yield from _lessened(accepted, loads, names)
    yield from followed(requirement, accepted, loads, "strength factors are", in_time=True)


def _lessened(accepted: Accepted, loads: Loads, names: Collection[str] = ()) -> Iterator[Reason]:
    """A line that has lost one of it: what is left of its strength the file doesn't tell."""
    after: dict[str, list[str]] = {}
    for name, failure in loads.lessened:
        if failure not in accepted and (not names or name in names):
            after.setdefault(name, []).append(failure)
    for name, failures in after.items():
        text = f"not checked: after {in_few(failures)}, what {name} still bears: its strength is that of the whole line"
        yield Reason(text, open=True)


def followed(
    requirement: Requirement, accepted: Accepted, loads: Loads, what: str, *, in_time: bool = False
) -> Iterator[Reason]:
    """What is open where single failures were, or had to be, followed by the forces."""
    if requirement.number > 1:
        yield Reason(f"not checked: {what} worked out after 1 failure, not {requirement.number}", open=True)
    if loads.after is None:
        yield Reason("not checked after failures: only in the rig as first attached", open=True)
    for one in loads.after or ():
        if not one.accepted and not set(one.failures) & set(accepted):
            words = f"not checked: after {'; '.join(map(spoken, one.failures))} the forces do not balance well enough"
            yield Reason(words, open=True)
    untold: dict[str, list[str]] = {}
    for one in loads.after or () if in_time else ():
        if one.accepted and not one.followed and not set(one.failures) & set(accepted):
            untold.setdefault(why_not_told(one.motion), []).append("; ".join(map(spoken, one.failures)))
    for why, names in untold.items():
        yield Reason(f"not checked: after {in_few(names)} what happens in time is not told: {why}", open=True)


def held_through(
    requirement: Requirement,
    rig: Rig,
    outcome: Outcome,
    names: Sequence[str],
    accepted: Accepted,
    watch: Watch | None,
    loads: Loads | None = None,
) -> Iterator[Reason]:
    """Held by the connections, and after all that breaks under its load as well."""
    yield from held(requirement, rig, outcome, names, accepted, watch)
    if loads is None:
        return
    for one in loads.overloads:
        if {*one.failures} & set(accepted):
            continue
        if any(name in names for name in (*one.surely, *one.perhaps)):
            after = f"{'; '.join(map(spoken, one.failures))}: " if one.failures else ""
            yield Reason(f"{after}{breaks_words(one)}")
    for (part, failure), band in _over_bands(accepted, loads, "overload"):
        known = any(one.failures == (failure,) for one in loads.overloads)
        if not known:
            yield Reason(
                f"{spoken(failure)}: {part} may break: its strength is {band.least:.2g} of what it carries, {AT_WORST}"
            )
    yield from followed(requirement, accepted, loads, "overloads are", in_time=True)
    yield from _lessened(accepted, loads)
    if loads.without:
        yield Reason(f"not checked: {in_few(loads.without)}: no strength given, taken as never breaking", open=True)


def force(requirement: Requirement, names: Sequence[str], accepted: Accepted, loads: Loads) -> Iterator[Reason]:
    most = requirement.limits[0]
    for name in names:
        here = loads.on(name)
        if here and here.force > most:
            yield Reason(f"{as_force(here.force, '.3g')} on {name} with nothing failed")
        over = {failure: peak for failure, peak in loads.people_after.get(name, {}).items() if peak > most}
        for failure, peak in over.items():
            if failure not in accepted:
                yield Reason(f"{spoken(failure)}: {as_force(peak, '.3g')} on {name}")
        for (person, failure), band in _over_bands(accepted, loads, "peak"):
            if person == name and band.most > most and failure not in over:
                yield Reason(f"{spoken(failure)}: {as_force(band.most, '.3g')} on {name} {AT_WORST}")
        here_at_worst = loads.spread and loads.spread.of("carries", name)
        if here_at_worst and here_at_worst.most > most and not (here and here.force > most):
            yield Reason(f"{as_force(here_at_worst.most, '.3g')} on {name} with nothing failed, {AT_WORST}")
    yield from followed(requirement, accepted, loads, "peaks are", in_time=True)


def may_slip(rig: Rig) -> bool:
    """Has the file something that lets rope through, or tears, at a force?"""
    return any(key == "slips at" for part in rig.parts.values() for key, _ in part.quantities)


def drop(
    requirement: Requirement, rig: Rig, outcome: Outcome, names: Sequence[str], accepted: Accepted, loads: Loads
) -> Iterator[Reason]:
    """How far down somebody comes to rest; what slips or tears on the way lets them down further, so that where
    anything did the lowest place counts."""
    most = requirement.limits[0]
    slips = may_slip(rig)
    yield from followed(requirement, accepted, loads, "drops are")
    lost = {str(one.id): one.falls for one in outcome.failures}  # also where the statics find a jam
    for one in loads.after or ():
        if set(one.failures) & set(accepted) or not one.accepted:
            continue
        after = "; ".join(map(spoken, one.failures))
        if slips and not one.followed:
            why = why_not_told(one.motion)
            yield Reason(
                f"not checked: after {after} something may slip or tear, and that isn't told: {why}", open=True
            )
        for moved in one.moved:
            down, torn = _down(one, moved)
            if down > most and moved.name not in lost.get(one.failures[0], ()):
                drops = f"{moved.name} drops about {_beyond(down, most)}"
                yield Reason(f"{after}: {drops}{torn}")
        for name in sorted({*one.falls, *lost.get(one.failures[0], ())}):
            if name in names:
                yield Reason(f"{after}: {name} falls")
    told = {(m.name, one.failures[0]) for one in loads.after or () for m in one.moved if m.drop > most}
    for (name, failure), band in _over_bands(accepted, loads, "drop"):
        if band.most > most and (name, failure) not in told:
            yield Reason(f"{spoken(failure)}: {name} drops about {_beyond(band.most, most)} {AT_WORST}")
    for faring in loads.faring:
        for ask in faring.asks if not set(faring.failures) & set(accepted) else ():
            if ask.about.value in ("edge", "spare"):
                after = f"{'; '.join(map(spoken, faring.failures))}: " if faring.failures else ""
                yield Reason(f"not checked: {after}{ask.wanted.why}; add `{ask.wanted.line}`", open=True)
    known = {(name, one.failures[0]) for one in loads.after or () for name in one.falls}
    for (name, failure), _ in _over_bands(accepted, loads, "falls"):
        if name in names and failure and (name, failure) not in known:
            yield Reason(f"{spoken(failure)}: {name} falls {AT_WORST}")


def _beyond(down: float, most: float) -> str:
    """How far, by as many digits as tell it from the most that is asked: `1.03 m`, and not `1 m` where 1 m is asked."""
    told = (as_length(down, how) for how in (".2g", ".2f", ".3f") if as_length(down, how) != as_length(most, how))
    return next(told, as_length(down, ".4f"))


def _down(one: Aftermath, moved: Moved) -> tuple[float, str]:
    """By how much somebody drops, and what of it slipped or tore."""
    motion = one.motion
    if motion is None or not motion.told or not motion.ran:
        return moved.drop, ""
    lowest = max((course.down for course in motion.bodies if course.name == moved.name), default=0.0)
    ran = ", ".join(f"{ran.by} lets out {as_length(ran.metres, '.2g')}" for ran in motion.ran)
    return max(moved.drop, lowest), f" at the lowest ({ran})"


def head_up(requirement: Requirement, loads: Loads) -> Iterator[Reason]:
    low, high = requirement.limits
    for pose in loads.now.poses:
        if pose.name not in requirement.names:
            continue
        if pose.head_up is None:
            yield Reason(f"not checked: {pose.name} has no head and foot", open=True)
        elif not low <= pose.head_up <= high:
            yield Reason(f"{pose.name} hangs with its head {pose.head_up:.3g} deg up")
        else:
            band = loads.spread and loads.spread.of("head-up", pose.name)
            if band and (band.least < low or band.most > high):
                off = band.least if band.least < low else band.most
                yield Reason(f"{pose.name} hangs with its head {off:.3g} deg up {AT_WORST}")


def _over_bands(accepted: Accepted, loads: Loads, what: str) -> list[tuple[tuple[str, ...], Range]]:
    """The figures of one sort over the bands of the file, less those after accepted failures."""
    figures = loads.spread.each(what) if loads.spread else []
    return [(key, one) for key, one in figures if not {*key[1:]} & set(accepted)]
