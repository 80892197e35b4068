"""The result of a check: every state with its findings and forces, the requirements, the verdict and what it rests on.

Terminal, diagram, report and scripts all show what stands here; none computes a figure of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Literal

from analyser.checking.delivered import Delivered
from analyser.checking.finding import Asked, Finding, listed
from analyser.checking.held_by import Legs, held_by
from analyser.checking.instead import InBetween
from analyser.checking.judging import Judged, Moment, speaks_of
from analyser.checking.latent import Slip, slips
from analyser.checking.meanwhile import Meanwhile, in_words
from analyser.checking.requirements import judge
from analyser.checking.sentences import counted
from analyser.checking.stopper_against import Jammed, jams
from analyser.holding.outcome import BodyOutcome, FailureOutcome, Outcome
from analyser.language.mistakes import did_you_mean
from analyser.rig.laying import How, Within
from analyser.rig.model import Nature, Rig, Role
from analyser.rig.requiring import house_defaults

if TYPE_CHECKING:
    from analyser.checking.carried_verdict import Resting
    from analyser.forces.loads import Loads

TAKEN = "people, loads and a body's ordinary points are taken as not failing"
On = Literal["connections only", "connections and forces"]


@dataclass(frozen=True, slots=True)
class WayHeld:
    """One way of being held: its legs in the rig's words, and the failures that must not happen."""

    legs: Legs
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BodyHeld(BodyOutcome):
    """One body with nothing failed, and its ways of being held in words."""

    held_by: tuple[WayHeld, ...]


def bodies_held(rig: Rig, outcome: Outcome) -> tuple[BodyHeld, ...]:
    """Every body of an outcome, by name."""
    return tuple(
        BodyHeld(
            **{one.name: getattr(body, one.name) for one in fields(BodyOutcome)},
            held_by=tuple(WayHeld(held_by(rig, body.name, way), way) for way in body.ways),
        )
        for body in sorted(outcome.bodies, key=lambda body: body.name)
    )


class OfOutcome:
    """What is told of a rig and how everybody is held in it."""

    __slots__ = ()
    rig: Rig
    outcome: Outcome

    @property
    def bodies(self) -> tuple[BodyHeld, ...]:
        """How each body is held, by name."""
        return bodies_held(self.rig, self.outcome)

    @property
    def failures(self) -> tuple[FailureOutcome, ...]:
        """Every single failure, and what follows by the connections."""
        return self.outcome.failures

    @property
    def failure_sets(self) -> dict[str, tuple[tuple[str, ...], ...]]:
        return {name: sets.told for name, sets in self.outcome.failure_sets.items()}


@dataclass(frozen=True, slots=True)
class State(OfOutcome):
    """One state of the rig: as first attached (number 0), after a step of a stage, or while that step is being done."""

    number: int
    stage: str | None
    step: str | None
    line: int
    rig: Rig
    outcome: Outcome
    findings: tuple[Finding, ...] = ()
    loads: Loads | None = None
    """The forces, where they were worked out."""
    lacking: tuple[str, ...] = ()
    """What to add before they can be."""
    asked: tuple[Asked, ...] = ()
    """Facts that rules need and the file does not state."""
    during: tuple[Meanwhile, ...] = ()
    """While the step is being done, where that is a state too: a rope laid anew, a device slid past something."""
    within: Within | None = None
    """Of a state within the step: what is true then."""
    numbered: str = "0"
    """The number of the step that leads to it: `2.1` the first of the second stage; `0` as first attached."""
    verb: str = ""
    """What that step does."""
    lengths_open: bool = False
    """Was something put on after lengths had changed, or was a rope with two devices on it let out or taken in? Where
    all comes to rest then the file doesn't say: no drop is told."""

    @property
    def meanwhile(self) -> tuple[State, ...]:
        """The states within its step, in their order: by the connections alone."""
        at = self.number, self.stage, self.step, self.line
        return tuple(
            State(*at, one.within.rig, one.outcome, within=one.within, numbered=self.numbered, verb=self.verb)
            for one in self.during
        )

    @property
    def when(self) -> str:
        """Of a state within the step: `while grab is off red`; empty after the step."""
        return in_words(self.within) if self.within else ""

    @property
    def at_step(self) -> str:
        """`after step 1.2`, `during step 1.2`; `as first attached` of the first."""
        if self.step is None:
            return "as first attached"
        return f"{'during' if self.when else 'after'} step {self.numbered}"

    @property
    def after(self) -> str:
        """`after step 1.2, “rerig red” (line 12)`, or `during step 1.2, “rerig red” (line 12), while red is laid anew`;
        empty of the first."""
        if self.step is None:
            return ""
        step = f"step {self.numbered}, “{self.step}” (line {self.line})"
        return f"during {step}, {self.when}" if self.when else f"after {step}"

    @property
    def moments(self) -> tuple[Moment, ...]:
        """The state as requirements see it: while its step is being done, where that is a state too, and
        after it."""
        return tuple(one._moment for one in (*self.meanwhile, self))

    @property
    def _moment(self) -> Moment:
        words = f"after step {self.numbered}, “{self.step}” (line {self.line})"
        if self.within:
            when = "" if self.within.how is How.LAID_ANEW else f", {self.when}"
            words = f"during step {self.numbered}, “{self.step}” (line {self.line}){when}"
        return Moment(self.number, self.stage, words, self.rig, self.outcome, self.loads, self.lacking)


@dataclass(frozen=True, slots=True, repr=False)
class Result(Delivered):
    """The result of one check. `bodies`, `failures`, `failure_sets` are those of the first state."""

    SHAPE = "analyser.checking.shapes.Check"

    rig: Rig
    order: int
    states: tuple[State, ...]
    requirements: tuple[Judged, ...]
    in_between: tuple[InBetween, ...] = ()
    """Where a requirement is broken only between two states that keep all of them."""
    house_not_told: tuple[str, ...] = ()
    """What the house would ask of the forces, and can't be judged: without effect on the exit status."""
    of_a_state: bool = False
    """Is it of one state of several alone?"""
    only: tuple[str, ...] = ()
    """The rules whose findings are shown, where not all are."""
    without: tuple[str, ...] = ()
    """The rules whose findings are left out."""
    latent: tuple[Slip, ...] | None = None
    """Slips that may be there unseen, where they were asked for."""
    rests: Resting | None = None
    """The statements that carry the verdict, where they were asked for (`checking/resting_on.py`)."""

    def showing(self, only: Sequence[str], without: Sequence[str]) -> Result:
        """The same result with the findings of some rules only. Requirements stay as judged."""
        states = tuple(
            replace(s, findings=tuple(f for f in s.findings if (not only or f.rule in only) and f.rule not in without))
            for s in self.states
        )
        return replace(self, states=states, only=tuple(only), without=tuple(without))

    @property
    def every_state(self) -> Iterator[State]:
        """The states in their order, what is true within a step before the one that it leads to."""
        for state in self.states:
            yield from state.meanwhile
            yield state

    @property
    def held_otherwise(self) -> Iterator[State]:
        """Those of them that are held otherwise than the one before, the first too."""
        before = None
        for state in self.every_state:
            if state.outcome is not before:
                yield state
            before = state.outcome

    def at(self, number: int, during: int = 0) -> Result:
        """The same result of one state alone, with the requirements that speak of it judged there, or the house
        defaults where none does. `during`: of the first, second … state within the step that leads to it."""
        if len(self.states) == 1:
            return self
        state = self.states[number].meanwhile[during - 1] if during else self.states[number]
        asked = [one for one in self.rig.requirements if speaks_of(one, state.stage)]
        rig = replace(state.rig, requirements=tuple(asked) or house_defaults(self.rig.place))
        state = replace(state, rig=rig, during=())
        (moment,) = state.moments
        return replace(self, rig=rig, states=(state,), requirements=judge([moment]), in_between=(), of_a_state=True)

    @property
    def asks_for_nothing(self) -> str:
        """What the house defaults stand for; empty where the file asks for something."""
        if not self.rig.requirements[0].assumed:
            return ""
        return "the file asks for nothing" + (" of this state" if self.of_a_state else "")

    def with_latent(self) -> Result:
        """The same result with the slips that may be there unseen."""
        return replace(self, latent=self.slips)

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
        return self.states[0].failure_sets

    @property
    def findings(self) -> tuple[Finding, ...]:
        return self.states[0].findings

    def body(self, name: str) -> BodyOutcome:
        """One body by name; KeyError, with the names that are near, when the rig has no such body."""
        for body in self.bodies:
            if body.name == name:
                return body
        names = [body.name for body in self.bodies]
        raise KeyError(f"{name}: {did_you_mean(name, names, f'there are: {listed(names)}')}")

    @property
    def broken_states(self) -> tuple[int, ...]:
        """The states in which some requirement is broken."""
        return tuple(sorted({number for one in self.requirements if one.met is False for number in one.states}))

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
    def verdict(self) -> Literal["met", "not met"]:
        """Never to be read without `closing`."""
        return "met" if self.met else "not met"

    @property
    def accepted(self) -> int:
        """How many risks and findings the file accepts."""
        return len(self.rig.accepted) + len(self.rig.waived)

    @property
    def assumed(self) -> int:
        """How many failures the file takes as impossible."""
        return len(self.rig.sound)

    @property
    def jammed(self) -> tuple[Jammed, ...]:
        """The stoppers by which somebody is held, in some state, and what each is taken to lie against."""
        every = (one for state in self.states for one in jams(state.rig, state.outcome))
        found: dict[str, Jammed] = {}
        for one in every:
            found.setdefault(one.stopper, one)
        return tuple(found.values())

    @property
    def complete_to_order(self) -> int:
        """Up to how many failures together the search went in every state."""
        return min(state.outcome.complete_to for state in self.states)

    @property
    def next_order_searched(self) -> float | None:
        """The share of the next order's candidates that was searched, where a budget stopped it."""
        return self.states[0].outcome.share

    @property
    def taken_as_not_failing(self) -> tuple[str, ...]:
        return ("people", "loads", "a body's ordinary points")

    @property
    def not_told(self) -> tuple[Asked, ...]:
        """Facts that rules need and the file does not state."""
        return self.states[0].asked

    @property
    def not_analysed(self) -> dict[str, int]:
        """What was read and has no part in this."""
        return {"observed": len(self.rig.observations)} if self.rig.observations else {}

    @property
    def on(self) -> On:
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
    def resting(self) -> str:
        """What the verdict rests on: `on connections only, with 1 accepted risk and 0 assumptions`."""
        return f"on {self.on}, with {counted(self.accepted, 'accepted risk')} and {counted(self.assumed, 'assumption')}"

    @property
    def dangers(self) -> int:
        """How many dangers are to be looked at, each counted once; what is accepted left out."""
        return len(self.open_dangers)

    @property
    def open_dangers(self) -> tuple[Finding, ...]:
        """Those, in the order of the states."""
        every = (finding for state in self.states for finding in self.fresh(state))
        return tuple(one for one in every if one.severity == "danger" and not one.accepted)

    @property
    def closing(self) -> str:
        """The closing line for people. A verdict never stands bare."""
        if self.met:
            more = f"; {counted(self.dangers, 'danger')} to look at" if self.dangers else ""
            return f"met, {self.resting}{more}"
        broken = sum(one.met is False for one in self.requirements)
        unchecked = sum(one.met is None for one in self.requirements)
        counts = []
        if broken:
            counts.append(f"{broken} of {len(self.requirements)} requirements broken")
        if unchecked:
            counts.append(f"{unchecked} not fully checked")
        return f"not met ({', '.join(counts)}), {self.resting}"

    @property
    def short(self) -> str:
        return f"{self.closing}"


def _key(finding: Finding) -> tuple[object, ...]:
    return (finding.rule, finding.about, finding.bodies)
