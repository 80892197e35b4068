"""The procedure as a page, for paper and for the screen of whoever writes it on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from analyser.checking.fates import loudly, told
from analyser.checking.first_look import first_look
from analyser.checking.foremost import verdict_line, verdict_rest
from analyser.checking.results import Result
from analyser.checking.sentences import listed, verb
from analyser.holding.fate import Kind
from analyser.language.identities import spoken
from analyser.pages.drawing.by_body import FROM, overview
from analyser.pages.drawing.diagram import dot_source
from analyser.pages.tree import (
    Block,
    Column,
    Fields,
    Fill,
    Item,
    Listing,
    Note,
    Page,
    Piece,
    Row,
    Section,
    Step,
    Table,
    Tick,
    Title,
    Under,
    Warn,
    Words,
    code,
    given,
    listing,
    quiet,
    section,
    strong,
)
from analyser.pages.writing.at_the_head import verdict_box
from analyser.pages.writing.ends import paper_title
from analyser.pages.writing.grouping import alike
from analyser.pages.writing.pictures import drawing
from analyser.pages.writing.states_page import after_steps
from analyser.pages.writing.translation import catalogue
from analyser.rig.figures import as_length
from analyser.uses.field.at_first import between, mending
from analyser.uses.field.said import Said
from analyser.uses.procedure.document import Asked, Procedure, StateAfter, StepToDo, Warned
from analyser.uses.procedure.holds import Hold
from analyser.uses.procedure.kit import AnchorNeeded, Kit, RopeNeeded
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
FIGURES = "Figures, and where they come from"
OF_THE_FILE = (
    "Figures are those of the file; a kind of a standard gives the least that the standard asks. The mark on the part "
    "in the hand comes first."
)
FIRST = (
    "First, whatever it is: call stop; everybody stops and keeps hold of what they have. Then, for the state that the "
    "work is in (common practice, no source):"
)
PICTURE = (
    *("The picture of the system: ", code("stillheld draw RIG -o FILE.svg")),
    *(", or this document as ", code(".html"), "."),
)
OVERVIEW = "Who hangs from what, by which rope: ground at the top, single points by name."
SHEETS = ("What holds each body is on a sheet of its own: ", code("stillheld draw RIG --sheets DIR"), ".")
SIGNING = ("Made by", "Checked by", "Approved by", "In charge of the work")
SIGNED_FOR = (
    "Signed for is the text of that digest, with all that it includes: another text has another digest, and is signed "
    "anew. A signature says who looked, and nothing of how the system will hold."
)
MOTIONLESS = "Somebody who hangs motionless in a harness is an emergency (common practice, no source)."
OTHERS = "Any single failure that stands in no row: everybody is held as before; mend it before it is needed."

TABLES = "“If a part fails”"
"""Under which heading the tables stand."""
MOST_REASONS = 3
"""Reasons why a requirement is broken that are told on the first sheet."""

NO_ROW = "No row: any single failure that the file can express leaves everybody held as before."


def procedure_page(made: Procedure, result: Result) -> Page:
    """The whole document."""
    return procedures([(made, result)]).page


@dataclass(frozen=True, slots=True)
class Procedures:
    """One procedure or several in one document, in the three pieces in which a team's template may place them.
    `each` are the blocks of each procedure by itself, `verdicts` how each stands, in a line, and `rests` the part of
    it that says what that rests on."""

    made: tuple[Procedure, ...]
    verdicts: tuple[str, ...]
    rests: tuple[str, ...]
    name: str
    front: tuple[Block, ...]
    each: tuple[tuple[Block, ...], ...]
    approval: tuple[Block, ...]

    @property
    def body(self) -> tuple[Block, ...]:
        return tuple(block for blocks in self.each for block in blocks)

    @property
    def given(self) -> dict[str, object]:
        """What a team's template may place: each piece, and of each procedure what it says and its own blocks."""
        rigs = [
            {
                "title": made.title,
                "revision": made.revision,
                "file": made.file,
                "digest": made.digest,
                "closing": made.closing,
                "verdict": verdict,
                "met": made.met,
                "notes": made.notes,
                "cautions": " ".join(made.cautions),
                "procedure": Page(blocks, made.title),
                "document": made.to_dict(),
            }
            for made, verdict, blocks in zip(self.made, self.verdicts, self.each, strict=True)
        ]
        pieces = {"front": self.front, "procedures": self.body, "approval": self.approval}
        return {"title": self.name, **{name: Page(blocks, name) for name, blocks in pieces.items()}, "rigs": rigs}

    @property
    def never_without(self) -> tuple[tuple[str, ...], ...]:
        """What no document goes without, each in one of these wordings: the cautions, and of each procedure whether
        what is required is met."""
        cautions = dict.fromkeys(one for made in self.made for one in made.cautions)
        stands = ((made.closing, rest) for made, rest in zip(self.made, self.rests, strict=True))
        return (*((one,) for one in cautions), *stands)

    @property
    def page(self) -> Page:
        return Page((*self.front, *self.body, *self.approval), self.name)


def procedures(several: Sequence[tuple[Procedure, Result]]) -> Procedures:
    """One procedure, or several, with one table by which all are approved."""
    verdicts, rests = (tuple(told(result) for _, result in several) for told in (verdict_line, verdict_rest))
    approval = (Section("Approval", tuple(_approval([made for made, _ in several])), sheet="whole"),)
    if len(several) == 1:
        ((made, result),) = several
        front = paper_title("Procedure", made.title, made.revision, made.file, *_text(made), notes=made.notes)
        blocks = (tuple(_procedure(made, result)),)
        return Procedures((made,), verdicts, rests, f"Procedure: {made.title}", (front,), blocks, approval)
    titles = "; ".join(made.title for made, _ in several)
    contents = Table(
        tuple(map(Column, ("", "Procedure", "Required"))),
        tuple((f"{number}", made.title, made.closing) for number, (made, _) in enumerate(several, 1)),
        sort="kit",
        about=1,
    )
    front_of_all = (Title(titles, (f"{len(several)} procedures in one document",), (), "Procedures"), contents)
    each = tuple(
        (Section(f"{number}. ", tuple(_one_of_several(made, result)), made.title),)
        for number, (made, result) in enumerate(several, 1)
    )
    every = tuple(made for made, _ in several)
    return Procedures(every, verdicts, rests, f"Procedures: {titles}", front_of_all, each, approval)


def _text(made: Procedure) -> tuple[str, ...]:
    return (f"text {made.digest}",) if made.digest else ()


def _one_of_several(made: Procedure, result: Result) -> Iterator[Block]:
    """Its steps and tables are numbered by themselves: what names them stands in this one."""
    revision = (f"Revision {made.revision}",) if made.revision else ()
    yield Note(", ".join((*revision, f"made from {made.file}", *_text(made))))
    yield from map(Note, made.notes)
    yield from _procedure(made, result)


def _procedure(made: Procedure, result: Result) -> Iterator[Block]:
    """One procedure, from who does it where to what its file takes as given."""
    steps = _Steps(made, result)
    look = first_look(result)
    mend = mending(result.rig, look)
    yield verdict_box(result, " ".join(made.cautions), look, mend)
    yield Fields(("Date", "Place", "In charge"))
    yield section("Scope", _scope(made))
    yield section("People", [_people(made)])
    yield section("Kit", (*_not_in_it(mend), *_kit(made, mend)))
    yield section("Before the first load", _looks(made))
    yield Section("The system", tuple(_system(result)), sheet="across")
    yield section("Steps", steps.every())
    yield Section("If a part fails", tuple(steps.answers()), sheet="apart")
    yield from steps.ways_back()
    yield section("Taken as given", _given(made))


def _approval(several: Sequence[Procedure]) -> Iterator[Block]:
    """What is signed for, and by whom."""
    columns = tuple(map(Column, ("Procedure", "Revision", "Made from", "Text", "Required")))
    rows = tuple((one.title, one.revision or "–", one.file, one.digest or "–", one.closing) for one in several)
    yield Table(columns, rows, sort="kit")
    yield Note(SIGNED_FOR, small=True)
    heads = tuple(map(Column, ("Signed", "Name", "Signature", "Date")))
    yield Table(heads, tuple((who, Fill(), Fill(), Fill(short=True)) for who in SIGNING), sort="approval")


def _system(result: Result) -> Iterator[Block]:
    """The picture: of a rig of many parts the overview, and where each body's own sheet is."""
    if len(result.rig.parts) <= FROM:
        yield drawing(dot_source(result), instead=Note(PICTURE))
        return
    yield drawing(overview(result), OVERVIEW, instead=Note(PICTURE))
    yield Note(SHEETS)


def _table(heads: Iterable[str], rows: Iterable[Row]) -> Table:
    return Table(tuple(map(Column, heads)), tuple(rows), sort="kit")


# -- what it is about, with what, by whom


def _scope(made: Procedure) -> Iterator[Block]:
    stages = "; ".join(stage.title for stage in made.stages)
    told = f"Stages: {stages}." if stages else "One state: the file has no stages."
    yield Note(f"To be held: {listed(made.bodies) or 'nobody and nothing'}. {told}")
    assumed = " (house defaults: the file asks for nothing)" if made.requirements[0].assumed else ""
    open_ = [one for one in made.requirements if one.because]
    if open_:
        columns = (Column(f"Required{assumed}"), Column("Met?"))
        yield Table(
            columns, tuple(_asked(one, max(1, MOST_REASONS // len(open_))) for one in open_), sort="kit", about=None
        )
    if met := [one.text for one in made.requirements if not one.because]:
        also = "Also required" if open_ else f"Required{assumed}"
        but = " (but for what the file accepts: see the end)" if _accepts(made) else ""
        yield Note(f"{also}, and met in every state that it speaks of{but}: {'; '.join(met)}.", small=True)


def _accepts(made: Procedure) -> bool:
    return any(one.word == "accepted risk" for one in made.given)


def _asked(one: Asked, most: int) -> Row:
    """A requirement, with so many of the reasons for which it isn't met: where several are broken, they share the
    room."""
    word = one.word if one.word == "met" else strong(one.word)
    if one.steps not in ((), ("0",)):
        return (one.text, (word, f" {after_steps(one.steps)}: see {TABLES}"))
    told = one.because if len(one.because) <= most + 1 else one.because[:most]
    left = len(one.because) - len(told)
    reasons = "; ".join((*told, *((f"and {left} more: see {TABLES}",) if left else ())))
    return (one.text, (word, f": {reasons}") if reasons else word)


def _not_in_it(mend: Said | None) -> Iterator[Block]:
    """What the head says would mend it is in no list of what the file has; a part between two others has its row."""
    if mend and not between(mend):
        yield Note(strong(f"MISSING from this kit, and wanted to mend it: {catalogue('en').text(mend)}."))


def _kit(made: Procedure, mend: Said | None) -> Iterator[Block]:
    columns = (Column("Count", figures=True), *map(Column, ("Kind", "Names", FIGURES, "Marked on it", "There")))
    yield Table(columns, (*_missing(mend), *map(_kind, made.kit)), sort="kit", about=1)
    if made.ropes:
        heads = ("Rope", "Length given", "Length needed at least", FIGURES, "Knots", "There")
        yield _table(heads, map(_rope, made.ropes))
    yield _table(("Anchors, each ticked when there", "Kind", FIGURES, "Asked at least"), _anchors(made.anchors))
    least = f"The file asks: {'; '.join(made.least)}." if made.least else "The file asks for no strength."
    yield Note(f"{OF_THE_FILE} {least}", small=True)


def _missing(mend: Said | None) -> Iterator[Row]:
    if told := between(mend):
        kind, a, b = told
        yield ("1", kind, strong(f"MISSING: from {a} to {b}"), "not in the file", Fill(short=True), Tick())


def _kind(one: Kit) -> Row:
    return (str(one.count), one.kind, ", ".join(one.names), _figures(one), Fill(short=True), Tick())


def _rope(one: RopeNeeded) -> Row:
    needed = f"{as_length(one.needed, '.4g')} ({one.because})" if one.needed else "not told: give drop or places"
    return (given(one.name), one.length or "not given", needed, _figures(one), ", ".join(one.knots), Tick())


def _anchors(anchors: Iterable[AnchorNeeded]) -> Iterator[Row]:
    """Anchors of which the same is known stand together."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for one in anchors:
        alike.setdefault((one.kind, _figures(one), one.least or "nothing"), []).append(one.name)
    for known, names in alike.items():
        yield (tuple(piece for name in names for piece in (Tick(), f"\N{NO-BREAK SPACE}{name}\N{EM SPACE}")), *known)


def _figures(one: Kit | RopeNeeded | AnchorNeeded) -> str:
    source = f" ({one.source})" if one.source else ""
    return f"{', '.join(one.figures) or 'strength not given'}{source}"


def _people(made: Procedure) -> Table:
    heads = ("Called", "Where", "Job", "Harness", "Name and signature")
    told = ((one.name, one.place, "; ".join(one.does), ", ".join(one.wears)) for one in made.people)
    return _table(heads, ((name, place, does or "–", wears or "–", Fill()) for name, place, does, wears in told))


def _looks(made: Procedure) -> Iterator[Block]:
    rows = (((one.of, "\n", quiet(", ".join(one.names))), one.find, Tick()) for one in made.looks)
    yield _table(("Looked at", "Must be found", "Found"), rows)
    practice = "Common practice, no source; the makers' instructions ask for more. Looked at by "
    yield Note((practice, Fill(), " time ", Fill(short=True)), small=True)


# -- the steps, and what to do if a part fails


class _Steps:
    """The steps of a procedure, told by the numbers that they have in it."""

    def __init__(self, made: Procedure, result: Result) -> None:
        self.made, self.result = made, result
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


def _given(made: Procedure) -> Iterator[Block]:
    rest = f" {'; '.join(made.not_declared)}." if made.not_declared else ""
    yield Note(f"{made.complete}. Strength, knots, rope condition and skill are not judged.{rest}", small=True)
    if not made.given:
        yield Note("The file takes nothing as impossible and accepts no risk.")
        return
    columns = (*map(Column, ("What", "How", "Because")), Column("Line", figures=True))
    rows = tuple((spoken(one.what), one.word, one.reason, str(one.line)) for one in made.given)
    yield Table(columns, rows, sort="kit")
