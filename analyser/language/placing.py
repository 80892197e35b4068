"""The words of a tree, and where each stands in its file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lark import Token, Tree

from analyser.language.mistakes import Place
from analyser.language.syntax import Word

Node = Tree[Token] | Token | None
NO_SHIFTS: Mapping[int, int] = {}


class Placing:
    """The words of one block; `first` is the block's first line in the file, `shifts` by how much the words of a
    line stand further right there."""

    def __init__(self, file: str, first: int, lines: list[str], shifts: Mapping[int, int] = NO_SHIFTS) -> None:
        self.file = file
        self.first = first
        self.lines = lines
        self.shifts = shifts

    def place(self, token: Token, last: Token | None = None) -> Place:
        last = last or token
        line = (token.line or 1) + self.first - 1
        end = last.end_column if last.line == token.line else None
        column = token.column or 1
        end = end or column + len(token)
        if shift := self.shifts.get(token.line or 1, 0):
            column, end = max(1, column + shift), max(2, end + shift)
        return Place(self.file, line, column, end)

    def spread(self, tree: Tree[Token]) -> Place:
        tokens = list(tokens_of(tree))
        return self.place(tokens[0], tokens[-1])

    def word(self, token: Token) -> Word:
        text = str(token)
        return Word(text[1:-1] if token.type == "TEXT" else text, self.place(token))

    def ref(self, tree: Tree[Token]) -> Word:
        return Word(".".join(tokens_of(tree)), self.spread(tree))

    def written(self, tree: Tree[Token]) -> str:
        """The words of a rule as they stand in the file, with single spaces between."""
        tokens = [t for t in tokens_of(tree) if not t.type.startswith("_")]
        first, last = tokens[0], tokens[-1]
        if first.line != last.line:
            last = [t for t in tokens if t.line == first.line][-1]
        line = self.lines[(first.line or 1) - 1]
        return " ".join(line[(first.column or 1) - 1 : last.end_column and last.end_column - 1].split())


def rule_of(node: Node) -> str:
    """The rule of a tree; of a token nothing."""
    return str(node.data) if isinstance(node, Tree) else ""


def words_within(node: Tree[Token] | Token) -> Iterator[Token]:
    """A token itself, or every token below a tree, but for line ends."""
    found = [node] if isinstance(node, Token) else tokens_of(node)
    return (token for token in found if not token.type.startswith("_"))


def tokens_of(tree: Tree[Token]) -> Iterator[Token]:
    """Every token below a tree, left to right."""
    for child in tree.children:
        if isinstance(child, Token):
            yield child
        elif child is not None:
            yield from tokens_of(child)


def trees_of(children: Sequence[Node]) -> Iterator[Tree[Token]]:
    return (child for child in children if isinstance(child, Tree))
