"""Why a line could not be understood, in the trade's words: one message for one syntax error.

`LOOKS` lists what is looked at, in order; the first look that recognises the mistake explains it.
A correction that is shown for pasting has been read by the parser first (`Broken.reads`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection

from lark import Token, UnexpectedInput, UnexpectedToken

from analyser.language.attributes import ATTRIBUTES, STARTS
from analyser.language.broken import (
    Broken,
    attribute_example,
    bare,
    begins,
    choices,
    code_of,
    example,
    expected_by,
    first_word_changed,
    keywords,
    literal,
    meant_by,
    shown,
    title_of,
    words_of,
)
from analyser.language.broken_chains import chain, in_a_name, no_name, no_point, several_words
from analyser.language.broken_numbers import band, number
from analyser.language.broken_phrases import direction, phrases, two_words
from analyser.language.mistakes import Mistake, Place, did_you_mean, near
from analyser.language.vocabulary import (
    ATTRIBUTE_EXAMPLES,
    EXAMPLES,
    FACTS,
    FAILING,
    KNOTS_MEANT,
    KNOTTED,
    LET_OUT,
    LINE_ENDS,
    MARKS,
    NUMBERS,
    REQUIREMENTS_ABOUT,
    STATEMENTS,
    STATIONS,
    STEPS,
    SYNONYMS,
    WAYS_TO_FAIL,
    WORDS,
)


def explain(
    error: UnexpectedInput,
    line: str,
    place_line: int,
    file: str,
    kinds: Collection[str],
    patterns: dict[str, str],
    head: str,
    inside: bool,
    reads: Callable[[str], bool],
) -> Mistake:
    """One message for lark's error in `line` (text without its newline).

    `kinds` are the names of kinds known so far, `patterns` the terminals' regular expressions.
    """
    column = error.column if isinstance(error.column, int) and error.column > 0 else len(line) + 1
    kind = error.token.type if isinstance(error, UnexpectedToken) else ""
    code = code_of(line)
    word = (re.match(r"[\w-]*\w|.", line[column - 1 :]) or [""])[0]
    if kind in LINE_ENDS or column > len(code):
        column, word = len(code) + 1, ""
    broken = Broken(
        file,
        place_line,
        line,
        column,
        word,
        expected_by(error),
        head,
        inside,
        kind == "_INDENT",
        kinds,
        patterns,
        reads,
    )
    for look in LOOKS:
        mistake = look(broken)
        if mistake:
            return mistake
    return _not_understood(broken)


def misplaced(line: str, kinds: Collection[str]) -> str:
    """What a line at the left margin should have been indented under, or nothing."""
    found = re.match(r"([\w-]+)(?!\s*[,:.\w-])", line) or re.match(r"([\w-]+)(?!\s*[,:.])(?=\s)", line)
    first = found.group(1) if found else ""
    if first in kinds or first in STATEMENTS:
        return ""
    if first in STATIONS:
        return "rope"
    if first in STEPS:
        return "stage"
    return "observed" if first in FACTS else ""


def unknown_head(head: str, kinds: Collection[str]) -> bool:
    """Does a block begin with a word that is neither a statement nor a kind (nor `name: …`)?"""
    found = re.match(r"([\w-]+)(\s*[.,:])?", head)
    return bool(found and not found.group(2) and found.group(1) not in {*STATEMENTS, *kinds})


def not_a_statement(head: str, place: Place, kinds: Collection[str]) -> Mistake:
    """`roep` is neither a statement nor a kind."""
    word = (re.match(r"[\w-]+", head) or [""])[0]
    steers = re.match(r"(?:tag|steering|guide)[ -]?line ([\w-]+)", head)
    if steers:
        return Mistake(place.piece(0, len(word)), "a line that steers is a rope", f"write `rope {steers[1]}: tag line`")
    return Mistake(
        place.piece(0, len(word)),
        f"`{word}` is neither a statement nor a kind of part",
        meant_by(word, [*STATEMENTS, *kinds]) or begins(),
    )


# -- what is looked at, in order


def _odd_character(b: Broken) -> Mistake | None:
    """What a word processor or a slip of the hand leaves in a line, outside quoted text."""
    outside = bare(b.line)
    found = re.search(r"[“”„«»‘’]", outside)
    if found:
        fixed = re.sub(r"[“”„«»]", '"', b.line)
        return Mistake(b.at(found), "a curly quotation mark", b.write(fixed, 'write the plain mark `"`'))
    found = re.search(r"[–—−‐‑]", outside)
    if found:
        fixed = re.sub(r"\s*[–—]\s*", " - ", b.line) if re.search(r"\s[–—]|[–—]\s", outside) else b.line
        fixed = re.sub(r"[–—−‐‑]", "-", fixed)
        return Mistake(b.at(found), "this dash is not the plain `-`", b.write(fixed, "write the plain `-`"))
    found = re.search(r'"', outside)
    if found:
        if b.line.count('"') > 2 and re.search(r'"[^"]*"\w', b.line):
            return None
        fixed = b.line.rstrip() + '"'
        if b.word == '"' and not b.expected & {"TEXT"} and re.search(r'\w\s*"', b.before + '"') and not b.reads(fixed):
            return None
        help_ = b.write(fixed, 'close it with `"` on the same line')
        return Mistake(b.at(found), "this text has no closing quotation mark", help_)
    return None


def _quotes_inside(b: Broken) -> Mistake | None:
    if '"' in b.before and b.line.count('"') > 2 and not b.expected - {*LINE_ENDS}:
        inner = re.search(r'"(.*)"', b.line)
        fixed = f'{b.line[: inner.start()]}"{inner.group(1).replace(chr(34), chr(39))}"' if inner else b.line
        return Mistake(b.place(), "the text ended at the quotation mark before this", b.write(fixed))
    return None


def _indentation(b: Broken) -> Mistake | None:
    if not b.deeper:
        return None
    depth = len(b.line) - len(b.line.lstrip())
    return Mistake(
        b.place(1, depth),
        "this line is indented deeper than the one above it, which takes no lines under it",
        "line it up with the line above",
    )


def _head(b: Broken) -> Mistake | None:
    """The first word of a line at the margin."""
    if b.inside or not unknown_head(b.line, b.kinds):
        return None
    rest = b.line[len(b.first) :].lstrip()
    if (rest[:1].isdigit() or re.split(r"[\s,]", rest)[0] in STARTS) and b.reads(f"{b.first}: {rest}"):
        return Mistake(b.place(1, len(b.first)), f"a colon is missing after `{b.first}`", b.write(f"{b.first}: {rest}"))
    mistake = not_a_statement(b.line, b.place(1, 1), b.kinds)
    return Mistake(mistake.place, mistake.text, first_word_changed(b, [*STATEMENTS, *b.kinds]) or mistake.help)


def _no_station(b: Broken, first: str, where: Place, follows: str) -> Mistake | None:
    """What a line under a rope begins with, where that is neither a station nor an attribute."""
    if first in (*STATIONS, "slack", *ATTRIBUTES) or first in STARTS:
        return None
    if first in STATEMENTS or first in STEPS:
        return Mistake(
            where, f"`{first}` is not a station: it does not belong under `{title_of(b.head)}`", "move it left"
        )
    meant = first_word_changed(b, [*STATIONS, "slack", *ATTRIBUTES])
    meant = meant or meant_by(first, [*STATIONS.values(), *STATIONS, "slack", *ATTRIBUTES])
    knot = re.match(r"\s*([\w-]+)\s+(?:to|on|at|in)\s+(.+)", b.line)
    if re.match(r"\s*([\w-]+-)?knot(ted)?\s+(?:at|in|on)\s+(the\s+)?(rope'?s?\s+)?(very\s+)?end\b", b.line):
        meant = "write `stopper` for a knot in the rope's end"
    elif knot and first in b.kinds:
        meant = f"write `tied to {code_of(knot.group(2)).strip()} with {first}`"
    elif first in b.kinds and (part := re.fullmatch(r"\s*([\w-]+ [\w-]+)", code_of(b.line).rstrip())):
        meant = f"a part stands in a chain: at the left margin `attach … - {part[1]}`, or here `tied to {part[1]} - …`"
    stations = ", ".join(f"`{one}`" for one in STATIONS.values())
    if follows == ":":
        return None
    if first in ("load", "tail", "both"):
        meant = "it stands after the station it belongs to: `gripped by rack, load from red-bowline`"
    return Mistake(where, f"`{first}` does not begin a station", meant or f"a station begins with {stations}")


def _child(b: Broken) -> Mistake | None:
    """The first word of an indented line: does it belong there at all?"""
    if not b.inside or not b.first:
        return None
    first, where = b.first, b.place(len(b.line) - len(b.line.lstrip()) + 1, len(b.first))
    follows = b.line.lstrip()[len(first) :].lstrip()[:1]
    if b.key in ("rope", "rerig"):
        return _no_station(b, first, where, follows)
    if b.key in ("stage", "observed"):
        words = STEPS if b.key == "stage" else FACTS
        if first in words or (b.key == "stage" and first in b.kinds):
            return None
        what = "a step of a stage" if b.key == "stage" else "an observed fact"
        if first in STATIONS:
            hint = "a station stands under `rope red` or `rerig red`, indented once more"
        elif first in STATEMENTS:
            title = re.search(r'"[^"]*"', b.head)
            hint = "move it left"
            if first == "require" and title:
                hint += f": `in stage {title[0]}` at its end asks it of that stage"
        elif b.key == "stage" and (meant := _step_meant(b, first, follows)):
            return Mistake(where, f"`{first}` is not {what}", meant)
        else:
            hint = (
                first_word_changed(b, words)
                or meant_by(first, words)
                or "begins with " + ", ".join(f"`{one}`" for one in words[:-1])
            )
            hint = hint if hint.startswith(("did", "write")) else f"{what} {hint}"
        return Mistake(where, f"`{first}` is not {what}", hint)
    if first in STATIONS and first not in b.kinds:
        return Mistake(
            where,
            f"a station stands under its rope, and this line stands under `{title_of(b.head)}`",
            "move it under its rope: `rope red`, its stations indented in order",
        )
    if b.key == "cause":
        return None
    if (first in STATEMENTS or first in b.kinds) and first not in ATTRIBUTES and follows != ":":
        return Mistake(where, f"`{first}` does not belong under `{title_of(b.head)}`", "move this line left")
    return None


def _step_meant(b: Broken, first: str, follows: str) -> str:
    """What a line in a stage was to say that is another kind of line, or a step in other words."""
    code = code_of(b.line).strip()
    title = re.search(r'"[^"]*"', b.head)
    if re.search(r"\s(has|have|held|level)\s.*\b(attachments?|after any|with hands)\b", code):
        asked = f" in stage {title[0]}" if title else ""
        return f"what is required stands outside the stage: `require {code}{asked}`"
    if follows == ":":
        return "move it left; of a part that a step brings in, it stands in that step: `descender second: self-locking`"
    joined = re.match(
        r"(\s*)[\w-]+\s+([\w.-]+)\s+(?:on\s+)?(?:to|into|onto|on|with)\s+(?:the\s+)?([\w.-]+)$", code_of(b.line)
    )
    if joined and SYNONYMS.get(first.lower()) == "attach":
        return b.write(f"{joined[1]}attach {joined[2]} - {joined[3]}")
    if first.lower() in LET_OUT:
        verb = LET_OUT[first.lower()]
        return f"name the rope, and how much of it: `{verb} red by 2 m`"
    return ""


def _knot(b: Broken) -> Mistake | None:
    """`with a bowline`, `with clove hitch`: a knot's kind is one word, and no article stands before it."""
    found = re.match(
        r"(?P<start>\s*(?:tied\s+to\s.*?|closed)\s+with\s+)(?P<article>(?:an?|the)\s+)?"
        r"(?P<words>[\w'-]+(?:\s+[\w'-]+)*?)(?P<rest>\s*,.*|\s+as(?:\s.*)?|)$",
        code_of(b.line),
    )
    if not found or not b.inside or b.column <= found.end("start"):
        return None
    words, article = found["words"].split(), found["article"]
    joined = "-".join(words).lower().replace("'", "")
    kind = KNOTS_MEANT.get(joined, joined)
    if kind not in b.kinds and words[-1] in ("knot", "loop", "bend") and "-".join(words[:-1]) in b.kinds:
        kind = "-".join(words[:-1])
    if not article and (len(words) == 1 or (kind not in b.kinds and (words[0] in b.kinds or words[-1] not in KNOTTED))):
        return None
    if len(words) > 1 and kind not in b.kinds and words[-1] not in KNOTTED:
        return None
    fixed = b.line[: found.end("start")] + kind + b.line[found.end("words") :]
    if not b.reads(fixed):
        return None
    if len(words) == 1:
        return Mistake(b.at(found, "words"), f"no `{str(article).strip()}` stands before a knot", b.write(fixed))
    return Mistake(b.at(found, "words"), f"a knot is one word, and here are {_count(words)}", b.write(fixed))


def _count(words: Collection[str]) -> str:
    return next((word for word, digit in NUMBERS.items() if digit == str(len(words))), "several")


def _stopper(b: Broken) -> Mistake | None:
    """`stopper knot at end`: the word alone says it."""
    extra = re.match(r"(\s*stopper)\s+((?:knot|at|in|on)\b[^,]*?)(\s+as\s+[\w-]+)?$", code_of(b.line))
    if not extra or not b.inside or b.key not in ("rope", "rerig", "stage"):
        return None
    fixed = extra.group(1) + (extra.group(3) or "")
    return Mistake(b.at(extra, 2), f"`{extra.group(2)}` is not needed here", b.write(fixed)) if b.reads(fixed) else None


def _hands(b: Broken) -> Mistake | None:
    """`held by jo, sam`: a station has one pair of hands."""
    two = re.match(
        r"(\s*held\s+by\s+)([\w-]+)\s*(?:,|,?\s+and\s|\s&|\+)\s*(?!(?:load|tail|both|slack)\b)([\w-]+)(\s*,.*|)$",
        code_of(b.line),
    )
    if not two or not b.inside:
        return None
    start, first, second, rest = two.groups()
    if not b.reads(f"{start}{first}{rest}"):
        return None
    hint = f"{b.write(f'{start}{first}{rest}')} and, on a line of its own, `{shown(f'{start}{second}{rest}')}`"
    return Mistake(b.at(two, 3), "one person a station", hint)


def _missing_second_word(b: Broken) -> Mistake | None:
    """`tied master`, `gripped rack`, `worn sam`: exactly one word could stand here and doesn't."""
    words = {literal(b.patterns.get(name, "")) for name in b.expected} - {""}
    if b.expected - set(LINE_ENDS) != {n for n in b.expected if literal(b.patterns.get(n, ""))} or len(words) != 1:
        return None
    word = words.pop()
    last = (re.search(r"[\w-]+$", b.before) or [b.before[-1:]])[0]
    if b.word == "":
        return Mistake(b.place(), f"`{word}` is missing after `{last}`", b.write(f"{b.before} {word}") or example(b))
    if sorted(b.word.lower()) == sorted(word) or near(b.word, [word]):
        fixed = b.write(b.instead(b.column, len(b.word), word), f"did you mean `{word}`?")
        return Mistake(b.place(), f"`{b.word}` is not understood here", fixed)
    later, moved = re.subn(rf"\s+{re.escape(word)}(?![\w-])", "", b.line[b.column - 1 :], count=1)
    if moved and b.reads(f"{b.before} {word} {later}"):  # `lock left-brake off`
        return Mistake(b.place(), f"`{word}` stands before `{b.word}`", b.write(f"{b.before} {word} {later}"))
    swapped = b.instead(b.column, len(b.word), word)
    if b.word in ("with", "to", "in", "on", "by", "at", "from", "through", "of", "for") and b.reads(swapped):
        return Mistake(b.place(), f"`{word}` should stand here, not `{b.word}`", b.write(swapped))
    added = b.instead(b.column, 0, f"{word} ")
    if b.reads(added) and not (word == "as" and re.search(r"with\s+an?$", b.before)):
        return Mistake(b.place(), f"`{word}` is missing before `{b.word}`", b.write(added))
    return Mistake(b.place(), f"`{word}` should stand here, not `{b.word}`", b.write(swapped) or example(b))


def _attributes(b: Broken) -> Mistake | None:
    """Where attributes begin, what stands between them, and their names."""
    head = re.match(r"\s*([\w-]+)(\s+[\w.-]+)?", b.line)
    if not b.inside and head and ("COLON" in b.expected or re.search(r",\s*[\w-]+$|,$", b.before)):
        comma = re.match(rf"([^:\"]*?),\s*(?=((?:{'|'.join(sorted(STARTS))})(?![\w-])|\d))", b.line)
        if comma and ":" not in b.before and comma.end() <= b.column:
            fixed = f"{comma.group(1)}: {b.line[comma.end() :]}"
            if b.reads(fixed):
                return Mistake(
                    b.place(comma.end(1) + 1, 1),
                    "a comma where a colon belongs: attributes begin with a colon",
                    b.write(fixed),
                )
        if "COLON" in b.expected and b.word and (b.word in STARTS or re.match(r"\d", b.word)):
            fixed = f"{b.before}: {b.rest}"
            if b.reads(fixed):
                return Mistake(b.place(), f"a colon is missing before `{b.word}`", b.write(fixed))
        if "COLON" in b.expected and b.word and b.word in ";=":
            fixed = b.instead(len(b.before) + 1, b.column - len(b.before), ":")
            if b.reads(fixed):
                return Mistake(b.place(), f"`{b.word}` where a colon belongs", b.write(fixed))
    joined = re.search(r"(?<![\w-])(self|auto)$", b.before)
    if joined and b.word in ("locking", "lock"):
        length = b.column - joined.start(1) - 1 + len(b.word)
        fixed = b.instead(joined.start(1) + 1, length, "self-locking")
        said = f"`{joined[0]} {b.word}` is "
        said += "one word" if said == "`self locking` is " else "written `self-locking`"
        return Mistake(b.place(joined.start(1) + 1, length), said, b.write(fixed))
    if not b.word and b.before.endswith(":") and "STRENGTH" in b.expected:
        fixed = b.write(b.before[:-1].rstrip())
        hint = f"{fixed}, or an attribute after the colon" if fixed else "write an attribute after it: `strength 22 kN`"
        return Mistake(b.place(len(b.before), 1), "nothing follows this colon", hint)
    if b.word in (";", "=", "&", "+") and b.expected & {"COMMA"}:
        fixed = b.instead(len(b.before) + 1, b.column - len(b.before), ",")
        if b.reads(fixed):
            return Mistake(b.place(), f"`{b.word}` where a comma belongs", b.write(fixed))
    if "STRENGTH" in b.expected and "COLON" not in b.expected and b.word and b.first != "require":
        if re.match(r"\w", b.word):
            told = SYNONYMS.get(b.word.lower(), "")
            if b.word in ATTRIBUTE_EXAMPLES:
                text = f"`{b.word}` is not followed by what it needs"
                return Mistake(b.place(), text, f"for example `{ATTRIBUTE_EXAMPLES[b.word]}`")
            hint = "" if told in ATTRIBUTES else did_you_mean(b.word, ATTRIBUTES)
            if not hint and told:
                hint = f"write {told}" if " alone" in told else f"did you mean `{told}`?"
            hint = hint or 'for example `strength 22 kN`, `length 1.2 m`, `at (0, 1.5, 12)`; any other remark: `is "…"`'
            return Mistake(b.place(), f"`{b.word}` is not an attribute", hint)
        if re.search(r"[:,]$", b.before) and b.word == ",":
            return Mistake(b.place(), "an attribute is missing before this comma", b.write(b.instead(b.column, 1, "")))
    return None


def _marks(b: Broken) -> Mistake | None:
    """Marks and joining words of other languages, and of prose."""
    slashes = re.match(r"/[/*]|--\s", b.rest)
    if slashes and b.reads(f"{b.before}  # {b.rest[len(slashes[0]) :].strip()}"):
        text = f"`{slashes[0].strip()}` does not begin a comment"
        return Mistake(b.place(length=len(slashes[0].strip())), text, "a comment begins with `#`")
    if b.word == ":" and b.before.strip() in STATEMENTS:
        fixed = b.before + " " + b.rest[1:].lstrip()
        if b.before.strip() != "rope" or b.reads(fixed):
            return Mistake(b.place(), f"no colon stands after `{b.before.strip()}`", b.write(fixed) or example(b))
    article = re.search(r"(?<![\w-])the\s+", b.line[: b.column])
    if article and b.reads(fixed := b.line[: article.start()] + b.line[article.end() :]):
        return Mistake(b.place(article.start() + 1, 3), "no `the` stands before a name", b.write(fixed))
    for joined in re.finditer(r"\s+(and|&|\+|or)\s+", b.line[: b.column + len(b.word) + 1]):
        fixed = re.sub(r"\s*,?\s+(and|&|\+|or)\s+", ", ", b.line)
        if joined.end() >= len(b.before) and b.reads(fixed):
            text = f"`{joined.group(1)}` between two names: a list is written with commas"
            return Mistake(b.at(joined, 1), text, b.write(fixed))
    option = re.search(r"[^,\s]()\s+(load from|tail towards?|both ways|slack|padded by|kept clear by)\s", b.line + " ")
    if b.inside and option and option.start() < b.column:
        fixed = b.line[: option.start(1)] + "," + b.line[option.end(1) :]
        if b.reads(fixed):
            return Mistake(b.at(option, 2), f"a comma is missing before `{option.group(2)}`", b.write(fixed))
    if b.word in "([{" and "NAME" in b.expected and not re.search(r"\b(at|to)$", b.before):
        fixed = b.line[: b.column - 1] + re.sub(r"[()\[\]{}]", "", b.rest)
        if b.word and b.reads(fixed):
            return Mistake(b.place(), "names stand without brackets", b.write(fixed))
    if not b.word and b.expected == {"_INDENT"}:
        what = "its stations, in order" if b.first in ("rerig", "rope") else "what belongs to it"
        return Mistake(b.place(), f"nothing is indented under `{title_of(b.line)}`", f"indent under it {what}")
    return None


def _failure(b: Broken) -> Mistake | None:
    """How something fails; the reason of `sound` and `accept`."""
    statement = re.match(r"\s*(sound|accept|latent|cause)\b", b.line)
    key = statement.group(1) if statement else ""
    if key in ("sound", "accept", "latent") and not b.word and "COLON" in b.expected:
        text = f"`{key}` must give a reason"
        return Mistake(
            b.place(), text, b.write(f'{b.before}: "why"') and f'write `{shown(b.before)}: "…"` with your reason'
        )
    if key == "cause" and not b.word and b.expected & {"_INDENT"}:
        return Mistake(b.place(len(b.before), 1), "this cause names no failure", f"for example `{EXAMPLES['cause']}`")
    if not FAILING & b.expected:
        return None
    part = (re.search(r"[\w.#-]+$", b.before) or [""])[0]
    start = len(b.before) - len(part) + 1
    if b.word in ("", ",", ":"):
        return Mistake(b.place(start, len(part)), f"it is not said how `{part}` fails", WAYS_TO_FAIL)
    if (key == "cause" and ":" not in b.before) or not re.match(r"\w", b.word):
        return None
    words = ["fails", "slips", "cuts", "shifts", "strikes", "lets go", "holds on", "loses footing"]
    return Mistake(b.place(), f"`{b.word}` is not a way to fail", meant_by(b.word, words) or WAYS_TO_FAIL)


def _dots(b: Broken) -> Mistake | None:
    span = re.search(r"[\w-]+\[([\w.#-]+?)(\s*(?:\.+|…|-|,|:|to)\s*)([\w#-]+)\]", b.line)
    if span and span.group(2) != ".." and span.start() < b.column <= span.end():
        fixed = b.line[: span.start(2)] + ".." + b.line[span.end(2) :]
        return Mistake(b.at(span, 2), "a span is written with two dots", b.write(fixed))
    return None


def _requirement(b: Broken) -> Mistake | None:
    if b.first != "require":
        return None
    asked = re.match(
        rf"(\s*require\s+)((?:at least\s+)?({'|'.join(NUMBERS)}|\d+)\s+(?:independent\s+|separate\s+)?attachments?)"
        r"(?:\s+(?:for|on|to|of)\s+(.+?))?(\s+in\s+stage\s.*)?$",
        code_of(b.line),
    )
    if asked:
        start, _, number_, whom, stage = asked.groups()
        digit = NUMBERS.get(number_, number_)
        for subject in (whom or "every person", "every person"):
            for plural in ("attachments", "attachment"):
                fixed = f"{start}{subject} has {digit} independent {plural}{stage or ''}"
                if b.reads(fixed):
                    return Mistake(b.at(asked, 2), "who it is asked for comes first", b.write(fixed))
    for wrong, right in ((r"no-one|nobody", "no one"), (r"every ?body|every one", "everyone")):
        found = re.search(rf"(?<![\w-])({wrong})(?![\w-])", b.line)
        if found and b.reads(fixed := b.line[: found.start()] + right + b.line[found.end() :]):
            return Mistake(b.at(found), f"`{found[0]}` is written `{right}`", b.write(fixed))
    for word in ("at least", "at most"):
        fixed = b.instead(b.column, 0, f"{word} ")
        if b.expected == {"AT"} and b.word and b.reads(fixed):
            return Mistake(b.place(), f"`{word}` is missing before `{b.word}`", b.write(fixed))
    if b.word.lower() in NUMBERS and "NUMBER" in b.expected:
        digit = NUMBERS[b.word.lower()]
        both = b.write(b.instead(b.column, len(b.word), f"{digit} independent"), f"write `{digit}`")
        fixed = b.write(b.instead(b.column, len(b.word), digit), both)
        return Mistake(b.place(), f"`{b.word}` is written in digits here", fixed)
    extra = re.match(r"(is|are|be|stays?|must|should|remains?|kept|shall|will)(?![\w-])\s*(be\s+)?", b.rest)
    if extra:
        for word in ("", "has ", "held "):
            fixed = b.instead(b.column, len(extra[0]), word)
            if b.reads(fixed):
                return Mistake(
                    b.place(length=len(extra[0].rstrip())), f"`{extra[0].strip()}` is not needed here", b.write(fixed)
                )
    about = re.match(r"\s*require (?:(?:all|every|each|any|the|a|no) )*([\w-]+)", b.line)
    if about and about[1] in REQUIREMENTS_ABOUT:
        asked_of = REQUIREMENTS_ABOUT[about[1]]
        text = (
            "this requirement is not known" if b.word else f"it is not said what is asked of `{b.before.split()[-1]}`"
        )
        return Mistake(b.place(), text, f"for example `require {asked_of}`")
    if re.search(r"\bevery$", b.before) and b.word:
        text = f"`{b.word}` is not what a requirement asks about"
        return Mistake(b.place(), text, "it asks about every person, anchor, connector, edge or rope end")
    if {"HELD", "HAS"} <= b.expected and b.word:
        for word in ("has", "held"):
            if near(b.word, [word]):
                return Mistake(b.place(), f"`{b.word}` is not understood here", f"did you mean `{word}`?")
        subject = re.sub(r"^\s*require\s+", "", b.before)
        if subject in NUMBERS or subject.isdigit():
            subject = "every person"
        return Mistake(
            b.place(),
            "this requirement is not known",
            f"for example `{subject} held after any 1 failure`, `{subject} has 2 independent attachments`",
        )
    if b.expected & {"NUMBER"} and b.word and re.match(r"[a-z]", b.word):
        fixed = b.instead(b.column, 0, "2 " if "has" in b.before or "have" in b.before else "1 ")
        if b.reads(fixed):
            return Mistake(b.place(), f"a number is missing before `{b.word}`", b.write(fixed))
    if not b.word and not b.before.strip().removeprefix("require").strip():
        return Mistake(b.place(), "`require` asks for nothing", f"for example `{EXAMPLES['require']}`")
    return None


def _text(b: Broken) -> Mistake | None:
    """Text in quotes is due, and something else stands there."""
    if "TEXT" not in b.expected or len(b.expected) > 3:
        return None
    if not b.word:
        if not b.before.endswith(":"):
            return None
        text = f"`{b.first}` must give a reason"
        return Mistake(b.place(len(b.before), 1), text, f'write `{shown(b.before)} "…"` with your reason')
    rest = code_of(b.rest)
    if b.word == ":":
        fixed = b.line[: b.column - 1].rstrip() + " " + b.rest[1:].lstrip()
        return Mistake(b.place(), "no colon stands here", b.write(fixed) or example(b))
    inner = rest.strip().strip("'`")
    fixed = b.instead(b.column, len(rest), f'"{inner}"')
    what = "single quotation marks" if b.word in "'`" else 'text without its "quotes"'
    return Mistake(b.place(length=len(rest.rstrip())), what, b.write(fixed) or example(b))


def _near_word(b: Broken) -> Mistake | None:
    """A misspelt word of the language."""
    if not re.match(r"\w", b.word):
        return None
    words = keywords(b)
    close = near(b.word, words, 1)
    if close:
        fixed = b.instead(b.column, len(b.word), close[0])
        return Mistake(b.place(), f"`{b.word}` is not understood here", b.write(fixed) or f"did you mean `{close[0]}`?")
    last = re.search(r"([\w-]+)$", b.before)
    if last and re.match(r"\w", b.word):  # the parser took the slip for a name and stumbled over what follows
        for word in near(last.group(1), [*words_of(b), "with", "as"], 2):
            fixed = b.instead(last.start() + 1, len(last.group(1)), word)
            if b.reads(fixed):
                return Mistake(b.at(last), f"`{last.group(1)}` is not understood here", b.write(fixed))
    return None


def _one_edit(b: Broken) -> Mistake | None:
    """One word or mark put in, changed or taken out, and the line reads."""
    if b.word:
        for name in sorted(b.expected & set(MARKS)):
            gap = "" if name in ("COMMA", "COLON") else " "
            fixed = f"{b.before}{gap}{MARKS[name]} {b.rest}"
            if re.match(r"\w", b.word) and b.reads(fixed):
                return Mistake(b.place(), f"{WORDS[name]} is missing before `{b.word}`", b.write(fixed))
            fixed = f"{b.before}{gap}{MARKS[name]} {b.rest[len(b.word) :].lstrip()}"
            if not re.match(r"\w", b.word) and b.reads(fixed):
                return Mistake(b.place(), f"`{b.word}` where {WORDS[name]} belongs", b.write(fixed))
        for word in sorted(keywords(b)):
            fixed = b.instead(b.column, 0, f"{word} ")
            if b.reads(fixed):
                return Mistake(b.place(), f"`{word}` is missing before `{b.word}`", b.write(fixed))
        less = b.line[: b.column - 1].rstrip() + " " + b.rest[len(b.word) :].lstrip()
        if b.reads(less.rstrip()):
            return Mistake(b.place(), f"`{b.word}` does not belong here", b.write(less.rstrip()))
    return None


def _detach_dash(b: Broken) -> Mistake | None:
    """`detach cow - rb`: a chain where one thing comes off another. A comma would take off both, of everything."""
    if b.word != "-" or not re.match(r"\s*detach\s", b.before) or " from " in b.before:
        return None
    fixed = b.instead(b.column, 1, "from")
    text = "a dash joins, and `detach` takes one thing off another"
    return Mistake(b.place(), text, b.write(fixed, "write `detach A from B`"))


LOOKS: tuple[Callable[[Broken], Mistake | None], ...] = (
    band,
    _odd_character,
    _indentation,
    _detach_dash,
    phrases,
    _head,
    _child,
    _knot,
    _stopper,
    _hands,
    direction,
    _quotes_inside,
    _text,
    _dots,
    _failure,
    _marks,
    number,
    two_words,
    chain,
    in_a_name,
    no_name,
    _attributes,
    _requirement,
    _missing_second_word,
    several_words,
    no_point,
    _near_word,
    _one_edit,
)
"""Every look takes a broken line and explains it, or leaves it to the next."""


def _not_understood(b: Broken) -> Mistake:
    if not b.word:
        wanted = choices(b.expected - set(LINE_ENDS), b.patterns) or choices(b.expected, b.patterns)
        last = (re.search(r"([\w-]+|\S)$", b.before) or [""])[0]
        two = re.search(r"(operated|minded|worn|gripped|held|padded|guyed|load|tail|tied)\s+\w+$", b.before)
        text = f"the line ends after `{two[0] if two else last}`"
        return Mistake(
            b.place(), f"{text}: {wanted} should follow" if wanted else text, example(b) or attribute_example(b)
        )
    return Mistake(
        b.place(),
        f"`{b.word}` is not understood here",
        example(b) or choices(b.expected, b.patterns, "here can stand "),
    )


def token_line(error: UnexpectedInput, lines: list[str]) -> int:
    """The 1-based line of the block that an error belongs to, one that says something."""
    line = error.line if isinstance(error.line, int) and error.line > 0 else len(lines)
    if isinstance(error, UnexpectedToken) and isinstance(error.token, Token):
        if error.token.type == "_INDENT":
            return next((k for k in range(line + 1, len(lines) + 1) if lines[k - 1]), len(lines))
        if error.token.type == "$END":
            line = len(lines)
    line = min(line, len(lines))
    while line > 1 and not lines[line - 1]:
        line -= 1
    return line
