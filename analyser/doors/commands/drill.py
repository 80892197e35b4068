"""`stillheld drill RIG`: questions about a rig, asked on the terminal, printed as sheets or put on a page."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.doors.commands.documents import put
from analyser.doors.commands.opening import STANDARD_INPUT, open_text, show_mistakes, shown
from analyser.language.mistakes import Unreadable

if TYPE_CHECKING:
    from analyser.uses.teaching.hearing import Heard
    from analyser.uses.teaching.question import Drill, Question

HINT, VIEW, QUIT = ("?", "hint", "h"), ("v", "view"), ("q", "quit", "stop")


class NoDrill(Exception):
    """Why nothing is asked, and what to do instead."""


def run(options: argparse.Namespace) -> int:
    """0 whatever was answered; 2 when nothing could be asked."""
    import analyser
    from analyser.uses.teaching.making import Source, drill

    try:
        text, file, folder = open_text(options.rig)
        rig = analyser.read_text(text, file, folder)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    aloud = not (options.paper or options.page or options.json)
    try:
        if aloud and file == STANDARD_INPUT:
            raise NoDrill("the answers come from standard input: name a file for the rig")
        if aloud and options.output != "-":
            raise NoDrill(f"-o {options.output}: say what goes there, with --paper N or --page")
        if options.score and not aloud:
            raise NoDrill("--score keeps answers: it goes with questions that are asked")
        if not rig.bodies:
            raise NoDrill("nobody and nothing in this file has to be held: there is nothing to ask")
        scores = Scores(Path(options.score)) if options.score else None
    except NoDrill as error:
        sys.stderr.write(f"{error}\n")
        return 2
    made = drill(
        analyser.check(rig), Source(text, shown(options.rig), folder), options.seed, options.paper or options.questions
    )
    if options.json:
        sys.stdout.write(json.dumps(made.as_data(), indent=2, ensure_ascii=False) + "\n")
        return 0
    if aloud:
        return _ask(made, scores, plain=options.ascii)
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.drill_page import drill_page, sheets_page

    if options.page:
        writers = {".html": lambda: whole(drill_page(made), ("page.css",))}
    else:
        paper = {".html": lambda: whole(sheets_page(made), ("paper.css",))}
        writers = {".md": lambda: markdown(sheets_page(made)), **paper}
    return 0 if put(options.output, writers, made.as_data, as_json=False) else 2


class Scores:
    """A file to which each answer is added as a line of JSON. What is there stays; another sort of file is refused."""

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            with path.open("a+b") as file:
                file.seek(0)
                first = file.readline(10_000)
                if first.strip() and not _is_score(first):
                    raise NoDrill(f"{path} is not a file of scores, and stays as it is: name another one")
                file.seek(0, 2)
                self.between = b""
                if file.tell():
                    file.seek(-1, 2)
                    self.between = b"" if file.read(1) == b"\n" else b"\n"
        except OSError as error:
            raise NoDrill(f"{path}: scores cannot be kept there: {error.strerror}") from None

    def add(self, made: Drill, number: int, question: Question, heard: Heard, hinted: bool) -> None:
        """One answer, written at once: a drill that is stopped loses none."""
        row = {
            "format": "stillheld/1",
            "rig": made.result.rig.title,
            "revision": made.result.rig.revision,
            "seed": made.seed,
            "number": number,
            "kind": str(question.kind),
            "question": question.text,
            "given": list(heard.given),
            "right": heard.right,
            "hint": hinted,
        }
        with self.path.open("ab") as file:
            file.write(self.between + json.dumps(row, ensure_ascii=False).encode() + b"\n")
        self.between = b""


def _is_score(line: bytes) -> bool:
    try:
        row = json.loads(line)
    except ValueError:
        return False
    return isinstance(row, dict) and "right" in row and "seed" in row


def _ask(made: Drill, scores: Scores | None, *, plain: bool) -> int:
    """The questions one by one, until the last, `q`, the end of what is typed, or Ctrl-C."""
    from analyser.pages.writers.terminal import show
    from analyser.pages.writing.drill_page import SHOWN_EACH_TIME, asked, ending, judged, opening, rig_as_text

    reconfigure = getattr(sys.stdin, "reconfigure", None)
    if reconfigure:
        reconfigure(errors="replace")
    right = hinted = answered = 0
    status = 0
    state: int | None = None
    show(opening(made))
    try:
        for number, question in enumerate(made.questions, 1):
            drawing = rig_as_text(question.rig, question.failures, plain=plain)
            show(asked(number, len(made.questions), question))
            if state != question.state or (question.failures and len(drawing) <= SHOWN_EACH_TIME):
                _put("", *drawing)
            state = question.state
            heard, with_hint = _answer(question, drawing)
            if heard is None:
                break
            answered, right, hinted = answered + 1, right + heard.right, hinted + with_hint
            if scores:
                scores.add(made, number, question, heard, with_hint)
            show(judged(question, heard, plain=plain))
    except KeyboardInterrupt:
        _put("")
        status = 130
    show(ending(made, right, answered, hinted))
    if scores and answered:
        _put(f"{answered} answer{'' if answered == 1 else 's'} added to {scores.path}")
    return status


def _answer(question: Question, drawing: list[str]) -> tuple[Heard | None, bool]:
    """What was answered (None: somebody stops here), and whether a hint was asked for."""
    from analyser.uses.teaching.hearing import hear

    hinted = False
    while True:
        sys.stdout.write("\n> ")
        sys.stdout.flush()
        text = sys.stdin.readline()
        if not sys.stdin.isatty():
            sys.stdout.write(text if text.endswith("\n") else f"{text}\n")
        word = text.strip()
        own = word in question.names
        if not text or (not own and word.lower() in QUIT):
            return None, hinted
        if not own and word.lower() in VIEW:
            _put(*drawing)
        elif not own and word.lower() in HINT:
            hinted = True
            _put(f"  {question.hint}")
        else:
            heard = hear(question, text)
            if not heard.unclear:
                return heard, hinted
            _put(f"  {heard.unclear}")


def _put(*lines: str) -> None:
    sys.stdout.write("".join(f"{line}\n" for line in lines))
