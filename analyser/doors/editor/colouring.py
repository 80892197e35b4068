"""What each piece of a text is, for an editor that colours it: the rules of the highlighting, as semantic tokens."""

from __future__ import annotations

from functools import cache
from typing import Any

from analyser.doors.editor.columns import LINE_END

TYPES = ("comment", "string", "keyword", "type", "variable", "property", "number", "enumMember")
"""The protocol's own words for what a piece is; a unit is one of a list."""


@cache
def _lexer() -> Any:
    from grammar.highlighting import RigLexer

    return RigLexer(ensurenl=False, stripnl=False)


@cache
def _number(token: Any) -> int | None:
    """Which of `TYPES` a token of the highlighting is; None where it is nothing to colour."""
    from pygments.token import Comment, Keyword, Name, Number, String

    for kind, of in (
        (Comment, "comment"),
        (String, "string"),
        (Keyword.Type, "type"),
        (Keyword.Constant, "enumMember"),
        (Keyword, "keyword"),
        (Name.Attribute, "property"),
        (Name, "variable"),
        (Number, "number"),
    ):
        if token in kind:
            return TYPES.index(of)
    return None


def coloured(text: str) -> list[int]:
    """Semantic tokens as the protocol packs them: line and column from the last one, length, type, none of the
    modifiers; columns in UTF-16 units."""
    found: list[int] = []
    last_line = 0
    for number, line in enumerate(LINE_END.split(text)):
        last = 0
        for start, token, words in _lexer().get_tokens_unprocessed(line):
            kind = _number(token)
            if kind is None:
                continue
            at, size = _units(line[:start]), _units(words)
            found += [number - last_line, at - last, size, kind, 0]
            last_line, last = number, at
    return found


def _units(text: str) -> int:
    return len(text) + sum(ord(one) > 0xFFFF for one in text)
