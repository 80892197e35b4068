"""The states of one stage in any order of its steps, each made and analysed once.

A state is the set of steps that are done (one bit a step). That equal sets give equal rigs is not
taken for granted: what two orders leave is compared, and where it differs (a device locked off and
opened, a rope laid anew twice) they are two states with the same steps done.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from analyser.checking.judging import Moment
from analyser.checking.meanwhile import in_words, meanwhile
from analyser.checking.opened import OPENING, less_held, needed
from analyser.checking.requirements import judge
from analyser.holding.outcome import Outcome, assess
from analyser.language.syntax import LENGTHS, STILL, StepLine
from analyser.rig.model import Nature, Part, Rig, Step
from analyser.rig.other_orders import rig_in, taken
from analyser.rig.plan import Plan
from analyser.rig.present import Present

GOING = (*LENGTHS, "land", "lift", "move")
"""Steps by which somebody is moved, or comes to lie. They stay in their order: nobody is landed before they are
lowered."""
ROOMY = frozenset({"ring", "plate", "bar", "bridle"})
"""Joints that take one thing more before another leaves them, unless their room is told."""
Key = tuple[int, int]
"""A state: the steps done, one bit each, and which of the rigs that they can leave."""


@dataclass(frozen=True, slots=True)
class Group:
    """A step, the calls and remarks just before it, and the hold points that confirm it, up to the last of which all
    goes with it."""

    before: tuple[StepLine, ...]
    step: StepLine
    after: tuple[StepLine, ...] = ()

    @property
    def lines(self) -> tuple[StepLine, ...]:
        return (*self.before, self.step, *self.after)


def grouped(lines: tuple[StepLine, ...]) -> tuple[list[Group], tuple[StepLine, ...]]:
    """The steps that may change places, and the lines that stay last."""
    groups: list[Group] = []
    waiting: list[StepLine] = []
    for line in lines:
        waiting.append(line)
        if line.verb == "check" and groups:
            groups[-1] = replace(groups[-1], after=(*groups[-1].after, *waiting))
            waiting = []
        elif line.verb not in STILL:
            groups.append(Group(tuple(waiting[:-1]), line))
            waiting = []
    return groups, tuple(waiting)


def moved_on(off: StepLine, on: StepLine, parts: Mapping[str, Part]) -> tuple[str, ...]:
    """What the step `off` takes off something and `on` puts on something, and is never on two things at once: one
    hook, the end of one strap, one knot; a device that goes from rope to rope."""
    if off.verb != "detach" or on.verb != "attach":
        return ()
    onto = on.onto.station.chain if on.onto else ()
    put = {link.name.text for link in (*on.chain, *onto) if link.name}
    taken = dict.fromkeys(word.text for word in (*off.names, *off.others))
    return tuple(name for name in taken if name in put and name in parts and _on_one_thing(parts[name], bool(onto)))


def _on_one_thing(part: Part, to_rope: bool) -> bool:
    if part.nature is Nature.JOINT:
        told = part.room is not None and part.room <= 2
        return not part.points and (told or ROOMY.isdisjoint(part.family))
    return part.nature is Nature.KNOT or (part.nature is Nature.GRIP and to_rope)


class States:
    """Every state of one stage that is asked for.

    `known` are outcomes that were worked out already, by the line of the step before them (None: as
    the stage begins). Raises KeyError when the rig has no such stage.
    """

    def __init__(self, rig: Rig, title: str, known: Mapping[int | None, Outcome] | None = None) -> None:
        stages = [stage.title for stage in rig.stages]
        if not isinstance(rig, Plan) or title not in stages:
            raise KeyError(title)
        self.plan = rig
        self.title = title
        at = stages.index(title)
        lines = tuple(step.line for step in rig.stages[at].steps)
        begins = sum(len(stage.steps) for stage in rig.stages[:at])
        self.begins_in = stages[at - 1] if begins else None
        """The stage before, to which the state belongs in which this one begins."""
        self.groups, self.last = grouped(lines)
        parts = {name: part for left in rig.presents[begins:] for name, part in left.parts.items()}
        self._first = [self._before(k, parts) for k in range(len(self.groups))]
        """For each step those that come before it in every order, one bit each."""
        self.count = 0
        """How many states were analysed."""
        self._presents: dict[int, list[Present]] = {0: [rig.presents[begins]]}
        self._parents: dict[Key, Key] = {}
        self._rigs: dict[Key, Rig] = {}
        self._outcomes: dict[Key, Outcome] = {}
        self._after: dict[tuple[Key, int], Key | None] = {}
        self._broken: dict[Key, tuple[str, ...]] = {}
        if known and None in known:
            self._outcomes[0, 0] = known[None]
        present = {line.place: left for line, left in zip(lines, rig.presents[begins + 1 :], strict=False)}
        mask = 0
        for k, group in enumerate(self.groups):
            before, mask = mask, mask | 1 << k
            self._presents[mask] = [present[group.step.place]]
            self._parents[mask, 0] = (before, 0)
            self._after[(before, 0), k] = (mask, 0)
            if known and group.step.place.line in known:
                self._outcomes[mask, 0] = known[group.step.place.line]
        self.end: Key = (mask, 0)
        """All steps done, as the order of the file leaves the rig."""

    def after(self, key: Key, k: int) -> Key | None:
        """The state after one more step; None where that step cannot be taken, or another always comes before it."""
        if (key, k) not in self._after and self._first[k] & ~key[0]:
            self._after[key, k] = None
        if (key, k) not in self._after:
            left = taken(self.plan, self._presents[key[0]][key[1]], self.groups[k].step)
            self._after[key, k] = None if left is None else self._kept(key, key[0] | 1 << k, left)
        return self._after[key, k]

    def _before(self, k: int, parts: Mapping[str, Part]) -> int:
        """The steps before which this one never comes: what moves somebody keeps its order, and what was taken off
        one thing goes on another only then."""
        step = self.groups[k].step
        earlier = [(1 << n, group.step) for n, group in enumerate(self.groups[:k])]
        going = sum(bit for bit, one in earlier if one.verb in GOING) if step.verb in GOING else 0
        return going | sum(bit for bit, one in earlier if moved_on(one, step, parts))

    def _kept(self, parent: Key, mask: int, left: Present) -> Key:
        alike = self._presents.setdefault(mask, [])
        number = next((n for n, one in enumerate(alike) if one.like(left)), len(alike))
        if number == len(alike):
            alike.append(left)
            self._parents[mask, number] = parent
        return mask, number

    def rig_in(self, key: Key) -> Rig:
        if key not in self._rigs:
            self._rigs[key] = rig_in(self.plan, self._presents[key[0]][key[1]])
        return self._rigs[key]

    def outcome(self, key: Key) -> Outcome:
        if key not in self._outcomes:
            parent = self._parents.get(key)
            self.count += 1
            self._outcomes[key] = assess(self.rig_in(key), before=self._outcomes.get(parent) if parent else None)
        return self._outcomes[key]

    def broken(self, key: Key) -> tuple[str, ...]:
        """What the state breaks of what the file requires in this stage."""
        if key not in self._broken:
            self._broken[key] = self.breaks(self.rig_in(key), self.outcome(key), self.title)
        return self._broken[key]

    def breaks(self, rig: Rig, outcome: Outcome, stage: str | None) -> tuple[str, ...]:
        judged = judge([Moment(0, stage, "", rig, outcome)])
        return tuple(f"{one.requirement.text}: {'; '.join(one.because)}" for one in judged if one.met is False)

    def drops(self, key: Key, k: int) -> tuple[str, ...]:
        """What is said where a step opens the only thing that holds somebody, or breaks what is required
        while it is being done."""
        after = self.after(key, k)
        step = self._step(key, k)
        if after is None:
            return ()
        done = replace(step, rig=self.rig_in(after))
        during = tuple(meanwhile(self.rig_in(key), done, self.outcome(key)))
        told = needed(self.outcome(key), step, self.outcome(after), during) if step.verb in OPENING else ()
        broken = (
            f"{in_words(one.within)}: {words}"
            for one in during
            for words in self.breaks(one.within.rig, one.outcome, self.title)
        )
        return (*(finding.text for finding in told), *broken)

    def carried(self, key: Key, k: int) -> tuple[str, ...]:
        """The litters and loads that are held by less after a step: what it opens may carry them."""
        after = self.after(key, k)
        if after is None or self.groups[k].step.verb not in OPENING:
            return ()
        fallen = {body.name for body in self.outcome(after).bodies if not body.held}
        held_less = less_held(self.rig_in(key), self.outcome(key), self.outcome(after), self._step(key, k))
        return tuple(sorted(name for name in held_less if name not in fallen))

    def taken_in(self, mask: int) -> tuple[StepLine, ...]:
        """The steps done by which something else can have come to carry."""
        done = (group.step for k, group in enumerate(self.groups) if mask >> k & 1)
        return tuple(step for step in done if step.verb in LENGTHS)

    def _step(self, key: Key, k: int) -> Step:
        return Step(self.groups[k].step, self.rig_in(key))
