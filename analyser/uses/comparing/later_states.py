"""The states after steps in which two revisions differ otherwise than as first attached."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from analyser.checking.results import Result, State
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig
from analyser.uses.comparing.body_figures import Figures, least_of, worse_than
from analyser.uses.comparing.sets_turned import SetTurned, sets_turned
from analyser.uses.comparing.stretches import Stretches


@dataclass(frozen=True, slots=True)
class StateTurned:
    """A state whose figures for a body differ: of both revisions, or of the new one alone (`was` None)."""

    stage: str
    step: str
    number: int
    when: str
    """Where that is within the step: `while red is laid anew`; empty after it."""
    rig: Rig
    figures: Figures
    fallen: tuple[str, ...]
    """Single failures that bring the body down in this state and didn't in the old one."""
    pairs: tuple[tuple[str, ...], ...] = ()
    """Pairs of failures that do, and did neither there nor, of those, in the first state already."""

    @property
    def after(self) -> str:
        return f"during “{self.step}”, {self.when}" if self.when else f"after “{self.step}”"


def states_turned(
    was: Result, now: Result, stretches: Stretches, first: Collection[tuple[str, frozenset[str]]]
) -> Iterator[StateTurned]:
    """States after steps, by stage and step: where they differ otherwise than the first states do, of which the sets
    in `first` are told already."""
    before, after = by_step(was), by_step(now)
    pairs = _Pairs(was, stretches, first)
    for key, state in after.items():
        old = before.get(key)
        (stage, step, _, when) = key
        if when and old is None:  # the same step of the old revision was done without that
            old = before.get((stage, step, key[2], ""))
        for body in state.outcome.bodies:
            name = body.name
            if old is not None and name in old.outcome.failure_sets:
                earlier = old.outcome.body(name)
                singles = {stretches.of_old(cut) for cut in old.outcome.failure_sets[name] if len(cut) < 2}
            elif old is None and name in was.states[0].outcome.failure_sets:
                held = [one.outcome.body(name) for one in was.states if name in one.outcome.failure_sets]
                earlier = min(held, key=lambda one: (one.held, *(figure for _, figure in least_of(one)[1:])))
                cuts = [cut for one in was.states for cut in one.outcome.failure_sets.get(name, ()) if len(cut) < 2]
                singles = {stretches.of_old(cut) for cut in cuts}
            else:
                continue
            fallen = [
                cut[0]
                for cut in state.outcome.failure_sets[name]
                if len(cut) == 1 and stretches.of_new(cut) not in singles and frozenset() not in singles
            ]
            differs = (earlier.held, *least_of(earlier)) != (body.held, *least_of(body)) or earlier.fate != body.fate
            if old is None:
                least = zip(least_of(earlier)[1:], least_of(body)[1:], strict=True)
                differs = worse_than(body.fate, earlier.fate) or any(b[1] < a[1] for a, b in least)
                earlier = replace(earlier, attachments=min(earlier.attachments, body.attachments))
            fresh = pairs.fresh(name, old, state.outcome)
            if differs or fallen or fresh:
                figures = Figures(name, body.kind, earlier, body)
                yield StateTurned(stage, step, state.number, when, state.rig, figures, tuple(fallen), fresh)


class _Pairs:
    """The pairs of failures that bring somebody down in a state of the new revision, and did not in the old one."""

    def __init__(self, was: Result, stretches: Stretches, first: Collection[tuple[str, frozenset[str]]]) -> None:
        self.was, self.stretches, self.first = was, stretches, first
        self._turned: dict[tuple[int, int], list[SetTurned]] = {}

    def fresh(self, body: str, old: State | None, outcome: Outcome) -> tuple[tuple[str, ...], ...]:
        """Of one body; of a step that the old revision hasn't (`old` None) those that were so in no state of it."""
        states = [old] if old else self.was.states
        told = [self._of(state.outcome, outcome, body) for state in states if body in state.outcome.failure_sets]
        if not told:
            return ()
        return tuple(one for one in told[0] if all(one in other for other in told))

    def _of(self, before: Outcome, after: Outcome, body: str) -> list[tuple[str, ...]]:
        key = id(before), id(after)
        if key not in self._turned:
            self._turned[key] = sets_turned(before, after, self.stretches.of_old, self.stretches.of_new)
        return [
            one.failures
            for one in self._turned[key]
            if one.body == body
            and one.worse
            and len(one.failures) == 2
            and (body, self.stretches.of_new(one.failures)) not in self.first
        ]


def by_step(result: Result) -> dict[tuple[str, str, int, str], State]:
    """States by stage, words of the step, which of that name it is, and when within it."""
    found: dict[tuple[str, str, int, str], State] = {}
    count: Counter[tuple[str, str]] = Counter()
    for state in result.states[1:]:
        key = (state.stage or "", state.step or "")
        for one in (*state.meanwhile, state):
            found[(*key, count[key], one.when)] = one
        count[key] += 1
    return found
