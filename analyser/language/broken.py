"""A line that could not be read, and pieces of the messages about it."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass

from lark import UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from analyser.language.mistakes import Place, did_you_mean, near
from analyser.language.vocabulary import (
    ATTRIBUTE_EXAMPLES,
    EXAMPLES,
    LINE_ENDS,
    STANDARD_ROPES,
    STATIONS,
    SYNONYMS,
    WORDS,
)


@dataclass
class Broken:
    """A line that could not be read: where the parser stopped, and what it would have taken."""

    file: str
    number: int
    line: str
    column: int
    """1-based, where the parser stopped; just after the last word when the line ends too early."""
    word: str
    """The word there; empty when the line ends too early."""
    expected: set[str]
    head: str
    """The first line of the block, which may be this one."""
    inside: bool
    """Is this line indented under `head`?"""
    deeper: bool
    """Did the parser stop at the indentation itself?"""
    kinds: Collection[str]
    patterns: dict[str, str]
    reads: Callable[[str], bool]
    """Would the line be read if it were written so?"""

    @property
    def before(self) -> str:
        return self.line[: self.column - 1].rstrip()

    @property
    def rest(self) -> str:
        return self.line[self.column - 1 :]

    @property
    def first(self) -> str:
        found = re.match(r"\s*([\w-]+)", self.line)
        return found.group(1) if found else ""

    @property
    def key(self) -> str:
        """The first word of the block."""
        found = re.match(r"\s*([\w-]+)", self.head)
        return found.group(1) if found else ""

    def place(self, column: int | None = None, length: int | None = None) -> Place:
        column = self.column if column is None else column
        length = max(1, len(self.word)) if length is None else max(1, length)
        return Place(self.file, self.number, column, column + length)

    def at(self, found: re.Match[str], group: int | str = 0) -> Place:
        """The place of a piece of this line."""
        return self.place(found.start(group) + 1, found.end(group) - found.start(group))

    def instead(self, column: int, length: int, text: str) -> str:
        """The line with `length` characters from `column` replaced."""
        return self.line[: column - 1] + text + self.line[column - 1 + length :]

    def write(self, line: str, otherwise: str = "") -> str:
        """`write …` with a corrected line, when that line would be read."""
        return f"write `{shown(line)}`" if self.reads(line) else otherwise


def example(b: Broken) -> str:
    two = " ".join(b.line.split()[:2])
    example = EXAMPLES.get(two) or EXAMPLES.get(b.first, "")
    return f"for example `{example}`" if example else ""


def attribute_example(b: Broken) -> str:
    """The attribute that the line breaks off in, written out."""
    two = re.search(r"[\w-]+\s+by$", b.before)
    if two:
        return f"for example `{two[0]} jo`"
    for word in reversed(re.findall(r"[\w-]+", b.before)[-3:]):
        if word in ATTRIBUTE_EXAMPLES:
            return f"for example `{ATTRIBUTE_EXAMPLES[word]}`"
    return ""


def first_word_changed(b: Broken, words: Collection[str]) -> str:
    """The line with its first word as it was meant, when that is clear and would be read."""
    other = SYNONYMS.get(b.first.lower(), "")
    meant = [word for word in words if word == other or word == other.split(" ")[0]] or near(b.first, words, 2)
    start = len(b.line) - len(b.line.lstrip())
    rest = b.line[start + len(b.first) :]
    fixes = []
    for word in meant[:2]:
        fixes += [f"{word}{rest}", f"{STATIONS.get(word, word)}{rest}"]
        fixes.append(re.sub(r"^\s+\w+\s", f"{STATIONS.get(word, word)} ", rest))
    written = [line for one in dict.fromkeys(fixes) if b.reads(line := b.line[:start] + one)]
    return b.write(written[0]) if written else ""


def title_of(head: str) -> str:
    """A block's first line, short: `ring master`."""
    return shown(code_of(head).split(":")[0], 40)


def shown(line: str, most: int = 110) -> str:
    line = " ".join(code_of(line).split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def begins() -> str:
    words = ", ".join(f"`{one}`" for one in ("attach", "rope", "require", "cause", "sound"))
    return f"a line begins with a kind (`anchor bolt`), with `name: …`, or with {words} …"


def meant_by(word: str, known: Collection[str]) -> str:
    """A near word, or the one that the trade's other word stands for."""
    other = SYNONYMS.get(word.lower())
    for one in known:
        if other in (one, one.split()[0]):
            return f"did you mean `{other}`?"
    found = near(word, known)
    longer = [one for one in found if not any(o != one and o.startswith(f"{one} ") for o in found)]
    return did_you_mean(word, longer)


def kinds_of_standard(words: str, kinds: Collection[str]) -> list[str]:
    """The kinds that a standard's name stands for, however it is spelt: `EN362 B`, `en-362-b`, `EN 1891 type A`.

    >>> kinds_of_standard("EN 362 class B", ["carabiner-en362-a", "carabiner-en362-b"])
    ['carabiner-en362-b']
    """
    plain = re.sub(r"[^a-z0-9]", "", re.sub(r"\b(class|type)\b", "", words.lower()))
    ropes = [kind for kind in STANDARD_ROPES.get(plain, ()) if kind in kinds]
    if ropes:
        return ropes
    told = re.search(r"(en|nfpa)\w*$", plain)
    if not told or not re.search(r"en\d\d|nfpa", plain):
        return []
    squeezed = {kind: kind.replace("-", "") for kind in kinds if re.search(r"-(en\d|nfpa)", kind)}
    whole = [kind for kind, one in squeezed.items() if one == plain]
    exact = whole or [
        kind for kind, one in squeezed.items() if one.endswith(told[0]) and one.startswith(plain[: told.start()])
    ]
    exact = exact or [kind for kind, one in squeezed.items() if one.endswith(told[0])]
    return exact or [kind for kind, one in squeezed.items() if told[0] in one and one.startswith(plain[: told.start()])]


def keywords(b: Broken) -> list[str]:
    return sorted({literal(b.patterns.get(name, "")) for name in b.expected} - {""})


def words_of(b: Broken) -> list[str]:
    """Every word of the language."""
    return sorted({literal(pattern) for pattern in b.patterns.values()} - {""})


def expected_by(error: UnexpectedInput) -> set[str]:
    if isinstance(error, UnexpectedToken):
        return set(error.accepts or error.expected)
    if isinstance(error, UnexpectedCharacters):
        return set(error.allowed or ())
    return set()


def choices(expected: Collection[str], patterns: dict[str, str], lead: str = "") -> str:
    """What could stand here, in a stable order, the most telling first."""
    words: list[str] = []
    for name in sorted(expected, key=lambda n: (n in LINE_ENDS, n not in WORDS, n)):
        keyword = literal(patterns.get(name, ""))
        word = WORDS.get(name) or (f"`{keyword}`" if len(keyword) > 1 else "")
        if word and word not in words:
            words.append(word)
    shown = words[:5]
    return (lead + " or ".join(shown) + (" …" if len(words) > 5 else "")) if shown else ""


def literal(pattern: str) -> str:
    """The plain word behind a keyword's pattern, or nothing."""
    word = re.split(r"\(\?[=!]\[", pattern)[0]
    return (
        word
        if re.fullmatch(r"[a-z-]+", word)
        else re.sub(r"(\w)\?$", r"\1", word)
        if re.fullmatch(r"[a-z-]+\?", word)
        else ""
    )


def bare(line: str) -> str:
    """The line with quoted text blanked out and its comment taken off; columns stay."""
    line = re.sub(r'"[^"]*"', lambda m: "_" * len(m[0]), line)
    found = re.search(r"(?<!\w)#|#(?!\d)", line)
    return line[: found.start()] if found else line


def code_of(line: str) -> str:
    """The line without its comment and the blanks before it."""
    return line[: len(bare(line).rstrip())]
