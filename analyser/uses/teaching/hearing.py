"""What somebody answered, understood as kindly as can be, and judged by the answer that the question has."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from analyser.checking.finding import listed
from analyser.language.mistakes import did_you_mean
from analyser.rig.model import Rig
from analyser.uses.teaching.question import Asks, Question

NONE = ("nobody", "none", "no one", "no-one", "noone", "nothing", "no", "0", "-", "nil")
ALL = ("all", "all of them", "everyone", "everybody", "everything", "both", "each")
YES = ("yes", "y")
BETWEEN = {"and", "or", "also", "then", "with", "by", "the", "a", "an", "only", "just", "both", "is", "are", "will"}
BETWEEN |= {"would", "still", "held", "fall", "falls", "fell", "it", "its", "of", "to", "from", "on", "at", "via"}
MODES = {"fails", "fail", "slips", "slip", "shifts", "cuts", "cut", "strikes", "lets", "go", "goes", "holds", "loses"}
MODES |= {"footing", "breaks", "option", "answer", "rope"}


@dataclass(frozen=True, slots=True)
class Heard:
    """An answer. `unclear` says what was not understood; then nothing was judged."""

    given: tuple[str, ...]
    right: bool = False
    unclear: str = ""
    missing: tuple[str, ...] = ()
    """What should have been named as well."""
    extra: tuple[str, ...] = ()
    """What should not have been named."""


def hear(question: Question, text: str) -> Heard:
    """Understand and judge an answer: names, `nobody`, `all`, a letter; near misses are asked back."""
    words = " ".join(text.split()).strip(" .!,;")
    if not words:
        return Heard(
            (), unclear="an answer is one or more names" if question.asks is not Asks.OPTION else _letters(question)
        )
    if question.asks is Asks.OPTION:
        return _option(question, words)
    known = _known(question)
    low = words.lower()
    whole = {"all": question.names if question.asks is Asks.ALL else ()}
    given: tuple[str, ...]
    if low not in known and low in NONE:
        given = ()
    elif low not in known and question.asks is Asks.ALL and (low in ALL or (low in YES and len(question.names) == 1)):
        given = whole["all"]
    else:
        found, strange = _names(words, known)
        if strange:
            words_too = ("nobody", "all") if question.asks is Asks.ALL else ("none",)
            hint = did_you_mean(strange, {*known.values(), *words_too}, _there_are(question))
            return Heard((), unclear=f"there is no `{strange}` to name here: {hint}")
        given = found
        if not given:
            return Heard((), unclear=_there_are(question))
    return _judged(question, given)


def _judged(question: Question, given: tuple[str, ...]) -> Heard:
    right = set(question.right)
    if question.asks is Asks.ALL:
        missing = tuple(name for name in question.right if name not in given)
        extra = tuple(name for name in given if name not in right)
        return Heard(given, not missing and not extra, missing=missing, extra=extra)
    if not given:
        return Heard(given, not right)
    if question.asks is Asks.WAY:
        return Heard(given, any(set(given) <= set(way) for way in question.ways))
    parts = _parts(question.rig, right)
    extra = tuple(name for name in given if name not in right and name not in parts)
    return Heard(given, not extra, extra=extra)


def _parts(rig: Rig, failures: Iterable[str]) -> set[str]:
    """The parts and ropes of which one of these is a failure."""
    known = [rig.index.failures[one] for one in failures if one in rig.index.failures]
    return {name for one in known for name in (one.part, one.id.owner)}


def _known(question: Question) -> dict[str, str]:
    """Names as they may be given: as written, or in other letters where that is unambiguous."""
    folded: dict[str, list[str]] = {}
    for name in question.names:
        folded.setdefault(name.lower(), []).append(name)
    known = {low: names[0] for low, names in folded.items() if len(names) == 1}
    return known | {name: name for name in question.names}


def _names(words: str, known: dict[str, str]) -> tuple[tuple[str, ...], str]:
    """The names in an answer, and the first word that is none. Failures with spaces count as one name."""
    found: list[str] = []
    left = words
    for name in sorted((name for name in known if " " in name or "[" in name), key=lambda n: (-len(n), n)):
        pattern = re.compile(rf"(?<![\w-]){re.escape(name)}(?![\w-])", re.IGNORECASE)
        if pattern.search(left):
            found.append(known[name])
            left = pattern.sub(" , ", left)
    strange = ""
    for word in re.findall(r"[\w.#-]+(?:\[[^\]]*\])?", left):
        bare = word.strip(".-") or word
        one = known.get(bare) or known.get(bare.lower())
        if one:
            found.append(one)
        elif bare.lower() not in BETWEEN and bare.lower() not in MODES and bare.isprintable():
            strange = strange or bare
    return tuple(dict.fromkeys(found)), strange


def _option(question: Question, words: str) -> Heard:
    letters = [chr(ord("a") + k) for k in range(len(question.options))]
    found = [one for one in re.findall(r"[^\W\d_]+", words.lower()) if one in letters]
    if words.lower().strip("()") in letters:
        found = [words.lower().strip("()")]
    if len(set(found)) != 1:
        return Heard((), unclear=_letters(question))
    return Heard((found[0],), found[0] in question.right)


def _letters(question: Question) -> str:
    return f"answer with one letter, a to {chr(ord('a') + len(question.options) - 1)}"


def _there_are(question: Question) -> str:
    if question.asks is Asks.ALL:
        return f"name one or more of {listed(list(question.names))}, or say `nobody` or `all`"
    return "name a part as the rig does" + (", or say `none`" if question.asks is Asks.ONE else "")
