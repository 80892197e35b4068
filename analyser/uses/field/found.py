"""What was found otherwise at a walk-down, read from its file: differences, and lines of the rig language.

rig "Two-rope litter lower"       # what was walked: it must be the rig's own title
revision 2
note "rain since noon"
found left-crab unlocked          # a gate that is not locked
found red-tail missing            # not there, or never tied
found red-bowline loose           # half tied, not dressed; a buckle left undone
found left-brake reversed         # the rope the other way round in it
found vic-crab not on vic-seat    # never clipped there (of a rope: not laid in that device)
found leg-1 is sling              # another kind, with attributes of it after a colon
found left-bolt: strength 12 kN   # other figures
attach master - strap extra - vic-seat    # something extra, in the rig language itself
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from analyser.language.edit import moved
from analyser.language.identities import Revision
from analyser.language.mistakes import Mistake, Place, did_you_mean
from analyser.language.parsing import parse_text
from analyser.language.source import lines_of, read_bytes, shown_name
from analyser.language.syntax import (
    Attach,
    Attribute,
    Declaration,
    Heading,
    Interlock,
    More,
    RopeLine,
    Statement,
    Word,
)

FOUND = re.compile(r"found(?![\w-])")
NAME = re.compile(r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)?")
STATES = ("missing", "unlocked", "loose", "reversed")
"""What may be said of a part in one word."""
WAYS = "`missing`, `unlocked`, `loose`, `reversed`, `not on NAME`, `is KIND`, or `: ATTRIBUTES`"
EXTRA = (Attach, Declaration, Interlock, More, RopeLine)
"""Statements that tell of something extra: parts, ropes and what touches what."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing found otherwise, by `how`: missing, unlocked, loose, reversed, not-on, is, or figures.

    `other` is the part it is not on, or the kind it is; `attributes` are other figures of it, `words`
    those as written.
    """

    how: str
    name: Word
    place: Place
    other: Word | None = None
    attributes: tuple[Attribute, ...] = ()
    words: str = ""


@dataclass(frozen=True)
class Found:
    """What a file of a walk-down says. `extra` are statements of the rig language; `mistakes` those in
    its text; `title` and `revision` what it says was walked."""

    file: str
    lines: tuple[str, ...]
    differences: tuple[Difference, ...] = ()
    extra: tuple[Statement, ...] = ()
    notes: tuple[str, ...] = ()
    title: Word | None = None
    revision: Word | None = None
    mistakes: tuple[Mistake, ...] = ()


def read_found(path: Path, kinds: set[str]) -> Found:
    """Read the file of a walk-down; `kinds` are those of the rig. Mistakes are values: nothing is raised."""
    shown = shown_name(path.name)
    data, mistake = read_bytes(path, shown)
    if mistake:
        hint = mistake.help.replace("a file that ends in .rig", "the file in which the differences are written")
        return Found(shown, (), mistakes=(replace(mistake, help=hint),))
    return found_in(data, shown, kinds)


def found_in(data: bytes, shown: str, kinds: set[str]) -> Found:
    """The same, of bytes that are called `shown` in messages."""
    lines, mistake = lines_of(data, shown)
    if mistake:
        return Found(shown, tuple(lines), mistakes=(mistake,))
    if not any(line.strip() and not line.lstrip().startswith("#") for line in lines):
        hint = 'write `rig "…"` with the title of what was walked, then a line for each difference'
        return Found(shown, tuple(lines), mistakes=(Mistake(Place(shown, 1), "nothing is written here", hint),))
    made = _Reading(shown, lines, kinds)
    made.read()
    return Found(
        shown,
        tuple(lines),
        tuple(made.differences),
        tuple(made.extra),
        tuple(made.notes),
        made.title,
        made.revision,
        tuple(made.mistakes),
    )


class _Reading:
    def __init__(self, file: str, lines: list[str], kinds: set[str]) -> None:
        self.file = file
        self.lines = lines
        self.kinds = kinds
        self.differences: list[Difference] = []
        self.extra: list[Statement] = []
        self.notes: list[str] = []
        self.title: Word | None = None
        self.revision: Word | None = None
        self.mistakes: list[Mistake] = []

    def read(self) -> None:
        rest = list(self.lines)
        for number, line in enumerate(self.lines, 1):
            if FOUND.match(line):
                rest[number - 1] = ""
                difference = self._found(number, line)
                if difference:
                    self.differences.append(difference)
        if any(line.strip() and not line.lstrip().startswith("#") for line in rest):
            document = parse_text("\n".join(rest).encode(), self.file, None, set(self.kinds))
            self.mistakes += document.mistakes
            for statement in document.statements:
                self._statement(statement)

    def _statement(self, statement: Statement) -> None:
        if isinstance(statement, Heading):
            if statement.key == "note":
                self.notes.append(statement.text)
            else:
                words = str(Revision(statement.text, statement.dated.text if statement.dated else None))
                setattr(self, "title" if statement.key == "rig" else "revision", Word(words, statement.place))
        elif isinstance(statement, EXTRA):
            self.extra.append(statement)
        else:
            text = "what was found is parts, ropes and what touches what: this line is none of them"
            self.mistakes.append(Mistake(statement.place, text, "write it in the rig, or take it out"))

    def _wrong(self, place: Place, text: str, hint: str) -> None:
        self.mistakes.append(Mistake(place, text, hint))

    def _found(self, number: int, line: str) -> Difference | None:
        """One `found` line; None where it was told what is wrong with it."""
        said = without_comment(line)
        whole = Place(self.file, number, 1, len(said.rstrip()) + 1)
        words = [Word(m[0], Place(self.file, number, m.start() + 1, m.end() + 1)) for m in self._words(said)]
        if len(words) < 2:
            self._wrong(whole, "`found` names nothing", f"write `found NAME …`, with {WAYS}")
            return None
        name, rest = words[1], words[2:]
        after = said[name.place.end - 1 :]
        if after.lstrip().startswith(":"):
            return self._figures(number, said, name, None, name.place.end - 1 + after.index(":"))
        first = rest[0].text if rest else ""
        if first == "is" and len(rest) > 1:
            colon = said.find(":", rest[1].place.end - 1)
            end = len(said.rstrip()) if colon < 0 else colon
            if not self._ends(said, rest[1], end):
                return None
            return self._figures(number, said, name, rest[1], None if colon < 0 else colon)
        if first == "not" and len(rest) > 2 and rest[1].text == "on":
            return Difference("not-on", name, whole, rest[2]) if self._ends(said, rest[2]) else None
        if first in STATES:
            return Difference(first, name, whole) if self._ends(said, rest[0]) else None
        if not rest:
            self._wrong(name.place, f"how was `{name.text}` found?", f"write after it {WAYS}")
        else:
            hint = did_you_mean(first, STATES, f"write after the name {WAYS}")
            self._wrong(rest[0].place, f"`{first}` is no way in which a part is found", hint)
        return None

    @staticmethod
    def _words(said: str) -> Iterator[re.Match[str]]:
        return NAME.finditer(said.split(":")[0])

    def _ends(self, said: str, last: Word, end: int | None = None) -> bool:
        """Does the line end after this word? Otherwise told what is too much."""
        start = last.place.end - 1
        more = said[start:end].strip()
        if more:
            at = said.index(more, start) + 1
            place = Place(self.file, last.place.line, at, at + len(more))
            self._wrong(place, f"`{more}` is one thing too much here", "write one difference a line")
        return not more

    def _figures(self, number: int, said: str, name: Word, kind: Word | None, colon: int | None) -> Difference | None:
        """Another kind, or other figures: the attributes are read as the rig language reads them."""
        whole = Place(self.file, number, 1, len(said.rstrip()) + 1)
        if kind and kind.text not in self.kinds:
            hint = did_you_mean(kind.text, self.kinds, "`stillheld kinds` lists them all")
            self._wrong(kind.place, f"there is no kind of part called `{kind.text}`", hint)
            return None
        words = said[colon + 1 :].strip() if colon is not None else ""
        if colon is not None and not words:
            self._wrong(whole, "after the colon nothing is said", "for example `: strength 18 kN`")
            return None
        attributes: list[Attribute] = []
        if words:
            text = f"{name.text}: {words}"
            document = parse_text(text.encode(), self.file, None, set(self.kinds))
            assert colon is not None
            shift = said.index(words, colon) - (len(name.text) + 2)

            def there(place: Place) -> Place:
                return Place(place.file, number, max(1, place.column + shift), max(1, place.end + shift))

            self.mistakes += moved(document.mistakes, there)
            if document.mistakes:
                return None
            for statement in document.statements:
                for detail in statement.details if isinstance(statement, More) else ():
                    attributes += moved(detail.attributes, there)
        return Difference("is" if kind else "figures", name, whole, kind, tuple(attributes), words)


def without_comment(line: str) -> str:
    """The line up to a `#` that is not inside quotes."""
    quoted = False
    for at, letter in enumerate(line):
        if letter == '"':
            quoted = not quoted
        elif letter == "#" and not quoted:
            return line[:at]
    return line
