"""The drill for people: its questions and answers on the terminal, as sheets to print, as a page to open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from markupsafe import Markup
from rich.console import Group, RenderableType
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.pages.drawing.diagram import drawn
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.rails import lines, rows
from analyser.pages.drawing.rendering import NotDrawn, render
from analyser.pages.writing.page import figure, own, sealed, template
from analyser.pages.writing.terminal import hanging, line, title
from analyser.rig.model import Rig
from analyser.uses.teaching.question import Asks, Drill, Question
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


def opening(drill: Drill) -> RenderableType:
    """What a drill begins with."""
    count = len(drill.questions)
    text = f"{count} question{'' if count == 1 else 's'}, seed {drill.seed}: the same seed asks the same again."
    said: list[RenderableType] = [title(drill.result.rig, drill.file), Text(text)]
    if drill.few:
        said.append(Text(f"({drill.few})", style="dim"))
    said.append(Text("Answer with names, `nobody` or `all`. ? for a hint, v for the rig, q to stop."))
    return Group(*said)


def asked(number: int, of: int, question: Question) -> RenderableType:
    """One question."""
    head = Text(f"\n{number} of {of}  {str(question.kind).upper()}", style="bold")
    options = [line(f"{chr(ord('a') + k)})  {words}") for k, words in enumerate(question.options)]
    return Group(head, Text(), Text(_sentence(question.text)), *options)


def judged(question: Question, heard: Heard, *, plain: bool = False) -> RenderableType:
    """Whether an answer was right, and why the answer is what it is."""
    word, style = ("RIGHT", "bold green") if heard.right else ("NOT SO", "bold red")
    return Group(hanging(word, _verdict(question, heard), style), *told(question, plain=plain))


def told(question: Question, *, plain: bool = False) -> list[RenderableType]:
    """Why: each body, then by what it is held or was."""
    found: list[RenderableType] = []
    for one in question.why:
        found.append(hanging(one.body, one.fate))
        found += [hanging("", way.replace(" – ", " - ") if plain else way) for way in one.ways]
    found += [hanging("paste" if k == 0 else "", words) for k, words in enumerate(question.paste)]
    return found


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


def ending(drill: Drill, right: int, answered: int, hinted: int) -> RenderableType:
    """What a drill ends with: the score, and the usual cautions."""
    helped = f", {hinted} with a hint" if hinted else ""
    assumed = len(drill.result.rig.sound)
    given = f"on {drill.result.on}, with {assumed} assumption{'' if assumed == 1 else 's'}"
    return Group(
        Text(f"\n{right} of {answered} right{helped}. Answers {given}.", style="bold"),
        Text(" ".join(CAUTIONS), style="italic"),
    )


# -- as documents


def sheets_markdown(drill: Drill) -> str:
    """A question sheet and an answer sheet as Markdown."""
    words = _words(drill)
    words["first"] = Markup(words["first"])  # the drawing stands in a block of code, as it is
    words["shown"] = {number: Markup(text) for number, text in _shown_each(drill).items()}
    return template("drill.md").render(**words, answer=answer_words)


def sheets_html(drill: Drill) -> str:
    """The same as a page for A4 or Letter, in black and white, with the diagram."""
    diagram = figure(_diagram(drill), CAPTION)
    return template("drill.html").render(
        **_words(drill), figure=diagram, style=own("paper.css"), policy=sealed(own("paper.css")), answer=answer_words
    )


def page_html(drill: Drill) -> str:
    """A page to open in a browser: each question, and its answer once it is opened. Nothing is fetched."""
    diagram = figure(_diagram(drill), CAPTION)
    return template("drill-page.html").render(
        **_words(drill), figure=diagram, style=own("page.css"), policy=sealed(own("page.css")), answer=answer_words
    )


def _words(drill: Drill) -> dict[str, object]:
    assumed = len(drill.result.rig.sound)
    return {
        "d": drill,
        "rig": drill.result.rig,
        "asked": [(number, one, _sentence(one.text)) for number, one in enumerate(drill.questions, 1)],
        "shown": _shown_each(drill),
        "first": "\n".join(rig_as_text(drill.result.rig)),
        "cautions": CAUTIONS,
        "given": f"on {drill.result.on}, with {assumed} assumption{'' if assumed == 1 else 's'}",
        "letters": "abcdefgh",
    }


def _shown_each(drill: Drill) -> dict[int, str]:
    """The rig beside each question of another state; the first state is shown once."""
    return {
        number: "\n".join(rig_as_text(one.rig)) if one.state else "" for number, one in enumerate(drill.questions, 1)
    }


def _diagram(drill: Drill) -> bytes | NotDrawn:
    try:
        return render(drawn(drill.result, Marks(asking=True)), "svg")
    except NotDrawn as error:
        return error


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] if text.startswith(("both", "nothing")) else text
