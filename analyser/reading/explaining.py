"""Why a line could not be understood, in the trade's words: one message for one syntax error."""

from __future__ import annotations

import re
from collections.abc import Collection
from difflib import get_close_matches

from lark import Token, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from analyser.reading.mistakes import Mistake, Place, did_you_mean

STATEMENTS = (
    "rig revision note include kind attach rope interlock cause sound accept require stage observed"
).split()
"""The words that begin a statement, beside the names of kinds."""

UNITS = "kN, N, lbf, kg, lb, m, mm, ft, in, deg"
EXAMPLES = {
    "rig": 'rig "Two-rope lower"',
    "revision": "revision 4",
    "include": 'include "kit.rig"',
    "kind": "kind steel-ring like ring: strength 50 kN",
    "attach": "attach left-bolt - carabiner left-crab - left-brake",
    "interlock": "interlock red-bowline, green-bowline",
    "tied": "tied to master with bowline as red-bowline",
    "through": "through pulley-1",
    "over": "over lip, padded by mat",
    "gripped": "gripped by left-brake, load from red-bowline",
    "held": "held by jo, load from pulley-1",
    "stopper": "stopper as red-end",
    "closed": "closed with double-fishermans",
    "cause": "cause rockfall: red[lip..red-bowline] is cut, left-bolt fails",
    "sound": 'sound master fails: "forged ring, inspected this season"',
    "accept": 'accept lip cuts: "rounded, padded, watched"',
    "require": "require every person has 2 independent attachments",
    "stage": 'stage "Tilt the litter"',
}
WORDS = {
    "NAME": "a name",
    "LABEL": "a name",
    "NUMBER": "a number",
    "UNIT": f"a unit ({UNITS})",
    "TEXT": 'text in "quotes"',
    "_NL": "the end of the line",
    "$END": "the end of the line",
    "_INDENT": "indented lines",
    "COMMA": "a comma",
    "COLON": "a colon",
    "MINUS": "`-`",
    "A": "`a`",
    "HAS": "`has`",
    "POINTS": "`points`",
    "TOWARDS": "`towards`",
    "FAILURES": "`failures`",
    "ATTACHMENTS": "`attachments`",
}


def explain(
    error: UnexpectedInput,
    line: str,
    place_line: int,
    file: str,
    kinds: Collection[str],
    patterns: dict[str, str],
) -> Mistake:
    """One message for lark's error in `line` (text without its newline).

    `kinds` are the names of kinds known so far, `patterns` the terminals' regular expressions.
    """
    column = max(1, error.column if isinstance(error.column, int) and error.column > 0 else len(line) + 1)
    bad = line[column - 1 :]
    word = (re.match(r"[\w-]+|.", bad) or [""])[0]
    at_end = not bad.strip() or bad.lstrip().startswith("#") or (
        isinstance(error, UnexpectedToken) and error.token.type in ("_NL", "$END", "_INDENT", "_DEDENT")
    )
    if at_end:
        column = len(line.split("#")[0].rstrip()) + 1 if '"' not in line else len(line.rstrip()) + 1
        word = ""
    place = Place(file, place_line, column, column + max(1, len(word)))

    character = _odd_character(line, file, place_line)
    if character:
        return character

    before = line[: column - 1].rstrip()
    expected = _expected(error)
    first = re.match(r"\s*([\w-]+)", line)
    if first and not line[:1].isspace():
        begins = first.group(1)
        known = [*STATEMENTS, *kinds]
        if begins not in known and expected != {"TEXT"} and not re.match(r"\s*[\w.-]+\s*[,:]", line):
            start = first.start(1) + 1
            return Mistake(
                Place(file, place_line, start, start + len(begins)),
                f"`{begins}` is neither a statement nor a kind of part",
                did_you_mean(
                    begins,
                    known,
                    "a line begins with a kind (`anchor bolt`), or with "
                    + ", ".join(f"`{one}`" for one in ("attach", "rope", "require", "cause", "sound")),
                ),
            )
    if "UNIT" in expected and re.search(r"[\d.]$", before):
        if word:
            units = UNITS.split(", ")
            same = [one for one in units if one.lower() == word.lower()]
            hint = f"write `{same[0]}`" if same else f"the units read are {UNITS}"
            return Mistake(place, f"`{word}` is not a unit that can be read", hint)
        number = (re.search(r"[\d.]+$", before) or [""])[0]
        return Mistake(place, f"the number {number} has no unit", f"the units read are {UNITS}")
    glued = re.match(r"[+-]?(\d+(?:\.\d+)?)([A-Za-z%]+)$", word)
    if glued and glued.group(2) in [*UNITS.split(", "), "%"]:
        return Mistake(
            place,
            f"`{word}` runs a number and its unit together",
            f"write `{glued.group(1)} {glued.group(2)}`",
        )
    if re.match(r"\d", bad) and re.search(r"\d,$", before):
        return Mistake(
            Place(file, place_line, column - 1, column),
            "a comma inside a number",
            "write a point: `1.2 m`, not `1,2 m`",
        )
    key = first.group(1) if first else ""
    example = EXAMPLES.get(key, "")
    hint = f"for example: `{example}`" if example else _choices(expected, patterns)
    if "TEXT" in expected and not at_end and word != '"' and len(expected) <= 3:
        return Mistake(place, 'text belongs in "quotes" here', hint)
    if at_end:
        wanted = _choices(expected, patterns, lead="")
        if key in ("sound", "accept") and ":" in expected | {":" for t in expected if t == "COLON"}:
            return Mistake(place, f"`{key}` must give a reason", f"for example: `{example}`")
        return Mistake(place, f"the line ends too early: {wanted} should follow", hint)
    keywords = [_literal(patterns.get(name, "")) for name in expected]
    close = get_close_matches(word.lower(), sorted(filter(None, keywords)), n=1, cutoff=0.7)
    if close:
        return Mistake(place, f"`{word}` is not understood here", f"did you mean `{close[0]}`?")
    if key == "require" and "HELD" in expected and "HAS" in expected:
        return Mistake(
            place,
            "this requirement is not known",
            "require … has N independent attachments · … held after any N failures · everyone held "
            "with hands off · no one held only by a person · LITTER level after any 1 failure · "
            "strength factor at least N · drop at most 1 m · force on any person at most 6 kN · "
            "head-up between 3 and 10 deg on LITTER",
        )
    return Mistake(place, f"`{word}` is not understood here", hint)


def _expected(error: UnexpectedInput) -> set[str]:
    if isinstance(error, UnexpectedToken):
        return set(error.accepts or error.expected)
    if isinstance(error, UnexpectedCharacters):
        return set(error.allowed or ())
    return set()


def _choices(expected: Collection[str], patterns: dict[str, str], lead: str = "here can stand ") -> str:
    """What could stand here, in a stable order, the most telling first."""
    words = []
    for name in sorted(expected, key=lambda n: (n in ("_NL", "$END", "_INDENT", "_DEDENT"), n)):
        literal = _literal(patterns.get(name, ""))
        word = WORDS.get(name) or (f"`{literal}`" if literal else "")
        if word and word not in words:
            words.append(word)
    shown = words[:6]
    return (lead + " or ".join(shown) + (" …" if len(words) > 6 else "")) if shown else ""


def _literal(pattern: str) -> str:
    """The plain word behind a keyword's pattern, or nothing."""
    word = pattern.split("(?![")[0]
    return word if re.fullmatch(r"[a-z-]+", word) else ""


def _odd_character(line: str, file: str, number: int) -> Mistake | None:
    """What a word processor or a slip of the hand leaves in a line, outside quoted text."""
    bare = re.sub(r'"[^"]*"', lambda m: "_" * len(m[0]), line)
    bare = re.sub(r"(?<!\w)#.*", "", bare)
    checks = (
        (r"[“”„«»]", "a curly quotation mark", 'write the plain mark `"`'),
        (r"[–—−‐‑]", "this dash is not the plain `-`", "write ` - ` between two links of a chain"),
        (r'"', "this text has no closing quotation mark", 'close it with `"` on the same line'),
    )
    for pattern, text, hint in checks:
        found = re.search(pattern, bare)
        if found:
            column = found.start() + 1
            return Mistake(Place(file, number, column, column + 1), text, hint)
    return None


def token_line(error: UnexpectedInput, lines: int) -> int:
    """The 1-based line of the block that an error belongs to."""
    line = error.line if isinstance(error.line, int) and error.line > 0 else lines
    if isinstance(error, UnexpectedToken) and isinstance(error.token, Token):
        if error.token.type in ("_INDENT", "_DEDENT"):
            return min(line + (error.token.type == "_INDENT"), lines)
        if error.token.type == "$END":
            return lines
    return min(line, lines)
