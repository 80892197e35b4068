"""The drill for people: its questions and answers on the terminal, as sheets to print, as a page to open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from analyser.checking.letterhead import CAUTIONS
from analyser.checking.sentences import counted, resting_on
from analyser.pages.drawing.diagram import drawn
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.rails import lines, rows
from analyser.pages.tree import (
    Block,
    Code,
    Fact,
    Fields,
    Figure,
    Gap,
    Hidden,
    Item,
    Line,
    Listing,
    Look,
    Note,
    Page,
    Span,
    Step,
    Title,
    Verdict,
    alarm,
    code,
    listing,
    quiet,
    section,
    strong,
)
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.pictures import drawing
from analyser.rig.model import Rig
from analyser.uses.teaching.question import Asks, Drill, Question, Told
from analyser.uses.teaching.telling import spoken

if TYPE_CHECKING:
    from analyser.uses.teaching.hearing import Heard

WIDTH = 80
SHOWN_EACH_TIME = 30
"""Lines of a drawing up to which it is shown with every question, its failures marked."""
CAPTION = "The rig as first attached: ground at the top, people at the bottom. What the check found is left out."
TOO_WIDE = "(too wide for a text view: `stillheld draw` draws it)"


# -- the rig as text


def rig_as_text(rig: Rig, failures: Sequence[str] = (), *, plain: bool = False) -> list[str]:
    """The rig from the ground down in at most 80 columns, with what has failed marked beside it."""
    marks: dict[str, str] = {}
    known = rig.index.failures
    for one in failures:
        for name in sorted({known[one].part}.union(*known[one].effects.groups)):
            marks[name] = f"{marks[name]}  " if name in marks else ""
            marks[name] += f"<< {spoken(rig, one)}"
    return lines(rows(rig, marks), WIDTH, plain=plain) or [TOO_WIDE]


# -- on the terminal


def opening(drill: Drill) -> Iterator[Block]:
    """What a drill begins with."""
    yield rig_title(drill.result.rig, drill.file)
    yield Note(f"{counted(len(drill.questions), 'question')}, seed {drill.seed}: the same seed asks the same again.")
    if drill.few:
        yield Note(quiet(f"({drill.few})"))
    yield Note("Answer with names, `nobody` or `all`. ? for a hint, v for the rig, q to stop.")


def asked(number: int, of: int, question: Question) -> Iterator[Block]:
    """One question."""
    head = Note(strong(f"{number} of {of}  {str(question.kind).upper()}"))
    yield from (Gap(), head, Gap(), Note(_sentence(question.text)))
    yield from (Line(f"{chr(ord('a') + k)})  {words}") for k, words in enumerate(question.options))


def judged(question: Question, heard: Heard, *, plain: bool = False) -> Iterator[Block]:
    """Whether an answer was right, and why the answer is what it is: each body, then by what it is held or was."""
    word = Span("RIGHT", Look.RIGHT) if heard.right else alarm("NOT SO")
    yield Fact(word, _verdict(question, heard))
    for one in question.why:
        yield Fact(one.body, one.fate)
        yield from (Fact("", way.replace(" – ", " - ") if plain else way) for way in one.ways)
    yield from (Fact("paste" if k == 0 else "", words) for k, words in enumerate(question.paste))


def _verdict(question: Question, heard: Heard) -> str:
    if heard.right and question.asks in (Asks.ONE, Asks.WAY) and question.right:
        return f"yes. {answer_words(question)}"
    if heard.right:
        return question.answer
    notes = []
    if heard.missing:
        notes.append(f"not named: {', '.join(heard.missing)}")
    if heard.extra and question.asks is Asks.ALL:
        notes.append(f"still held: {', '.join(heard.extra)}")
    behind = f" ({'; '.join(notes)})" if notes and question.right else ""
    return f"it is {answer_words(question)}{behind}"


def answer_words(question: Question) -> str:
    """The right answer in a sentence: of ways, every one."""
    if question.asks is Asks.WAY:
        return f"by {'; or by '.join(question.right)}"
    return question.answer


def ending(drill: Drill, right: int, answered: int, hinted: int) -> Iterator[Block]:
    """What a drill ends with: the score, and the usual cautions."""
    helped = f", {hinted} with a hint" if hinted else ""
    yield from (Gap(), Note(strong(f"{right} of {answered} right{helped}. Answers {_given(drill)}.")))
    yield closing()[-1]


def _given(drill: Drill) -> str:
    return resting_on(drill.result.on, len(drill.result.rig.sound))


# -- as documents


def sheets_page(drill: Drill) -> Page:
    """A question sheet and an answer sheet, for paper."""
    made = _made_from(drill)
    asked = tuple(_to_answer(number, one) for number, one in enumerate(drill.questions, 1))
    few = (Note(f"({drill.few})"),) if drill.few else ()
    cautions = Verdict("", " ".join(CAUTIONS))
    blocks: tuple[Block, ...] = (
        Title(drill.result.rig.title, made, kind="Drill: questions"),
        Fields(("Name", "Date", "Right")),
        cautions,
        _figure(drill),
        section("Questions", (*few, *asked)),
        Title(drill.result.rig.title, (*made, _given(drill)), kind="Drill: answers", apart=True),
        *(_answered(number, one) for number, one in enumerate(drill.questions, 1)),
        cautions,
    )
    return Page(blocks, f"Drill: {drill.result.rig.title}")


def drill_page(drill: Drill) -> Page:
    """A page to open in a browser: each question, and its answer once it is opened."""
    rig = drill.result.rig
    revision = f"revision {rig.revision}, " if rig.revision else ""
    few = f" ({drill.few})" if drill.few else ""
    count = len(drill.questions)
    blocks: tuple[Block, ...] = (
        Title(rig.title, (quiet(f"{revision}{drill.file}, drill with seed {drill.seed}"),)),
        Note(f"Answer each question aloud before you open its answer.{few}"),
        _figure(drill),
        *(section(f"{n} of {count}: {one.kind}", _to_open(one)) for n, one in enumerate(drill.questions, 1)),
        *closing(strong(f"Answers {_given(drill)}.")),
    )
    return Page(blocks, f"Drill: {rig.title}")


def _made_from(drill: Drill) -> tuple[str, ...]:
    revision = drill.result.rig.revision
    made = (f"made from {drill.file}", f"seed {drill.seed}")
    return (f"Revision {revision}", *made) if revision else made


def _figure(drill: Drill) -> Figure:
    """The rig as first attached, with nothing told of what the check found."""
    source = drawn(drill.result, Marks(asking=True))
    return drawing(source, CAPTION, instead=_as_code(drill.result.rig))


def _as_code(rig: Rig) -> Code:
    return Code(tuple(rig_as_text(rig)), "text", indent=0)


def _question(question: Question) -> Iterator[Block]:
    """The rig where it is in another state (the first is shown once), and what there is to choose from."""
    if question.state:
        yield _as_code(question.rig)
    if question.options:
        yield listing(f"({chr(ord('a') + k)}) {option}" for k, option in enumerate(question.options))


def _to_answer(number: int, question: Question) -> Step:
    then = (*_question(question), Fields(("Answer",)))
    return Step(str(number), _sentence(question.text), str(question.kind), then=then)


def _answered(number: int, question: Question) -> Step:
    why = [Item((strong(told.body), f": {told.fate}"), _ways(told)) for told in question.why]
    paste = [Item(("to paste: ", code(line))) for line in question.paste]
    then = (Line(strong(answer_words(question))), Listing((*why, *paste)))
    return Step(str(number), _sentence(question.text), str(question.kind), note=True, then=then)


def _ways(told: Told) -> tuple[Listing, ...]:
    return (listing(told.ways),) if told.ways else ()


def _to_open(question: Question) -> Iterator[Block]:
    yield Note(_sentence(question.text))
    yield from _question(question)
    yield Hidden("Hint", (Note(question.hint),))
    why = (Fact(told.body, "\n".join((told.fate, *told.ways))) for told in question.why)
    paste = (Code(question.paste),) if question.paste else ()
    yield Hidden("Answer", (Note(strong(answer_words(question))), *why, *paste), answer=True)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] if text.startswith(("both", "nothing")) else text
