"""The steps of a procedure as a page: who does what, what is otherwise after it, the way back, and what to do if a part
fails."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from analyser.checking.fates import loudly, told
from analyser.checking.first_look import FirstLook
from analyser.checking.results import Result
from analyser.checking.sentences import listed, verb
from analyser.holding.fate import Kind
from analyser.pages.tree import (
    Block,
    Column,
    Fill,
    Item,
    Listing,
    Note,
    Piece,
    Row,
    Section,
    Step,
    Table,
    Under,
    Warn,
    Words,
    listing,
    section,
    strong,
)
from analyser.pages.writing.grouping import alike
from analyser.pages.writing.translation import catalogue
from analyser.uses.field.at_first import at_steps
from analyser.uses.procedure.document import Procedure, StateAfter, StepToDo, Warned
from analyser.uses.procedure.holds import Hold
from analyser.uses.procedure.responding import Table as Answers
from analyser.uses.procedure.stopping import Stop, Undoing

UNDER_STRAIN = (
    "One voice leads. Anybody may call stop, and then everybody stops and keeps hold of what they have.",
    "On before off: what shall hold next is on and has taken weight before the other is opened.",
    "Nothing is opened while it carries: see and feel that it is slack.",
)
"""Facts 12.4 (that anybody may call stop: S53) and 12.5; the rest common practice, no source."""
AS_BEFORE = (
    "Where a step says nothing else, everybody is held as before it, the work may stop after it, and the same table "
    "says what to do if a part fails. The way back from each step stands behind the tables."
)
BACK = (
    "To the nearest state before in which nothing that is asked is broken. A step that is not named here needs no "
    "undoing."
)
FIRST = (
    "First, whatever it is: call stop; everybody stops and keeps hold of what they have. Then, for the state that the "
    "work is in (common practice, no source):"
)
MOTIONLESS = "Somebody who hangs motionless in a harness is an emergency (common practice, no source)."
OTHERS = "Any single failure that stands in no row: everybody is held as before; mend it before it is needed."
NO_ROW = "No row: any single failure that the file can express leaves everybody held as before."


class Steps:
    """The steps of a procedure, told by the numbers that they have in it."""

    def __init__(self, made: Procedure, result: Result, look: FirstLook) -> None:
        self.made, self.result = made, result
        self.marks = {} if result.met else at_steps(look)
        steps = (step for stage in made.stages for step in stage.steps)
        self.step_of = {step.after.number: step.number for step in steps}
        """The step after which each state is; none for that as first attached."""

    def every(self) -> Iterator[Block]:
        yield listing(UNDER_STRAIN)
        yield Note(AS_BEFORE)
        start = Step("0", "", after=tuple(self._after(self.made.start, None)))
        yield section("As first attached", (*_warnings(self.made.warned), start))
        before = self.made.start
        for number, stage in enumerate(self.made.stages, 1):
            told = []
            for step in stage.steps:
                told.append(self._step(step, before))
                before = step.after
            yield section(f"Stage {number}: {stage.title}", told)

    def _step(self, step: StepToDo, before: StateAfter) -> Step:
        """One step; what the first sheet says of it stands over it once more, as sheets come apart."""
        told = self._told(step, before)
        if step.number not in self.marks:
            return told
        mark = Note(strong(catalogue("en").text(self.marks[step.number])))
        return replace(told, first=(mark, *told.first))

    def _told(self, step: StepToDo, before: StateAfter) -> Step:
        after = () if step.still else tuple(self._after(step.after, before))
        if step.verb == "check":
            signed = ("signed ", Fill(short=True), "\ntime ", Fill(short=True))
            return Step(step.number, step.words, signed, "Hold point", tick=True, point=True, after=after)
        if step.verb == "note":
            return Step(step.number, step.words, note=True, after=after)
        who: Words = ("by ", strong(listed(step.by)) if step.by else Fill())
        if step.verb == "say":
            return Step(step.number, f"“{step.words}”", who, "Call", after=after)
        return Step(step.number, step.words, who, tick=True, first=tuple(_warnings(step.first)), after=after)

    def _after(self, state: StateAfter, before: StateAfter | None) -> Iterator[Block]:
        """What is otherwise than before the step: who is held and how, whether the work may stop, which table."""
        if state.changed:
            yield listing(map(_hold, state.changed), "Now held")
        elif before is None and not state.unchanged:
            yield Note("Nobody and nothing has to be held now.", small=True)
        may, why = _stop(state.stop)
        table = f"If a part fails now: table {state.table}." if before is None or before.table != state.table else ""
        if before is None or not state.stop.may_stop or not before.stop.may_stop:
            yield Note((strong(f"{may}:"), f" {why}.{self._onward(state)} {table}"), small=True)
        elif table:
            yield Note(table, small=True)

    def _when(self, state: int) -> str:
        return f"after step {self.step_of[state]}" if state in self.step_of else "as first attached"

    def _onward(self, state: StateAfter) -> str:
        """From a state in which the work may not stop: where it may next."""
        onward = state.back.onward
        if state.stop.may_stop or onward is None:
            return ""
        return f" Ahead, it may stop next {self._when(onward)}."

    def ways_back(self) -> Iterator[Section]:
        """From each state the way back to the nearest one in which nothing asked is broken, and what is undone."""
        states = [step.after for stage in self.made.stages for step in stage.steps]
        rows = tuple(self._back(state) for state in states if state.back.undo or state.back.to is None)
        if rows:
            table = Table(tuple(map(Column, ("From", "Back to", "Undo"))), rows, sort="answers")
            yield section("The way back", (Note(BACK, small=True), table))

    def _back(self, state: StateAfter) -> Row:
        back = state.back
        if back.to is None:
            words = "there is none: in no state before this one is what is asked unbroken"
            return (self._when(state.number), words, "")
        doubt = "" if back.sure else " (nothing asked is known to be broken there, not all is checked)"
        undone = [self._undo(one) for one in back.undo]
        undo: Words | Listing = undone[0] if len(undone) == 1 else Listing(tuple(map(Item, undone)), ordered=True)
        return (self._when(state.number), f"{self._when(back.to)}{doubt}", undo)

    def _undo(self, undo: Undoing) -> tuple[Piece, ...]:
        who = (listed(undo.by),) if undo.by else ("who: ", Fill(short=True))
        return (f"{undo.words} (undoes step {self.step_of[undo.state]}; ", *who, ")")

    def answers(self) -> Iterator[Block]:
        yield Note(FIRST)
        yield Note(OTHERS)
        for table in self.made.tables:
            rows = tuple(self._rows(table))
            columns = (Column("If any one of these"), Column("Then"))
            told = Table(columns, rows, sort="answers", about=None) if rows else Note(NO_ROW, small=True)
            blocks = (*self._unheld(table), told)
            yield section(f"Table {table.number}: {self._states(table.states)}", blocks)
        yield Note(("Rescue plan: who ", Fill(), " with what ", Fill(), " within ", Fill(short=True)))
        yield Note(MOTIONLESS, small=True)

    def _unheld(self, table: Answers) -> Iterator[Note]:
        """Who is not held in these states as it is: no failure is needed for that."""
        fallen = [body.name for body in self.result.states[table.states[0]].outcome.bodies if not body.held]
        if fallen:
            yield Note(
                strong(f"With nothing failed {listed(fallen)} {verb(fallen, 'is', 'are')} NOT HELD: see the steps.")
            )

    def _rows(self, table: Answers) -> Iterator[Row | Under]:
        rig = self.result.states[table.states[0]].rig
        for answer in table.answers:
            yield Under(answer.do)
            yield from ((alike(rig, one.failures), ";\n".join(one.then)) for one in answer.responses)

    def _states(self, states: Sequence[int]) -> str:
        """`as first attached, and after steps 1.1, 1.3`."""
        steps = [self.step_of[state] for state in states if state in self.step_of]
        words = ["as first attached"] if len(steps) < len(states) else []
        if steps:
            words.append(f"after {'step' if len(steps) == 1 else 'steps'} {', '.join(steps)}")
        return ", and ".join(words)


def _warnings(found: Sequence[Warned]) -> Iterator[Warn]:
    for one in found:
        words = one.text + (f" (and {len(one.more)} more like it)" if one.more else "")
        if one.accepted:
            words += f"; accepted: {one.accepted}"
        elif one.mend:
            words += f". Instead: {one.mend}"
        yield Warn(one.severity, words)


def _hold(hold: Hold) -> Words:
    """A body, and how it is held."""
    return (strong(hold.body), f" ({hold.kind}): {_held(hold)}")


def _held(hold: Hold) -> str:
    if not hold.held:
        return f"NOT HELD: {told(hold.fate)}"
    first = "" if hold.fate.kind is Kind.HELD else f"{loudly(hold.fate)}; "
    if hold.independent is None:
        return f"{first}nothing that can fail in this model drops it"
    if hold.independent < 2:
        return f"{first}ONE independent way, such as by {'; and by '.join(hold.by)}"
    return f"{first}{hold.independent} independent: by {'; and by '.join(hold.by)}"


def _stop(stop: Stop) -> tuple[str, str]:
    """May the work stop in this state, and why not."""
    if stop.may_stop:
        return "May stop here", "every requirement is met in this state"
    if stop.broken:
        return "Do not stop here", f"broken in this state: {'; '.join(stop.broken)}"
    if stop.in_hands:
        return "Do not stop here", f"in a hand: {'; '.join(stop.in_hands)}: lock it off or let it grip first"
    if stop.unchecked:
        return "Not told whether to stop here", f"not checked: {'; '.join(stop.unchecked)}"
    return "Not told whether to stop here", "no requirement speaks of this state"
