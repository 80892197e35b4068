"""What may be written next. The grammar says which words can follow, the rig which names."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from itertools import pairwise

from lark import Token, UnexpectedInput
from lark.indenter import DedentError
from lark.parsers.lalr_interactive_parser import InteractiveParser

from analyser.doors.editor.columns import LINE_END
from analyser.doors.editor.names import Sort, keywords
from analyser.doors.editor.readings import Desk, Reading, Texts, read
from analyser.language.identities import Cut
from analyser.language.parsing import parser
from analyser.language.syntax import RopeLine
from analyser.language.vocabulary import UNITS, UNITS_OF
from analyser.rig.model import BODIES, Nature, Rig

PARTIAL = re.compile(r"[\w-]*\Z")
"""The piece of a word that stands before the cursor."""
NEW_NAME = ("AS", "KIND", "CAUSE", "POINTS", "REVISION")
"""Keywords after which a name is invented: nothing can be proposed."""
DOER = re.compile(r",[ \t]*(by[ \t]+(?:[\w-]+[ \t]*,[ \t]*)*)?\Z")
"""A step's comma, and `by` with people after it."""
GOING_ON = re.compile(r"[ \t]*attach[ \t].*[ \t]to[ \t]+([\w-]+[ \t]+)?\Z")
"""A part that is to go on a rope: the grammar knows it by what stands after the rope."""
MOST_BRANCHES = 3
"""Keywords that go on in more ways than these are proposed alone."""


@cache
def of_failures() -> frozenset[str]:
    """The keywords that begin a line in which failures are named, by the grammar: `sound`, `accept`, …"""
    return frozenset(
        str(rule.expansion[0].name)
        for rule in parser().rules
        if rule.expansion
        and rule.expansion[0].name in keywords()
        and {"subjects", "failures", "failure"} & {str(symbol.name) for symbol in rule.expansion[1:]}
    )


@cache
def naming() -> frozenset[str]:
    """The keywords of attributes after which parts are named, by the grammar: `feet`, `padded by`, …"""
    return frozenset(
        str(before.name)
        for rule in parser().rules
        if rule.origin.name == "attribute"
        for before, symbol in pairwise(rule.expansion)
        if str(symbol.name) in ("listed", "NAME")
    )


OF_NATURE = {
    ("PADDED", "BY"): Nature.PAD, ("OVER",): Nature.EDGE, ("CLEAR", "OF"): Nature.EDGE, ("INTERLOCK",): Nature.KNOT,
    ("AGAIN",): Nature.KNOT,
}  # fmt: skip
"""Keywords after which parts of one nature are named."""


class What(StrEnum):
    """What is proposed."""

    KEYWORD = "keyword"
    KIND = "kind"
    NAME = "name"
    POINT = "point"
    FAILURE = "failure"
    UNIT = "unit"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A text to put in the place of the piece that is there, and a word on it."""

    text: str
    what: What
    detail: str = ""


@dataclass(frozen=True, slots=True)
class _Written:
    """What stands before the cursor: the tokens of its line, those above it, what can follow."""

    lead: list[Token]
    line: list[Token]
    accepts: set[str]
    state: InteractiveParser

    @property
    def last(self) -> str:
        return self.line[-1].type if self.line else ""

    def keyword(self) -> tuple[str, ...]:
        """The last keywords in a row: `OPERATED BY`, with names and commas after them or not."""
        row = list(self.line)
        while row and row[-1].type not in keywords():
            row.pop()
        found: list[str] = []
        while row and row[-1].type in keywords():
            found.insert(0, row.pop().type)
        return tuple(found)


def completions(desk: Desk, reading: Reading, texts: Texts, shown: str, line: int, column: int) -> list[Proposal]:
    """What may stand at a place of one of the reading's files (1-based line and column)."""
    path = reading.path_of(shown)
    if path not in texts:
        return []
    lines = LINE_END.split(texts[path].text.removeprefix("\ufeff"))
    before = lines[line - 1][: column - 1]
    if _in_words(before):
        return []
    partial = PARTIAL.search(before)
    head = before[: partial.start()] if partial else before
    rig = reading.rig or _without_line(reading, texts, shown, line) or desk.last_rig(reading.path)
    names = _Known(reading, rig)
    dotted = re.search(r"([\w-]+)\.\Z", head)
    if dotted:
        return sorted(names.points(dotted[1]), key=lambda one: one.text)
    spanned = re.search(r"([\w-]+)\[[^\]]*\Z", head)
    if spanned:
        return [Proposal(label, What.NAME, f"station of {spanned[1]}") for label in names.labels(spanned[1])]
    above = _above(lines, line)
    if (onto := GOING_ON.match(head)) and above and above[0].startswith("stage"):
        return [Proposal("between", What.KEYWORD)] if onto[1] else list(names.things(lambda kind, _: kind == "rope"))
    if (by := DOER.search(head)) and _takes_doer(above, head[: by.start()]):
        people = names.of(Nature.PERSON)
        if by[1]:
            return people
        found = _completed(above, head, names)
        return [Proposal("by", What.KEYWORD), *found]
    return _completed(above, head, names)


def _takes_doer(above: list[str], head: str) -> bool:
    """Can it be said after this who does it?"""
    written = _written(above, head)
    return written is not None and "DONE_BY" in written.accepts


def _completed(above: list[str], head: str, names: _Known) -> list[Proposal]:
    """What may follow `head`, which stands under the lines `above`."""
    written = _written(above, head)
    if written is None:
        return []
    found = [*(_units(written) if "UNIT" in written.accepts else ()), *_keywords(written)]
    if written.accepts & {"NAME", "LABEL"}:
        found += names.fitting(written, _onto(written) or _rope_above(written))
    return list({(one.what, one.text): one for one in found}.values())


def _onto(written: _Written) -> str:
    """The rope that a step puts a part on."""
    types = [one.type for one in written.line]
    at = types.index("ONTO") + 1 if "ONTO" in types else len(types)
    return str(written.line[at]) if at < len(types) else ""


def _in_words(before: str) -> bool:
    """In quoted text, or in a comment?"""
    return before.count('"') % 2 == 1 or "#" in re.sub(r'"[^"]*"|\w#\d', "", before)


def _without_line(reading: Reading, texts: Texts, shown: str, line: int) -> Rig | None:
    """The rig as it is without the line that is being typed, or without its whole block."""
    path = reading.path_of(shown)
    lines = LINE_END.split(texts[path].text)
    first = last = line
    while first > 1 and (not lines[first - 1] or lines[first - 1][0].isspace()):
        first -= 1
    while last < len(lines) and lines[last][:1].isspace():
        last += 1
    for start, end in dict.fromkeys([(line, line), (first, last)]):
        left = [*lines[: start - 1], *[""] * (end - start + 1), *lines[end:]]
        rig = read(reading.path, {**texts, path: replace(texts[path], text="\n".join(left))}).rig
        if rig:
            return rig
    return None


def _above(lines: list[str], line: int) -> list[str]:
    """The lines under which a line stands, the outermost first."""
    found: list[str] = []
    here = lines[line - 1]
    depth = len(here) - len(here.lstrip())
    for one in reversed(lines[: line - 1]):
        indent = len(one) - len(one.lstrip())
        if one.strip() and not one.lstrip().startswith("#") and indent < depth:
            found.insert(0, one)
            depth = indent
        if depth == 0:
            break
    return found


def _written(above: list[str], head: str) -> _Written | None:
    """Parse as far as the cursor; None where what stands before it can't be read."""
    state = parser().parse_interactive("\n".join([*above, head]))
    tokens: list[Token] = []
    try:
        for token in state.lexer_thread.lex(state.parser_state):  # type: ignore[no-untyped-call]
            if token.type == "_DEDENT":
                break  # the text ends here, but its block goes on
            tokens.append(token)
            state.feed_token(token)
    except (UnexpectedInput, DedentError):
        return None
    own = [one for one in tokens if not one.type.startswith("_") and (one.line or 1) > len(above)]
    lead = [one for one in tokens if not one.type.startswith("_") and (one.line or 1) <= len(above)]
    return _Written(lead, own, set(state.accepts()), state)  # type: ignore[no-untyped-call]


def _rope_above(written: _Written) -> str:
    """The rope whose stations the line belongs to."""
    names = [one for one in written.lead if one.type == "NAME"]
    return str(names[0]) if names and written.lead[0].type in ("ROPE", "RERIG") else ""


def _keywords(written: _Written) -> Iterator[Proposal]:
    """The keywords that can follow, each with those that must follow it: `tied to`, `not below`."""
    known = keywords()
    for terminal in sorted(written.accepts & set(known)):
        for word in known[terminal]:
            for phrase in _phrases(written.state, terminal, word, 3):
                yield Proposal(phrase, What.KEYWORD)


def _phrases(state: InteractiveParser, terminal: str, word: str, most: int) -> Iterator[str]:
    """A keyword, and what goes on from it as long as only few keywords can."""
    after = state.copy()  # type: ignore[no-untyped-call]
    after.feed_token(Token(terminal, word))
    following = after.accepts()
    if most and following <= set(keywords()) and 0 < len(following) <= MOST_BRANCHES:
        for one in sorted(following):
            for rest in _phrases(after, one, keywords()[one][0], most - 1):
                yield f"{word} {rest}"
    else:
        yield word


def _units(written: _Written) -> Iterator[Proposal]:
    units = UNITS.split(", ")
    before = [str(one) for one in written.line if one.type in keywords() or one.type == "NAME"]
    first = [UNITS_OF[word] for word in (*reversed(before), *map(str, written.lead)) if word in UNITS_OF]
    likely = first[0].split() if first else []
    for unit in [*likely, *(one for one in units if one not in likely)]:
        yield Proposal(unit, What.UNIT)


class _Known:
    """The names that may be proposed: those of the text as it is, and those of the rig."""

    def __init__(self, reading: Reading, rig: Rig | None) -> None:
        self.reading, self.rig = reading, rig
        self.kind_of = dict(reading.names.kind_of)
        for part in rig.parts.values() if rig else ():
            if part.nature is not Nature.POINT:
                self.kind_of.setdefault(part.name, part.kind)

    def things(self, fits: Callable[[str, Nature | None], bool]) -> Iterator[Proposal]:
        for name, kind in self.kind_of.items():
            known = self.reading.kinds.get(kind)
            nature = known.nature if known else Nature.STOPPER if kind == "stopper" else None
            if fits(kind, nature):
                yield Proposal(name, What.NAME, kind)

    def of(self, *natures: Nature) -> list[Proposal]:
        return list(self.things(lambda kind, nature: nature in natures))

    def parts(self) -> list[Proposal]:
        return list(self.things(lambda kind, nature: kind not in ("rope", "cause")))

    def points(self, body: str) -> list[Proposal]:
        found = [one.name for one in self.reading.names.all if one.sort is Sort.POINT and one.gives]
        found += [name for name in (self.rig.parts if self.rig else ()) if self.rig and self.rig.parts[name].body]
        pieces = dict.fromkeys(name.partition(".")[2] for name in found if name.startswith(f"{body}."))
        return [Proposal(point, What.POINT, f"point of {body}") for point in pieces]

    def whole_points(self) -> list[Proposal]:
        bodies = self.of(*BODIES)
        return [
            Proposal(f"{body.text}.{point.text}", What.POINT, point.detail)
            for body in bodies
            for point in self.points(body.text)
        ]

    def labels(self, rope: str) -> list[str]:
        """The stations of a rope by name; of one that can't be read yet, the parts it seems to meet."""
        for one in self.rig.ropes if self.rig else ():
            if one.name == rope:
                return list(dict.fromkeys(station.label for station in one.stations))
        for line in self.reading.document.statements:
            if isinstance(line, RopeLine) and line.name.text == rope:
                words = [s.name or (s.chain[0].name if s.chain else None) for s in line.stations]
                return list(dict.fromkeys(word.text for word in words if word))
        return []

    def kinds(self, fits: Callable[[Nature], bool]) -> Iterator[Proposal]:
        for name, kind in self.reading.kinds.items():
            if fits(kind.nature):
                yield Proposal(name, What.KIND, kind.meaning)

    def failures(self) -> list[Proposal]:
        if self.rig is None:
            return []
        ropes = [Cut(rope.name) for rope in self.rig.ropes if len(rope.spans) > 1]
        return [Proposal(one, What.FAILURE) for one in (*(one.id for one in self.rig.failures), *ropes)]

    def fitting(self, written: _Written, rope: str) -> Iterable[Proposal]:
        """The names that fit after what is written."""
        after, last = written.keyword(), written.last
        first = written.lead[0].type if written.lead else ""
        declarable = list(self.kinds(lambda nature: nature is not Nature.KNOT))
        if not written.line:
            if first == "CAUSE":
                return self.failures()
            if first == "STAGE":
                return declarable
            if first == "NAME":
                return [Proposal(str(one), What.NAME) for one in written.lead[1:] if one.type == "NAME"]
            return [] if written.lead else [*declarable, *self.parts()]
        tail = after[-1:]
        if last == "NAME" or (after[-1:] and after[-1] in NEW_NAME and last != "COLON"):
            return []
        if not after and last == "COMMA" and "MINUS" not in {one.type for one in written.line}:
            return []  # another part of that kind, to be named
        if tail in (("ENDS",), ("SIDES",)):
            bodies = [str(one) for one in (*written.lead, *written.line) if one.type == "NAME"]
            return [point for body in bodies if body in self.kind_of for point in self.points(body)]
        if after[-2:] in (("OPERATED", "BY"), ("MINDED", "BY"), ("WORN", "BY"), ("HELD", "BY")):
            return self.of(Nature.PERSON)
        if after[-2:] in (("LOAD", "FROM"), ("TAIL", "TOWARDS")) or tail in (("BETWEEN",), ("AND",)):
            ends = [Proposal(end, What.NAME, "a free end") for end in ("start", "end")]
            return [*(Proposal(one, What.NAME, f"station of {rope}") for one in self.labels(rope)), *ends]
        if after[-2:] in OF_NATURE or tail in OF_NATURE:
            return self.of(OF_NATURE.get(after[-2:]) or OF_NATURE[tail])
        if tail == ("WITH",):
            return self.kinds(lambda nature: nature is Nature.KNOT)
        if tail == ("LIKE",) and written.line[0].type == "KIND" and "COLON" not in {one.type for one in written.line}:
            return self.kinds(lambda nature: True)
        if tail == ("A",):
            return declarable
        if tail in (("RERIG",), ("DERIG",), ("ONTO",)) or (tail == ("OF",) and written.line[0].type == "JOINED"):
            return list(self.things(lambda kind, nature: kind == "rope"))
        if first == "CAUSE" or written.line[0].type in of_failures():
            return [*self.failures(), *self.parts(), *self.things(lambda kind, nature: kind in ("rope", "cause"))]
        if (
            last == "MINUS"
            or tail in (("ATTACH",), ("THROUGH",), ("AND_TO",))
            or after[-2:] in (("TIED", "TO"), ("GRIPPED", "BY"))
        ):
            return [*declarable, *self.parts(), *self.whole_points()]
        said = written.line[0].type in ("NAME", "ROPE") or first == "NAME"
        if said and tail and tail[0] not in naming():
            return []  # an attribute that stands alone, or with a number
        return [*self.parts(), *self.things(lambda kind, nature: kind == "rope"), *self.whole_points()]
