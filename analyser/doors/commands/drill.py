"""`stillheld drill RIG`: questions about a rig, asked on the terminal, printed as sheets or put on a page."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import NotDone, Paper, put_json
from analyser.doors.commands.opening import files_of, open_rig, shown
from analyser.doors.commands.options import as_json, count, on, one_rig, output

if TYPE_CHECKING:
    from analyser.uses.teaching.hearing import Heard
    from analyser.uses.teaching.question import Drill, Question

HINT, VIEW, QUIT = ("?", "hint", "h"), ("v", "view"), ("q", "quit", "stop")


GOES_ON = True


def options(one: ArgumentParser) -> None:
    one_rig(one, "a .rig file (one of a lesson: `stillheld start --lessons`)")
    one.add_argument("--seed", type=_seed, default=1, metavar="N", help="the same seed asks the same (default 1)")
    one.add_argument("--questions", type=count, default=8, metavar="N", help="how many are asked (default 8)")
    one.add_argument("--ascii", action="store_true", help="the drawing in plain ASCII")
    words = "add each answer to FILE, a line of JSON each; else none is kept"
    one.add_argument("--score", metavar="FILE", help=words)
    target = one.add_mutually_exclusive_group()
    words = "N questions as a question sheet and an answer sheet, to -o FILE.md or FILE.html"
    target.add_argument("--paper", type=count, metavar="N", help=words)
    target.add_argument("--page", action="store_true", help="a page for a browser, to -o FILE.html: answers open")
    as_json(target, "questions and answers, for scripts")
    on(one)
    output(one, "where --paper or --page goes; - for standard output (default)")


def _seed(text: str) -> int:
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    raise ArgumentTypeError(f"{text!r} is not a seed, a number from 0 to 999999999")


def run(asked: Namespace) -> int | Paper:
    """0 whatever was answered; 2 when nothing could be asked."""
    from analyser.checking.analysing import analyse
    from analyser.uses.teaching.making import drill

    rig = open_rig(asked.rig)
    aloud = not (asked.paper or asked.page or asked.json)
    if aloud and asked.rig == "-":
        raise NotDone("the answers come from standard input: name a file for the rig")
    if aloud and asked.output != "-":
        raise NotDone(f"-o {asked.output}: say what goes there, with --paper N or --page")
    if asked.score and not aloud:
        raise NotDone("--score keeps answers: it goes with questions that are asked")
    if not rig.bodies:
        raise NotDone("nobody and nothing in this file has to be held: there is nothing to ask")
    scores = Scores(Path(asked.score)) if asked.score else None
    made = drill(analyse(rig, processes=None), shown(asked.rig), asked.seed, asked.paper or asked.questions)
    if asked.json:
        put_json(made.document_of())
        return 0
    if aloud:
        return _ask(made, scores, plain=asked.ascii)
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.drill_page import drill_page, sheets_page

    if asked.page:
        writers = {".html": lambda: whole(drill_page(made), ("page.css",))}
    else:
        paper = {".html": lambda: whole(sheets_page(made), ("paper.css",))}
        writers = {".md": lambda: markdown(sheets_page(made)), **paper}
    return Paper(0, made, writers, made_from=files_of(asked.rig, rig))


class Scores:
    """A file to which each answer is added as a line of JSON. What is there stays; another sort of file is refused."""

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            with path.open("a+b") as file:
                file.seek(0)
                first = file.readline(10_000)
                if first.strip() and not _is_score(first):
                    raise NotDone(f"{path} is not a file of scores, and stays as it is: name another one")
                file.seek(0, 2)
                self.between = b""
                if file.tell():
                    file.seek(-1, 2)
                    self.between = b"" if file.read(1) == b"\n" else b"\n"
        except OSError as error:
            raise NotDone(f"{path}: scores cannot be kept there: {error.strerror}") from None

    def add(self, made: Drill, number: int, question: Question, heard: Heard, hinted: bool) -> None:
        """One answer, written at once: a drill that is stopped loses none."""
        from analyser.checking.contract import as_line
        from analyser.uses.teaching.drill_shapes import Score

        row = Score(
            rig=made.result.rig.title,
            revision=made.result.rig.revision,
            seed=made.seed,
            number=number,
            kind=question.kind,
            question=question.text,
            given=heard.given,
            right=heard.right,
            hint=hinted,
        )
        with self.path.open("ab") as file:
            file.write(self.between + as_line(row).encode() + b"\n")
        self.between = b""


def _is_score(line: bytes) -> bool:
    import json

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
