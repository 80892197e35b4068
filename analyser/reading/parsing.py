"""From lines to statements. A block (a line and what is indented under it) is parsed on its own,
so that one mistake costs one line and every other mistake is still found in the same run."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from lark import Lark, UnexpectedInput
from lark.indenter import Indenter

import grammar
from analyser.reading.explaining import explain, token_line
from analyser.reading.mistakes import Mistake, Place
from analyser.reading.source import lines_of, read_bytes
from analyser.reading.statements import Statements
from analyser.reading.syntax import Include, NewKind, Statement

MOST_MISTAKES = 50
"""After this many the rest of the file is not worth reading before some are mended."""


@dataclass
class Document:
    """The statements of a rig and of what it includes, in order, and what was wrong with the text.

    `doubtful` holds the words of lines that could not be understood: a name that is only there
    is not reported a second time as unknown.
    """

    statements: list[Statement] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    sources: dict[str, list[str]] = field(default_factory=dict)
    doubtful: set[str] = field(default_factory=set)


class _Indents(Indenter):
    NL_type = "_NL"
    OPEN_PAREN_types: list[str] = []  # noqa: RUF012 - lark's own interface
    CLOSE_PAREN_types: list[str] = []  # noqa: RUF012
    INDENT_type = "_INDENT"
    DEDENT_type = "_DEDENT"
    tab_len = 4


@lru_cache(maxsize=1)
def _parser() -> Lark:
    """The parser. Its tables are kept beside Python's compiled files, where those may be written:
    reading them back takes a tenth of the time of building them."""
    folder = Path(grammar.__file__).parent / "__pycache__"
    with suppress(OSError):
        folder.mkdir(exist_ok=True)
    cache = str(folder / "rig.lark.tables") if folder.is_dir() else False
    return Lark(
        grammar.text("rig.lark"),
        parser="lalr",
        postlex=_Indents(),
        propagate_positions=False,
        maybe_placeholders=True,
        cache=cache,
    )


def parse_file(path: Path, kinds: set[str]) -> Document:
    """Read a rig file and what it includes. Names shown in messages are relative to its folder."""
    document = Document()
    data, mistake = read_bytes(path, path.name)
    if mistake:
        document.mistakes.append(mistake)
        document.sources[path.name] = []
        return document
    _parse_bytes(data, path.name, path.parent, (path,), kinds, document)
    return document


def parse_text(data: bytes, shown: str, folder: Path, kinds: set[str]) -> Document:
    """Read a rig from bytes (standard input, an editor); `folder` is where its includes are."""
    document = Document()
    _parse_bytes(data, shown, folder, (), kinds, document)
    return document


def _parse_bytes(
    data: bytes,
    shown: str,
    folder: Path,
    above: tuple[Path, ...],
    kinds: set[str],
    document: Document,
) -> None:
    lines, mistake = lines_of(data, shown)
    document.sources[shown] = lines
    if mistake:
        document.mistakes.append(mistake)
        return
    if not any(line.strip() and not line.lstrip().startswith("#") for line in lines):
        text = "this file is empty" if not any(map(str.strip, lines)) else "there is no statement here"
        document.mistakes.append(
            Mistake(Place(shown, 1), text, 'begin with a title: `rig "Two-rope lower"`')
        )
        return
    for first, block in _blocks(lines, shown, document):
        if len(document.mistakes) >= MOST_MISTAKES:
            return
        statement = _parse_block(block, first, shown, kinds, document)
        if isinstance(statement, NewKind):
            kinds.add(statement.name.text)
        if isinstance(statement, Include):
            _follow(statement, folder, above, kinds, document)
        elif statement:
            document.statements.append(statement)


def _follow(
    include: Include, folder: Path, above: tuple[Path, ...], kinds: set[str], document: Document
) -> None:
    """Read an included file, unless it is outside the folder or already being read."""
    name, place = include.file.text, include.file.place
    try:
        root = folder.resolve()
        base = above[-1].parent if above else folder
        path = (base / name).resolve()
        inside = path.is_relative_to(root) and not Path(name).is_absolute()
    except (OSError, ValueError, RuntimeError):
        document.mistakes.append(Mistake(place, f"`{name}` cannot be a file's name", ""))
        return
    if not inside:
        document.mistakes.append(
            Mistake(
                place,
                f"`{name}` lies outside the folder of the rig that is read",
                "copy it into the rig's folder, or below it",
            )
        )
        return
    if path in [one.resolve() for one in above]:
        document.mistakes.append(
            Mistake(place, f"`{name}` includes itself, directly or by others", "take one `include` out")
        )
        return
    shown = path.relative_to(root).as_posix()
    if shown in document.sources:
        return  # read once already: including the same kit twice changes nothing
    data, mistake = read_bytes(path, shown)
    if mistake:
        document.mistakes.append(Mistake(place, f"`{name}`: {mistake.text}", mistake.help))
        return
    _parse_bytes(data, shown, folder, (*above, path), kinds, document)


def _blocks(lines: list[str], shown: str, document: Document) -> Iterator[tuple[int, list[str]]]:
    """Split a file into blocks: (number of the first line, the lines). Indents are made sure of."""
    start = 0
    block: list[str] = []
    stack: list[str] = []
    for number, line in enumerate(lines, 1):
        stripped = line.strip()
        if not stripped or stripped.startswith("#"):
            if block:
                block.append("")
            continue
        indent = line[: len(line) - len(line.lstrip())]
        if not indent:
            if block:
                yield start, block
            start, block, stack = number, [line], [""]
            continue
        mistake = _indent_mistake(indent, stack, number, shown, bool(block))
        if mistake:
            document.mistakes.append(mistake)
            document.doubtful |= _words(line)
            if block:
                block.append("")
            continue
        while len(stack) > 1 and len(indent) < len(stack[-1]):
            stack.pop()
        if indent != stack[-1]:
            stack.append(indent)
        block.append(line)
    if block:
        yield start, block


def _indent_mistake(
    indent: str, stack: list[str], number: int, shown: str, inside: bool
) -> Mistake | None:
    place = Place(shown, number, 1, len(indent) + 1)
    if not inside:
        return Mistake(place, "this line is indented, but no line above it begins a block", "move it left")
    deepest = stack[-1]
    if not (indent.startswith(deepest) or deepest.startswith(indent)):
        return Mistake(place, "tabs and spaces are mixed here", "indent with spaces only")
    if len(indent) < len(deepest) and indent not in stack:
        return Mistake(
            place,
            "this line stands between two depths of indentation",
            "line it up with the lines of the block it belongs to",
        )
    return None


def _parse_block(
    block: list[str], first: int, shown: str, kinds: set[str], document: Document
) -> Statement | None:
    """Parse one block; a line that is not understood is reported, dropped, and the rest read again."""
    parser = _parser()
    while block and not block[-1]:
        block.pop()
    while True:
        try:
            tree = parser.parse("\n".join(block) + "\n")
        except UnexpectedInput as error:
            at = token_line(error, len(block))
            while at > 1 and not block[at - 1]:
                at -= 1
            patterns = {terminal.name: terminal.pattern.value for terminal in parser.terminals}
            line = block[at - 1]
            document.mistakes.append(explain(error, line, first + at - 1, shown, kinds, patterns))
            document.doubtful |= _words(line)
            if at == 1 or len(document.mistakes) >= MOST_MISTAKES:
                for dropped in block:
                    document.doubtful |= _words(dropped)
                return None
            depth = len(line) - len(line.lstrip())
            block[at - 1] = ""
            for below in range(at, len(block)):
                if block[below] and len(block[below]) - len(block[below].lstrip()) <= depth:
                    break
                document.doubtful |= _words(block[below])
                block[below] = ""
            continue
        return Statements(shown, first, block).statement(tree)


def _words(line: str) -> set[str]:
    found = set(re.findall(r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)?", line))
    return found | {word.split(".")[0] for word in found}
