"""The bench on which a rig is put together: what has been named so far, what touches, what was found wrong.

Everything on it is a finished value; `drafting.py` is where a part is being described.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from analyser.language.lookalikes import differing, points, skeleton
from analyser.language.mistakes import Mistake, Place, did_you_mean, near, one_slip, with_article
from analyser.language.parsing import Document
from analyser.language.syntax import Attribute, Word, links_of
from analyser.language.vocabulary import ATTRIBUTE_EXAMPLES, EXAMPLES, KINDS_MEANT, STATEMENTS
from analyser.rig.catalogue import Kind, meant
from analyser.rig.elements import BODIES, Contact, Nature, Part, Quantity
from analyser.rig.model import Caution

MOST_COMPARED = 8_000
"""Names looked at for `did you mean …?` in one run."""


@dataclass(frozen=True, slots=True)
class Stand:
    """A group of which a frame must have `count` (None: all), as written; `row`: one behind the other."""

    count: int | None
    words: tuple[Word, ...]
    spelt: str
    laced: bool
    """By `needs` or `in line`, and so neither a foot nor a guy?"""
    row: bool = False


@dataclass
class Draft:
    """What is said of a part or a rope, while it is read: what is kept as it is in `fields`, names as
    written in `words`, two lists of them in `pairs`, by what each is kept in."""

    name: str
    kind: Kind
    place: Place
    fields: dict[str, Any] = field(default_factory=dict)
    words: dict[str, list[Word]] = field(default_factory=dict)
    pairs: dict[str, tuple[list[Word], list[Word]]] = field(default_factory=dict)
    stands: list[Stand] = field(default_factory=list)
    quantities: dict[str, Quantity] = field(default_factory=dict)
    said: dict[str, Attribute] = field(default_factory=dict)
    """What the file said first of the part itself, by what it is kept in."""

    @property
    def nature(self) -> Nature:
        return self.kind.nature

    def named(self, kept: str) -> list[Word]:
        return self.words.get(kept, [])


@dataclass(frozen=True)
class Known:
    """What a bench knows of a file that was read: all names of all states, looked up."""

    parts: Mapping[str, Part]
    stands: Mapping[str, tuple[Stand, ...]]
    ropes: Mapping[str, Place]
    hazards: Mapping[str, Place]
    names: Mapping[str, str]
    doubts: frozenset[str]
    broken: frozenset[str]
    nameless: bool


class Bench:
    """Parts by name, contacts, and what was found wrong on the way."""

    def __init__(self, document: Document, kinds: dict[str, Kind]) -> None:
        self.document = document
        self.kinds = kinds
        self.doubts = set(document.doubtful)
        self.broken = set(document.broken_ropes)
        self.parts: dict[str, Part] = {}
        """Every part by name; bare as long as it is among the drafts."""
        self.drafts: dict[str, Draft] = {}
        self.stands: dict[str, tuple[Stand, ...]] = {}
        """What each frame stands on, as written."""
        self.ropes: dict[str, Place] = {}
        self.hazards: dict[str, Place] = {}
        """What `near` names, where first."""
        self.contacts: dict[tuple[str, str], Contact] = {}
        self.mistakes: list[Mistake] = []
        self.follows: set[Mistake] = set()
        """Those that may only follow from another: told where nothing else is wrong."""
        self.late: set[Mistake] = set()
        """Those that nothing follows from: what is wrong once the rig is built, in what is said of it."""
        self.built = False
        self.stepping = False
        """Is a step being done? Then a name may be there twice only because an earlier step was not read."""
        self.cautions: list[Caution] = []
        self.used: set[str] = set()
        """Parts that something touches, runs over, stands on or works."""
        self.names: dict[str, str] = {}
        """Every name that the file gives, wherever it stands, and its kind."""
        self.nameless = False
        """Was a declaration without a name? Then a name nobody declared is not reported."""
        self.pointless: set[str] = set()
        self.compared = 0
        self._counts: Counter[str] | None = None
        self._linked: dict[str, Word] | None = None

    def known(self) -> Known:
        """All names of the file, once it is read."""
        parts, stands, ropes, hazards = dict(self.parts), dict(self.stands), dict(self.ropes), dict(self.hazards)
        doubts, broken = frozenset(self.doubts), frozenset(self.broken)
        return Known(parts, stands, ropes, hazards, dict(self.names), doubts, broken, self.nameless)

    @classmethod
    def knowing(cls, document: Document, kinds: Mapping[str, Kind], known: Known) -> Bench:
        """A bench on which a whole file lies and nothing is wrong: one more step is tried on it."""
        bench = cls(document, dict(kinds))
        bench.parts, bench.stands, bench.ropes = dict(known.parts), dict(known.stands), dict(known.ropes)
        bench.hazards, bench.names, bench.nameless = dict(known.hazards), dict(known.names), known.nameless
        bench.doubts, bench.broken = set(known.doubts), set(known.broken)
        return bench

    # -- saying what is wrong

    def wrong(self, place: Place, text: str, hint: str = "", *, follows: bool = False) -> None:
        """`follows`: it may be so only because something else is wrong, and is told where nothing else is."""
        self.mistakes.append(Mistake(place, text, hint))
        if follows:
            self.follows.add(self.mistakes[-1])
        elif self.built:
            self.late.add(self.mistakes[-1])

    def told(self) -> list[Mistake]:
        """Every independent mistake; what may only follow from others where there are none."""
        found = set(self.mistakes)
        return sorted(found - self.follows if found - self.follows - self.late else found)

    def misnamed(self, word: Word, among: Iterable[str], text: str, hint: str, *, follows: bool = True) -> None:
        """A name that stands for nothing. One that is declared, is a slip of the hand away and is named nowhere
        else is where the slip was made; with no name so near, something else may have taken it away."""
        slips = [one for one in among if one_slip(word.text, one)]
        lone = [one for one in slips if self.misspelt(one, word.text)] if len(slips) == 1 else []
        if lone and (place := self.declared_at(lone[0])):
            one, other = lone[0].split(".")[-1], word.text.split(".")[-1]
            told = f"`{one}` is named only here, and `{other}` is not declared (line {word.place.line})"
            self.wrong(place, told, f"did you mean `{other}`?")
        else:
            self.wrong(word.place, text, hint, follows=follows and not slips)

    def declared_at(self, name: str) -> Place | None:
        return self.parts[name].place if name in self.parts else self.ropes.get(name)

    def misspelt(self, declared: str, named: str) -> bool:
        """Of a name that is declared and one that isn't: was the slip made where it is declared?"""
        counts = self._written()
        if counts[declared.split(".")[-1]] != 1:
            return False
        if counts[named] > 1:
            return True
        known, other = (sum(counts[piece] for piece in re.split(r"[.-]", one)) for one in (declared, named))
        return other > known

    def _written(self) -> Counter[str]:
        """How often each name, each piece of a name and each word of a text or a comment is written."""
        if self._counts is None:
            examples = " ".join([*EXAMPLES.values(), *ATTRIBUTE_EXAMPLES.values()])
            self._counts = Counter(one for one in re.findall(r"\w+", examples) if len(one) > 2)
            for lines in self.document.sources.values():
                for line in lines:
                    code = re.sub(r'"[^"]*"', "", line.split("#")[0])
                    names = re.findall(r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)?", code)
                    pieces = (re.split(r"[.-]", name) for name in names if re.search(r"[.-]", name))
                    self._counts.update([*names, *(one for row in pieces for one in row)])
                    self._counts.update(re.findall(r"\w+", line.removeprefix(code).lower()))
        return self._counts

    def doubt(self, *names: str) -> None:
        """What is wrong with these names was told: they are not reported again."""
        self.doubts.update(names)

    def doubtful(self, name: str) -> bool:
        """Was the name only on lines that could not be read? Then it was reported already.

        So is a name that such a line would have made: `red-bowline` of a rope, `left-carabiner`.
        """
        doubtful = self.doubts
        name = name.split("#")[0]
        if name in doubtful or name.split(".")[0] in doubtful:
            return True
        if any(name.startswith(f"{rope}-") for rope in self.broken):
            return True
        pieces = name.rstrip("0123456789").rstrip("-").split("-") if name[-1:].isdigit() else name.split("-")
        cuts = range(1, len(pieces))
        return any("-".join(pieces[:i]) in doubtful and "-".join(pieces[i:]) in doubtful for i in cuts)

    def unknown(self, word: Word, what: str, among: Iterable[str], kind: str) -> None:
        """A name that nothing in the file gives: a near name of the right sort first."""
        if self.doubtful(word.text):
            return
        fitting = list(among)
        alike = "" if word.text.isascii() or self.compared > MOST_COMPARED else self.like(word.text)
        if alike:
            other, own = next(differing(alike, word.text))
            text = f"`{word.text}` is not `{alike}`: it has {points(own)} for {points(other)}"
            self.wrong(word.place, text, f"write `{alike}`")
            self.doubt(word.text)
            return
        hint = self.suggest(word.text, fitting)
        near_by = fitting if hint else list(self.parts)
        hint = hint or self.suggest(word.text, near_by)
        if not hint and self.nameless:
            return
        self.misnamed(
            self.first_linked(word),
            near_by if hint else (),
            f"there is no {what} called `{word.text}`",
            hint or (f"declare it with its kind: `{self.kind_told(word.text, kind)} {word.text}`" if kind else ""),
        )
        self.doubt(word.text)

    def like(self, name: str) -> str:
        """The part whose name looks like this one."""
        self.compared += len(self.parts)
        return next((one for one in self.parts if skeleton(one) == skeleton(name)), "")

    def first_linked(self, word: Word) -> Word:
        """The name where it stands in a chain, if it does before: there its kind is wanted."""
        if self._linked is None:
            self._linked = {}
            for link in (link for statement in self.document.statements for link in links_of(statement)):
                if link.name and not link.kind:
                    self._linked.setdefault(link.name.text, link.name)
        first = self._linked.get(word.text, word)
        return min(first, word, key=lambda one: one.place)

    def kind_told(self, name: str, kind: str) -> str:
        """The kind that a name itself tells of, where one of that sort fits: `rope-grab` for `left-grab`."""
        wanted = self.kinds.get(kind)
        for piece in reversed(name.lower().rstrip("0123456789").split("-")):
            told = self.kinds.get(KINDS_MEANT.get(piece, piece))
            if told is None or wanted is None or told.nature is Nature.KNOT:
                continue
            if told.nature is wanted.nature or kind == "carabiner":
                return told.name
            if kind == "pulley" and told.nature is Nature.JOINT:
                return told.name
        return kind

    def suggest(self, word: str, among: Iterable[str]) -> str:
        """`did you mean …?`, as long as that costs no noticeable time in all."""
        known = list(among)
        self.compared += len(known)
        return did_you_mean(word, known) if self.compared < MOST_COMPARED else ""

    def kind(self, word: Word, *, begins: bool = False) -> Kind | None:
        """The kind of that name; `begins`: the word begins a line, where statements begin too."""
        kind = self.kinds.get(word.text)
        if kind is None and not self.doubtful(word.text):
            hint = meant(word.text, self.kinds, STATEMENTS if begins else (), "`stillheld kinds` lists them all")
            if word.text == "the":
                hint = "no `the` stands before a name: write the name alone"
            self.wrong(word.place, f"there is no kind of part called `{word.text}`", hint)
            self.doubt(word.text)
        return kind

    # -- names and contacts

    def part(
        self, word: Word, what: str = "part", natures: tuple[Nature, ...] = (), kind: str = "carabiner"
    ) -> Part | None:
        """The part a name stands for, or a mistake that says which one may be meant.

        `what` and `natures` say what is wanted here, `kind` how one of that sort is declared.
        """
        found = self.parts.get(word.text)
        if found:
            return found
        if "." in word.text and not self.doubtful(word.text):
            body_name, point = word.text.split(".", 1)
            body = self.parts.get(body_name)
            if body and body.nature not in BODIES and "bar" not in body.family:
                self.wrong(word.place, f"{is_a(body)}: it has no points", f"write `{body_name}`")
                self.doubt(word.text)
                return None
            if body:
                have = [one.point for one in self.parts.values() if one.body == body_name and one.point]
                if not have:
                    self._no_points(body_name, word)
                    return None
                near_points = [f"{body_name}.{one}" for one in near(point, have)]
                hint = (
                    "did you mean " + " or ".join(f"`{one}`" for one in near_points) + "?"
                    if near_points
                    else (f"its points are {', '.join(have)}; a new one is declared: `{body_name}: points {point}`")
                )
                place = word.place.piece(len(body_name) + 1, len(point))
                points = [f"{body_name}.{one}" for one in have]
                text = f"`{body_name}` has no point `{point}`"
                self.misnamed(Word(word.text, place), points, text, hint, follows=False)
                self.doubt(word.text)
                return None
            bodies = [d.name for d in self.parts.values() if d.nature in BODIES]
            body_word = Word(body_name, word.place.piece(0, len(body_name)))
            self.unknown(body_word, "person, litter or load", bodies, "person")
            return None
        if word.text in self.ropes:
            knots = [f"`{d.name}`" for d in self.parts.values() if d.rope == word.text and d.nature is Nature.KNOT]
            self.wrong(
                word.place,
                f"`{word.text}` is a rope: what touches it touches one of its knots",
                f"name the knot: {' or '.join(knots)}" if knots else f"add a station to `rope {word.text}`",
            )
            return None
        if word.text in self.kinds and word.text not in self.names and not self.doubtful(word.text):
            text = f"`{word.text}` is a kind of part, and no part is called so"
            self.wrong(word.place, text, f"write `a {word.text}`, or the name of one")
            self.doubt(word.text)
            return None
        fitting = [d.name for d in self.parts.values() if not natures or d.nature in natures]
        self.unknown(word, what, fitting, kind)
        return None

    def _no_points(self, body: str, word: Word) -> None:
        """A body used as `body.point` that has no points: told once, with all that are used."""
        if body not in self.pointless and not self.doubtful(f"{body}.points"):
            used: dict[str, None] = {}
            for lines in self.document.sources.values():
                for line in lines:
                    used |= dict.fromkeys(re.findall(rf"(?<![\w.-]){re.escape(body)}\.([\w-]*\w)", line.split("#")[0]))
            text = f"`{body}` has no points, and is used as `{word.text}`"
            self.wrong(word.place, text, f"declare them: `{body}: points {', '.join(used)}`")
        self.pointless.add(body)

    def one_of(
        self, word: Word, natures: tuple[Nature, ...], what: str, kind: str, otherwise: str, hint: str
    ) -> Part | None:
        """A part of some natures; for another, `otherwise` goes on after what it is, and `hint` says what to do."""
        found = self.part(word, what, natures, kind)
        if found and found.nature not in natures:
            self.wrong(word.place, f"{is_a(found)}{otherwise}", hint)
            return None
        return found

    def person(self, word: Word) -> str | None:
        """A person's name; they are taken as used."""
        people = list(islice((f"`{d.name}`" for d in self.parts.values() if d.nature is Nature.PERSON), 3))
        hint = f"name a person: {' or '.join(people)}" if people else "declare one: `person jo`"
        found = self.one_of(word, (Nature.PERSON,), "person", "person", ", not a person", hint)
        if found:
            self.used.add(found.name)
        return found.name if found else None

    def touch(self, a: str, b: str, place: Place, *, given: bool = True) -> None:
        if a == b:
            self.wrong(place, f"`{a}` is joined to itself", "name two different parts")
            return
        key = (a, b) if a < b else (b, a)
        if key in self.contacts:
            first = self.contacts[key].place.line
            text = f"`{a}` and `{b}` already touch (line {first}): said twice, it is still one contact"
            self.cautions.append(Caution("repeated-contact", key, text, place))
            return
        self.contacts[key] = Contact(a, b, place, given)
        if given:
            self.used |= {a, b}

    def touchable(self, part: Part, place: Place) -> bool:
        """Edges and pads touch nothing: a rope passes over them."""
        if part.nature not in (Nature.EDGE, Nature.PAD):
            return True
        edge = part.nature is Nature.EDGE
        self.wrong(
            place,
            f"{is_a(part)}: nothing is attached to it, ropes pass over it",
            f"write it as a station of the rope: `over {part.name}`"
            if edge
            else f"write it at the edge that the rope passes: `over lip, padded by {part.name}`",
        )
        return False

    def is_body(self, name: str) -> bool:
        """Is a name of the file a body's, wherever it stands?"""
        kind = self.kinds.get(self.names[name])
        return kind is not None and kind.nature in BODIES


def is_a(part: Part) -> str:
    """`left-bolt` is an anchor: how a sentence begins that says what is wrong with that."""
    return f"`{part.name}` is {with_article(part.kind)}"
