"""Kinds: the catalogue of grammar/kinds.rig, and those that a rig adds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import grammar
from analyser.language.broken import kinds_of_standard
from analyser.language.mistakes import Mistake, Place, did_you_mean, edits, near
from analyser.language.natures import Nature
from analyser.language.parsing import parse_text
from analyser.language.syntax import Attribute, NewKind
from analyser.language.vocabulary import KINDS_MEANT

MEANINGS = {
    "ground": "held by itself until it fails",
    "joint": "holds, and is held by, whatever it touches",
    "pulley": "a joint; rope runs through it ungripped",
    "grip": "a joint; also grips the rope that passes it",
    "knot": "made by a rope's `tied to`; ends or anchors the rope there",
    "edge": "no contact; can cut the ropes over it",
    "pad": "no contact; keeps a rope off an edge while it is there",
    "frame": "held only through what it stands on: feet and guys",
    "person": "a body that must stay held; never bears anything in the answer",
    "litter": "a body that must stay held; bears what hangs from it",
    "load": "a body that must stay held; bears what hangs from it",
    "harness": "a point of a person that can fail: `harness h: worn by sam`",
    "structure": "what parts are part of: when it gives way or moves off, they all go",
    "rope": "what ropes are like: `rope red: like low-stretch-a`",
}
"""The kinds that every other kind stands on in the end."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind: its nature, and the attributes it gives by default, nearest kind last."""

    name: str
    like: str | None
    nature: Nature
    attributes: tuple[Attribute, ...]
    meaning: str


def family(kind: Kind, kinds: dict[str, Kind]) -> tuple[str, ...]:
    """A kind's name and those of the kinds that it stands on, nearest first."""
    names = [kind.name]
    while kind.like and kind.like in kinds:
        kind = kinds[kind.like]
        names.append(kind.name)
    return tuple(names)


def meant(word: str, kinds: dict[str, Kind], among: Iterable[str] = (), otherwise: str = "") -> str:
    """`did you mean …?`: a standard's kind spelt otherwise, a near name, or the kind that a word of the trade
    tells of; else `otherwise`. `among`: what else may be meant."""
    standard = kinds_of_standard(word, kinds)
    if standard:
        return "did you mean " + " or ".join(f"`{one}`" for one in standard[:5]) + "?"
    known = [*kinds, *among]
    close = near(word, known, 1)
    pieces = word.lower().split("-")
    told = next((one for one in (word.lower(), *reversed(pieces)) if one.rstrip("0123456789") in KINDS_MEANT), "")
    trade = KINDS_MEANT.get(told.rstrip("0123456789"), "")
    if trade in kinds and not (close and edits(word.lower(), close[0], 1) <= 1):
        return f"did you mean `{trade}`?"
    return did_you_mean(word, known, otherwise)


def natures() -> dict[str, Kind]:
    return {name: Kind(name, None, Nature(name), (), meaning) for name, meaning in MEANINGS.items()}


@lru_cache(maxsize=1)
def catalogue() -> dict[str, Kind]:
    """The kinds that every rig knows, by name, in the catalogue's order."""
    kinds = natures()
    text = grammar.text("kinds.rig").encode()
    document = parse_text(text, "kinds.rig", Path(), set(kinds))
    mistakes = list(document.mistakes)
    for statement in document.statements:
        if isinstance(statement, NewKind):
            mistakes += add(kinds, statement)
    if mistakes:
        raise AssertionError(f"grammar/kinds.rig is broken: {mistakes[0]}")
    return kinds


def add(kinds: dict[str, Kind], statement: NewKind) -> list[Mistake]:
    """Add a `kind` statement to `kinds`; what was wrong with it comes back."""
    name, like = statement.name, statement.like
    if name.text in kinds:
        return [_mistake(name.place, f"the kind `{name.text}` is already there", "give it a name of its own")]
    if like.text not in kinds:
        hint = meant(like.text, kinds, otherwise="`stillheld kinds` lists them all")
        return [_mistake(like.place, f"there is no kind `{like.text}`", hint)]
    parent = kinds[like.text]
    meaning = next((a.text for a in statement.attributes if a.key == "called" and a.text), parent.meaning)
    own = tuple(a for a in statement.attributes if a.key != "called")
    kinds[name.text] = Kind(name.text, like.text, parent.nature, parent.attributes + own, meaning)
    return []


def _mistake(place: Place, text: str, hint: str) -> Mistake:
    return Mistake(place, text, hint)
