"""From lines to statements. A block (a line and what is indented under it) is parsed on its own,
so that one mistake costs one line and every other mistake is still found in the same run."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache, partial
from itertools import islice
from pathlib import Path

from lark import Lark, Token, Tree, UnexpectedInput
from lark.indenter import DedentError, Indenter

import grammar
from analyser.language.attributes import STARTS
from analyser.language.explaining import explain, misplaced, not_a_statement, token_line, unknown_head
from analyser.language.mistakes import Mistake, Place, did_you_mean
from analyser.language.source import lines_of, read_bytes
from analyser.language.statements import Statements
from analyser.language.syntax import Include, NewKind, RopeLine, StageBlock, Statement
from analyser.language.vocabulary import ALONE

MOST_MISTAKES = 50
"""After this many the rest of the file is not worth reading before some are mended."""
MOST_DEEP = 20
"""How many files may include one another in a row."""
MOST_READ_AGAIN = 10_000
"""Lines read again after mistakes, in one run: more would keep a person waiting."""


Source = Callable[[Path, str], tuple[bytes, Mistake | None]]
"""The bytes of a file, by its path and its name in messages, or why there are none."""


@dataclass(frozen=True, slots=True)
class Document:
    """The statements of a rig and of what it includes, in order, and what was wrong with the text.

    `sources` are the lines of each file. `doubtful` holds the words of lines that could not be understood:
    a name that is only there is not reported a second time as unknown. `broken_ropes` names the ropes with
    such lines. `trees` are for an editor: file, first line and tree of each block that was parsed.
    """

    statements: tuple[Statement, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    sources: dict[str, list[str]] = field(default_factory=dict)
    doubtful: frozenset[str] = frozenset()
    broken_ropes: frozenset[str] = frozenset()
    trees: tuple[tuple[str, int, Tree[Token]], ...] = field(default=(), repr=False, compare=False)


@dataclass
class _Reading:
    """A document while it is read. `opened` holds the texts of an editor that are not saved yet, by resolved
    path: they go before the disk. `source` is where files are read: the disk, or an earlier revision."""

    opened: Mapping[Path, bytes] = field(default_factory=dict)
    source: Source = read_bytes
    with_trees: bool = False
    statements: list[Statement] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    sources: dict[str, list[str]] = field(default_factory=dict)
    doubtful: set[str] = field(default_factory=set)
    broken_ropes: set[str] = field(default_factory=set)
    read_again: int = 0
    trees: list[tuple[str, int, Tree[Token]]] = field(default_factory=list)

    def done(self) -> Document:
        return Document(
            *(tuple(self.statements), tuple(self.mistakes), self.sources),
            *(frozenset(self.doubtful), frozenset(self.broken_ropes), tuple(self.trees)),
        )

    def bytes_of(self, path: Path, shown: str) -> tuple[bytes, Mistake | None]:
        held = self.opened.get(path.resolve()) if self.opened else None
        return self.source(path, shown) if held is None else (held, None)

    def doubt(self, *lines: str) -> None:
        for line in lines:
            self.doubtful |= _words(line)


@dataclass
class _Block:
    """A line and what is indented under it. `broken`: a line of it was left out already."""

    first: int
    lines: list[str]
    broken: bool = False


class _Indents(Indenter):
    NL_type = "_NL"
    OPEN_PAREN_types: list[str] = []  # noqa: RUF012 - lark's own interface
    CLOSE_PAREN_types: list[str] = []  # noqa: RUF012
    INDENT_type = "_INDENT"
    DEDENT_type = "_DEDENT"
    tab_len = 4


@lru_cache(maxsize=1)
def parser() -> Lark:
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


def is_keyword(word: str) -> bool:
    """Is this a word of the language itself? Each of those has a terminal of its own in the grammar (of
    the articles we are not sure: a part may be called `a`)."""
    patterns = (re.split(r"\(\?[!=]", one.pattern.value)[0] for one in parser().terminals)
    return len(word) > 1 and any(one[:1].islower() and re.fullmatch(one, word) for one in patterns)


def parse_file(path: Path, kinds: set[str], opened: Mapping[Path, bytes] | None = None) -> Document:
    """Read a rig file and what it includes. Names shown in messages are relative to its folder.

    `opened`: the texts an editor holds, read in place of those files; the trees are kept then."""
    return _parse_main(path, kinds, _Reading() if opened is None else _Reading(opened=opened, with_trees=True))


def parse_earlier(path: Path, kinds: set[str], source: Source) -> Document:
    """Read a rig file and what it includes as `source` has them."""
    return _parse_main(path, kinds, _Reading(source=source))


def _parse_main(path: Path, kinds: set[str], reading: _Reading) -> Document:
    data, mistake = reading.bytes_of(path, path.name)
    if mistake:
        reading.mistakes.append(mistake)
        reading.sources[path.name] = []
    else:
        _parse_bytes(data, path.name, path.parent, (path,), kinds, reading)
    return reading.done()


def parse_text(data: bytes, shown: str, folder: Path | None, kinds: set[str]) -> Document:
    """Read a rig from bytes (standard input, an editor); `folder` is where its includes are. Without one its
    `include` lines are understood and not followed."""
    reading = _Reading()
    _parse_bytes(data, shown, folder, (), kinds, reading)
    return reading.done()


def tokens(lines: list[str], shown: str, kinds: set[str]) -> Iterator[tuple[int, Token]]:
    """Every token of a file that reads, `_INDENT` and `_DEDENT` among them, each with its line (1 is
    the first). Comments and blank lines are not among them."""
    for block in _blocks(lines, shown, kinds, _Reading()):
        for token in parser().parse_interactive("\n".join(block.lines).rstrip() + "\n").iter_parse():
            yield block.first + (token.line or 1) - 1, token


def _parse_bytes(
    data: bytes,
    shown: str,
    folder: Path | None,
    above: tuple[Path, ...],
    kinds: set[str],
    reading: _Reading,
) -> None:
    lines, mistake = lines_of(data, shown)
    reading.sources[shown] = lines
    if mistake:
        reading.mistakes.append(mistake)
        return
    if not any(line.strip() and not line.lstrip().startswith("#") for line in lines):
        text = "this file is empty" if not any(map(str.strip, lines)) else "there is no statement here"
        reading.mistakes.append(Mistake(Place(shown, 1), text, 'begin with a title: `rig "Two-rope lower"`'))
        return
    kinds |= {found.group(1) for found in map(re.compile(r"kind\s+([\w-]+)").match, lines) if found}
    lost = ""
    for block in _blocks(lines, shown, kinds, reading):
        if len(reading.mistakes) >= MOST_MISTAKES:
            return
        again, lost = lost, misplaced(block.lines[0].lstrip(), kinds)
        if lost:
            _misplaced(block, lost, again == lost, shown, reading)
            continue
        statement = _parse_block(block, shown, kinds, reading)
        if isinstance(statement, NewKind):
            kinds.add(statement.name.text)
        if isinstance(statement, Include) and folder is not None:
            _follow(statement, folder, above, kinds, reading)
        elif statement:
            reading.statements.append(statement)


def _misplaced(block: _Block, belongs: str, again: bool, shown: str, reading: _Reading) -> None:
    """A station, step or fact that stands at the margin; of several in a row only the first is told."""
    line = block.lines[0]
    word = (re.match(r"\s*([\w-]+)", line) or ["", ""])[1]
    last = reading.statements[-1] if reading.statements else None
    what, under = {
        "rope": ("a station: it stands under its rope", "indent it under the rope it belongs to"),
        "stage": ("a step: it stands under its stage", 'indent it under its `stage "…"`'),
        "observed": ("an observed fact: it stands under `observed`", "indent it under `observed`"),
    }[belongs]
    if belongs == "rope" and isinstance(last, RopeLine):
        under = f"indent it under `rope {last.name.text}`"
        reading.broken_ropes.add(last.name.text)
    elif belongs == "stage" and isinstance(last, StageBlock):
        under = f'indent it under `stage "{last.title}"`'
    if not again:
        column = len(line) - len(line.lstrip()) + 1
        place = Place(shown, block.first, column, column + len(word))
        reading.mistakes.append(Mistake(place, f"`{word}` is {what}", under))
    reading.doubt(*block.lines)


def _follow(include: Include, folder: Path, above: tuple[Path, ...], kinds: set[str], reading: _Reading) -> None:
    """Read an included file, unless it is outside the folder or already being read."""
    name, place = include.file.text, include.file.place
    if not name.strip():
        reading.mistakes.append(Mistake(place, "`include` names no file", 'for example `include "kit.rig"`'))
        return
    try:
        root = folder.resolve()
        base = above[-1].parent if above else folder
        path = (base / name).resolve()
        inside = path.is_relative_to(root) and not Path(name).is_absolute()
    except (OSError, ValueError, RuntimeError):
        reading.mistakes.append(Mistake(place, f"`{name}` cannot be a file's name", ""))
        return
    if not inside:
        reading.mistakes.append(
            Mistake(
                place,
                f"`{name}` lies outside the folder of the rig that is read",
                "copy it into the rig's folder, or below it",
            )
        )
        return
    if len(above) > MOST_DEEP:
        text = f"includes lie more than {MOST_DEEP} deep inside one another"
        reading.mistakes.append(Mistake(place, text, "include this file from the rig itself"))
        return
    if path in [one.resolve() for one in above]:
        reading.mistakes.append(
            Mistake(place, f"`{name}` is being read already: it would include itself", "take one `include` out")
        )
        return
    shown = path.relative_to(root).as_posix()
    if shown in reading.sources:
        return  # read once already: including the same kit twice changes nothing
    data, mistake = reading.bytes_of(path, shown)
    if mistake:
        beside = _beside(path, root)
        hint = did_you_mean(path.relative_to(root).as_posix(), beside, mistake.help)
        reading.mistakes.append(Mistake(place, f"`{name}`: {mistake.text}", hint))
        return
    _parse_bytes(data, shown, folder, (*above, path), kinds, reading)


def _beside(path: Path, root: Path) -> list[str]:
    """The rig files in the folder where `path` was looked for and isn't, a few hundred at most."""
    with suppress(OSError):  # a name too long for the disk is none that could be there
        if path.exists():
            return []
        return [one.relative_to(root).as_posix() for one in islice(path.parent.glob("*.rig"), 300)]
    return []


def _blocks(lines: list[str], shown: str, kinds: set[str], reading: _Reading) -> Iterator[_Block]:
    """Split a file into blocks. Indents are made sure of; a line indented under a statement that
    takes none is reported, and read on its own all the same."""
    block: _Block | None = None
    stack = [""]
    slipped = False
    for number, line in enumerate(lines, 1):
        stripped = line.strip()
        if not stripped or stripped.startswith("#"):
            if block:
                block.lines.append("")
            continue
        indent = line[: len(line) - len(line.lstrip())]
        if not indent:
            if block:
                yield block
            block, stack, slipped = _Block(number, [line]), [""], False
            continue
        head = block.lines[0] if block else ""
        if len(indent) <= len(stack[0]) or not _takes_lines(head):
            if len(indent) > len(stack[0]) and not misplaced(stripped, kinds):
                under = head.split()[0] if head else ""
                text = (
                    f"this line is indented under `{under}`, which takes no lines under it"
                    if head
                    else ("this line is indented, but no line above it begins a block")
                )
                reading.mistakes.append(Mistake(Place(shown, number, 1, len(indent) + 1), text, "move it left"))
            if block:
                yield block
            block, stack, slipped = _Block(number, [line]), [indent], False
            continue
        assert block is not None
        mistake = _indent_mistake(indent, stack, number, shown)
        if mistake:
            if not slipped:
                reading.mistakes.append(mistake)
            reading.doubt(line)
            block.lines.append("")
            block.broken = slipped = True
            continue
        slipped = False
        while len(stack) > 1 and len(indent) < len(stack[-1]):
            stack.pop()
        if indent != stack[-1]:
            stack.append(indent)
        block.lines.append(line)
    if block:
        yield block


def _takes_lines(head: str) -> bool:
    first = re.match(r"\s*([\w-]+)(?!\s*[:,.])", head)
    return bool(head) and not (first and first.group(1) in ALONE)


def _indent_mistake(indent: str, stack: list[str], number: int, shown: str) -> Mistake | None:
    place = Place(shown, number, 1, len(indent) + 1)
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


def _parse_block(block: _Block, shown: str, kinds: set[str], reading: _Reading) -> Statement | None:
    """Parse one block; a line that is not understood is reported, dropped, and the rest read again."""
    lark = parser()
    lines = block.lines
    patterns: dict[str, str] = {}
    cut_short = False
    while lines and not lines[-1]:
        lines.pop()
    while True:
        try:
            tree = lark.parse("\n".join(lines) + "\n")
        except UnexpectedInput as error:
            patterns = patterns or {terminal.name: terminal.pattern.value for terminal in lark.terminals}
            at = token_line(error, len(lines))
            while at > 1 and not lines[at - 1]:
                at -= 1
            if at == 1 and cut_short:
                break
            line = lines[at - 1]
            if at > 1 and unknown_head(lines[0].lstrip(), kinds):
                at, line = 1, lines[0]
                column = len(line) - len(line.lstrip()) + 1
                mistake = not_a_statement(line.lstrip(), Place(shown, block.first, column, column + 1), kinds)
            else:
                reads = partial(_reads, lark, lines, at)
                head, number = lines[0], block.first + at - 1
                mistake = explain(error, line, number, shown, kinds, patterns, head, at > 1, reads)
            reading.mistakes.append(mistake)
            reading.doubt(line)
            if at == 1 and '"' in line and not reading.statements:
                reading.doubtful.add("rig")  # it may have been the title
            block.broken = True
            reading.read_again += len(lines)
            if len(reading.mistakes) >= MOST_MISTAKES or reading.read_again > MOST_READ_AGAIN:
                break
            if at == 1:
                kept = _kept(line, mistake.place.column, len(lines) > 1, kinds)
                if not kept:
                    break
                lines[0], cut_short = kept, True
                continue
            depth = len(line) - len(line.lstrip())
            lines[at - 1] = ""
            for below in range(at, len(lines)):
                if lines[below] and len(lines[below]) - len(lines[below].lstrip()) <= depth:
                    break
                reading.doubt(lines[below])
                lines[below] = ""
            continue
        if reading.with_trees:
            reading.trees.append((shown, block.first, tree))
        statement = Statements(shown, block.first, lines).statement(tree)
        if block.broken and isinstance(statement, RopeLine):
            reading.broken_ropes.add(statement.name.text)
        return statement
    reading.doubt(*lines)
    return None


def _kept(line: str, column: int, more: bool, kinds: set[str]) -> str:
    """What a block's first line says before its mistake, where that is enough to go on with."""
    names = r"rope\s+[\w-]+|kind\s+[\w-]+\s+like\s+[\w-]+|([\w-]+)\s+[\w-]+(\s*,\s*[\w-]+)*"
    found = re.match(rf"\s*({names})(?=\s|[,:;=]|$)", line)
    if found and found.end() < column and (found.group(2) is None or found.group(2) in kinds):
        kept = found[0].split(",")
        while len(kept) > 1 and kept[-1].strip() in STARTS:
            kept.pop()
        return ",".join(kept)
    if more and re.match(r"stage(?![\w-])", line):
        return 'stage "?"'
    if more and re.match(r"observed(?![\w-])", line):
        return "observed"
    if more and re.match(r"[\w.-]+(\s*,\s*[\w.-]+)*\s*:", line):
        return line[: line.index(":") + 1]
    return ""


def _reads(lark: Lark, lines: list[str], at: int, line: str) -> bool:
    """Would the line at `at` be read if it were `line`? With the lines it stands under, and its own."""
    above: list[str] = []
    depth = len(lines[at - 1]) - len(lines[at - 1].lstrip())
    limit = depth
    for one in reversed(lines[: at - 1]):
        indent = len(one) - len(one.lstrip())
        if one and indent < limit:
            above.insert(0, one)
            limit = indent
    below: list[str] = []
    for one in lines[at : at + 50]:
        if one and len(one) - len(one.lstrip()) <= depth:
            break
        below.append(one)
    try:
        lark.parse("\n".join([*above, line, *below]) + "\n")
    except UnexpectedInput as error:
        return token_line(error, len(above) + 1 + len(below)) > len(above) + 1
    except DedentError:
        return False
    return True


def _words(line: str) -> set[str]:
    found = set(re.findall(r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)?", line))
    return found | {word.split(".")[0] for word in found}
