"""The forces of the first state in a few lines: what doesn't hold, the weakest part, the deepest drops."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyser.checking.consequences import effects
from analyser.checking.overloaded import breaks_words
from analyser.checking.requirements import asks_for_forces
from analyser.checking.results import Result, State
from analyser.checking.sentences import counted, in_few, listed, verb
from analyser.checking.standing import frame_words
from analyser.checking.under_load import SEEN, grown
from analyser.holding.fate import Kind
from analyser.language.identities import FailureId, spoken
from analyser.pages.tree import Block, Fact, Span, alarm, strong
from analyser.pages.writing.forces_page import frames_facts, not_as_meant, not_worked_out
from analyser.rig.figures import as_force, as_length

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.loads import Loads


def forces_lines(result: Result, most: int) -> Iterator[Block]:
    """Who falls, what jams and what is in doubt are all told; of weak parts and drops `most` each."""
    state = result.states[0]
    loads = state.loads
    if loads is None:
        if state.lacking and asks_for_forces(result.rig):
            yield Fact("forces", f"{not_worked_out(state.lacking)} (`stillheld forces` lists what to add)")
        return
    if not loads.now.accepted:
        yield Fact("forces", "they do not balance well enough to be told")
        return
    yield from not_as_meant(loads.now, not loads.disagreements)
    yield from frames_facts(loads)
    yield from (Fact("statics", f"{d.body}: {d.why}") for d in loads.disagreements)
    yield from _weakest(loads, most)
    yield from _drops(state, loads, most)
    yield from _later_drops(result)


def _later_drops(result: Result) -> Iterator[Block]:
    """The deepest drop after one failure in a later state, where it is deeper than in the first."""
    first = max((drop for drop, *_ in _told_drops(result.states[0])), default=0.0)
    later = [(*one, state.at_step) for state in result.states[1:] for one in _told_drops(state)]
    if later and (deepest := max(later, key=lambda one: one[0]))[0] > max(first, SEEN):
        drop, name, failure, at = deepest
        yield Fact(strong("drops later"), f"{at}: {name} {as_length(drop)} when {spoken(failure)}")


def _told_drops(state: State) -> Iterator[tuple[float, str, FailureId]]:
    """Who drops after one failure and is held then: by how much, who, and after which."""
    for failure in state.outcome.failures:
        for name, fate in failure.fates:
            if fate.kind is Kind.DROPS and fate.drop:
                yield fate.drop, name, failure.id


def forces_verdict(result: Result) -> Span:
    """The gravest of what the forces tell, in a sentence with a name."""
    loads = result.states[0].loads
    if loads is None:
        return alarm(f"forces {not_worked_out(result.states[0].lacking)}")
    if not loads.now.accepted:
        return alarm("NOT TOLD: the forces do not balance well enough")
    grave = [f"{listed(loads.now.falls)}: nothing holds them" if loads.now.falls else ""]
    grave += [frame_words(one) for one in loads.frames if not one.stands]
    grave += [f"{listed(one.failures) or 'at rest'}: {breaks_words(one)}" for one in loads.overloads]
    reached = [(one.failures[0], one.reaches_ground) for one in loads.after or () if one.reaches_ground]
    grave += [f"{spoken(failure)}: {listed(names)} may come to the ground" for failure, names in reached]
    if told := [one for one in grave if one]:
        return alarm(f"WORST: {told[0]}" + (f"; {counted(len(told) - 1, 'thing')} more" if told[1:] else ""))
    short = {one.name: loads.now.called(one) for one in loads.now.lines}
    weakest = next(iter(loads.factors.rows), None)
    if weakest is None:
        return strong("Nothing that carries has a strength in the file: no strength factor is told")
    factor = f"Weakest at rest: {short.get(weakest.name, weakest.name)} with factor {weakest.factor:.1f}"
    drops = [
        (m.drop, m.name, one.failures[0])
        for one in loads.after or ()
        if one.accepted
        for m in one.moved
        if m.drop >= SEEN and m.name not in one.falls
    ]
    deepest = max(drops, default=None)
    drop = f"; deepest drop: {deepest[1]} {as_length(deepest[0])} when {spoken(deepest[2])}" if deepest else ""
    return strong(f"{factor}{drop}")


def _weakest(loads: Loads, most: int) -> Iterator[Block]:
    """The parts with the smallest strength factors, in one line."""
    short = {one.name: loads.now.called(one) for one in loads.now.lines}
    spread = loads.spread
    told = []
    for row in loads.factors.rows[:most]:
        over = spread.of("factor", row.name) if spread else None
        at_worst = f", {over.least:.1f} at worst over the bands" if over else ""
        told.append(f"{short.get(row.name, row.name)} {row.factor:.1f} ({as_force(row.force)}{at_worst})")
    left = len(loads.factors.rows) - len(told)
    if told:
        yield Fact("weakest", f"strength factor at rest: {', '.join(told)}" + (f"; {left} parts more" if left else ""))
    if without := loads.factors.without:
        yield Fact("no strength", f"given for {in_few(without)}")


def _drops(state: State, loads: Loads, most: int) -> Iterator[Block]:
    """The deepest drops after a single failure of those who stay held, each with the line that is pulled hardest
    then: in time where that was followed, else at rest."""
    after = [one for one in loads.after or () if one.accepted]
    falling = {str(one.id): what.drops for one, what in effects(state.outcome)}
    deepest = sorted(after, key=lambda one: (-_deepest(one, falling.get(one.failures[0], ()))[0], one.failures))
    told = []
    for one in deepest:
        drop, name = _deepest(one, falling.get(one.failures[0], ()))
        if drop >= SEEN:
            band = grown(one)
            rest = " at rest" if band and band.peak is None else ""
            peak = f", {one.equilibrium.said(band.name)} up to {as_force(band.most)}{rest}" if band else ""
            told.append(f"{name} {as_length(drop)} when {spoken(one.failures[0])}{peak}")
    if told:
        left = f"; {counted(len(told) - most, 'drop')} more" if len(told) > most else ""
        yield Fact("drops", f"{'; '.join(told[:most])}{left}: `stillheld forces`")
    surely = {name for one in after if one.followed for name in one.reaches_ground}
    perhaps = {name for one in after for name in one.reaches_ground} - surely
    for names, words in ((surely, verb(surely, "comes", "come")), (perhaps, "may come")):
        if names:
            where = f"{in_few(sorted(names))} {words} down to the ground after one failure"
            yield Fact(alarm("ground"), f"{where}: `stillheld forces`")
    if unsolved := [one.failures[0] for one in loads.after or () if not one.accepted]:
        yield Fact("not told", f"after {in_few(unsolved)}: the forces do not balance well enough")


def _deepest(one: Aftermath, falls: tuple[str, ...]) -> tuple[float, str]:
    """How far down who goes furthest of those who stay held, in metres."""
    return max(((m.drop, m.name) for m in one.moved if m.name not in falls and m.drop >= SEEN), default=(0.0, ""))
