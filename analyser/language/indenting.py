"""From lines to blocks: a line and what is indented under it.

A line that is indented wrongly is told and then read as if it stood where it belongs, so that nothing below
it is wrong for that.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field, replace

from analyser.language.attributes import ATTRIBUTES, STARTS
from analyser.language.broken import title_of
from analyser.language.explaining import misplaced, unknown_head
from analyser.language.mistakes import Mistake, Place
from analyser.language.vocabulary import ALONE, FACTS, STATEMENTS, STATIONS, STEPS

WITH_LINES = ("rope", "rerig")
"""Steps that have lines of their own, beside parts that are declared."""
DEEPER = "this line is indented deeper than the one above it, which takes no lines under it"
BETWEEN = "this line stands between two depths of indentation"
UNLIKE = "this line is not indented as those below it"


@dataclass
class Block:
    """A line and what is indented under it. `broken`: a line of it was left out already; `shifts`: by how
    much the words of a line (from 1) stand further right in the file than here."""

    first: int
    lines: list[str]
    broken: bool = False
    shifts: dict[int, int] = field(default_factory=dict)

    def place(self, one: Place) -> Place:
        """The place in the file of a place in these lines."""
        shift = self.shifts.get(one.line - self.first + 1, 0)
        return replace(one, column=max(1, one.column + shift), end=max(2, one.end + shift)) if shift else one


def blocks(
    lines: list[str], shown: str, kinds: Collection[str], mistakes: list[Mistake], doubtful: list[str]
) -> Iterator[Block]:
    """The blocks of a file; `mistakes` and `doubtful` (lines that were left out) are added to."""
    return _Splitting(lines, shown, kinds, mistakes, doubtful).blocks()


def indent_of(line: str) -> str:
    return line[: len(line) - len(line.lstrip())]


def first_word(line: str) -> str:
    found = re.match(r"\s*([\w-]+)", line)
    return found[1] if found else ""


def belonging(belongs: str, word: str, under: str) -> tuple[str, str]:
    """What is said of a station, step or fact at the margin, and what to do; `under`: the line it belongs to."""
    what, hint = {
        "rope": ("a station: it stands under its rope", "indent it under the rope it belongs to"),
        "stage": ("a step: it stands under its stage", 'indent it under its `stage "…"`'),
        "observed": ("an observed fact: it stands under `observed`", "indent it under `observed`"),
    }[belongs]
    return f"`{word}` is {what}", f"indent it under `{under}`" if under else hint


@dataclass
class _Splitting:
    """One file while it is split."""

    lines: list[str]
    shown: str
    kinds: Collection[str]
    mistakes: list[Mistake]
    doubtful: list[str]
    block: Block | None = None
    stack: list[str] = field(default_factory=lambda: [""])
    """The depths that are open, the margin first."""
    rows: list[list[int]] = field(default_factory=lambda: [[0]])
    """Which lines of the block stand at each of them."""
    moved: str | None = None
    """The indentation of a block that is read as if it stood at the margin."""
    slipped: bool = False
    """Was the line before told already?"""

    def blocks(self) -> Iterator[Block]:
        for number, line in enumerate(self.lines, 1):
            stripped = line.strip()
            if not stripped or stripped.startswith("#"):
                if self.block:
                    self.block.lines.append("")
                continue
            before = self.block
            if not indent_of(line):
                self._at_margin(number, line)
            elif self._begins(number, line):
                self._new(number, line, moved=indent_of(line))
            else:
                self._under(number, line)
            if before and self.block is not before:
                yield before
        if self.block:
            yield self.block

    # -- pieces

    def _new(self, number: int, line: str, moved: str | None = None) -> None:
        self.block, self.stack, self.rows, self.moved = Block(number, [line]), [""], [[0]], moved
        self.slipped = self.slipped and moved is not None

    def _wrong(self, number: int, line: str, text: str, hint: str, length: int = 0) -> None:
        """Told, unless it goes on from the line before."""
        column = len(indent_of(line)) + 1 if length else 1
        end = column + length if length else len(indent_of(line)) + 1
        if not self.slipped:
            self.mistakes.append(Mistake(Place(self.shown, number, column, max(end, column + 1)), text, hint))
        self.slipped = True

    @property
    def head(self) -> str:
        return self.block.lines[0] if self.block else ""

    @property
    def key(self) -> str:
        return first_word(self.head)

    def _add(self, line: str) -> None:
        assert self.block is not None
        self.block.lines.append(line)

    # -- a line at the margin

    def _at_margin(self, number: int, line: str) -> None:
        home = self._home(number, line)
        if home is None:
            self.slipped = False
            self._new(number, line)
            return
        belongs, indent, under = home
        word = first_word(line)
        text, hint = belonging(belongs, word, under)
        self._wrong(number, line, text, hint, len(word))
        self._place(indent, line)

    def _home(self, number: int, line: str) -> tuple[str, str, str] | None:
        """What a line at the margin should stand under, how deep, and that line: None for a statement."""
        belongs, word = misplaced(line, self.kinds), first_word(line)
        if not self.block:
            return None
        under = title_of(self.head)
        step = self.stack[1] if len(self.stack) > 1 else "    "
        if self.key == "stage" and belongs == "rope":
            last = next((one for one in reversed(self.block.lines) if first_word(one) in WITH_LINES), None)
            if last is None or first_word(self._last()) not in (*STATIONS, *WITH_LINES):
                return None
            return belongs, self.stack[2] if len(self.stack) > 2 else step * 2, title_of(last.strip())
        if belongs and belongs == self.key:
            return belongs, step, under
        if self.key == "stage" and (word in self.kinds or (word in STEPS and word in ALONE)):
            below = self._below(number)
            if indent_of(below) and (first_word(below) in STEPS or first_word(below) in self.kinds):
                return "stage", step, under
        return None

    def _last(self) -> str:
        assert self.block is not None
        return next(one for one in reversed(self.block.lines) if one)

    def _below(self, number: int) -> str:
        """The next line that says something."""
        rest = (one for one in self.lines[number:] if one.strip() and not one.lstrip().startswith("#"))
        return next(rest, "")

    # -- an indented line that begins a block all the same

    def _begins(self, number: int, line: str) -> bool:
        indent, word = indent_of(line), first_word(line)
        if self.block is None:
            self._wrong(number, line, "this line is indented, but no line above it begins a block", "move it left")
            return True
        at_moved = self.moved is not None and len(indent) <= len(self.moved)
        if at_moved and not self._fits(line):
            return True
        if not at_moved:
            self.slipped = self.slipped and self.moved is None
        if not _takes_lines(self.head):
            if not misplaced(line.strip(), self.kinds) and not at_moved:
                under = self.head.split()[0]
                text = f"this line is indented under `{under}`, which takes no lines under it"
                self._wrong(number, line, text, "move it left")
            return True
        if len(self.stack) > 2 or re.match(r"\s*[\w.-]+\s*[:,]", line) or unknown_head(self.head, self.kinds):
            return False
        if self.key in ("stage", "observed"):
            if word not in ("stage", "observed"):
                return False
            what = "a step of a stage" if self.key == "stage" else "an observed fact"
            self._wrong(number, line, f"`{word}` is not {what}", "move it left", len(word))
            return True
        statement = word in STATEMENTS and word not in ATTRIBUTES and word not in STARTS
        if self.key == "rope":
            text = f"`{word}` is not a station: it does not belong under `{title_of(self.head)}`"
            hint = "move it left"
        else:
            statement = statement or (word in self.kinds and bool(re.match(r"\s*[\w-]+\s+\w", line)))
            text, hint = f"`{word}` does not belong under `{title_of(self.head)}`", "move this line left"
        if statement:
            self._wrong(number, line, text, hint, len(word))
        return statement

    def _fits(self, line: str) -> bool:
        """Does a line belong under the block's first, by its own first word?"""
        word = first_word(line)
        if self.key == "rope":
            return word in (*STATIONS, "slack", *ATTRIBUTES, *STARTS)
        return (self.key == "stage" and (word in STEPS or word in self.kinds)) or (
            self.key == "observed" and word in FACTS
        )

    # -- a line under another

    def _under(self, number: int, line: str) -> None:
        assert self.block is not None
        indent, deepest = indent_of(line), self.stack[-1]
        if not (indent.startswith(deepest) or deepest.startswith(indent)):
            self._wrong(number, line, "tabs and spaces are mixed here", "indent with spaces only")
            self.doubtful.append(line)
            self._add("")
            self.block.broken = True
            return
        if len(indent) > len(deepest) and self._leaf():
            if self._first_is_odd(number, indent, len(self.stack) - 1):
                self._mend_first(indent, len(self.stack) - 1)
            else:
                self._wrong(number, line, DEEPER, "line it up with the line above")
                indent = deepest
        elif len(indent) < len(deepest) and indent not in self.stack:
            above = max(k for k, one in enumerate(self.stack) if len(one) < len(indent))
            odd = next((k for k in (above, above + 1) if self._first_is_odd(number, indent, k)), 0)
            if odd:
                self._mend_first(indent, odd)
            else:
                self._wrong(number, line, BETWEEN, "line it up with the lines of the block it belongs to")
                indent = self._nearest(line)
        else:
            self.slipped = False
        self._place(indent, line)

    def _place(self, indent: str, line: str) -> None:
        """The line at that depth, wherever it stands."""
        assert self.block is not None
        at = len(self.block.lines)
        if indent_of(line) != indent:
            self.block.shifts[at + 1] = len(indent_of(line)) - len(indent)
        while len(self.stack) > 1 and len(indent) < len(self.stack[-1]):
            self.stack.pop()
            self.rows.pop()
        if indent != self.stack[-1]:
            self.stack.append(indent)
            self.rows.append([])
        self.rows[-1].append(at)
        self._add(indent + line.lstrip())

    def _leaf(self) -> bool:
        """Does the last line take none under it?"""
        if len(self.stack) == 1 or unknown_head(self.head, self.kinds):
            return False
        if self.key != "stage" or len(self.stack) > 2:
            return True
        last = first_word(self._last())
        return last in STEPS and last not in WITH_LINES

    def _first_is_odd(self, number: int, indent: str, depth: int) -> bool:
        """Where two lines should stand alike: is it the one above that stands wrong, the first of its depth?"""
        if depth < 1 or len(self.rows[depth]) != 1:
            return False
        usual = self._usual() * depth
        if (len(indent) == usual) != (len(self.stack[depth]) == usual):
            return len(indent) == usual
        return indent_of(self._below(number)) == indent

    def _mend_first(self, indent: str, depth: int) -> None:
        assert self.block is not None
        at = self.rows[depth][0]
        line = self.block.lines[at]
        self.slipped = False
        self._wrong(self.block.first + at, line, UNLIKE, "line it up with the lines below it")
        self.slipped = False
        self.block.lines[at] = indent + line.lstrip()
        self.block.shifts[at + 1] = self.block.shifts.get(at + 1, 0) + len(indent_of(line)) - len(indent)
        self.stack[depth] = indent

    def _usual(self) -> int:
        """How deep this file indents what stands right under a line at the margin."""
        depths: Counter[int] = Counter()
        margin = False
        for line in self.lines:
            if line.strip() and not line.lstrip().startswith("#"):
                depth = len(indent_of(line))
                if margin and depth:
                    depths[depth] += 1
                margin = not depth
        return depths.most_common(1)[0][0] if depths else 4

    def _nearest(self, line: str) -> str:
        """The open depth at which a line belongs, by what it is, else by how deep it stands."""
        word, inner = first_word(line), self.stack[1:]
        if self.key == "stage" and len(inner) > 1:
            if word in STATIONS:
                return inner[-1]
            if word in STEPS or word in self.kinds:
                return inner[0]
        return min(inner, key=lambda one: abs(len(one) - len(indent_of(line))))


def _takes_lines(head: str) -> bool:
    first = re.match(r"\s*([\w-]+)(?!\s*[:,.])", head)
    return bool(head) and not (first and first.group(1) in ALONE)
