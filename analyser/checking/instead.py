"""A requirement broken only in between: which step of the stage, done first, keeps it.

A cheap look, not the whole search: one later step before the bad one, or the bad one after a later.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from analyser.checking.finding import listed
from analyser.checking.judging import Judged, Moment
from analyser.checking.step_orders import Key, States
from analyser.rig.model import Rig

MOST_TRIED = 8
"""Later steps that are tried for each bad one."""
MOST_STATES, MOST_PARTS = 24, 1_500
"""States analysed for it in one file, and the parts in all of them together: the check goes on being quick."""


@dataclass(frozen=True, slots=True)
class InBetween:
    """States `first` to `last` break a requirement that held before them and holds again after.

    With the step on line `move` taken just `where` (`before` or `after`) the one on line `of`, no state
    between the two breaks anything; all three are None where neither look found such a step.
    """

    stage: str
    first: int
    last: int
    move: int | None = None
    where: str | None = None
    of: int | None = None
    opens: tuple[int, ...] = ()
    """Lines of the steps of that order that open what holds a litter or a load: no tension was computed."""
    steps: Mapping[int, str] = field(default_factory=dict, repr=False, compare=False)
    """The words of the stage's steps, by line."""
    only: bool = True
    """Is every state that breaks something in between such?"""

    @property
    def broken(self) -> str:
        return "broken only in between" if self.only else "broken in between"

    @property
    def states(self) -> tuple[int, ...]:
        return tuple(range(self.first, self.last + 1))

    @property
    def before(self) -> int:
        """The last state that keeps it before."""
        return self.first - 1

    @property
    def after(self) -> int:
        """The first state that keeps it again."""
        return self.last + 1

    @property
    def moving(self) -> InBetween | None:
        """Itself, where a step was found that mends it when moved."""
        return self if self.move is not None else None

    @property
    def text(self) -> str:
        """What to do first instead, in a sentence."""
        steps = self.steps
        if self.move is None or self.of is None:
            return "a quick look found no step that mends it when taken first: `stillheld reorder` looks at every order"
        moved, other = f"“{steps[self.move]}” (line {self.move})", f"“{steps[self.of]}” (line {self.of})"
        first, then = (moved, other) if self.where == "before" else (other, moved)
        told = f"do {first} first, then {then}: then no state on the way breaks a requirement"
        opened = [f"“{steps[line]}” (line {line})" for line in self.opens]
        if not opened:
            return told
        return f"{told}; no tension is computed: see that what is opened by {listed(opened)} hangs slack before it is"


def in_between(rig: Rig, moments: Sequence[Moment], judged: Sequence[Judged]) -> tuple[InBetween, ...]:
    """Every run of states, within one stage, that breaks something which holds before and after it."""
    broken = {number for one in judged if one.met is False for number in one.states}
    if not broken or not rig.stages:
        return ()
    lines = [None, *(step.place.line for stage in rig.stages for step in stage.steps)]
    found: list[InBetween] = []
    looks: dict[str, States] = {}
    runs = list(_runs(moments, broken))
    only = broken.issubset(number for first, last in runs for number in range(first, last + 1))
    for first, last in runs:
        title = moments[first].stage
        assert title is not None
        if title not in looks:
            start = next(n for n, moment in enumerate(moments) if moment.stage == title)
            known = {lines[n]: one.outcome for n, one in enumerate(moments) if one.stage == title}
            looks[title] = States(rig, title, {**known, None: moments[start - 1].outcome})
        spent = sum(states.count for name, states in looks.items() if name != title)
        steps = {step.place.line: step.words for stage in rig.stages if stage.title == title for step in stage.steps}
        look = _look(looks[title], lines[first], lines[last + 1], first, last, spent)
        found.append(replace(look, steps=steps, only=only))
    return tuple(found)


def _runs(moments: Sequence[Moment], broken: set[int]) -> Iterator[tuple[int, int]]:
    n = 1
    while n < len(moments):
        if n not in broken or n - 1 in broken:
            n += 1
            continue
        first = n
        while n < len(moments) and n in broken:
            n += 1
        if n < len(moments) and moments[first].stage == moments[n].stage:
            yield first, n - 1


def _look(states: States, line: int | None, mends: int | None, first: int, last: int, spent: int) -> InBetween:
    """`line` and `mends` are those of the step that breaks something and of the one after which all is kept."""
    lines = [group.step.place.line for group in states.groups]
    none = InBetween(states.title, first, last)
    if line not in lines or mends not in lines:
        return none
    bad, end = lines.index(line), lines.index(mends)
    for later in range(end, min(end + MOST_TRIED, len(states.groups))):
        between = list(range(bad + 1, later))
        for where, order in (("before", [later, bad, *between]), ("after", [*between, later, bad])):
            if states.count + spent > min(MOST_STATES, MOST_PARTS // len(states.plan.parts)):
                return none
            opens = _kept(states, bad, order)
            if opens is not None:
                move, of = (lines[later], lines[bad]) if where == "before" else (lines[bad], lines[later])
                return InBetween(states.title, first, last, move, where, of, tuple(lines[k] for k in opens))
    return none


def _kept(states: States, bad: int, order: list[int]) -> list[int] | None:
    """Those of these steps that open what holds a litter or a load, something having been taken in before.

    None where they cannot be taken in this order from the bad one on, break something, open what may
    still carry, or leave another rig."""
    key: Key = ((1 << bad) - 1, 0)
    opens = []
    for k in order:
        after = states.after(key, k)
        if after is None or states.broken(after) or states.drops(key, k):
            return None
        if states.carried(key, k):
            if not states.taken_in(key[0]):
                return None
            opens.append(k)
        key = after
    return opens if key == (sum(1 << k for k in order) | (1 << bad) - 1, 0) else None
