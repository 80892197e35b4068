"""One layout for every rig: blanks, indentation, columns. What is said stays as it is.

Nothing here knows a statement. A line is the lexer's tokens with the blanks between them set anew, and
its depth is the parser's: whatever the grammar learns is laid out with no word about it here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass

from lark import Token, UnexpectedInput
from lark.indenter import DedentError

from analyser.language.mistakes import Mistake, Place, Unreadable
from analyser.language.parsing import parse_text, tokens
from analyser.language.source import lines_of

DEEPER = 4
"""Blanks a level."""
BEFORE_COMMENT = 2
"""Blanks before a comment at a line's end."""
MOST_PADDING = 24
"""Blanks that line a column up: where it would take more, the eye loses the line, and a new column begins."""
MOST_WIDTH = 120
"""Comments are lined up only where that keeps within it. Lines themselves are never broken."""
SHAPE = ("_NL", "_INDENT", "_DEDENT")
"""Tokens that are no words."""
TIGHT_BEFORE = frozenset((",", ":", ")", "[", "]", "..", "."))
TIGHT_AFTER = frozenset(("(", "[", "..", "."))


@dataclass(slots=True)
class _Line:
    """One line: `code` as it will be written, then a comment; a blank line has neither.

    `head` is how much of the code is the `name:` of a detail, to be lined up with its neighbours'.
    `goes_on`: a comment that stands right under the comment at the end of the line above.
    """

    depth: int = 0
    code: str = ""
    comment: str = ""
    head: int = 0
    goes_on: bool = False

    @property
    def width(self) -> int:
        return DEEPER * self.depth + len(self.code)


def laid_out(data: bytes, shown: str, kinds: Collection[str]) -> str:
    """The text of a rig file in its one layout; `shown` is its name in messages, `kinds` the catalogue's.

    Raises `Unreadable` for a file with a line that is not understood. A name that nothing declares
    keeps no file from being laid out, nor does a missing title: a kit has none.
    """
    document = parse_text(data, shown, None, set(kinds))
    if document.mistakes:
        raise Unreadable(document.mistakes, document.sources)
    before = document.sources[shown]
    found = list(tokens(before, shown, set(kinds)))
    laid = _lines(before, found)
    _line_up_details(laid)
    text = "".join(f"{line}\n" for line in _written(laid))
    after, mistake = lines_of(text.encode(), shown)
    if mistake:  # too long now, or too large
        raise Unreadable([mistake], {shown: text.split("\n")})
    try:
        same = _said(after, list(tokens(after, shown, set(kinds)))) == _said(before, found)
    except (UnexpectedInput, DedentError, Unreadable):
        same = False
    if not same:
        wrong = "laying this file out would change what it says: it is left as it is"
        raise Unreadable(
            [Mistake(Place(shown, 1), wrong, "this is a defect of stillheld: please report it")], document.sources
        )
    return text


def _said(lines: list[str], found: list[tuple[int, Token]]) -> tuple[list[tuple[str, str]], list[str]]:
    """What must not change: the words and their depths, and the comments."""
    words = [(token.type, "" if token.type in (*SHAPE, "DONE_BY") else str(token)) for _, token in found]
    return words, [line.comment for line in _lines(lines, found) if line.comment]


def _lines(source: list[str], found: Iterable[tuple[int, Token]]) -> list[_Line]:
    """The lines of a file, each with its depth and its blanks set; blank lines folded to one."""
    words: defaultdict[int, list[Token]] = defaultdict(list)
    depths: dict[int, int] = {}
    depth = 0
    for number, token in found:
        if token.type in ("_INDENT", "_DEDENT"):
            depth += 1 if token.type == "_INDENT" else -1
        elif token.type not in SHAPE:
            words[number].append(token)
            depths.setdefault(number, depth)
    laid: list[_Line] = []
    waiting: list[tuple[_Line, int]] = []  # comments whose depth the next line of code decides
    opened = [0]  # how far the last line of code, and each it stands under, was indented
    column = -1  # of the last line's comment
    for number, text in enumerate(source, 1):
        code = words[number]
        rest = text[(code[-1].end_column or 1) - 1 :] if code else text
        mark = _columns(text[: len(text) - len(rest.lstrip())])
        line = _Line(depths.get(number, 0), _spaced(code), rest.strip(), _head(code))
        if code:
            _set_depths(waiting, opened, line.depth)
            opened = [*opened[: line.depth], _columns(text[: (code[0].column or 1) - 1])]
        elif line.comment and column == mark:
            line.goes_on = True
        elif line.comment:
            waiting.append((line, mark))
        column = mark if line.comment and (code or line.goes_on) else -1
        if code or line.comment or (laid and (laid[-1].code or laid[-1].comment)):
            laid.append(line)
    _set_depths(waiting, opened, 0)
    while laid and not laid[-1].code and not laid[-1].comment:
        laid.pop()
    return laid


def _columns(text: str) -> int:
    return len(text.expandtabs(DEEPER))


def _set_depths(waiting: list[tuple[_Line, int]], opened: list[int], below: int) -> None:
    """A comment stands with the line below it, or deeper, where it was indented with the lines above."""
    most = len(opened)
    for line, mark in waiting:
        with_above = max((depth for depth, column in enumerate(opened) if column <= mark), default=0)
        under_it = mark >= opened[-1] + 2
        most = line.depth = max(below, min(most, with_above + under_it))
    waiting.clear()


def _spaced(words: list[Token]) -> str:
    """The words of a line with one blank between them, and none where a mark stands close."""
    text = ""
    last = ""
    for word in words:
        if text and word[:1] not in TIGHT_BEFORE and last not in TIGHT_AFTER:
            text += " "
        text += " ".join(word.split()) if word.type == "DONE_BY" else word
        last = str(word)
    return text


def _head(words: list[Token]) -> int:
    """The length of `name:` (or `name, body.point:`) where a line begins with it and goes on, else 0."""
    marks = [str(word) for word in words]
    if ":" not in marks[:-1]:
        return 0
    end = marks.index(":")
    names, between = words[:end:2], marks[1:end:2]
    if end % 2 == 0 or any(name.type != "NAME" for name in names) or not set(between) <= {",", "."}:
        return 0
    return len(_spaced(words[: end + 1]))


def _runs(laid: list[_Line], member: Callable[[_Line], bool], across: int = 0) -> Iterator[list[_Line]]:
    """Neighbouring lines that have something to line up, with at most `across` other lines of code between."""
    run: list[_Line] = []
    others = 0
    for line in laid:
        if member(line):
            run.append(line)
            others = 0
            continue
        others = others + 1 if line.code else across + 1
        if others > across and run:
            yield run
            run = []
    if run:
        yield run


def _alike(run: list[_Line], size: Callable[[_Line], int]) -> Iterator[list[_Line]]:
    """A run in stretches whose sizes differ by no more than may be padded."""
    stretch: list[_Line] = []
    least = most = 0
    for line in run:
        one = size(line)
        least, most = (min(least, one), max(most, one)) if stretch else (one, one)
        if most - least > MOST_PADDING:
            yield stretch
            stretch, least, most = [], one, one
        stretch.append(line)
    yield stretch


def _line_up_details(laid: list[_Line]) -> None:
    """What is said of several parts under their declaration: one column for the names, one for the rest."""
    for run in _runs(laid, lambda line: line.depth > 0 and line.head > 0):
        for depth in {line.depth for line in run}:
            for stretch in _alike([line for line in run if line.depth == depth], lambda line: line.head):
                widest = max(line.head for line in stretch)
                for line in stretch:
                    line.code = line.code[: line.head].ljust(widest) + line.code[line.head :]


def _written(laid: list[_Line]) -> Iterator[str]:
    """The lines as text, with the comments at their ends lined up among neighbours."""
    columns: dict[int, int] = {}
    for run in _runs(laid, lambda line: bool(line.code and line.comment), across=1):
        for stretch in _alike(run, lambda line: line.width):
            column = max(line.width for line in stretch) + BEFORE_COMMENT
            together = all(column + len(line.comment) <= MOST_WIDTH for line in stretch)
            columns |= {id(line): column if together else line.width + BEFORE_COMMENT for line in stretch}
    column = 0
    for line in laid:
        code = " " * DEEPER * line.depth + line.code if line.code else ""
        if line.comment:
            if not line.goes_on:
                column = columns[id(line)] if line.code else DEEPER * line.depth
            code = code.ljust(column) + line.comment
        yield code
