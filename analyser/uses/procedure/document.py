"""The procedure that a team follows, put together as plain data."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.delivered import Delivered
from analyser.checking.finding import Finding, Severity
from analyser.checking.judging import Judged
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result, State
from analyser.language.identities import Revision
from analyser.rig.model import Nature, Step
from analyser.uses.procedure.crew import Person, people
from analyser.uses.procedure.holds import Hold, holds
from analyser.uses.procedure.inspecting import Look, looks
from analyser.uses.procedure.kit import AnchorNeeded, Kit, RopeNeeded, anchors, kit, ropes
from analyser.uses.procedure.responding import Table, tables
from analyser.uses.procedure.steps import told
from analyser.uses.procedure.stopping import Stop, WayBack, stops, way_back


@dataclass(frozen=True, slots=True)
class Warned:
    """A finding that a step brings; `more` are those of the same rule that came with it."""

    severity: str
    rule: str
    text: str
    more: tuple[str, ...]
    mend: str | None
    accepted: str | None


@dataclass(frozen=True, slots=True)
class StateAfter:
    """What is known of one state. `changed` are the bodies that are held otherwise than in the state
    before; `table` is the number of the table that says what to do if something fails."""

    number: int
    changed: tuple[Hold, ...]
    unchanged: tuple[str, ...]
    stop: Stop
    back: WayBack
    table: int


@dataclass(frozen=True, slots=True)
class StepToDo:
    """One step. `number` is its number in the stage, `by` who does it where the file says, `first`
    what it may open while it holds (read before it is done)."""

    number: str
    verb: str
    words: str
    by: tuple[str, ...]
    line: int
    first: tuple[Warned, ...]
    after: StateAfter
    still: bool


@dataclass(frozen=True, slots=True)
class StageToDo:
    title: str
    steps: tuple[StepToDo, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    text: str
    word: str
    because: tuple[str, ...]
    assumed: bool
    steps: tuple[str, ...] = ()
    """After which steps it is broken: `0` as first attached, `2.1` the first of the second stage."""


@dataclass(frozen=True, slots=True)
class Given:
    """What the file takes as given, with its reason: `sound`, `accepted` or `may be there unseen`."""

    word: str
    what: str
    reason: str
    line: int


@dataclass(frozen=True, slots=True, repr=False)
class Procedure(Delivered):
    """`line` of each thing is that of the rig's file."""

    SHAPE = "analyser.uses.procedure.procedure_shapes.ProcedureTold"

    title: str
    revision: Revision | None
    file: str
    digest: str
    """Of the text with its includes; empty for a state that is looked at alone."""
    notes: tuple[str, ...]
    bodies: tuple[str, ...]
    closing: str
    met: bool
    complete: str
    not_declared: tuple[str, ...]
    cautions: tuple[str, ...]
    requirements: tuple[Asked, ...]
    warned: tuple[Warned, ...]
    """Dangers and cautions of the rig as first attached."""
    given: tuple[Given, ...]
    kit: tuple[Kit, ...]
    ropes: tuple[RopeNeeded, ...]
    anchors: tuple[AnchorNeeded, ...]
    least: tuple[str, ...]
    """What the file asks of strengths, as written."""
    people: tuple[Person, ...]
    looks: tuple[Look, ...]
    start: StateAfter
    stages: tuple[StageToDo, ...]
    tables: tuple[Table, ...]

    @property
    def short(self) -> str:
        steps = sum(len(stage.steps) for stage in self.stages)
        return f"{steps} steps in {len(self.stages)} stages; {self.closing}"


def procedure(result: Result, file: str) -> Procedure:
    """The whole document; `file` is how the rig's file is called in it."""
    rig = result.rig
    states = result.states
    steps = [step for stage in rig.stages for step in stage.steps]
    told_in = tables(result)
    table_of = {state: table.number for table in told_in for state in table.states}
    stop = stops(result)

    def after(number: int) -> StateAfter:
        now = holds(states[number])
        was = set(holds(states[number - 1])) if number else set()
        changed = tuple(hold for hold in now if hold not in was)
        unchanged = tuple(hold.body for hold in now if hold in was)
        back = way_back(result, steps, stop, number)
        return StateAfter(number, changed, unchanged, stop[number], back, table_of[number])

    made: list[StageToDo] = []
    number = 0
    for at, stage in enumerate(rig.stages, 1):
        doing = []
        for k, step in enumerate(stage.steps, 1):
            number += 1
            doing.append(_step(result, f"{at}.{k}", step, states[number - 1], states[number], after(number)))
        made.append(StageToDo(stage.title, tuple(doing)))
    bodies = {
        body.name: rig_part.kind for s in states for body in s.outcome.bodies for rig_part in [s.rig.parts[body.name]]
    }
    return Procedure(
        title=rig.title,
        revision=rig.revision,
        file=file,
        digest=rig.digest,
        notes=rig.notes,
        bodies=tuple(f"{name} ({kind})" for name, kind in bodies.items()),
        closing=result.closing,
        met=result.met,
        complete=result.complete,
        not_declared=result.not_declared,
        cautions=CAUTIONS,
        requirements=tuple(_asked(result, one) for one in result.requirements),
        warned=_warned(result, states[0]),
        given=_given(result),
        kit=kit(result),
        ropes=ropes(result),
        anchors=anchors(result),
        least=tuple(one.text for one in rig.requirements if one.rule in ("anchors-strong", "strength")),
        people=people(result),
        looks=looks(result),
        start=after(0),
        stages=tuple(made),
        tables=told_in,
    )


def _step(result: Result, number: str, step: Step, before: State, state: State, after: StateAfter) -> StepToDo:
    by = step.done_by(before.rig)
    first = _warned(result, state)
    return StepToDo(number, step.verb, told(step), by, step.place.line, first, after, step.still)


def _warned(result: Result, state: State) -> tuple[Warned, ...]:
    """The dangers and cautions that no state before had in the same words, those of one rule together."""
    before = {one.text for earlier in result.states[: state.number] for one in earlier.findings}
    groups: dict[tuple[str, str, str | None], list[Finding]] = {}
    for one in result.fresh(state):
        if one.severity is not Severity.NOTE and one.text not in before:
            groups.setdefault((str(one.severity), one.rule, one.accepted), []).append(one)
    return tuple(
        Warned(severity, rule, found[0].text, tuple(one.text for one in found[1:]), found[0].mend, accepted)
        for (severity, rule, accepted), found in groups.items()
    )


def _asked(result: Result, one: Judged) -> Asked:
    word = {True: "met", False: "NOT MET", None: "NOT CHECKED"}[one.met]
    steps = tuple(result.states[number].numbered for number in one.states)
    return Asked(one.asked, word, one.because, one.requirement.assumed, steps)


def _given(result: Result) -> tuple[Given, ...]:
    rig = result.rig
    found = [Given("taken as impossible", one.failure, one.reason, one.place.line) for one in rig.sound]
    found += [Given("accepted risk", one.failure, one.reason, one.place.line) for one in rig.accepted]
    found += [Given("accepted finding", f"{w.rule} on {w.about}", w.reason, w.place.line) for w in rig.waived]
    found += [Given("may be there unseen", one.failure, one.reason, one.place.line) for one in rig.latent]
    near = "as written, no rope runs before it holds: see that it lies there"
    found += [
        Given("taken to lie against", f"{j.stopper}: {' or '.join(j.against)}", near, j.place.line)
        for j in result.jammed
    ]
    for part in rig.parts.values():
        if part.nature is Nature.PERSON and part.standing and not part.exposed:
            reason = "the file says that they stand where they cannot fall"
            found.append(Given("not looked at as held", part.name, reason, part.place.line))
    return tuple(found)
