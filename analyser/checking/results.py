"""The results contract: everything the analysis says, as plain data and as stable JSON.

Terminal, diagram, report and scripts all show what stands here; none computes a figure of its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

from analyser.checking.at_once import crowded
from analyser.checking.figures import aftermath_figures, forces_figures, overload_figures
from analyser.checking.finding import Asked, Finding
from analyser.checking.held_by import held_by
from analyser.checking.instead import InBetween, in_between
from analyser.checking.latent import Slip, slips
from analyser.checking.opened import LOADED, carrying, opened
from analyser.checking.overloaded import overloaded
from analyser.checking.reaching_ground import reaching
from analyser.checking.registry import asked, findings, idle_waivers, in_order
from analyser.checking.requirements import AFTER_FAILURES, IN_TIME, Judged, Moment, asks_for_forces, judge, speaks_of
from analyser.holding.outcome import BodyOutcome, FailureOutcome, Outcome, assess
from analyser.holding.reviewing import Watch
from analyser.language.mistakes import Mistake
from analyser.rig.laying import while_laid_anew
from analyser.rig.model import Effects, Failure, Nature, Rig, Role, Step

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.alike import Follow
    from analyser.forces.loads import Loads, Samples
    from analyser.forces.overloads import Overload

FORMAT = "stillheld/1"

CAUTIONS = (
    "A model of what was written, not of the rope in the hand.",
    "Local codes, makers' instructions and licensed or qualified practice come first.",
)
TAKEN = "people, loads and a body's ordinary points are taken as not failing"


@dataclass(frozen=True, slots=True)
class State:
    """One state of the rig: as first attached (number 0), or after a step of a stage."""

    number: int
    stage: str | None
    step: str | None
    line: int
    rig: Rig
    outcome: Outcome
    findings: tuple[Finding, ...]
    loads: Loads | None = None
    """The forces, where they were worked out."""
    lacking: tuple[str, ...] = ()
    """What to add before they can be."""
    asked: tuple[Asked, ...] = ()
    """Facts that rules need and the file does not state."""
    during: tuple[Rig, Outcome] | None = None
    """While the step lays a rope anew: the rig on what stays on it, and how everybody is held then."""

    @property
    def forces(self) -> dict[str, object] | None:
        """Its forces as plain data, or what is lacking for them; None where they were not asked for."""
        return forces_figures(self.loads, self.lacking)


@dataclass(frozen=True, slots=True)
class Brief:
    """A result in a line. `falls`: who isn't held in some state with nothing failed; `alone`: whom some single
    failure drops in some state, and `single_points` how many such failures there are."""

    title: str
    revision: str | None
    met: bool
    closing: str
    states: int
    falls: tuple[str, ...]
    alone: tuple[str, ...]
    single_points: int
    dangers: int

    def as_data(self) -> dict[str, object]:
        return asdict(self) | {"falls": list(self.falls), "alone": list(self.alone)}


@dataclass(frozen=True, slots=True)
class Result:
    """The result of one check. `bodies`, `failures`, `failure_sets` are those of the first state."""

    rig: Rig
    order: int
    states: tuple[State, ...]
    requirements: tuple[Judged, ...]
    in_between: tuple[InBetween, ...] = ()
    """Where a requirement is broken only between two states that keep all of them."""
    only: tuple[str, ...] = ()
    """The rules whose findings are shown, where not all are."""
    without: tuple[str, ...] = ()
    """The rules whose findings are left out."""

    def showing(self, only: Sequence[str], without: Sequence[str]) -> Result:
        """The same result with the findings of some rules only. Requirements stay as judged."""
        states = tuple(
            replace(s, findings=tuple(f for f in s.findings if (not only or f.rule in only) and f.rule not in without))
            for s in self.states
        )
        return replace(self, states=states, only=tuple(only), without=tuple(without))

    def at(self, number: int) -> Result:
        """The same result of one state alone, with the requirements that speak of it judged there."""
        if len(self.states) == 1:
            return self
        state = self.states[number]
        (*_, moment) = _moments(state)
        asked = [one for one in self.rig.requirements if speaks_of(one, state.stage)]
        rig = replace(state.rig, requirements=tuple(asked))
        state = replace(state, rig=rig)
        return replace(self, rig=rig, states=(state,), requirements=judge([moment]), in_between=())

    @property
    def slips(self) -> tuple[Slip, ...]:
        """Slips that may be there unseen, and what each makes deadly."""
        return slips(self.rig, self.states[0].outcome)

    @property
    def bodies(self) -> tuple[BodyOutcome, ...]:
        return self.states[0].outcome.bodies

    @property
    def failures(self) -> tuple[FailureOutcome, ...]:
        return self.states[0].outcome.failures

    @property
    def failure_sets(self) -> dict[str, tuple[tuple[str, ...], ...]]:
        return self.states[0].outcome.failure_sets

    @property
    def findings(self) -> tuple[Finding, ...]:
        return self.states[0].findings

    def body(self, name: str) -> BodyOutcome:
        """One body by name; KeyError when the rig has no such body."""
        for body in self.bodies:
            if body.name == name:
                return body
        raise KeyError(name)

    @property
    def broken_states(self) -> tuple[int, ...]:
        """The states in which some requirement is broken."""
        return tuple(sorted({number for one in self.requirements if one.met is False for number in one.states}))

    def instead(self, one: InBetween) -> str:
        """What to do first, where something is broken only in between."""
        steps = [step for stage in self.rig.stages if stage.title == one.stage for step in stage.steps]
        return one.words({step.place.line: step.words for step in steps})

    def fresh(self, state: State) -> tuple[Finding, ...]:
        """The findings of a state that no state before it has."""
        known = {_key(finding) for earlier in self.states[: state.number] for finding in earlier.findings}
        return tuple(finding for finding in state.findings if _key(finding) not in known)

    @property
    def met(self) -> bool:
        """Is every requirement met, fully checked? Never to be read without `closing`."""
        return all(one.met for one in self.requirements)

    @property
    def exit_status(self) -> int:
        return 0 if self.met else 1

    @property
    def declared(self) -> dict[str, int]:
        """How many of each thing the file declares: what it has none of was not checked."""
        parts = self.rig.parts.values()
        edges = [p for p in parts if p.nature is Nature.EDGE]
        guards = {g for p in edges for g in p.guards}
        guards |= {g for r in self.rig.ropes for s in r.stations if s.role is Role.OVER for g in s.guards}
        return {
            "anchors": sum(p.nature is Nature.GROUND for p in parts),
            "causes": sum(f.mode == "strikes" for f in self.rig.failures),
            "edges": len(edges),
            "guards": len(guards),
            "positions": sum(p.at is not None for p in parts),
            "stoppers": sum(p.nature is Nature.STOPPER for p in parts),
            "structures": sum(p.nature is Nature.STRUCTURE for p in parts),
        }

    @property
    def not_declared(self) -> tuple[str, ...]:
        """What the file has none of, in words: `0 edges declared: none checked`."""
        return tuple(f"0 {name} declared: none checked" for name, count in self.declared.items() if not count)

    @property
    def on(self) -> str:
        """What the verdict rests on: forces only where they balance in every state."""
        balanced = all(state.loads is not None and state.loads.now.accepted for state in self.states)
        return "connections and forces" if balanced else "connections only"

    @property
    def complete(self) -> str:
        """How far the search went, and for what."""
        outcome = min((state.outcome for state in self.states), key=lambda one: (one.complete_to, one.share or 0.0))
        further = ""
        if outcome.share is not None:
            further = (
                f" (stopped by the budget: order {outcome.complete_to + 1} covers {outcome.share:.0%} of its "
                "candidates, larger sets none)"
            )
        return f"Complete to order {outcome.complete_to}{further} for the failures that this file can express: {TAKEN}"

    @property
    def closing(self) -> str:
        """The closing line for people. A verdict never stands bare."""
        accepted, assumed = len(self.rig.accepted) + len(self.rig.waived), len(self.rig.sound)
        behind = (
            f"on {self.on}, with {accepted} accepted risk{'' if accepted == 1 else 's'} "
            f"and {assumed} assumption{'' if assumed == 1 else 's'}"
        )
        dangers = sum(f.severity == "danger" and not f.accepted for state in self.states for f in state.findings)
        if self.met:
            more = f"; {dangers} danger{'' if dangers == 1 else 's'} to look at" if dangers else ""
            return f"met, {behind}{more}"
        broken = sum(one.met is False for one in self.requirements)
        unchecked = sum(one.met is None for one in self.requirements)
        counts = []
        if broken:
            counts.append(f"{broken} of {len(self.requirements)} requirements broken")
        if unchecked:
            counts.append(f"{unchecked} not fully checked")
        return f"not met ({', '.join(counts)}), {behind}"

    @property
    def brief(self) -> Brief:
        """The answer in a line, over all states; accepted failures and findings left out."""
        accepted = {one.failure for one in self.rig.accepted}
        outcomes = [state.outcome for state in self.states]
        alone = {name for o in outcomes for f in o.failures if f.id not in accepted for name in f.falls}
        return Brief(
            self.rig.title,
            self.rig.revision,
            self.met,
            self.closing,
            len(self.states),
            tuple(sorted({body.name for o in outcomes for body in o.bodies if not body.held})),
            tuple(sorted(alone)),
            len({f.id for o in outcomes for f in o.failures if f.falls and f.id not in accepted}),
            sum(f.severity == "danger" and not f.accepted for state in self.states for f in self.fresh(state)),
        )

    def as_data(self) -> dict[str, object]:
        """The whole result as plain lists and dictionaries, in a stable order."""
        rig = self.rig
        later: dict[str, object] = {}
        if rig.observations:
            later["observed"] = len(rig.observations)
        return {
            "format": FORMAT,
            "rig": rig.title,
            "revision": rig.revision,
            "assumptions": [
                {"failure": one.failure, "reason": one.reason, "file": one.place.file, "line": one.place.line}
                for one in rig.sound
            ],
            "accepted_risks": [
                {"failure": one.failure, "reason": one.reason, "file": one.place.file, "line": one.place.line}
                for one in rig.accepted
            ],
            "accepted_findings": [
                {"rule": w.rule, "about": w.about, "reason": w.reason, "file": w.place.file, "line": w.place.line}
                for w in rig.waived
            ],
            "states": [_state(state) for state in self.states],
            "requirements": [_requirement(one) for one in self.requirements],
            "in_between": [_in_between(self, one) for one in self.in_between],
            "verdict": "met" if self.met else "not met",
            "on": self.on,
            "accepted": len(rig.accepted) + len(rig.waived),
            "assumed": len(rig.sound),
            "closing": self.closing,
            "declared": self.declared,
            "complete_to_order": min(state.outcome.complete_to for state in self.states),
            "next_order_searched": self.states[0].outcome.share,
            "taken_as_not_failing": ["people", "loads", "a body's ordinary points"],
            "not_told": [{"fact": one.fact, "part": one.part, "add": one.add} for one in self.states[0].asked],
            "findings_of": {"only": list(self.only), "without": list(self.without)},
            "not_analysed": later,
            "cautions": list(CAUTIONS),
        }

    def as_json(self) -> str:
        """The results contract, one JSON document: the same rig gives the same bytes."""
        return json.dumps(self.as_data(), indent=2, ensure_ascii=False)


OF_THE_WHOLE = ("holds-nobody", "nothing-to-accept")
"""Rules of the rig as first attached: what a stage needs later, or no more, is not told again."""


def analyse(
    rig: Rig,
    order: int = 2,
    watch: Watch | None = None,
    *,
    forces: bool = False,
    samples: Samples | None = None,
    follow: Follow | None = None,
    processes: int = 1,
) -> Result:
    """Analyse a rig as first attached and after every step of its stages: failure sets complete up
    to `order`, unless `watch` stops the search.

    Forces are worked out where they are asked for (`forces`, or by a requirement), and where the file
    seems to give the places and masses that they need. Where figures are bands, `samples` says in how many
    cases of the first state they are looked at (default: as few as a check has time for), and `follow` which
    single failures are followed in time (default: all where a requirement asks for them, else those that rank first),
    in so many `processes` at most where there is much to do (0: as many as the machine has).
    """
    states = tuple(_states(rig, max(order, 2), watch))
    if forces or forces_asked_for(rig):
        states = _with_forces(rig, states, samples, follow, processes)
    moments = [one for state in states for one in _moments(state)]
    states = tuple(replace(state, outcome=state.outcome.up_to(order)) for state in states)
    idle = idle_waivers(rig, [finding for state in states for finding in state.findings])
    if idle:
        states = (replace(states[0], findings=in_order(rig, (*states[0].findings, *idle))), *states[1:])
    judged = judge(moments, watch)
    afterwards = [list(_moments(state))[-1] for state in states]
    return Result(rig, order, states, judged, in_between(rig, afterwards, judged))


def _states(rig: Rig, order: int, watch: Watch | None) -> Iterator[State]:
    """The first state, then one after each step. What a step leaves as it was is not analysed again.

    Always searched to order 2, as findings and requirements ask for pairs whatever is shown.
    """
    outcome = assess(rig, order, watch=watch)
    state = State(0, None, None, rig.place.line, rig, outcome, findings(rig, outcome), asked=asked(rig, outcome))
    yield state
    standing = tuple(f for f in state.findings if f.rule not in OF_THE_WHOLE)
    for stage in rig.stages:
        earlier: list[Step] = []
        for step in stage.steps:
            before = state
            outcome = before.outcome
            if step.verb not in ("check", "say", "note", "take in", "pay out", "move"):
                outcome = assess(step.rig, order, watch=watch, before=outcome)
            if step.verb not in ("check", "say", "note"):
                standing = findings(step.rig, outcome, OF_THE_WHOLE)
            between = while_laid_anew(before.rig, step)
            during = (between, assess(between, order, watch=watch, before=before.outcome)) if between else None
            moving = opened(before.rig, before.outcome, step, outcome, earlier, during[1] if during else None)
            told = in_order(rig, (*standing, *moving, *crowded(before.rig, step)))
            number, line = before.number + 1, step.place.line
            state = State(number, stage.title, step.words, line, step.rig, outcome, told, during=during)
            yield state
            earlier.append(step)


def forces_asked_for(rig: Rig) -> bool:
    """Does a requirement ask for forces, or does the file place more than its anchors and edges and
    weigh everybody?"""
    if asks_for_forces(rig):
        return True
    weighed = all("mass" in dict(body.quantities) for body in rig.bodies)
    placed = (p for p in rig.parts.values() if p.at is not None and p.nature not in (Nature.GROUND, Nature.EDGE))
    return bool(rig.bodies) and weighed and any(placed)


def _with_forces(
    rig: Rig, states: Sequence[State], samples: Samples | None, follow: Follow | None, processes: int
) -> tuple[State, ...]:
    """The states with their forces. What follows single failures is worked out for the first state;
    for the others only where a requirement asks for it."""
    from analyser.forces.alike import Follow
    from analyser.forces.loads import Samples, loads
    from analyser.forces.missing import Missing
    from analyser.forces.remembered import Remembered

    remembered = Remembered()
    asked = any(one.rule in AFTER_FAILURES for one in rig.requirements)
    every = (follow is not None and follow.every) or any(one.rule in IN_TIME for one in rig.requirements)
    follow = replace(follow or Follow(), every=every, processes=processes)
    first, later = samples or Samples(24, 4 if asked else None), Samples(8, 0 if asked else None, 4)
    steps = [step for stage in rig.stages for step in stage.steps]
    found: list[State] = []
    for state in states:
        before = found[-1] if found else None
        if before and before.loads and before.loads.now.accepted:
            step = steps[state.number - 1]
            told_under_load = carrying(before.rig, before.outcome, step, state.outcome, before.loads)
            if told_under_load is not None:
                others = (f for f in state.findings if f.rule != LOADED.name)
                state = replace(state, findings=in_order(state.rig, (*others, *told_under_load)))
        if before and _as_before(state.rig, before.rig) and state.outcome is before.outcome:
            state = replace(state, loads=before.loads, lacking=before.lacking)
        else:
            told = loads(
                state.rig,
                failures=asked or state.number == 0,
                follow=follow if state.number == 0 or every else replace(follow, first=0),
                samples=later if state.number else first,
                remembered=remembered,
            )
            if isinstance(told, Missing):
                lines = (*(f"`{one.line}`" for one in told.wanted), *(one.why for one in told.contradictions))
                state = replace(state, lacking=lines)
            else:
                state = replace(state, loads=told)
        if state.loads:
            under_load = (*overloaded(state.rig, state.loads), *reaching(state.rig, state.loads))
            state = replace(state, findings=in_order(state.rig, (*state.findings, *under_load)))
        found.append(state)
    return tuple(found)


def _as_before(rig: Rig, before: Rig) -> bool:
    """Is everything where it was, and as long?"""
    return rig.parts == before.parts and rig.ropes == before.ropes


def _moments(state: State) -> Iterator[Moment]:
    """A state as requirements see it: while its step is being done, where that is a state too, and after it."""
    words = f"step “{state.step}” (line {state.line})"
    if state.during:
        yield Moment(state.number, state.stage, f"during {words}", *state.during)
    yield Moment(state.number, state.stage, f"after {words}", state.rig, state.outcome, state.loads, state.lacking)


def forces_as_data(result: Result) -> list[dict[str, object]]:
    """The forces of every state."""
    return [
        {
            "number": state.number,
            "stage": state.stage,
            "step": state.step,
            "forces": state.forces,
        }
        for state in result.states
    ]


def slips_as_data(result: Result) -> list[dict[str, object]]:
    """The slips of `check --latent`, those first that matter most."""
    return [
        {
            "slip": one.words,
            "as": one.failure,
            "file": one.place.file,
            "line": one.place.line,
            "alone": list(one.alone),
            "deadly": [{"failure": failure, "falls": list(bodies)} for failure, bodies in one.deadly],
        }
        for one in result.slips
    ]


@dataclass(frozen=True, slots=True)
class After:
    """The rig after some failures: a whole outcome, as if they were how it is rigged."""

    rig: Rig
    failures: tuple[Failure, ...]
    outcome: Outcome
    aftermath: Aftermath | None = None
    """What the forces say of it, where the file gives what they need."""
    overload: Overload | None = None
    """What breaks under its load then."""

    @property
    def falls(self) -> tuple[str, ...]:
        """Who falls, by the connections or once what is overloaded has broken as well (also where that takes
        a start a centimetre aside)."""
        fallen = {body.name for body in self.outcome.bodies if not body.held}
        if self.overload:
            fallen |= {*self.overload.surely, *self.overload.perhaps}
        return tuple(sorted(fallen))

    @property
    def on(self) -> str:
        balanced = self.aftermath is not None and self.aftermath.accepted
        return "connections and forces" if balanced else "connections only"

    def as_data(self) -> dict[str, object]:
        return {
            "format": FORMAT,
            "rig": self.rig.title,
            "revision": self.rig.revision,
            "failed": [failure.id for failure in self.failures],
            "bodies": [_body(self.rig, body) for body in sorted(self.outcome.bodies, key=lambda b: b.name)],
            "falls": sorted(body.name for body in self.outcome.bodies if not body.held),
            "failure_sets": {name: [list(cut) for cut in sets] for name, sets in self.outcome.failure_sets.items()},
            "forces": aftermath_figures(self.aftermath) if self.aftermath else None,
            "overload": overload_figures(self.overload) if self.overload else None,
            "on": self.on,
            "cautions": list(CAUTIONS),
        }


def after_failures(rig: Rig, failures: Sequence[Failure], order: int = 2) -> After:
    """What is left after these failures: who falls, who is down to one, what holds the rest."""
    effects = Effects.joint(failure.effects for failure in failures)
    return After(rig, tuple(failures), assess(rig, order, effects), *_what_follows(rig, failures))


def _what_follows(rig: Rig, failures: Sequence[Failure]) -> tuple[Aftermath | None, Overload | None]:
    if not forces_asked_for(rig):
        return None, None
    from analyser.forces.aftermath import after
    from analyser.forces.equilibrium import Statics
    from analyser.forces.grounds import ground_of
    from analyser.forces.motion import motion
    from analyser.forces.overloads import overload

    statics = Statics.of(rig)
    if not isinstance(statics, Statics):
        return None, None
    now = statics.equilibrium()
    ground = ground_of(rig)
    then = after(statics, failures, now, ground)
    if now.accepted and then.accepted:
        then = then.moving(motion(statics, failures, now, ground=ground))
    return then, overload(statics, now, then)


def mistakes_as_data(mistakes: tuple[Mistake, ...]) -> dict[str, object]:
    """Errors of a file in the results contract."""
    return {
        "format": FORMAT,
        "errors": [
            {
                "file": one.place.file,
                "line": one.place.line,
                "column": one.place.column,
                "end_column": one.place.end,
                "text": one.text,
                "help": one.help,
            }
            for one in mistakes
        ],
    }


def _state(state: State) -> dict[str, object]:
    rig, outcome = state.rig, state.outcome
    return {
        "number": state.number,
        "stage": state.stage,
        "step": state.step,
        "line": state.line,
        "bodies": [_body(rig, body) for body in sorted(outcome.bodies, key=lambda b: b.name)],
        "failures": [
            {
                "id": failure.id,
                "part": failure.part,
                "mode": failure.mode,
                "falls": list(failure.falls),
                "only_by_person": list(failure.only_by_person),
                "tips": list(failure.tips),
                "down_to_one": list(failure.down_to_one),
            }
            for failure in outcome.failures
        ],
        "failure_sets": {name: [list(cut) for cut in sets] for name, sets in outcome.failure_sets.items()},
        "hands_off": {
            "falls": list(outcome.hands_off_falls),
            "only_by_person": list(outcome.hands_off_only_by_person),
        },
        "findings": [_finding(finding) for finding in state.findings],
        "forces": state.forces,
    }


def held_figures(body: BodyOutcome) -> dict[str, object]:
    """How a body is held, in figures."""
    return {
        "held": body.held,
        "only_by_person": body.only_by_person,
        "tips": body.tips,
        "attachments": body.attachments,
        "independent": body.independent,
        "smallest_failure_set": body.smallest_failure_set,
    }


def _body(rig: Rig, body: BodyOutcome) -> dict[str, object]:
    data: dict[str, object] = {
        "name": body.name,
        "kind": body.kind,
        **held_figures(body),
        "held_by": [
            {"legs": [list(leg) for leg in held_by(rig, body.name, way)], "while_none_of": list(way)}
            for way in body.ways
        ],
    }
    if not body.independent_exact:
        data["independent_is"] = "at least"
    return data


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "severity": str(finding.severity),
        "about": list(finding.about),
        "bodies": list(finding.bodies),
        "file": finding.place.file,
        "line": finding.place.line,
        "accepted": finding.accepted,
        "text": finding.text,
        "mend": finding.mend,
    }


def _in_between(result: Result, one: InBetween) -> dict[str, object]:
    return {
        "stage": one.stage,
        "states": list(range(one.first, one.last + 1)),
        "before": one.first - 1,
        "after": one.last + 1,
        "move": None if one.move is None else {"line": one.move, one.where or "": one.of},
        "tension_not_computed": list(one.opens),
        "text": result.instead(one),
    }


def _key(finding: Finding) -> tuple[object, ...]:
    return (finding.rule, finding.about, finding.bodies)


def _requirement(one: Judged) -> dict[str, object]:
    asked = one.requirement
    return {
        "text": asked.text,
        "file": None if asked.assumed else asked.place.file,
        "line": None if asked.assumed else asked.place.line,
        "met": one.met,
        "because": list(one.because),
        "states": list(one.states),
        "assumed": asked.assumed,
    }
