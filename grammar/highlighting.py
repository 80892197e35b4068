"""Highlighting of `.rig` text: a Pygments lexer, and the same rules as a TextMate grammar for editors.

The words come from `rig.lark` and `kinds.rig`, so that neither can fall behind the language.

    python -m grammar.highlighting      writes rig.tmLanguage.json anew, after the language has changed
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import NamedTuple

from pygments.lexer import RegexLexer, bygroups
from pygments.token import Comment, Keyword, Name, Number, Punctuation, String, Whitespace

import grammar

EDITORS = Path(__file__).with_name("rig.tmLanguage.json")
TERMINAL = re.compile(r"^([A-Z_]+)(?:\.\d+)?: /(.+)/$", re.MULTILINE)
WORD_ENDS = r"(?![\w-])"

SCOPES = {
    "comment": (Comment.Single, "comment.line.number-sign.rig"),
    "text": (String.Double, "string.quoted.double.rig"),
    "statement": (Keyword, "keyword.control.rig"),
    "word": (Keyword, "keyword.other.rig"),
    "kind": (Keyword.Type, "support.type.rig"),
    "name": (Name, "variable.other.rig"),
    "point": (Name.Attribute, "variable.other.property.rig"),
    "number": (Number, "constant.numeric.rig"),
    "unit": (Keyword.Constant, "keyword.other.unit.rig"),
    "mark": (Punctuation, "punctuation.separator.rig"),
    "space": (Whitespace, ""),
}
"""What a piece is: for Pygments, and for an editor's theme."""


class Rule(NamedTuple):
    """A pattern within one line, and what each of its groups is. Each character of a match is in a group."""

    pattern: str
    pieces: tuple[str, ...]


def terminals() -> dict[str, str]:
    """The patterns of the grammar's terminals."""
    return dict(TERMINAL.findall(grammar.text("rig.lark")))


def keywords() -> list[str]:
    """The patterns of the language's own words, each without the end that all share."""
    patterns = {name: p for name, p in terminals().items() if name not in ("A", "UNIT")}
    return sorted({re.split(r"\(\?[!=]", p)[0] for p in patterns.values() if re.match("[a-z]", p)})


def kinds() -> list[str]:
    """The natures, as the head of `kinds.rig` lists them, and every kind that stands there."""
    text = grammar.text("kinds.rig")
    natures = re.search(r"one of the natures of the holding rules:\n# (.+)\.\n", text)
    assert natures, "the head of kinds.rig lists the natures"
    found = {*natures[1].split(", "), *re.findall(r"^kind ([\w-]+)", text, re.MULTILINE)}
    return sorted(found - {"rope"})  # a statement first of all


def rules() -> list[Rule]:
    """The rules of highlighting, the first that matches wins."""
    words = {terminal: re.sub(r"\((?!\?)", "(?:", pattern) for terminal, pattern in terminals().items()}
    name, article, unit = words["NAME"], words["A"], words["UNIT"].removesuffix(WORD_ENDS)
    number = f"{words['NUMBER']}|{words['PROBABILITY']}"
    word = re.sub(r"\((?!\?)", "(?:", f"({'|'.join(keywords())}){WORD_ENDS}")
    kind = f"(?:{'|'.join(kinds())}){WORD_ENDS}"
    gap = r"[ \t]+"
    another = f"(?:([ \\t]*,[ \\t]*)({unit}))?"
    return [
        Rule(r"(#[^\n]*)", ("comment",)),
        Rule(f"({words['TEXT']})", ("text",)),
        Rule(f"^([ \\t]*)({name})(?=[ \\t]*:)", ("space", "name")),
        Rule(f"^([ \\t]*)(kind)({gap})({name})({gap})(like)({gap})({name})", (
            "space", "statement", "space", "kind", "space", "word", "space", "kind")),
        Rule(f"^([ \\t]*)(units)({gap})({unit}){another}{another}{WORD_ENDS}", (
            "space", "statement", "space", "unit", "mark", "unit", "mark", "unit")),
        Rule(f"(\\))({gap})({unit}){WORD_ENDS}", ("mark", "space", "unit")),
        Rule(f"^([ \\t]*)({kind})(?={gap}{name})", ("space", "kind")),
        Rule(f"^([ \\t]*)({name})(\\.)({name})", ("space", "name", "mark", "point")),
        Rule(f"^([ \\t]*)({word})", ("space", "statement")),
        Rule(f"({number})({gap})({unit}){WORD_ENDS}", ("number", "space", "unit")),
        Rule(f"({words['DATE']}|{number})", ("number",)),
        Rule(f"({name})(\\.)({name})", ("name", "mark", "point")),
        Rule(f"({article})", ("word",)),
        Rule(f"({word})", ("word",)),
        Rule(f"({kind})", ("kind",)),
        Rule(f"({name})(?={gap}(?!{word}){name})", ("kind",)),
        Rule(f"({name}(?:#\\d+)?)", ("name",)),
        Rule(r"(\.\.|[-:,|()\[\]%])", ("mark",)),
        Rule(f"({gap})", ("space",)),
    ]  # fmt: skip


class RigLexer(RegexLexer):  # type: ignore[misc]  # Pygments has no types
    """Rig text: what isn't of the language (a quote from a word processor, say) is an error token."""

    name = "Rig"
    aliases = ("rig",)
    filenames = ("*.rig",)
    url = ""
    flags = re.MULTILINE
    tokens = {  # noqa: RUF012 - Pygments' own interface
        "root": [
            *((rule.pattern, bygroups(*(SCOPES[piece][0] for piece in rule.pieces))) for rule in rules()),
            (r"\s+", Whitespace),
        ]
    }


def textmate() -> str:
    """The TextMate grammar, as JSON."""
    patterns = [
        {
            "match": rule.pattern,
            "captures": {
                str(number): {"name": SCOPES[piece][1]}
                for number, piece in enumerate(rule.pieces, 1)
                if SCOPES[piece][1]
            },
        }
        for rule in rules()
        if rule.pieces != ("space",)
    ]
    data = {
        "comment": "Written by `python -m grammar.highlighting` from rig.lark and kinds.rig: change those.",
        "name": "Rig",
        "scopeName": "source.rig",
        "fileTypes": ["rig"],
        "patterns": patterns,
    }
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    EDITORS.write_text(textmate(), encoding="utf-8", newline="\n")
    print(f"written: {EDITORS.name}")
