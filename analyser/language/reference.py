"""The reference of the language as data: what its tables say of each word, with an example from its rigs.

`grammar/reference.md` is the one home of these words. A table is known by the first cell of its head;
a row that is added there is explained with no word about it here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import grammar
from analyser.language.parsing import is_keyword

GROUPS = {
    "statement": "statement",
    "attribute": "attribute",
    "link": "link of a chain",
    "station": "station",
    "failure": "failure",
    "`require …`": "requirement",
    "step": "step of a stage",
    "fact": "observed fact",
    "rule": "rule of writing",
    "word": "word of the answers",
    "mistake": "mistake",
}
"""What a table of the reference is about, by the head of its first column."""
WHERE = {
    "statement": r"^{}",
    "attribute": r"^(?!require)(?:[^\"]*[:,] *| +(?:[\w-]+: +)?){}",
    "station": r"^ +(?:[^\"]*, )?{}",
    "failure": r"^(?:cause|sound|accept|likelihood| ).*{}",
    "requirement": r"^require .*{}",
    "step of a stage": r"^ +(?:[^\"]*, )?{}",
    "observed fact": r"^ +{}",
}
"""Where in a rig a word of a group stands, as a pattern of the line."""
UNDER = {"station": ("rope", "rerig"), "step of a stage": ("stage",), "observed fact": ("observed",)}
"""The statement under which such a line stands."""


@dataclass(frozen=True, slots=True)
class Example:
    """Some lines of a rig of the reference, and the whole of that rig (which the tests read)."""

    lines: str
    rig: str


@dataclass(frozen=True, slots=True)
class Topic:
    """One thing that the reference explains. `forms` are the ways in which it is written there."""

    group: str
    name: str
    forms: tuple[str, ...]
    means: str
    on: str
    section: str
    example: Example | None

    @property
    def source(self) -> str:
        return f"grammar/reference.md, section {self.section}"


@lru_cache(maxsize=1)
def topics() -> tuple[Topic, ...]:
    """Everything that the tables of the reference explain, in the order of the page."""
    found: list[Topic] = []
    for section, head, row in _rows():
        group = GROUPS.get(head[0])
        if not group:
            continue
        alternatives = _alternatives(row[0])
        said = row[-1].split(" · ")
        for number, cell in enumerate(alternatives):
            name = _plain(cell) if group == "mistake" else _name(cell)
            forms = tuple(_plain(one) for one in re.findall(r"`([^`]+)`", cell))
            means = said[number] if len(said) == len(alternatives) else row[-1]
            on = row[1] if len(row) > 2 else ""
            found.append(Topic(group, name, forms, _plain(means), _plain(on), section, _example(group, name)))
    return tuple(found)


@lru_cache(maxsize=1)
def natures() -> dict[str, str]:
    """What the parts of each nature do, in the words of the reference."""
    rows = [row for _, head, row in _rows() if head[0] == "nature"]
    return {name: _plain(row[-1]) for row in rows for name in re.findall(r"`([^`]+)`", row[0])}


@lru_cache(maxsize=1)
def rigs() -> tuple[str, ...]:
    """The rigs of the reference: those that stand alone or with its kit, and each piece after the yard."""
    found = re.findall(
        r"^```(rig|rig-part|rig-with-kit)\n(.*?)^```$", grammar.text("reference.md"), re.DOTALL | re.MULTILINE
    )
    (yard,) = (text for _, text in found if text.startswith('rig "The yard"'))
    return tuple(yard + text if kind == "rig-part" else text for kind, text in found)


def example_of_kind(name: str, kin: tuple[str, ...]) -> Example | None:
    """A line with a part or knot of this kind; else one with its kin, nearest first, and this kind put there."""
    before = r"((?:[^\"#]*(?:- |(?<![\w-])(?:attach|to|through|by|an?|with|like) )| *))"
    for one in (name, *kin):
        there = re.compile(rf"^{before}{re.escape(one)}(?![\w:.-])(?! like)")
        for rig in rigs():
            lines = rig.splitlines()
            for number, line in enumerate(lines):
                found = there.match(line)
                if found and (one == name or " as " not in line):  # a knot's own name may tell of its kind
                    lines[number] = f"{found[1]}{name}{line[found.end() :]}"
                    return _shown(lines, number)
    return None


def _rows() -> Iterator[tuple[str, list[str], list[str]]]:
    """Each row of each table: its section, the head of its table, its cells."""
    section, head = "", [""]
    lines = re.sub(r"^```.*?^```$", "", grammar.text("reference.md"), flags=re.DOTALL | re.MULTILINE).splitlines()
    for number, line in enumerate(lines):
        if line.startswith("## "):
            section = line.removeprefix("## ").replace(". ", ": ", 1)
        if not line.startswith("|") or line.startswith("|---"):
            continue
        cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
        if lines[number + 1 : number + 2] and lines[number + 1].startswith("|---"):
            head = cells
        else:
            yield section, head, cells


def _alternatives(cell: str) -> list[str]:
    """`lock off D` · `open D` are two; what begins with `…`, or is called the same, goes with the one before."""
    found: list[str] = []
    for one in cell.split(" · "):
        if found and (one.startswith("`…") or _name(one) == _name(found[-1])):
            found[-1] += f" · {one}"
        else:
            found.append(one)
    return found


def _name(cell: str) -> str:
    """What a cell is about: what stands in bold; else the words of the language that its form begins with,
    or that stand in it first; else the cell itself."""
    bold = re.search(r"\*\*([^*]+)\*\*", cell)
    if bold:
        return bold[1]
    code = re.search(r"`([^`]+)`", cell)
    words = code[1].split() if code and cell.startswith("`") else []
    name: list[str] = []
    for word in words:
        if is_keyword(word.rstrip(",:")):
            name.append(word.rstrip(",:"))
        elif name:
            break
    return " ".join(name) or _plain(cell).replace("`", "")


def _plain(cell: str) -> str:
    """A cell without the marks of its page: links, bold, escaped bars. Words in backticks stay so."""
    text = re.sub(r"\[([^\]]+)\]\([^)]*\)", r"\1", cell)
    return re.sub(r"\*\*?([^*]+)\*\*?", r"\1", text).replace("\\|", "|").strip()


def _example(group: str, name: str) -> Example | None:
    if group not in WHERE:
        return None
    word = re.sub(r"\d+", r"\\d[\\d.]*", re.escape(name).replace("\\ ", " "))  # any number: `60 m` is shown by `40 m`
    line_with = re.compile(WHERE[group].format(rf"(?<![\w-]){word}(?![\w-])"))
    found: list[Example] = []
    for rig in reversed(rigs()):  # a piece that shows a word by itself comes later than the first whole rigs
        lines = rig.splitlines()
        for number, line in enumerate(lines):
            if line_with.search(line.split("#")[0]):
                heads = {lines[above].split()[0] for above in _above(lines, number)}
                if group not in UNDER or heads & set(UNDER[group]):
                    found.append(_shown(lines, number))
    shortest = [one for one in found if "\n" not in one.lines] if group == "attribute" else []
    return next(iter([*shortest, *found]), None)


def _above(lines: list[str], number: int) -> list[int]:
    """The lines that a line stands under, outermost first."""
    found: list[int] = []
    depth = len(lines[number]) - len(lines[number].lstrip())
    for above in range(number - 1, -1, -1):
        indent = len(lines[above]) - len(lines[above].lstrip())
        if lines[above].strip() and indent < depth:
            found.insert(0, above)
            depth = indent
    return found


def _shown(lines: list[str], number: int) -> Example:
    """A line with those it stands under."""
    return Example("\n".join(lines[one] for one in [*_above(lines, number), number]), "\n".join(lines) + "\n")
