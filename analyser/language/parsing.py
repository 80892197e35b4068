"""From lines to statements. A block (a line and what is indented under it) is parsed on its own,
so that one mistake costs one line and every other mistake is still found in the same run."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial
from itertools import islice
from pathlib import Path

from lark import Lark, Token, Tree, UnexpectedInput
from lark.indenter import DedentError, Indenter

import grammar
from analyser.language.attributes import STARTS
from analyser.language.broken import expected_by
from analyser.language.explaining import explain, misplaced, not_a_statement, token_line, unknown_head
from analyser.language.indenting import Block, belonging, blocks, first_word, indent_of
from analyser.language.mistakes import Mistake, Place, Unreadable, did_you_mean
from analyser.language.parse_tables import kept
from analyser.language.source import lines_of, read_bytes, shown_name
from analyser.language.statements import Statements
from analyser.language.syntax import Include, NewKind, RopeLine, StageBlock, Statement
from analyser.language.vocabulary import STATEMENTS, STATIONS, STEPS

MOST_MISTAKES = 50
"""After this many the rest of the file is not worth reading before some are mended."""
MOST_DEEP = 20
"""How many files may include one another in a row."""
MOST_KEPT = 4096
"""Blocks of an editor's texts of which the trees are kept."""
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


class _Indents(Indenter):
    NL_type = "_NL"
    OPEN_PAREN_types: list[str] = []  # noqa: RUF012 - lark's own interface
    CLOSE_PAREN_types: list[str] = []  # noqa: RUF012
    INDENT_type = "_INDENT"
    DEDENT_type = "_DEDENT"
    tab_len = 4


@lru_cache(maxsize=1)
def parser() -> Lark:
    """The parser; its tables are kept where they may be written."""
    folder = Path(grammar.__file__).parent / "__pycache__"
    with suppress(OSError):
        folder.mkdir(exist_ok=True)
    text, indents = grammar.text("rig.lark"), _Indents()

    def made() -> Lark:
        return Lark(text, parser="lalr", postlex=indents, propagate_positions=False, maybe_placeholders=True)

    return kept(folder / "rig.lark.tables", text, indents, made)


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
    shown = shown_name(path.name)
    data, mistake = reading.bytes_of(path, shown)
    if mistake:
        reading.mistakes.append(mistake)
        reading.sources[shown] = []
    else:
        _parse_bytes(data, shown, path.parent, (path,), kinds, reading)
    return reading.done()


def parse_text(data: bytes, shown: str, folder: Path | None, kinds: set[str]) -> Document:
    """Read a rig from bytes (standard input, an editor); `folder` is where its includes are. Without one its
    `include` lines are understood and not followed."""
    reading = _Reading()
    _parse_bytes(data, shown, folder, (), kinds, reading)
    return reading.done()


def tokens(lines: list[str], shown: str, kinds: set[str]) -> Iterator[tuple[int, Token]]:
    """Every token of a file that reads, `_INDENT` and `_DEDENT` among them, each with its line (1 is
    the first). Comments and blank lines are not among them. Raises `Unreadable` for one that stands wrongly."""
    mistakes: list[Mistake] = []
    for block in blocks(lines, shown, kinds, mistakes, []):
        for token in parser().parse_interactive("\n".join(block.lines).rstrip() + "\n").iter_parse():
            yield block.first + (token.line or 1) - 1, token
    if mistakes:
        raise Unreadable(mistakes, {shown: lines})


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
    left_out: list[str] = []
    for block in blocks(lines, shown, kinds, reading.mistakes, left_out):
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
    reading.doubt(*left_out)


def _misplaced(block: Block, belongs: str, again: bool, shown: str, reading: _Reading) -> None:
    """A station, step or fact that stands at the margin; of several in a row only the first is told."""
    line = block.lines[0]
    word = (re.match(r"\s*([\w-]+)", line) or ["", ""])[1]
    last = reading.statements[-1] if reading.statements else None
    under = ""
    if belongs == "rope" and isinstance(last, RopeLine):
        under = f"rope {last.name.text}"
        reading.broken_ropes.add(last.name.text)
    elif belongs == "stage" and isinstance(last, StageBlock):
        under = f'stage "{last.title}"'
    if not again:
        column = len(line) - len(line.lstrip()) + 1
        place = Place(shown, block.first, column, column + len(word))
        reading.mistakes.append(Mistake(place, *belonging(belongs, word, under)))
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


def _parse_block(block: Block, shown: str, kinds: set[str], reading: _Reading) -> Statement | None:
    """Parse one block; a line that is not understood is reported, dropped, and the rest read again."""
    while block.lines and not block.lines[-1]:
        block.lines.pop()
    return _Parsing(block, shown, kinds, reading).statement()


@lru_cache(maxsize=MOST_KEPT)
def _tree(text: str) -> Tree[Token]:
    """The tree of a block in an editor, where all but one are as they were at the last key. Nobody changes it."""
    return parser().parse(text)


class _Parsing:
    """One block while it is parsed: what can't be read is taken out of its lines, or put right in them."""

    def __init__(self, block: Block, shown: str, kinds: set[str], reading: _Reading) -> None:
        self.block, self.lines, self.shown, self.kinds, self.reading = block, block.lines, shown, kinds, reading
        self.cut_short = False

    def statement(self) -> Statement | None:
        reading = self.reading
        while True:
            text = "\n".join(self.lines) + "\n"
            try:
                again = reading.with_trees and not self.block.shifts
                tree = _tree(text) if again else parser().parse(text)
            except UnexpectedInput as error:
                if self._mended(error):
                    continue
                reading.doubt(*self.lines)
                return None
            statement = Statements(self.shown, self.block.first, self.lines, self.block.shifts).statement(tree)
            if reading.with_trees:
                _shift(tree, self.block.shifts)
                reading.trees.append((self.shown, self.block.first, tree))
            if self.block.broken and isinstance(statement, RopeLine):
                reading.broken_ropes.add(statement.name.text)
            return statement

    def _mended(self, error: UnexpectedInput) -> bool:
        """The mistake told, and the lines without it; False where nothing is left to read."""
        lines, reading = self.lines, self.reading
        at = token_line(error, lines)
        if at == 1 and self.cut_short:
            return False
        above = parent(lines, at)
        if above and self._emptied(error, at):
            return True
        if above and (mistake := self._wrong_above(above, at)):
            at = above
        else:
            if at > 1 and unknown_head(lines[0].lstrip(), self.kinds):
                at, above = 1, 0
            mistake = self._explained(error, at, above)
        line = lines[at - 1]
        reading.mistakes.append(replace(mistake, place=self.block.place(mistake.place)))
        reading.doubt(line)
        if at == 1 and '"' in line and not reading.statements:
            reading.doubtful.add("rig")  # it may have been the title
        self.block.broken = True
        reading.read_again += len(lines)
        if len(reading.mistakes) >= MOST_MISTAKES or reading.read_again > MOST_READ_AGAIN:
            return False
        if at == 1:
            kept = _kept(line, mistake.place.column, len(lines) > 1, self.kinds)
            if kept:
                if not kept.startswith(line[:4]):
                    self.block.shifts[1] = -len("rope ")
                lines[0], self.cut_short = kept, True
            return bool(kept)
        laid = re.match(r"\s*(?:rope|rerig)\s+([\w-]+)", lines[above - 1]) if above else None
        if laid:
            reading.broken_ropes.add(laid[1])
        self._drop(at)
        return True

    def _explained(self, error: UnexpectedInput, at: int, above: int) -> Mistake:
        line, number = self.lines[at - 1], self.block.first + at - 1
        if at == 1 and len(self.lines) > 1 and unknown_head(line.lstrip(), self.kinds) and above == 0:
            column = len(line) - len(line.lstrip()) + 1
            place = Place(self.shown, number, column, column + 1)
            if token_line(error, self.lines) > 1:
                return not_a_statement(line.lstrip(), place, self.kinds)
        patterns = {terminal.name: terminal.pattern.value for terminal in parser().terminals}
        reads = partial(_reads, parser(), self.lines, at)
        head = self.lines[above - 1] if above else self.lines[0]
        return explain(error, line, number, self.shown, self.kinds, patterns, head, at > 1, reads)

    def _wrong_above(self, above: int, at: int) -> Mistake | None:
        """What is wrong with the line that the unread one stands under, if that is what is wrong: then it
        is put right, or its lines go with it."""
        line, child = self.lines[above - 1], first_word(self.lines[at - 1])
        word, start = first_word(line), len(indent_of(line)) if above > 1 else 0
        column = len(indent_of(line)) + 1
        place = Place(self.shown, self.block.first + above - 1, column, column + len(word))
        line = line.lstrip()
        if not start and word in self.kinds and re.match(r"[\w-]+\s*$", line):
            return Mistake(place, f"`{word}` is a kind, and no name follows it", f"name it: `{word} spare`")
        if child not in STATIONS or child in self.kinds:
            return None
        if start and word not in STEPS and word not in self.kinds:
            told = first_word(line.replace(word, "", 1))
            if told in ("rope", "rerig"):
                hint = f"write `{told} {word}`"
            else:
                hint = did_you_mean(word, STEPS, "a station stands under `rope red` or `rerig red`")
            return Mistake(place, f"`{word}` is not a step of a stage, nor a kind of part", hint)
        named = re.match(r"([\w-]+)(\s*:.*|)$", line)
        if not start and named and word not in STATEMENTS:
            return Mistake(place, "stations stand under a rope, and this line begins none", f"write `rope {line}`")
        return None

    def _emptied(self, error: UnexpectedInput, at: int) -> bool:
        """A step whose lines were all left out goes with them."""
        line = self.lines[at - 1]
        if not self.block.broken or first_word(line) not in ("rope", "rerig") or expected_by(error) != {"_INDENT"}:
            return False
        self.reading.doubt(line)
        self._drop(at)
        return True

    def _drop(self, at: int) -> None:
        """Take a line out, and what is indented under it."""
        depth = len(indent_of(self.lines[at - 1]))
        self.lines[at - 1] = ""
        for below in range(at, len(self.lines)):
            if self.lines[below] and len(indent_of(self.lines[below])) <= depth:
                break
            self.reading.doubt(self.lines[below])
            self.lines[below] = ""


def _kept(line: str, column: int, more: bool, kinds: set[str]) -> str:
    """What a block's first line says before its mistake, where that is enough to go on with."""
    names = r"rope\s+[\w-]+|kind\s+[\w-]+\s+like\s+[\w-]+|([\w-]+)\s+[\w-]+(\s*,\s*[\w-]+)*"
    found = re.match(rf"\s*({names})(?=\s|[,:;=]|$)", line)
    if found and found.end() < column and (found.group(2) is None or found.group(2) in kinds):
        kept = found[0].split(",")
        while len(kept) > 1 and kept[-1].strip() in STARTS:
            kept.pop()
        return ",".join(kept)
    named = re.match(r"[\w-]+(?=\s*:|$)", line)
    if more and named and column == 1 and named[0] not in {*STATEMENTS, *kinds}:
        return f"rope {line}"
    if more and re.match(r"stage(?![\w-])", line):
        return 'stage "?"'
    if more and re.match(r"observed(?![\w-])", line):
        return "observed"
    if more and re.match(r"[\w.-]+(\s*,\s*[\w.-]+)*\s*:", line):
        return line[: line.index(":") + 1]
    return ""


def _shift(tree: Tree[Token], shifts: Mapping[int, int]) -> None:
    """The columns of a tree as they are in the file."""
    for subtree in tree.iter_subtrees() if shifts else ():
        for one in subtree.children:
            if isinstance(one, Token):
                one.column = max(1, (one.column or 1) + shifts.get(one.line or 1, 0))


def parent(lines: list[str], at: int) -> int:
    """The line that a line stands under, both counted from 1; 0 at the margin."""
    depth = len(indent_of(lines[at - 1]))
    above = (k for k in range(at - 1, 1, -1) if lines[k - 1] and len(indent_of(lines[k - 1])) < depth)
    return next(above, 1) if at > 1 else 0


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
        return token_line(error, [*above, line, *below]) > len(above) + 1
    except DedentError:
        return False
    return True


def _words(line: str) -> set[str]:
    found = set(re.findall(r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)?", line))
    return found | {word.split(".")[0] for word in found}
