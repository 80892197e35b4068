"""Names and chains of links that could not be read."""

from __future__ import annotations

import re

from analyser.language.broken import Broken, bare, code_of, example
from analyser.language.mistakes import Mistake, near
from analyser.language.vocabulary import EXAMPLES


def chain(b: Broken) -> Mistake | None:
    """The links of an `attach`, or of a station's chain."""
    chained = re.match(r"\s*(attach|tied to|through|gripped by)(?![\w-])", b.line)
    if not chained or not b.before.strip().startswith(chained.group(1)):
        return None
    is_attach = chained.group(1) == "attach"
    after = b.line[chained.end() :]
    if re.search(r"-\s*$", b.before) and not re.search(r"\w-$", b.before):
        if b.word == ">":
            fixed = re.sub(r"\s*<?-+>\s*", " - ", b.line)
            return Mistake(b.place(b.column - 1, 2), "a contact has no direction: no arrow", b.write(fixed))
        if not b.word:
            fixed = re.sub(r"\s*-$", "", b.before)
            return Mistake(
                b.place(len(b.before), 1),
                "no link follows this dash",
                "name what it touches, or take the dash out"
                if not b.reads(fixed) or fixed.count(" - ") == 0
                else f"name what it touches, or {b.write(fixed)}",
            )
        if b.word.startswith("-"):
            return Mistake(b.place(), "a link is missing between two dashes", b.write(re.sub(r"-(\s*-)+", "-", b.line)))
    if not b.word and not after.strip():
        return Mistake(
            b.place(),
            f"`{chained.group(1)}` is not followed by a part",
            f"for example `{EXAMPLES[chained.group(1).split()[0]]}`",
        )
    point = re.search(r"(?<![\w.-])([\w.-]+)\s+([\w-]+)$", b.before[chained.end() :])
    if b.word == "." and point:
        start = chained.end() + point.start(2) + 1
        fixed = b.instead(start, 0, "- ")
        if b.reads(fixed):
            return Mistake(b.place(start, len(point.group(2))), "a dash is missing before this link", b.write(fixed))
    if is_attach:
        if b.word == "," or (re.search(r"\w\s*,\s*\w", bare(after)) and b.word == ""):
            fixed = re.sub(r"\s*,\s*", " - ", b.line)
            return Mistake(b.place(), "a comma between two links: a chain is written with dashes", b.write(fixed))
        joined = re.search(r"\s(to|and|onto|with|into|on|from)\s", b.line)
        if joined and joined.start() < b.column:
            fixed = re.sub(r"\s(to|and|onto|with|into|on|from)\s", " - ", b.line)
            if b.reads(fixed):
                return Mistake(
                    b.at(joined, 1),
                    f"`{joined.group(1)}` between two links: a chain is written with dashes",
                    b.write(fixed),
                )
        named = re.search(r"(?<![\w-])(an?)\s+([\w-]+)$", b.before)
        if named and re.match(r"[\w-]+", b.word):
            fixed = b.line[: named.start(1)] + b.line[named.start(2) :]
            unnamed = b.instead(b.column, len(b.word), "").replace("  ", " ")
            hint = b.write(fixed, "") + (f", or `{named[0]}` to have it named" if b.reads(unnamed) else "")
            return Mistake(b.at(named, 1), "a part with an article is named for you: no name follows it", hint)
        if b.word in (":", ",") and re.search(r"\w$", b.before):
            part = (re.search(r"[\w.-]+$", b.before) or [""])[0]
            said = (re.match(r":\s*([^-]*?)\s*(?:-\s|$)", code_of(b.rest)) or ["", ""])[1]
            return Mistake(
                b.place(),
                "no attributes stand in a chain",
                f"on a line of its own: `{part}: {said or 'strength 22 kN'}`",
            )
    order = re.match(r"(.*?)\s+(as\s+[\w-]+)\s+(with\s+[\w-]+)(.*)", b.line)
    if order and b.word == "with":
        fixed = f"{order.group(1)} {order.group(3)} {order.group(2)}{order.group(4)}"
        return Mistake(b.place(length=len(order.group(3))), "the knot's kind comes before its name", b.write(fixed))
    if b.word == "" or not re.match(r"\w", b.word) or "MINUS" not in b.expected:
        return None
    last = re.search(r"(?<![\w.-])([\w-]+)\s+([\w.-]+)$", b.before[chained.end(1) :])
    if chained.group(1) == "tied to" and last and near(last.group(2), ["with", "as"]):
        word = near(last.group(2), ["with", "as"])[0]
        start = chained.end(1) + last.start(2) + 1
        fixed = b.instead(start, len(last.group(2)), word)
        if b.reads(fixed):
            place = b.place(start, len(last.group(2)))
            return Mistake(place, f"`{last.group(2)}` is not understood here", b.write(fixed))
    return None


def no_name(b: Broken) -> Mistake | None:
    """A name is due and something else stands there."""
    if not b.expected & {"NAME", "LABEL"} or "UNIT" in b.expected:
        return None
    quoted = re.match(r'"([^"]*)"', b.rest)
    if quoted and "TEXT" not in b.expected:
        plain = re.sub(r"[^\w]+", "-", quoted.group(1)).strip("-") or "name"
        title = re.match(r"\s*attach|\s*(tied|through|gripped)", b.line)
        no_marks = "no quotation marks stand here" if " " in quoted.group(1) else "a name has no quotation marks"
        if b.reads(bare_words := b.instead(b.column, len(quoted[0]), quoted.group(1))):
            return Mistake(b.place(length=len(quoted[0])), no_marks, b.write(bare_words))
        text = "a title or text is not a part" if title and " " in quoted.group(1) else "a name has no quotation marks"
        hint = (
            b.write(b.instead(b.column, len(quoted[0]), plain))
            if " " not in quoted.group(1) or not title
            else ("name a part that stands in this file")
        )
        return Mistake(b.place(length=len(quoted[0])), text, hint or example(b))
    if b.word == "," and re.search(r"(,|^\s*[\w-]+)$", b.before):
        return Mistake(b.place(), "a name is missing before this comma", "write the name, or take the comma out")
    if not b.word and b.before.endswith(","):
        return Mistake(b.place(b.column - 1), "nothing follows this comma", b.write(b.before[:-1].rstrip()))
    dashed = re.match(r"-+(\w[\w-]*)", b.rest)
    if dashed and "MINUS" not in b.expected and not re.search(r"-\s*$", b.before):
        fixed = b.instead(b.column, len(dashed[0]), dashed.group(1))
        return Mistake(b.place(length=len(dashed[0])), f"a name does not begin with `-`: `{dashed[0]}`", b.write(fixed))
    if b.word == ":" and b.first == "rope" and not b.inside:
        return Mistake(b.place(1, 4), "this rope has no name", b.write(b.line.replace("rope", "rope red", 1)))
    return None


def in_a_name(b: Broken) -> Mistake | None:
    """A character that cannot stand in a name, with a letter on both sides; a possessive; a slash."""
    if not re.match(r"[^\w\s,:.\-\"()\[\]|#;=<>]\w", b.rest) or not re.search(r"\w$", b.before):
        return None
    if len(b.before) != b.column - 1:
        return None
    left = (re.search(r"[\w.-]+$", b.before) or [""])[0]
    possessive = re.match(r"(?:'s\s+|[/\\:>])(\w[\w-]*)", b.rest)
    start = b.column - len(left)
    if possessive and re.match(r"\s*(attach|tied|through|gripped|detach)\b", b.line):
        whole = left + possessive[0]
        fixed = b.instead(start, len(whole), f"{left}.{possessive.group(1)}")
        mark = possessive[0][: -len(possessive.group(1))].rstrip()
        return Mistake(b.place(length=len(mark)), "a point is written with a dot: `body.point`", b.write(fixed))
    whole = (re.match(r"[^\s,:]+", b.line[start - 1 :]) or [left])[0]
    plain = re.sub(r"[^\w-]", "", whole)
    return Mistake(
        b.place(),
        f"`{b.word}` cannot stand in a name",
        b.write(b.instead(start, len(whole), plain), "a name is letters, digits, `_` and inner `-`"),
    )


def several_words(b: Broken) -> Mistake | None:
    """`ring master point`: a name of two words."""
    if b.inside or b.first not in b.kinds or not {"COLON", "COMMA"} <= b.expected or not re.match(r"\w", b.word):
        return None
    if "NAME" in b.expected:
        return None
    last = (re.search(r"[\w-]+$", b.before) or [""])[0]
    dashed = b.write(f"{b.before}-{b.rest}")
    return Mistake(
        b.place(b.column - 1 - len(last), len(last) + 1 + len(b.word)) if len(b.before) == b.column - 2 else b.place(),
        f"a name is one word, and here are two: `{last} {b.word}`",
        f"{dashed}, or a comma between two names" if dashed else "write a dash inside a name, a comma between two",
    )


def no_point(b: Broken) -> Mistake | None:
    """`held by sam.waist`: a point where only a whole part is named."""
    point = re.match(r"\.\w[\w-]*", b.rest)
    if point and b.reads(b.instead(b.column, len(point[0]), "")):
        text = f"no point is named here: `{point[0]}` does not belong"
        return Mistake(b.place(length=len(point[0])), text, b.write(b.instead(b.column, len(point[0]), "")))
    return None
