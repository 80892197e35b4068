"""The answer to `stillheld reorder`: the best order of a stage's steps, or why none keeps everything.

Forces are not worked out here. A step that opens what holds a litter or a load is therefore never
taken as opening something slack: what is missing to know that is told with every order.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analyser.checking.analysing import analyse, forces_asked_for
from analyser.checking.delivered import Delivered
from analyser.checking.finding import listed
from analyser.checking.judging import Moment
from analyser.checking.requirements import judge
from analyser.checking.step_drops import RULE
from analyser.checking.step_orders import Key, States
from analyser.holding.outcome import Outcome, assess
from analyser.language.syntax import StepLine
from analyser.rig.model import Contact, Nature, Rig, Rope
from analyser.rig.other_orders import ordered
from analyser.rig.plan import Plan
from analyser.uses.ordering.orders import MOST_STATES, Impossible, Searched, Way, search, why_none
from analyser.uses.ordering.pasting import Placed, pasted


@dataclass(frozen=True, slots=True)
class Opening:
    """A step that opens what holds a litter or a load, and whose tension was not computed to be off.

    `taken_in` are the steps before it by which something else can have come to carry."""

    step: StepLine
    bodies: tuple[str, ...]
    taken_in: tuple[StepLine, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """An order of all the lines of a stage. `bad` counts the states in which a requirement is broken or to
    which a step drops somebody."""

    lines: tuple[Placed, ...]
    openings: tuple[Opening, ...]
    bad: int
    pasted: tuple[str, ...]
    """As the file writes them, ready to be pasted in the place of the stage's steps."""

    @property
    def as_written(self) -> bool:
        return all(one.was == number for number, one in enumerate(self.lines, 1))


@dataclass(frozen=True, slots=True)
class NoOrder:
    """Why no order keeps everything: what is broken at the `end`, by one `step`, by several `together`, or because
    each leaves `another rig`; `also` are more steps that by themselves make it impossible."""

    how: str
    steps: tuple[StepLine, ...]
    reasons: tuple[str, ...]
    also: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True, repr=False)
class Answer(Delivered):
    """`best` is None where the search was stopped before any whole order came up. `proven`: no order is better.

    `none_keeps`: it is proven that no order keeps everything, and `impossible` says why."""

    SHAPE = "analyser.uses.ordering.order_shapes.Reordered"

    rig: Rig
    stage: str
    written: Order
    best: Order | None
    proven: bool
    none_keeps: bool
    impossible: Impossible | None
    begins_broken: tuple[str, ...]
    """What is broken already before the first step: no order mends that."""
    not_checked: tuple[str, ...]
    """Requirements that this tool does not check, or not fully."""
    analysed: int
    steps: tuple[StepLine, ...]
    """The steps that may change places, by the numbers that `impossible` tells."""
    drops: tuple[str, ...] = ()
    """Who drops by a step of the best order, though it keeps everything: by the forces, where the file gives what they
    need."""

    @property
    def none_because(self) -> NoOrder | None:
        """Why no order keeps everything, where that is proven."""
        why = self.impossible
        if why is None:
            return None
        steps, also = (tuple(self.steps[k] for k in numbers) for numbers in (why.steps, why.others))
        return NoOrder(why.how, steps, why.reasons, also)

    @property
    def short(self) -> str:
        kept = "an order keeps" if self.offered else "no order is known that keeps"
        return f"“{self.stage}”: {kept} everything"

    @property
    def offered(self) -> bool:
        """Does the best order keep everything, and was all that it opens known to be slack?"""
        known = not (self.not_checked or self.drops)
        return self.best is not None and not self.best.bad and not self.best.openings and known


def _drops(rig: Rig, title: str, best: Order | None) -> tuple[str, ...]:
    """Who drops by a step of an order that keeps everything by the connections."""
    if best is None or best.bad or not (isinstance(rig, Plan) and forces_asked_for(rig)):
        return ()
    plan = ordered(rig, title, [one.line for one in best.lines])
    states = analyse(plan, processes=None).states if plan else ()
    mine = (finding for state in states if state.stage == title for finding in state.findings)
    return tuple(one.text for one in mine if one.rule == RULE.name)


def reorder(rig: Rig, title: str, budget: float | None = None, most: int = MOST_STATES) -> Answer:
    """The best order of the steps of one stage. Raises KeyError when the rig has no such stage."""
    states = States(rig, title)
    numbers = tuple(range(len(states.groups)))
    written = _order(states, Way(numbers, (True,) * len(numbers), 0, 0))
    found = search(states, budget, most, lambda way: _as_promised(states, way))
    best = _order(states, found.best) if found.best else None
    none_keeps = found.least > 0 or (found.complete and found.best is None)
    if best is not None and best.bad > 0 and found.complete:
        none_keeps = True
    impossible = why_none(states, found) if none_keeps else None
    begins = states.breaks(states.rig_in((0, 0)), states.outcome((0, 0)), states.begins_in)
    return Answer(
        rig,
        title,
        written,
        best,
        found.complete and best is not None,
        none_keeps,
        impossible,
        begins,
        _not_checked(states, found),
        states.count,
        tuple(group.step for group in states.groups),
        _drops(rig, title, best),
    )


def _keys(states: States, way: Way) -> Iterator[tuple[int, Key, Key]]:
    """Each step of an order with the states before and after it."""
    key: Key = (0, 0)
    for k in way.steps:
        after = states.after(key, k)
        assert after is not None
        yield k, key, after
        key = after


def _order(states: States, way: Way) -> Order:
    numbers = {line.place: n for n, line in enumerate(_lines(states, range(len(states.groups))), 1)}
    lines: list[Placed] = []
    openings = []
    key: Key = (0, 0)
    for (k, key, after), kept in zip(_keys(states, way), way.kept, strict=True):
        group = states.groups[k]
        if group.before:
            lines += [Placed(one, numbers[one.place], not kept, states.broken(key)) for one in group.before]
        wrong = (*states.broken(after), *states.drops(key, k))
        lines.append(Placed(group.step, numbers[group.step.place], not kept, wrong))
        lines += [Placed(one, numbers[one.place], not kept, states.broken(after)) for one in group.after]
        bodies = states.carried(key, k)
        if bodies:
            taken = states.taken_in(key[0])
            missing = tuple(_missing(states.rig_in(after), states.outcome(after), bodies, group.step, taken))
            openings.append(Opening(group.step, bodies, taken, missing))
    key = states.end
    lines += [Placed(one, numbers[one.place], False, states.broken(key)) for one in states.last]
    bad = sum(bool(one.wrong) for one in lines)
    return Order(tuple(lines), tuple(openings), bad, pasted(states.plan, lines))


def _lines(states: States, order: Sequence[int]) -> list[StepLine]:
    return [line for k in order for line in states.groups[k].lines] + list(states.last)


def _missing(
    rig: Rig, outcome: Outcome, bodies: tuple[str, ...], step: StepLine, taken: tuple[StepLine, ...]
) -> Iterator[str]:
    """What is not known about the tension that a step takes away."""
    if not taken:
        others = sorted(
            {n for body in bodies for point in (body, *rig.parts[body].points) for n in rig.touching[point]}
        )
        on = f" (after it, {listed(bodies)} is on {listed(others)})" if others else ""
        yield f"no `take in … by … m` before it, of what shall carry {listed(bodies)} instead{on}"
    for body in bodies:
        if "mass" not in dict(rig.parts[body].quantities):
            yield f"the mass of {body}"
    grounds = [p for p in rig.parts.values() if p.nature is Nature.GROUND and "anchor" in p.family and p.at is None]
    if grounds:
        yield f"where {listed([p.name for p in grounds])} {'is' if len(grounds) == 1 else 'are'}: `at (x, y, z)`"
    yield "its tension in that state: forces are not worked out in this search"


def _as_promised(states: States, way: Way) -> bool:
    """Does the file, with its steps in this order, make the very states that were judged?

    What the file says by name of a span or a failure may be there in no state of another order."""
    rig = ordered(states.plan, states.title, _lines(states, way.steps))
    if rig is None:
        return False
    made = {step.place: step.rig for stage in rig.stages if stage.title == states.title for step in stage.steps}
    last: Outcome | None = None
    for k, key, after in _keys(states, way):
        for line in states.groups[k].lines:
            where = key if line in states.groups[k].before else after
            if alike(made[line.place], states.rig_in(where)):
                last = states.outcome(where)
                continue
            last = assess(made[line.place], before=last)
            if bool(states.breaks(made[line.place], last, states.title)) is not bool(states.broken(where)):
                return False
    return True


def alike(one: Rig, other: Rig) -> bool:
    """The same rig, whatever order its contacts and ropes are listed in."""

    def contacts(rig: Rig) -> list[Contact]:
        return sorted(rig.contacts, key=lambda c: (c.a, c.b))

    def ropes(rig: Rig) -> list[Rope]:
        return sorted(rig.ropes, key=lambda rope: rope.name)

    return (
        one.parts == other.parts
        and contacts(one) == contacts(other)
        and ropes(one) == ropes(other)
        and one.failures == other.failures
        and set(one.accepted) == set(other.accepted)
    )


def _not_checked(states: States, found: Searched) -> tuple[str, ...]:
    """Requirements that could not be checked in some state of the best order (of the written one, without)."""
    order = found.best.steps if found.best else tuple(range(len(states.groups)))
    kept = Way(order, (True,) * len(order), 0, 0)
    keys = [key for _, _, key in _keys(states, kept)]
    told: dict[str, None] = {}
    for key in keys:
        for one in judge([Moment(0, states.title, "", states.rig_in(key), states.outcome(key))]):
            if one.met is None and not one.of_nobody:
                told[f"{one.requirement.text}: {one.because[0]}"] = None
    return tuple(told)
