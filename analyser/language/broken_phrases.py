"""What people write in words of their own, and how the language says it."""

from __future__ import annotations

import re
from functools import lru_cache

from analyser.language.broken import Broken, bare, code_of, kinds_of_standard, shown
from analyser.language.mistakes import Mistake
from analyser.language.vocabulary import (
    ACCEPT_PHRASES,
    AUTO_LOCKING,
    LOCKING,
    NEAR_PHRASES,
    NOT_LOCKING,
    PART_PHRASES,
    REQUIRE_PHRASES,
    ROPE_PHRASES,
    STANDARD_ROPES,
    STEP_PHRASES,
    WHY,
)

MARKED = {":": "a colon", ",": "a comma"}
EXAMPLE = 'for example `accept short-tail on red-bowline: "set hard"`'
LONGEST = 300
"""Characters of a line that is looked at here: nobody writes a longer one by hand."""


def phrases(b: Broken) -> Mistake | None:
    """What the line says in other words than the language's."""
    if len(b.line) > LONGEST:
        return None
    for look in (
        onto,
        done_by,
        tied_to_both,
        adjective,
        standard,
        accepted,
        lying_round,
        in_line,
        around,
        tail,
        phrase,
        rope_kind,
    ):
        mistake = look(b)
        if mistake:
            return mistake
    return None


def onto(b: Broken) -> Mistake | None:
    """`attach hub - grab to main`: where on the rope; outside a stage a part is a station of its rope."""
    found = re.match(
        r"\s*attach\s.*?\s(to|on|onto)\s+(?:the\s+)?(?:rope\s+)?([\w-]+)(?P<rest>\s+between\s.*|,.*|)$", code_of(b.line)
    )
    if not found or found[2] in b.kinds:
        return None
    rope, between = found[2], found["rest"].strip().startswith("between")
    if b.key != "stage" or not b.inside:
        text = "a part is put on a rope by a step; a rope as first laid names it as a station"
        hint = f"write it under `rope {rope}`: `gripped by …` or `through …`"
        return Mistake(b.at(found, 1), text, hint) if between else None
    start = f"{b.line[: found.start(1)]}to {rope} "
    if between:
        fixed = start + found["rest"].strip()
        wrong = found[1] != "to" and b.reads(fixed)
        return Mistake(b.at(found, 1), f"`{found[1]}` is written `to`", b.write(fixed)) if wrong else None
    if not b.reads(f"{start}between start and end{found['rest']}"):
        return None
    chain = f"{b.line[: found.start(1)].rstrip()} - {rope}"
    text = f"`{found[1]}` puts a part on a rope, between two of its stations"
    hint = f"write `{shown(chain)}`, or, where `{rope}` is a rope, `to {rope} between A and B`"
    return Mistake(b.at(found, 1), text, hint)


def done_by(b: Broken) -> Mistake | None:
    """`lock off rack by kim`, `lock off rack, kim`: who does a step stands after a comma and `by`."""
    found = re.match(
        r"(?P<start>\s*.*?\S)(?P<by>,?\s+by\s+|,\s*)(?P<names>[\w-]+(?:(?:,| and|, and) [\w-]+)*)$", code_of(b.line)
    )
    if not found or b.key != "stage" or not b.inside or not ("DONE_BY" in b.expected or found["by"].strip() == ", by"):
        return None
    names = re.sub(r",? and ", ", ", found["names"])
    fixed = f"{found['start']}, by {names}"
    if not b.reads(fixed):
        return None
    text = "who does a step stands at its end, after a comma and `by`"
    return Mistake(b.at(found, "names"), text, b.write(fixed))


def tied_to_both(b: Broken) -> Mistake | None:
    """`tied to a1, a2 with overhand`: one knot round several things."""
    found = re.match(
        r"(\s*tied\s+to\s+)([^,]+?)((?:\s*(?:,|&|\+)\s*(?:and\s+)?[\w.-]+)+)(\s+(?:with|as)\s.*|)$", code_of(b.line)
    )
    if not found or not b.inside:
        return None
    more = re.sub(r"\s*(?:,|&|\+)\s*(?:and\s+)?", " and ", found[3])
    fixed = f"{found[1]}{found[2]}{more}{found[4]}"
    if not b.reads(fixed):
        return None
    return Mistake(b.at(found, 3), "one knot round several things: `and` stands between them", b.write(fixed))


def phrase(b: Broken) -> Mistake | None:
    """A way of saying it that is not the language's: the nearest way that is, where the line then reads."""
    table = _table(b)
    everything = b.line
    for pattern, instead in table:
        fixed = _said(pattern, instead, b.line)
        if fixed != b.line and b.reads(fixed):
            told, found = _told(b, fixed), _compiled(pattern).search(b.line)
            kind = re.search(r"\b(structure|vehicle) [a-z][\w-]*", b.line)
            if kind and instead == r"part of \1":
                return Mistake(told.place, told.text, f"{told.help} and, on a line of its own, `{kind[0]}`")
            why = WHY.get(pattern) or WHY.get(instead)
            if not why or not found:
                return told
            text, lead = why
            at_the_end = told.place.column > len(code_of(b.line))
            return Mistake(told.place if at_the_end else b.at(found), text, told.help.replace("write", lead, 1))
        everything = _said(pattern, instead, everything)
    return _told(b, everything) if everything != b.line and b.reads(everything) else None


def _table(b: Broken) -> tuple[tuple[str, str], ...]:
    """The phrases that can stand in a line of this sort."""
    if b.first == "require":
        return REQUIRE_PHRASES
    if b.first in ("accept", "sound", "latent"):
        return ACCEPT_PHRASES
    if b.key in ("rope", "rerig") or (b.key == "stage" and b.inside):
        return (STEP_PHRASES if b.key == "stage" else ()) + ROPE_PHRASES + NEAR_PHRASES
    if b.first in ("attach", "tied", "through", "gripped", "held", "interlock", "cause", "likelihood", "note", "rig"):
        return ()
    return PART_PHRASES + NEAR_PHRASES


@lru_cache(maxsize=256)
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(rf"(?:(?<![\w.-])|(?=[,\s]))(?:{pattern})(?:(?<!\w)|(?![\w-]))", re.IGNORECASE)


def _said(pattern: str, instead: str, line: str) -> str:
    """The line with the first such phrase outside quoted text said as the language says it."""
    plain = bare(line)
    for found in _compiled(pattern).finditer(line):
        keep = found.groupdict().get("keep")
        start = found.end("keep") if keep is not None else found.start()
        if '"' not in found[0] and plain[start : found.end()] != line[start : found.end()]:
            continue
        new = found.expand(instead)
        if line[start : found.end()] != new:
            return line[:start] + new + line[found.end() :]
    return line


def _told(b: Broken, fixed: str) -> Mistake:
    """The piece in which two lines differ, and the line as it should be."""
    old, new = code_of(b.line), code_of(fixed)
    first = next((i for i, (one, two) in enumerate(zip(old, new, strict=False)) if one != two), min(len(old), len(new)))
    while first and any(re.fullmatch(r"[\w.-]{2}", text[first - 1 : first + 1]) for text in (old, new)):
        first -= 1
    last, other = len(old), len(new)
    while last > first and other > first and old[last - 1] == new[other - 1]:
        last, other = last - 1, other - 1
    while last < len(old) and re.match(r"[\w.-]", old[last]) and _inside_word(old, last, new, other):
        last, other = last + 1, other + 1
    wrong, right = old[first:last], new[first:other]
    lead = len(wrong) - len(wrong.lstrip())
    place = b.place(first + 1 + (lead if wrong.strip() else 0), len(wrong.strip()))
    wrong, right = wrong.strip(), right.strip()
    if wrong and right:
        text = f"`{wrong}` is written `{right}`"
    elif wrong:
        text = f"`{wrong}` is not needed here"
    else:
        after = re.match(r"\s*([\w.-]+|\S)", old[last:])
        start = last + (len(old[last:]) - len(old[last:].lstrip()))
        before = (re.search(r"[\w.-]+|\S\s*$", old[:first].strip()) or [""])[0]
        missing = MARKED.get(right, f"`{right}`")
        if after and after[1] == '"':
            place, text = b.place(start + 1, len(old) - start), f"{missing} is missing before the text"
        elif after:
            place, text = b.place(start + 1, len(after[1])), f"{missing} is missing before `{after[1]}`"
        else:
            before = (re.search(r"[\w.-]+$|\S$", old[:first].rstrip()) or [""])[0]
            place, text = b.place(len(old) + 1, 1), f"{missing} is missing after `{before}`"
    return Mistake(place, text, b.write(fixed))


def _inside_word(old: str, last: int, new: str, other: int) -> bool:
    """Does the piece that differs end inside a word?"""
    one, two = old[last - 1 : last], new[other - 1 : other]
    return bool(re.match(r"[\w.-]", one) or re.match(r"[\w.-]", two))


def adjective(b: Broken) -> Mistake | None:
    """`locking carabiner c`: what a part is like stands after its name."""
    ways = (("not locking", NOT_LOCKING), ("locking", rf"(?:locking|{LOCKING}|{AUTO_LOCKING})"), ("textile", "textile"))
    for attribute, pattern in ways:
        found = re.match(
            rf"(?P<start>\s*|.*?(?:attach |- |to |through )(?P<article>an? )?)(?P<word>{pattern}) (?P<kind>[\w-]+)"
            rf"(?P<names> \w[\w-]*(?:, ?\w[\w-]*)*)?(?P<colon> ?: ?)?(?P<rest>.*)$",
            b.line,
        )
        if not found or found["kind"] not in b.kinds:
            continue
        place = b.at(found, "word")
        text = f"`{found['word']}` is said after a part's name, not before its kind"
        if found["start"].strip():
            name = (found["names"] or "").strip()
            start, colon = found["start"], found["colon"] or ""
            fixed = f"{start}{found['kind']}{f' {name}' if name else ''} ({attribute}){colon}{found['rest']}"
            if b.reads(fixed):
                return Mistake(place, text, b.write(fixed))
        elif found["names"] and (not found["rest"].strip() or found["colon"]):
            rest = f", {found['rest']}" if found["rest"].strip() else ""
            fixed = f"{found['start']}{found['kind']}{found['names']}: {attribute}{rest}"
            if b.reads(fixed):
                return Mistake(place, text, b.write(fixed))
    trailing = re.match(
        rf"(?P<start>\s*attach .*?)(?P<kind>[\w-]+) (?P<name>[\w-]+)(?P<word>:? (?:{NOT_LOCKING}|locking|{LOCKING}))"
        r"(?P<rest>(?: - .*)?)$",
        code_of(b.line),
    )
    if trailing and trailing["kind"] in b.kinds:
        word = trailing["word"].lstrip(": ")
        attribute = "not locking" if re.fullmatch(NOT_LOCKING, word) else "locking"
        fixed = f"{trailing['start']}{trailing['kind']} {trailing['name']} ({attribute}){trailing['rest']}"
        if b.reads(fixed):
            place = b.place(trailing.end("word") - len(word) + 1, len(word))
            return Mistake(place, "in a chain, attributes stand in brackets", b.write(fixed))
    return None


def standard(b: Broken) -> Mistake | None:
    """`carabiner EN362 B crab`, `rope red: like EN 1891 A`: a standard's kind is one word."""
    found = re.match(
        r"(?P<start>.*?\blike )(?P<words>(?:EN|NFPA)[ \w-]*?)(?P<rest> ?,.*|)$", code_of(b.line), re.IGNORECASE
    )
    if found:
        meant = kinds_of_standard(found["words"], b.kinds)
        if len(meant) == 1 and b.reads(fixed := found["start"] + meant[0] + found["rest"]):
            return Mistake(b.at(found, "words"), f"`{found['words']}` is written `{meant[0]}`", b.write(fixed))
    if b.inside:
        return None
    head = re.match(r"[\w -]+", code_of(b.line))
    words = head[0].split() if head else []
    if len(words) < 2 or not re.search(r"\b(?:en|nfpa)", head[0] if head else "", re.IGNORECASE):
        return None
    for count in range(min(len(words), 5), 1, -1):
        meant = kinds_of_standard(" ".join(words[:count]), b.kinds)
        if len(meant) == 1:
            said, rest = " ".join(words[:count]), b.line[len(" ".join(words)) :]
            names = " ".join(words[count:])
            fixed = f"{meant[0]} {names or 'NAME'}{rest}".rstrip()
            if names and b.reads(fixed):
                return Mistake(b.place(1, len(said)), f"`{said}` is written `{meant[0]}`", b.write(fixed))
            if not names:
                return Mistake(
                    b.place(1, len(said)),
                    f"`{said}` is written `{meant[0]}`",
                    f"for example `{meant[0]} left-crab{rest}`",
                )
    return None


def lying_round(b: Broken) -> Mistake | None:
    """`sling s: wrapped 3 round beam`: what it lies round, it is attached to."""
    found = re.match(
        r"(?P<what>[\w-]+(?: [\w-]+)?): (?P<how>(?:wrapped(?: \d)?|looped)"
        r" (?:round|around|over|on|to) (?:the )?(?P<other>[\w.-]+))$",
        code_of(b.line),
    )
    fixed = f"attach {found['other']} - {found['what']}" if found else ""
    if not found or not b.reads(fixed):
        return None
    return Mistake(b.at(found, "how"), "what a sling or strap lies round, it is attached to", f"write `{fixed}`")


def in_line(b: Broken) -> Mistake | None:
    """`holdfast pickets: laced to front, middle, rear`, `in a row front, rear`, `in line 2 of front, rear`."""
    found = re.match(
        r"(.*?:.*?)\b(in (?:an? )?(?:lines?|rows?)(?: with| of)?|laced(?: back)?(?: to)?):? (.+)$", code_of(b.line)
    )
    if not found:
        return None
    if found[2] == "in line" and not re.match(r"\d", found[3]):
        return None
    names = re.sub(r" ?,? (?:and|then) ", ", ", found[3])
    for word, text in (
        ("in line", "what is laced one behind the other stands `in line`, the one that is pulled on first"),
        ("needs", "of a line the first must stand; of how many some are enough is said with `needs`"),
    ):
        fixed = f"{found[1]}{word} {names}"
        if b.reads(fixed):
            return Mistake(b.at(found, 2), text, f"write `{fixed.strip()}`")
    return None


def around(b: Broken) -> Mistake | None:
    """`over lip, near pipe`, `over lip, inside tube`: what is round a span stands above its station."""
    if not b.inside or b.key not in ("rope", "rerig", "stage"):
        return None
    found = re.match(r"(\s*[\w-]+ .+?), ?((near|inside) (?:the )?([\w-]+))$", code_of(b.line))
    if not found or not b.reads(found[1]):
        return None
    text = f"`{found[3]}` speaks of the span before a station, and stands on a line of its own above it"
    return Mistake(b.at(found, 2), text, f"write `{found[3]} {found[4]}` and, below it, `{shown(found[1])}`")


def tail(b: Broken) -> Mistake | None:
    """A tail where no knot is, and a tail on a line of its own."""
    if not b.inside or b.key not in ("rope", "rerig", "stage"):
        return None
    alone = re.match(r"\s*(tail(?: of)? ?[\d.]* ?\w*)$", code_of(b.line))
    if alone:
        text = "a tail belongs to its knot, on the knot's own line"
        return Mistake(b.at(alone, 1), text, "for example `tied to master with bowline, tail 150 mm`")
    other = re.match(r"(\s*(?:over|held|stopper)\b.*?), ?(tail (?!towards?\b).*)$", code_of(b.line))
    if other and b.reads(other[1]):
        return Mistake(b.at(other, 2), "a tail is what a knot leaves over", "give it where the rope is `tied to`")
    return None


def direction(b: Broken) -> Mistake | None:
    """`directions south within 30 deg`, `directions (0, 1) within 30 deg`."""
    few = re.search(r"directions? .*?(\([^()]*\))", b.line)
    if few and few.start() < b.column <= few.end() and len(re.findall(r"[\d.]+", few[1])) != 3:
        text = "a direction is three numbers, x, y and z up"
        return Mistake(b.at(few, 1), text, "write all three: `(0, 0, -1)` is down")
    if not {"LPAR", "DOWN"} <= b.expected or not re.match(r"[a-z]", b.word) or b.word == "within":
        return None
    text = f"`{b.word}` is not a direction: that is `down`, or three numbers, x, y and z up"
    return Mistake(b.place(), text, "for example `directions (1, 0, 0) within 30 deg`")


def accepted(b: Broken) -> Mistake | None:
    """`accept short tail on red-tail`, `accept short-tail, no-stopper on red`: one rule, one word, on a part."""
    if b.first != "accept":
        return None
    if re.match(r"accept on [\w-]+", b.line):
        return Mistake(b.place(8, 2), "it is not said which rule is accepted", EXAMPLE)
    found = re.match(
        r"(accept )(?:(?:the|rule|finding) )*(?P<rule>[\w-]+(?: [\w-]+){0,4}?(?:, ?[\w-]+)*) (?:on|for|at|of|in|to) "
        r"(?P<names>(?:the )?(?:rope (?=[\w-]))?.+?)(?P<rest> ?:.*|)$",
        b.line,
    )
    if not found:
        nothing = re.match(r"accept ([\w-]+) on ?(?=:|$)", b.line)
        if nothing:
            text = f"it is not said on which part `{nothing[1]}` is accepted"
            return Mistake(b.place(nothing.end(1) + 2, 2), text, EXAMPLE.replace("short-tail", nothing[1]))
        return None
    names = re.sub(r"\b(?:the|rope) (?=[\w-])", "", found["names"])
    if "," in found["rule"]:
        lines = [f"accept {rule} on {names}{found['rest']}" for rule in re.split(r", ?", found["rule"])]
        if not all(b.reads(line) for line in lines):
            return None
        others = ", ".join(f"`{shown(line)}`" for line in lines[1:])
        place = b.place(found.start("rule") + 1, len(found["rule"]))
        return Mistake(place, "one rule is accepted a line", f"{b.write(lines[0])} and, on a line of its own, {others}")
    fixed = f"accept {found['rule'].replace(' ', '-')} on {names}{found['rest']}"
    return _told(b, fixed) if fixed != b.line and b.reads(fixed) else None


def rope_kind(b: Broken) -> Mistake | None:
    """`rope red: low-stretch-a`, `rope red: static`: what a rope is like."""
    if b.key not in ("rope", "rerig"):
        return None
    for found in re.finditer(r"(?:[:,] ?|^\s+)([\w-]+)(?= ?(?:,|$))", code_of(b.line)):
        meant = [found[1]] if found[1] in b.kinds else list(STANDARD_ROPES.get(found[1].lower().replace("-", ""), ()))
        fixes = [f"{b.line[: found.start(1)]}like {kind}{b.line[found.end(1) :]}" for kind in meant]
        if len(fixes) > 1 and b.reads(fixes[0]):
            either = " or ".join(f"`like {kind}`" for kind in meant)
            return Mistake(
                b.at(found, 1), f"`{found[1]}` is not an attribute", f"write {either}, as the rope is marked"
            )
        if fixes and b.reads(fixes[0]):
            return _told(b, fixes[0])
    return None


def two_words(b: Broken) -> Mistake | None:
    """`attach jo - gear loop tools`: a kind is one word."""
    for found in re.finditer(r"(?<![\w.-])(?=([\w-]+) ([\w-]+))", bare(b.line)):
        kind = f"{found[1]}-{found[2]}"
        fixed = b.line[: found.start(1)] + kind + b.line[found.end(2) :]
        if kind in b.kinds and b.reads(fixed):
            place = b.place(found.start(1) + 1, len(kind))
            return Mistake(place, f"a kind is one word, and here are two: `{found[1]} {found[2]}`", b.write(fixed))
    return None
