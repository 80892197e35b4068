"""Every name of a rig with its place, from what was parsed: where it is given and where it is used.

The tree is walked rather than the statements, so that a name is found wherever the grammar has one:
a rule not spoken of here holds names of parts, ropes and causes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from lark import Token, Tree

from analyser.language.mistakes import Place
from analyser.language.parsing import Document, parser


class Sort(StrEnum):
    """Names of different sorts may be spelt alike."""

    THING = "thing"
    """A part, a rope, a cause."""
    POINT = "point"
    KIND = "kind"
    FILE = "file"


@dataclass(frozen=True, slots=True)
class Named:
    """One name in the text. `place` covers its own letters: of `sam.waist` those of `waist`,
    of `master#2` those of `master`. `gives`: it is declared here."""

    sort: Sort
    name: str
    place: Place
    gives: bool = False


@dataclass(frozen=True, slots=True)
class Keyword:
    """A keyword in the text; `phrase` holds the keywords of its rule from it on (`operated by`)."""

    text: str
    phrase: tuple[str, ...]
    place: Place


@cache
def pattern(terminal: str) -> re.Pattern[str]:
    """What the grammar takes for a `NAME`, a `LABEL`."""
    return re.compile(next(one.pattern.value for one in parser().terminals if one.name == terminal))


def is_name(text: str) -> bool:
    return pattern("NAME").fullmatch(text) is not None


@cache
def keywords() -> dict[str, tuple[str, ...]]:
    """The grammar's keywords: terminal and the words it stands for (`HAS`: has, have)."""
    found = {}
    for terminal in parser().terminals:
        words = re.sub(r"\(\?[=!].*", "", terminal.pattern.value)
        if "(?" in terminal.pattern.value and re.fullmatch(r"[a-z][a-z-]*(\?|\([a-z|]+\))?", words):
            found[terminal.name] = tuple(_spelt(words))
    return found


def _spelt(words: str) -> Iterator[str]:
    if words.endswith("?"):
        yield words[:-1]
        yield words[:-2]
    elif words.endswith(")"):
        stem, _, ends = words[:-1].partition("(")
        yield from (stem + end for end in ends.split("|"))
    else:
        yield words


class Names:
    """The names of a document: `all` in order of their places, and the kind of each thing given."""

    def __init__(self, document: Document) -> None:
        self.trees = document.trees
        self.all: list[Named] = []
        self.kind_of: dict[str, str] = {}
        """`rope` and `cause` stand for themselves."""
        self.like: dict[str, str] = {}
        """The kinds of this file, and what each stands on."""
        self.points_of_kind: dict[str, list[tuple[str, Place]]] = {}
        for file, first, tree in self.trees:
            _Walk(self, file, first).visit(tree, ())
        for thing, kind in self.kind_of.items():
            for above in self.kinds_above(kind):
                for point, place in self.points_of_kind.get(above, ()):
                    self.all.append(Named(Sort.POINT, f"{thing}.{point}", place, True))
        self.all.sort(key=lambda one: (one.place, one.sort, one.name))
        self._lines: dict[tuple[str, int], list[Named]] = {}
        for one in self.all:
            self._lines.setdefault((one.place.file, one.place.line), []).append(one)

    def kinds_above(self, kind: str) -> Iterator[str]:
        """A kind of this file, and those of this file that it stands on."""
        seen = set()
        while kind not in seen:
            seen.add(kind)
            yield kind
            kind = self.like.get(kind, kind)

    def at(self, file: str, line: int, column: int) -> list[Named]:
        """The names at a column, or just before it; what covers it comes first."""
        row = self._lines.get((file, line), [])
        inside = [one for one in row if one.place.column <= column < one.place.end]
        return inside or [one for one in row if one.place.end == column]

    def of(self, sort: Sort, name: str) -> list[Named]:
        return [one for one in self.all if one.sort is sort and one.name == name]

    def given(self, sort: Sort, name: str) -> Named | None:
        return next((one for one in self.all if one.gives and one.sort is sort and one.name == name), None)

    def keyword_at(self, file: str, line: int, column: int) -> Keyword | None:
        """The keyword at a column."""
        for where, first, tree in self.trees:
            if where != file or first > line:
                continue
            for node in tree.iter_subtrees():
                own = [one for one in node.children if isinstance(one, Token)]
                words = [
                    _by(one) if one.type == "DONE_BY" else one for one in own if one.type in (*keywords(), "DONE_BY")
                ]
                for number, token in enumerate(words):
                    place = _place(where, first, token)
                    if place.line == line and place.column <= column <= place.end:
                        return Keyword(str(token), tuple(str(one) for one in words[number:]), place)
        return None


def _by(token: Token) -> Token:
    """The word alone, of a comma and `by`."""
    word = "by"
    column = (token.column or 1) + len(token) - len(word)
    return Token("BY", word, line=token.line, column=column)


class _Walk:
    """Through the tree of one block. `owners` are the bodies whose points an attribute speaks of;
    a kind's name stands there with a `*` before it."""

    def __init__(self, names: Names, file: str, first: int) -> None:
        self.names, self.file, self.first = names, file, first

    def add(self, sort: Sort, token: Token, gives: bool = False, kind: str = "") -> None:
        self.names.all.append(Named(sort, str(token), _place(self.file, self.first, token), gives))
        if gives and kind:
            self.names.kind_of.setdefault(str(token), kind)

    def visit(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        rule = RULES.get(str(tree.data), _Walk.children)
        rule(self, tree, owners)

    def children(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        for child in tree.children:
            self.child(child, owners)

    def child(self, child: Tree[Token] | Token | None, owners: tuple[str, ...]) -> None:
        if isinstance(child, Tree):
            self.visit(child, owners)
        elif child is not None and child.type == "NAME":
            self.add(Sort.THING, child)
        elif child is not None and child.type == "LABEL":
            self.label(child)

    def label(self, token: Token) -> None:
        """`red-bowline`, `sam.waist`, `master#2`."""
        whole = str(token).split("#")[0]
        body, _, point = whole.partition(".")
        place = _place(self.file, self.first, token)
        self.names.all.append(Named(Sort.THING, body, place.piece(0, len(body))))
        if point:
            self.names.all.append(Named(Sort.POINT, whole, place.piece(len(body) + 1, len(point))))

    def revision(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        """Its word is no name."""

    def include(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        token = next(one for one in tree.children if isinstance(one, Token) and one.type == "TEXT")
        place = _place(self.file, self.first, token)
        self.names.all.append(Named(Sort.FILE, str(token)[1:-1], place.piece(1, len(token) - 2)))

    def kind(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        name, like = (one for one in tree.children if isinstance(one, Token) and one.type == "NAME")
        self.add(Sort.KIND, name, True)
        self.add(Sort.KIND, like)
        self.names.like.setdefault(str(name), str(like))
        for child in tree.children:
            if isinstance(child, Tree):
                self.visit(child, (f"*{name}",))

    def declaration(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        kind, names, *rest = tree.children
        assert isinstance(kind, Token)
        assert isinstance(names, Tree)
        self.add(Sort.KIND, kind)
        given = [one for one in names.children if isinstance(one, Token)]
        for token in given:
            self.add(Sort.THING, token, True, str(kind))
        for child in rest:
            self.child(child, tuple(str(one) for one in given))

    def more(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        """Names, and what is said of them; also as one indented line of a declaration."""
        refs = tree.children[0]
        assert isinstance(refs, Tree)
        own = tuple(".".join(_tokens(one)) for one in refs.children if isinstance(one, Tree))
        self.visit(refs, ())
        for child in tree.children[1:]:
            self.child(child, own)

    def ref(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        body, *point = _tokens(tree)
        self.add(Sort.THING, body)
        for token in point:
            place = _place(self.file, self.first, token)
            self.names.all.append(Named(Sort.POINT, f"{body}.{token}", place))

    def attributes(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        """A list goes on after its attribute: `points waist, chest`."""
        key = ""
        for child in tree.children:
            if not isinstance(child, Tree):
                continue
            if child.data != "listed":
                key = str(child.data)
            if key in ("points", "ends"):
                for token in _tokens(child):
                    if token.type == "NAME":
                        self.point(token, owners, key == "points")
            else:
                self.visit(child, owners)

    def point(self, token: Token, owners: tuple[str, ...], gives: bool) -> None:
        place = _place(self.file, self.first, token)
        for owner in owners:
            if owner.startswith("*"):
                self.names.points_of_kind.setdefault(owner[1:], []).append((str(token), place))
            else:
                self.names.all.append(Named(Sort.POINT, f"{owner}.{token}", place, gives))

    def inline(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        kind, name, *given = (child for child in tree.children if child is not None)
        assert isinstance(kind, Token) and isinstance(name, Token)
        self.add(Sort.KIND, kind)
        self.add(Sort.THING, name, True, str(kind))
        for attributes in given:
            self.child(attributes, (str(name),))

    def unnamed(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        self.add(Sort.KIND, list(_tokens(tree))[-1])

    def rope(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        self.given(tree, owners, "rope")

    def cause(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        self.given(tree, owners, "cause")

    def given(self, tree: Tree[Token], owners: tuple[str, ...], kind: str) -> None:
        for child in tree.children:
            if isinstance(child, Token) and child.type == "NAME":
                self.add(Sort.THING, child, True, kind)
            else:
                self.child(child, owners)

    def station(self, tree: Tree[Token], owners: tuple[str, ...]) -> None:
        """`with KNOT`, `as NAME`; the rest as anywhere."""
        before, knot = "", "knot" if tree.data != "stopper" else "stopper"
        for child in tree.children:
            if isinstance(child, Token) and child.type == "NAME" and before == "WITH":
                knot = str(child)
                self.add(Sort.KIND, child)
            elif isinstance(child, Token) and child.type == "NAME" and before == "AS":
                self.add(Sort.THING, child, True, knot)
            else:
                self.child(child, owners)
            if isinstance(child, Token):
                before = child.type


RULES = {
    "revision": _Walk.revision,
    "include": _Walk.include,
    "kind": _Walk.kind,
    "declaration": _Walk.declaration,
    "more": _Walk.more,
    "named_detail": _Walk.more,
    "ref": _Walk.ref,
    "attributes": _Walk.attributes,
    "inline": _Walk.inline,
    "unnamed": _Walk.unnamed,
    "rope": _Walk.rope,
    "cause": _Walk.cause,
    "tied": _Walk.station,
    "stopper": _Walk.station,
    "joined": _Walk.station,
    "closed": _Walk.station,
    "onto": _Walk.station,
}
"""The rules in which a name isn't simply that of a part, a rope or a cause."""


def _tokens(tree: Tree[Token]) -> Iterator[Token]:
    for child in tree.children:
        if isinstance(child, Token):
            if child.type in ("NAME", "LABEL"):
                yield child
        elif isinstance(child, Tree):
            yield from _tokens(child)


def _place(file: str, first: int, token: Token) -> Place:
    line, column = (token.line or 1) + first - 1, token.column or 1
    return Place(file, line, column, column + len(token))
