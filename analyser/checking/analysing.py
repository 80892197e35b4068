"""Checking a whole rig: each state's outcome, its forces where they are asked for, its findings, the requirements."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from analyser.checking.asking import Seen
from analyser.checking.dropping_told import LOWERING, as_written, at_rest, with_drops
from analyser.checking.house_asks import house_requirements, judged_for_the_house
from analyser.checking.instead import in_between
from analyser.checking.meanwhile import meanwhile
from analyser.checking.registry import asked, findings
from analyser.checking.requirements import asks_for_forces, asks_for_what_follows, asks_for_what_happens_in_time, judge
from analyser.checking.results import Result, State
from analyser.holding.outcome import Outcome, assess
from analyser.holding.reviewing import Watch
from analyser.language.syntax import LENGTHS, STILL
from analyser.rig.figures import use
from analyser.rig.model import Nature, Rig, Role

if TYPE_CHECKING:
    from analyser.forces.alike import Follow
    from analyser.forces.loads import Samples

PUTTING_ON = ("attach", "rerig", "rope")
"""Steps that put something on."""


def analyse(
    rig: Rig,
    order: int = 2,
    watch: Watch | None = None,
    *,
    forces: bool = False,
    samples: Samples | None = None,
    follow: Follow | None = None,
    processes: int | None = 1,
    remembered: Result | None = None,
) -> Result:
    """Analyse a rig as first attached and after every step of its stages: failure sets complete up
    to `order`, unless `watch` stops the search.

    Forces are worked out where they are asked for (`forces`, or by a requirement), and where the file
    seems to give the places and masses that they need. Where figures are bands, `samples` says in how many
    cases of the first state they are looked at (default: as few as a check has time for), and `follow` which
    single failures are followed in time (default: all where a requirement asks for it, else those that rank
    first); `processes` may work on them (None: one a core). Of `remembered`, the result of an earlier text, what is
    as it was is not searched again.
    """
    use(rig.units)
    earlier = {id(one.outcome): one.outcome for one in remembered.states} if remembered else {}
    states = tuple(_states(rig, max(order, 2), watch, tuple(earlier.values())))
    house = house_requirements(rig)
    if forces or forces_asked_for(rig):
        states = _with_forces(rig, states, samples, follow, processes, house=bool(house))
    states = _with_findings(rig, states)
    moments = [one for state in states for one in state.moments]
    states = tuple(replace(state, outcome=state.outcome.up_to(order)) for state in states)
    judged = judge(moments, watch)
    afterwards = [state.moments[-1] for state in states]
    for_the_house, untold = judged_for_the_house(house, moments)
    between = in_between(rig, afterwards, judged)
    return Result(rig, order, states, (*judged, *for_the_house), between, house_not_told=untold)


def _states(rig: Rig, order: int, watch: Watch | None, remembered: Sequence[Outcome]) -> Iterator[State]:
    """The first state, then one after each step. What a step leaves as it was is not analysed again.

    Always searched to order 2, as findings and requirements ask for pairs whatever is shown.
    """
    state = State(
        0, None, None, rig.place.line, rig.alone, assess(rig.alone, order, watch=watch, remembered=remembered)
    )
    yield state
    for at, stage in enumerate(rig.stages, 1):
        for count, step in enumerate(stage.steps, 1):
            before, outcome = state, state.outcome
            if step.verb not in (*STILL, *LENGTHS, "move"):
                outcome = assess(step.rig, order, watch=watch, before=outcome)
            during = tuple(meanwhile(before.rig, step, before.outcome, order, watch))
            number, line, numbered = before.number + 1, step.place.line, f"{at}.{count}"
            state = State(
                number,
                stage.title,
                step.words,
                line,
                step.rig,
                outcome,
                during=during,
                numbered=numbered,
                verb=step.verb,
            )
            yield state


def _with_findings(rig: Rig, states: Sequence[State]) -> tuple[State, ...]:
    seen = _as_seen(rig, states)
    told = [replace(state, findings=found) for state, found in zip(states, findings(seen), strict=True)]
    return (replace(told[0], asked=asked(seen[0])), *told[1:])


def _as_seen(rig: Rig, states: Sequence[State]) -> list[Seen]:
    """The states as rules see them. After a step that changes nothing the rig is the very same as before."""
    first = states[0].outcome
    seen = [Seen(rig.alone, first, rig, first, loads=states[0].loads)]
    steps = ((step, stage.steps[:k]) for stage in rig.stages for k, step in enumerate(stage.steps))
    for (before, state), (step, earlier) in zip(pairwise(states), steps, strict=True):
        seen.append(
            Seen(
                rig=seen[-1].rig if step.still else state.rig,
                outcome=state.outcome,
                plan=rig,
                first=first,
                step=step,
                before=before.rig,
                was=before.outcome,
                earlier=earlier,
                during=state.during,
                loads=state.loads,
                loads_before=None if before.lengths_open else before.loads,
            )
        )
    return seen


def forces_asked_for(rig: Rig) -> bool:
    """Does a requirement ask for forces, or does the file place more than its anchors and edges and
    weigh everybody?"""
    if asks_for_forces(rig):
        return True
    weighed = all("mass" in dict(body.quantities) for body in rig.bodies)
    placed = (p for p in rig.parts.values() if p.at is not None and p.nature not in (Nature.GROUND, Nature.EDGE))
    return bool(rig.bodies) and weighed and any(placed)


def _with_forces(
    rig: Rig,
    states: Sequence[State],
    samples: Samples | None,
    follow: Follow | None,
    processes: int | None,
    *,
    house: bool,
) -> tuple[State, ...]:
    """The states with their forces, and what follows single failures: at rest in all (between lengths that change one
    after the other only where a requirement, or the house, asks for it), in time in the first, and in the others where
    a requirement asks for it."""
    from analyser.forces.alike import Follow
    from analyser.forces.loads import Samples, loads
    from analyser.forces.missing import Missing
    from analyser.forces.remembered import Remembered

    remembered = Remembered()
    told_to = asks_for_what_follows(rig)
    asked = house or told_to
    states = tuple(_with_open_lengths(rig, states))
    every = (follow is not None and follow.every) or asks_for_what_happens_in_time(rig)
    follow = replace(follow or Follow(), every=every, processes=processes)
    first = samples or Samples(24, 4 if asked else None, processes=processes)
    later = Samples(8, 0 if asked else None, processes=processes)
    found: list[State] = []
    for number, state in enumerate(states):
        before = found[-1] if found else None
        moved = state.verb in LOWERING or state.lengths_open
        once = as_written(rig.alone) if before is None else {} if moved else at_rest(before.loads)
        if before and _as_before(state.rig, before.rig) and state.outcome is states[number - 1].outcome:
            outcome = with_drops(state.rig, state.outcome, before.loads, once) if before.loads else before.outcome
            state = replace(state, outcome=outcome, loads=before.loads, lacking=before.lacking)
        else:
            told = loads(
                state.rig,
                failures=told_to or not (state.lengths_open or (not house and _changing(state, states[number + 1 :]))),
                follow=follow if state.number == 0 or every else replace(follow, first=0),
                samples=later if state.number else first,
                remembered=remembered,
            )
            if isinstance(told, Missing):
                lines = (*(f"`{one.line}`" for one in told.wanted), *(one.why for one in told.contradictions))
                state = replace(state, lacking=lines)
            else:
                state = replace(state, outcome=with_drops(state.rig, state.outcome, told, once), loads=told)
        found.append(state)
    return tuple(found)


def _with_open_lengths(rig: Rig, states: Sequence[State]) -> Iterator[State]:
    """With whether the file tells where all comes to rest: what is put on after lengths have changed is as long as in
    the places first written, and of a rope that two devices grip it isn't told which part of it got longer."""
    changed = open_ = False
    steps = [None, *(step for stage in rig.stages for step in stage.steps)]
    for state, step in zip(states, steps, strict=True):
        if step is not None:
            open_ = (
                open_
                or (changed and step.verb in PUTTING_ON)
                or any(_gripped_twice(step.rig, name) for name in step.line.lengthened)
            )
            changed = changed or step.verb in LOWERING
        yield replace(state, lengths_open=open_)


def _gripped_twice(rig: Rig, name: str) -> bool:
    """Do several devices grip a rope? A strap none does."""
    stations = rig.index.ropes[name].stations if name in rig.index.ropes else ()
    return sum(one.role is Role.GRIP and (one.to_start or one.to_end) for one in stations) > 1


def _changing(state: State, later: Sequence[State]) -> bool:
    """Does the next step change a length too? Two lines are let out together, and written one after the other."""
    return state.verb in LENGTHS and bool(later) and later[0].verb in LENGTHS


def _as_before(rig: Rig, before: Rig) -> bool:
    """Is everything where it was, and as long?"""
    return rig.parts == before.parts and rig.ropes == before.ropes
