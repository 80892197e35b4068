"""The workbench on which a rig is put together: declared parts, their attributes, their names.

A `Draft` is a part while it is being read; `Bench.finish` freezes them all.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from analyser.reading.broken import kinds_of_standard
from analyser.reading.mistakes import Mistake, Place, did_you_mean, near, with_article
from analyser.reading.parsing import Document
from analyser.reading.syntax import Attribute, Link, Measure, Word
from analyser.reading.vocabulary import ATTRIBUTES, FLAGS, KINDS_MEANT, STATEMENTS, SYNONYMS
from analyser.rig.kinds import Kind, family, meant
from analyser.rig.model import BODIES, Caution, Contact, Nature, Need, Part, Quantity
from analyser.rig.quantities import GRAVITY, measures, quantity
from analyser.rig.sizes import doubt

SHARING = (
    Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.GRIP, Nature.FRAME, Nature.PAD, Nature.STRUCTURE,
)  # fmt: skip
"""What can be part of something, and go with it."""
ONLY_FOR: dict[str, tuple[tuple[Nature, ...], str]] = {
    "standing": ((Nature.PERSON,), "a person"),
    "exposed": ((Nature.PERSON,), "a person"),
    "points": (BODIES, "a person, a litter or a load"),
    "ends": (BODIES, "a person, a litter or a load"),
    "below": ((Nature.GROUND, Nature.PERSON), "an anchor, a footing or a person"),
    "not_below": ((Nature.GROUND, Nature.PERSON), "an anchor, a footing or a person"),
    "self_locking": ((Nature.GRIP,), "a device that grips rope"),
    "both_ways": ((Nature.GRIP,), "a device that grips rope"),
    "operated_by": ((Nature.GRIP,), "a device that grips rope"),
    "minded_by": ((Nature.GRIP,), "a device that grips rope"),
    "worn_by": ((Nature.HARNESS,), "a harness"),
    "feet": ((Nature.FRAME,), "a frame (a tripod, a gin pole, a holdfast)"),
    "guyed_by": ((Nature.FRAME,), "a frame (a tripod, a gin pole, a holdfast)"),
    "needs": ((Nature.FRAME,), "a frame (a tripod, a gin pole, a holdfast)"),
    "guarded_by": ((Nature.EDGE,), "an edge"),
    "locking": ((Nature.JOINT,), "a connector"),
    "not_locking": ((Nature.JOINT,), "a connector"),
    "gate_open": ((Nature.JOINT,), "a connector"),
    "minor_axis": ((Nature.JOINT,), "a connector"),
    "room": ((Nature.JOINT, Nature.PULLEY), "a connector, a ring, a pulley"),
    "across": ((Nature.JOINT, Nature.PULLEY, Nature.GRIP), "a connector, a device or a pulley"),
    "adjustable": ((Nature.JOINT,), "a lanyard or a strap"),
    "textile": ((Nature.JOINT,), "a sling, a strap or the like"),
    "gear_only": ((Nature.JOINT, Nature.POINT, Nature.HARNESS), "a ring, a loop or a point of a body"),
    "takes": ((Nature.GRIP, Nature.PULLEY), "what a rope passes"),
    "directions": ((Nature.GROUND,), "an anchor"),
    "part_of": (SHARING, "an anchor, a frame or hardware"),
    "near": ((*SHARING, Nature.ROPE), "a rope, an anchor, a frame or hardware"),
    "inside": ((Nature.ROPE,), "a rope"),
    "alike": ((Nature.ROPE,), "a rope"),
    "drop_height": ((Nature.ROPE,), "a rope"),
    "start_on_ground": ((Nature.ROPE,), "a rope"),
    "end_on_ground": ((Nature.ROPE,), "a rope"),
}
SPELT = {
    "not_below": "not below",
    "self_locking": "self-locking",
    "both_ways": "both ways",
    "operated_by": "operated by",
    "minded_by": "minded by",
    "worn_by": "worn by",
    "guyed_by": "guyed by",
    "guarded_by": "padded by",
    "not_locking": "not locking",
    "gate_open": "gate open",
    "minor_axis": "minor axis",
    "gear_only": "gear only",
    "room": "room for",
    "part_of": "part of",
    "alike": "like",
    "drop_height": "drop",
    "start_on_ground": "start on ground",
    "end_on_ground": "end on ground",
}
LISTS = (
    "points", "ends", "operated_by", "minded_by", "worn_by", "guarded_by", "feet", "guyed_by", "needs",
    "part_of", "near", "inside", "across", "alike",
)  # fmt: skip
"""Attributes that name things; the others stand alone or with a number."""
MEASURED = {
    "strength": "force", "length": "length", "width": "length",
    "minor_axis": "force", "gate_open": "force", "drop_height": "length",
}  # fmt: skip
KEPT_AS = {"minor_axis": "minor axis", "gate_open": "gate open", "drop_height": "drop"}
"""Under which name a quantity is kept, where it is not its attribute's."""
MOST_COMPARED = 8_000
"""Names looked at for `did you mean …?` in one run."""
BARE = {"mass": "mass", "length": "length", "force": "strength"}
"""What a bare measure is: `85 kg` a mass, `60 m` a length; `11 mm` a diameter (see `_measured`)."""


@dataclass
class Draft:
    """A part being read. Names in `guards`, `needs` and the rest are as written until resolved."""

    name: str
    kind: Kind
    place: Place
    body: str | None = None
    rope: str | None = None
    points: list[Word] = field(default_factory=list)
    ends: tuple[list[Word], list[Word]] | None = None
    below: bool | None = None
    flags: set[str] = field(default_factory=set)
    operated_by: Word | None = None
    minded_by: Word | None = None
    worn_by: Word | None = None
    needs: list[tuple[int | None, list[Word], str]] = field(default_factory=list)
    guards: list[Word] = field(default_factory=list)
    at: tuple[float, float, float] | None = None
    quantities: dict[str, Quantity] = field(default_factory=dict)
    note: str | None = None
    source: str | None = None
    locking: bool | None = None
    part_of: list[Word] = field(default_factory=list)
    near: list[Word] = field(default_factory=list)
    inside: list[Word] = field(default_factory=list)
    across: list[Word] = field(default_factory=list)
    room: int | None = None
    takes: tuple[Quantity, Quantity] | None = None
    directions: tuple[tuple[float, float, float], ...] = ()
    within: float = 0.0
    nature: Nature = Nature.JOINT

    def __post_init__(self) -> None:
        self.nature = self.kind.nature


class Bench:
    """Parts by name, contacts, and what was found wrong on the way."""

    def __init__(self, document: Document, kinds: dict[str, Kind]) -> None:
        self.document = document
        self.kinds = kinds
        self.parts: dict[str, Draft] = {}
        self.ropes: dict[str, Place] = {}
        self.hazards: dict[str, Place] = {}
        """What `near` names, where first."""
        self.contacts: dict[tuple[str, str], Contact] = {}
        self.mistakes: list[Mistake] = []
        self.cautions: list[Caution] = []
        self.used: set[str] = set()
        """Parts that something touches, runs over, stands on or works."""
        self.names: dict[str, str] = {}
        """Every name that the file gives, wherever it stands, and its kind."""
        self.nameless = False
        """Was a declaration without a name? Then a name nobody declared is not reported."""
        self.pointless: set[str] = set()
        self.compared = 0

    # -- saying what is wrong

    def wrong(self, place: Place, text: str, hint: str = "") -> None:
        self.mistakes.append(Mistake(place, text, hint))

    def doubtful(self, name: str) -> bool:
        """Was the name only on lines that could not be read? Then it was reported already.

        So is a name that such a line would have made: `red-bowline` of a rope, `left-carabiner`.
        """
        doubtful = self.document.doubtful
        name = name.split("#")[0]
        if name in doubtful or name.split(".")[0] in doubtful:
            return True
        if any(name.startswith(f"{rope}-") for rope in self.document.broken_ropes):
            return True
        pieces = name.rstrip("0123456789").rstrip("-").split("-") if name[-1:].isdigit() else name.split("-")
        cuts = range(1, len(pieces))
        return any("-".join(pieces[:i]) in doubtful and "-".join(pieces[i:]) in doubtful for i in cuts)

    def unknown(self, word: Word, what: str, among: Iterable[str], kind: str) -> None:
        """A name that nothing in the file gives: a near name of the right sort first."""
        if self.doubtful(word.text):
            return
        hint = self.suggest(word.text, among) or self.suggest(word.text, self.parts)
        if not hint and self.nameless:
            return
        self.wrong(
            word.place,
            f"there is no {what} called `{word.text}`",
            hint or (f"declare it with its kind: `{self.kind_told(word.text, kind)} {word.text}`" if kind else ""),
        )
        self.document.doubtful.add(word.text)

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

    # -- declaring

    def kind(self, word: Word, *, begins: bool = False) -> Kind | None:
        """The kind of that name; `begins`: the word begins a line, where statements begin too."""
        kind = self.kinds.get(word.text)
        if kind is None and not self.doubtful(word.text):
            hint = meant(word.text, self.kinds, STATEMENTS if begins else (), "`stillheld kinds` lists them all")
            if word.text == "the":
                hint = "no `the` stands before a name: write the name alone"
            self.wrong(word.place, f"there is no kind of part called `{word.text}`", hint)
            self.document.doubtful.add(word.text)
        return kind

    def declare(self, kind_word: Word, name: Word, *, begins: bool = False) -> Draft | None:
        kind = self.kind(kind_word, begins=begins)
        if kind is None:
            self.document.doubtful.add(name.text)
            return None
        if kind.nature is Nature.ROPE:
            text = f"`{kind.name}` tells what a rope is like: it is not a part"
            self.wrong(
                kind_word.place, text, f"write `rope {name.text}: like {kind.name}`, its stations indented under it"
            )
            self.document.doubtful.add(name.text)
            return None
        if kind.nature is Nature.KNOT:
            self.wrong(
                kind_word.place,
                f"{with_article(kind.name)} is tied in a rope, not declared",
                f"write it in its rope: `tied to master with {kind.name} as {name.text}`",
            )
            self.document.doubtful.add(name.text)
            return None
        standard = f"{kind.name}-{name.text}".lower()
        if standard in kinds_of_standard(standard, self.kinds):
            text = (
                f"`{name.text}` is read as the name of {with_article(kind.name)}, and the standard's kind is one word"
            )
            self.wrong(name.place, text, f"give the part a name too: `{standard} left-{kind.name}`")
            self.document.doubtful.add(name.text)
            return None
        return self.add(name, kind)

    def add(self, name: Word, kind: Kind, *, body: str | None = None, rope: str | None = None) -> Draft | None:
        before = self.parts[name.text].place if name.text in self.parts else self.ropes.get(name.text)
        if before is not None:
            here = "" if before.file == name.place.file else f" of {before.file}"
            self.wrong(
                name.place,
                f"`{name.text}` is declared twice: the first is on line {before.line}{here}",
                "give this one a name of its own"
                + (f", or write only `{name.text}` where the first is meant" if kind.nature not in BODIES else ""),
            )
            return None
        draft = Draft(name.text, kind, name.place, body, rope)
        self.parts[name.text] = draft
        for attribute in kind.attributes:
            self.apply(draft, attribute)
        return draft

    def give_name(self, kind_word: Word, near: str, place: Place) -> str | None:
        """Declare `a carabiner`: named for the part before it in the chain (or after it)."""
        base = f"{near.replace('.', '-')}-{kind_word.text}"
        name, count = base, 1
        while name in self.parts or name in self.ropes:
            count += 1
            name = f"{base}-{count}"
        return name if self.declare(kind_word, Word(name, place)) else None

    # -- attributes

    def apply(self, draft: Draft, attribute: Attribute) -> None:
        key = attribute.key
        natures, whose = ONLY_FOR.get(key, ((), ""))
        words = list(attribute.words)
        if natures and draft.nature not in natures:
            self.wrong(
                attribute.place.piece(0, len(SPELT.get(key, key))),
                f"`{SPELT.get(key, key)}` is for {whose}, not for {with_article(draft.kind.name)}",
                self._rather(draft, attribute),
            )
            self.document.doubtful |= {word.text for word in words}
            return
        if key not in LISTS and words:
            self._not_an_attribute(draft, attribute)
        match key:
            case "measured" | "strength" | "length" | "width" | "stretch" | "friction" | "efficiency" | "likelihood":
                self._measured(draft, attribute)
            case "minor_axis" | "gate_open" | "drop_height":
                self._measured(draft, attribute)
            case "locking" | "not_locking":
                draft.locking = key == "locking"
            case "part_of" | "near" | "inside" | "across":
                self._swallowed(attribute)
                getattr(draft, key).extend(words)
            case "room":
                self._room(draft, attribute)
            case "takes":
                self._takes(draft, attribute)
            case "directions":
                self._directions(draft, attribute)
            case "source":
                draft.source = attribute.text
            case "at":
                x, y, z = (float(number) for number in attribute.numbers)
                draft.at = (x, y, z)
            case "points":
                draft.points += words
            case "ends":
                draft.ends = (words, list(attribute.far))
                if not attribute.far:
                    self.wrong(attribute.place, "`ends` names two ends", "write `ends a, b | c, d`")
            case "operated_by" | "minded_by" | "worn_by":
                if len(words) > 1:
                    other = SYNONYMS.get(words[1].text.lower(), "")
                    hint = f"did you mean `{other}`?" if other in ATTRIBUTES else ""
                    hint = hint or did_you_mean(words[1].text, ATTRIBUTES) or f"take `{words[1].text}` out"
                    self.wrong(words[1].place, f"`{SPELT[key]}` names one person", hint)
                setattr(draft, key, words[0])
            case "guarded_by":
                draft.guards += words
            case "feet" | "guyed_by" | "needs":
                written = attribute.numbers[0] if attribute.numbers else ""
                count = int(written) if written.isdecimal() and len(written) < 6 else None
                if written and count is None:
                    text = f"{written} is not a number of things to count"
                    self.wrong(attribute.place, text, "write a whole number, 1 or more")
                elif count is not None and not 1 <= count <= len(words):
                    self.wrong(
                        attribute.place,
                        f"{written} of {len(words)} cannot be",
                        f"write a number from 1 to {len(words)}, or name more",
                    )
                names = ", ".join(word.text for word in words)
                spelt = SPELT.get(key, key)
                draft.needs.append((count, words, f"{spelt} {f'{count} of ' if count else ''}{names}"))
            case "below":
                draft.below = True
            case "not_below":
                draft.below = False
            case "called":
                draft.note = attribute.text
            case _:
                draft.flags.add(key)

    def _rather(self, draft: Draft, attribute: Attribute) -> str:
        """What an attribute on the wrong sort of part was most likely meant to say."""
        key, nature = attribute.key, draft.nature
        if key == "self_locking" and nature is Nature.JOINT:
            return "a gate that locks is `locking`"
        if key == "locking" and nature is Nature.GRIP:
            return "a device that grips by itself is `self-locking`"
        if key == "across" and nature is Nature.ROPE and attribute.words:
            return f"a rope passes an edge at a station: `over {attribute.words[0].text}`"
        if key == "alike" and attribute.words:
            return f"a part's kind comes first: `{attribute.words[0].text} {draft.name}`"
        if key in ("locking", "textile", "adjustable") and draft.points:
            return f"if it is a point, name it first: `points {key}, {draft.points[0].text}`"
        if key in ("part_of", "near") and nature is Nature.PERSON:
            return "give it to what holds the person, or take it out"
        return "take it out, or give it to the part it belongs to"

    def _swallowed(self, attribute: Attribute) -> None:
        """`part of block, locked`: the list of names took a word that was meant as an attribute."""
        for word in attribute.words[1:]:
            told = SYNONYMS.get(word.text.lower(), "")
            told = told if told in (*FLAGS, "not locking") else next(iter(near(word.text, FLAGS, 1)), "")
            if told and word.text not in self.names:
                self.wrong(word.place, f"`{word.text}` is not an attribute", f"did you mean `{told}`?")

    def _room(self, draft: Draft, attribute: Attribute) -> None:
        written = attribute.numbers[0]
        if written.isdecimal() and 1 <= int(written) < 100:
            draft.room = int(written)
        else:
            text = f"{written} is not a number of parts"
            self.wrong(attribute.place, text, "write a whole number, 1 or more: `room for 3`")

    def _takes(self, draft: Draft, attribute: Attribute) -> None:
        """`takes 10 to 11.5 mm`: the thinnest and the thickest rope."""
        measure = attribute.measure
        assert measure is not None
        low, high = (Measure(number, measure.unit, measure.place) for number in attribute.numbers)
        if measures(measure) != "length":
            text = f"`takes` tells rope diameters, and {measure.unit} measures {with_article(measures(measure))}"
            self.wrong(measure.place, text, "for example `takes 10 to 11.5 mm`")
        elif not 0 <= float(low.number) <= float(high.number):
            text = f"from {low.number} to {high.number} there is nothing: the thinnest rope comes first"
            self.wrong(attribute.place, text, f"write `takes {high.number} to {low.number} {measure.unit}`")
        else:
            draft.takes = (quantity(low), quantity(high))

    def _directions(self, draft: Draft, attribute: Attribute) -> None:
        """`directions down within 30 deg`: unit vectors, and how far from them a pull may be."""
        measure = attribute.measure
        assert measure is not None
        if measures(measure) != "angle":
            text = f"`within` takes an angle, and {measure.unit} measures {with_article(measures(measure))}"
            self.wrong(measure.place, text, "for example `directions down within 30 deg`")
            return
        numbers = [float(number) for number in attribute.numbers]
        rows = list(zip(numbers[::3], numbers[1::3], numbers[2::3], strict=True))
        lengths = [sum(x * x for x in row) ** 0.5 for row in rows]
        if not all(lengths):
            self.wrong(attribute.place, "(0, 0, 0) is no direction", "write where the pull goes: `(0, 0, -1)` is down")
            return
        draft.directions = tuple((x / n, y / n, z / n) for (x, y, z), n in zip(rows, lengths, strict=True))
        draft.within = quantity(measure).si

    def _not_an_attribute(self, draft: Draft, attribute: Attribute) -> None:
        """A bare word after an attribute that takes no list: `80 kg, waist`."""
        names = [*attribute.words, *attribute.far]
        first = names[0]
        told = SYNONYMS.get(first.text.lower(), "")
        hint = f"did you mean `{told}`?" if told in ATTRIBUTES else did_you_mean(first.text, ATTRIBUTES)
        own = self.kinds.get(first.text)
        ropes = (first.text,) if own and own.nature is Nature.ROPE else kinds_of_standard(first.text, self.kinds)
        if draft.nature is Nature.ROPE and ropes:
            hint = "write " + " or ".join(f"`like {one}`" for one in ropes)
        if not hint and draft.nature in BODIES:
            hint = f"if these are points, write `points {', '.join(word.text for word in names)}`"
        elif not hint:
            hint = "for example `strength 22 kN`, `length 1.2 m`"
        self.wrong(first.place, f"`{first.text}` is not an attribute", hint)
        self.document.doubtful |= {f"{draft.name}.{word.text}" for word in names}

    def likely(self, number: str, place: Place) -> bool:
        """Is this a probability, from 0 to 1?"""
        if 0 <= float(number) <= 1:
            return True
        self.wrong(place, f"{number} is not a likelihood", "write a probability from 0 to 1, for example `1e-4`")
        return False

    def _measured(self, draft: Draft, attribute: Attribute) -> None:
        key, measure = attribute.key, attribute.measure
        written = measure.number if measure else attribute.numbers[0]
        if float(written) < 0:
            text = f"{written} is less than nothing"
            unit = f" {measure.unit}" if measure else ""
            self.wrong(measure.place if measure else attribute.place, text, f"write `{written.lstrip('-')}{unit}`")
            return
        if key in ("friction", "efficiency", "likelihood"):
            number = attribute.numbers[0]
            if key == "likelihood" and not self.likely(number, attribute.place):
                return
            self._kept(draft, key, Quantity(number, float(number), ""), attribute.place)
            return
        assert measure is not None
        found, what = quantity(measure), measures(measure)
        if key == "stretch":
            number = attribute.numbers[0]
            if what not in ("mass", "force"):
                text = f"a stretch is given at a mass or a force, and {measure.unit} measures {with_article(what)}"
                self.wrong(measure.place, text, "for example `stretch 3 % at 150 kg`")
            self._kept(draft, key, Quantity(f"{number} %", float(number) / 100, "%", found), attribute.place)
            return
        if key == "measured":
            key = "diameter" if measure.unit in ("mm", "in") else BARE.get(what, "")
            if not key:
                hint = "alone stand a mass `85 kg`, a length `60 m`, a diameter `11 mm` and a strength `22 kN`"
                self.wrong(attribute.place, f"`{found.text}` alone says nothing of a part", hint)
                return
        elif MEASURED[key] != what:
            spelt = SPELT.get(key, key)
            usual = {"minor_axis": "7 kN", "gate_open": "7 kN", "drop_height": "45 m", "strength": "22 kN"}
            hint = f"for example `{spelt} {usual.get(key, '1.2 m')}`"
            if MEASURED[key] == "force" and what == "mass":
                hint = f"`{spelt} {found.si * GRAVITY / 1000:.3g} kN`, if the mark means the weight of {found.text}"
            wanted = with_article(MEASURED[key])
            text = f"`{spelt}` takes {wanted}, and {measure.unit} measures {with_article(what)}"
            self.wrong(measure.place, text, hint)
            return
        self._kept(draft, KEPT_AS.get(key, key), found, measure.place)

    def _kept(self, draft: Draft, key: str, given: Quantity, place: Place) -> None:
        """Keep a figure, unless no rig can have it."""
        if doubted := doubt(draft.nature, key, given):
            self.wrong(place, *doubted)
            return
        draft.quantities[key] = given

    # -- names and contacts

    def part(
        self, word: Word, what: str = "part", natures: tuple[Nature, ...] = (), kind: str = "carabiner"
    ) -> Draft | None:
        """The part a name stands for, or a mistake that says which one may be meant.

        `what` and `natures` say what is wanted here, `kind` how one of that sort is declared.
        """
        found = self.parts.get(word.text)
        if found:
            return found
        if "." in word.text and not self.doubtful(word.text):
            body_name, point = word.text.split(".", 1)
            body = self.parts.get(body_name)
            if body and body.nature not in BODIES:
                text = f"`{body_name}` is {with_article(body.kind.name)}: it has no points"
                self.wrong(word.place, text, f"write `{body_name}`")
                self.document.doubtful.add(word.text)
                return None
            if body:
                have = [one.split(".", 1)[1] for one in self.parts if one.startswith(f"{body_name}.")]
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
                self.wrong(place, f"`{body_name}` has no point `{point}`", hint)
                self.document.doubtful.add(word.text)
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
            self.document.doubtful.add(word.text)
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

    def person(self, word: Word) -> str | None:
        found = self.part(word, "person", (Nature.PERSON,), "person")
        if found and found.nature is not Nature.PERSON:
            text = f"`{word.text}` is {with_article(found.kind.name)}, not a person"
            people = [f"`{d.name}`" for d in self.parts.values() if d.nature is Nature.PERSON][:3]
            hint = f"name a person: {' or '.join(people)}" if people else "declare one: `person jo`"
            self.wrong(word.place, text, hint)
            return None
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

    def touchable(self, draft: Draft, place: Place) -> bool:
        """Edges and pads touch nothing: a rope passes over them."""
        if draft.nature not in (Nature.EDGE, Nature.PAD):
            return True
        edge = draft.nature is Nature.EDGE
        self.wrong(
            place,
            f"`{draft.name}` is {with_article(draft.kind.name)}: nothing is attached to it, ropes pass over it",
            f"write it as a station of the rope: `over {draft.name}`"
            if edge
            else f"write it at the edge that the rope passes: `over lip, padded by {draft.name}`",
        )
        return False

    def declare_links(self, chain: tuple[Link, ...]) -> None:
        """Declare `carabiner left-crab` where it stands in a chain."""
        for link in chain:
            if link.kind and link.name and not self._no_dash(link.kind, link.name):
                self.declare(link.kind, link.name)

    def _no_dash(self, first: Word, second: Word) -> bool:
        """Two links with no dash between them, or a name before its kind; told, and then let be."""
        if first.text in self.kinds or first.text in self.document.doubtful:
            return False
        place = Place(first.place.file, first.place.line, first.place.column, second.place.end)
        if second.text in self.kinds and not near(first.text, self.kinds):
            self.wrong(place, "the kind comes before the name", f"write `{second.text} {first.text}`")
        elif first.text in self.names and second.text not in self.names and self._is_body(first.text):
            self.wrong(place, "a point is written with a dot", f"write `{first.text}.{second.text}`")
            self.document.doubtful.add(f"{first.text}.{second.text}")
        elif first.text in self.names and (second.text in self.names or near(second.text, self.names)):
            text = f"a dash is missing between `{first.text}` and `{second.text}`"
            self.wrong(place, text, f"write `{first.text} - {second.text}`")
        else:
            return False
        self.document.doubtful |= {first.text, second.text}
        return True

    def _is_body(self, name: str) -> bool:
        kind = self.kinds.get(self.names[name])
        return kind is not None and kind.nature in BODIES

    def chain(self, chain: tuple[Link, ...], near: str = "", kind: str = "carabiner") -> list[Draft] | None:
        """The parts of a chain, its unnamed ones named, each touching the next; None if unknown.

        `kind` is what its first part most likely is, should nobody have declared it."""
        found: list[Draft | None] = []
        for position, link in enumerate(chain):
            if link.name:
                wanted = "carabiner" if position else kind
                found.append(None if self._glued(link.name) else self.part(link.name, kind=wanted))
                continue
            assert link.kind is not None
            before = found[-1].name if found and found[-1] else near
            after = next((one.name.text for one in chain[position + 1 :] if one.name), "")
            name = self.give_name(link.kind, before or after or "rig", link.place)
            found.append(self.parts[name] if name else None)
        for (a, first), (b, second) in zip(
            zip(found, chain, strict=True), list(zip(found, chain, strict=True))[1:], strict=False
        ):
            if a and b and self.touchable(a, first.place) and self.touchable(b, second.place):
                self.touch(a.name, b.name, second.place)
        return [one for one in found if one] if all(found) else None

    def _glued(self, word: Word) -> bool:
        """`left-bolt-master`: a chain written without spaces is read as one name; told."""
        if word.text in self.parts or word.text in self.ropes or self.doubtful(word.text):
            return False

        def links(text: str) -> list[str]:
            if text in self.parts:
                return [text]
            for cut in (place for place, letter in enumerate(text) if letter == "-"):
                rest = links(text[cut + 1 :]) if text[:cut] in self.parts else []
                if rest:
                    return [text[:cut], *rest]
            return []

        found = links(word.text)
        if found:
            text = f"`{word.text}` is read as one name: a dash between two links has a space on each side"
            self.wrong(word.place, text, f"write `{' - '.join(found)}`")
            self.document.doubtful.add(word.text)
        return bool(found)

    # -- finishing

    def finish(self, needs: dict[str, tuple[Need, ...]], drafts: dict[str, Draft]) -> dict[str, Part]:
        """Every draft as a frozen part, in the order of the file."""
        own_points: dict[str, list[str]] = {}
        for draft in drafts.values():
            if draft.body:
                own_points.setdefault(draft.body, []).append(draft.name)
        return {d.name: self._freeze(d, needs, own_points) for d in drafts.values()}

    def _freeze(self, draft: Draft, needs: dict[str, tuple[Need, ...]], points: dict[str, list[str]]) -> Part:
        own = tuple(points.get(draft.name, ()))
        ends: tuple[tuple[str, ...], tuple[str, ...]] | None = None
        if draft.ends:
            a, b = (tuple(f"{draft.name}.{w.text}" for w in end) for end in draft.ends)
            ends = (a, b)
        elif draft.nature in BODIES:
            head = tuple(p for p in own if p.startswith(f"{draft.name}.head"))
            foot = tuple(p for p in own if p.startswith(f"{draft.name}.foot"))
            ends = (head, foot) if head and foot else None
        order = list(draft.quantities)
        return Part(
            name=draft.name,
            kind=draft.kind.name,
            nature=draft.nature,
            place=draft.place,
            body=draft.body,
            points=own,
            ends=ends,
            below=draft.below,
            standing="standing" in draft.flags,
            exposed="exposed" in draft.flags,
            operated_by=draft.operated_by.text if draft.operated_by else None,
            minded_by=draft.minded_by.text if draft.minded_by else None,
            self_locking="self_locking" in draft.flags,
            needs=needs.get(draft.name, ()),
            guards=tuple(w.text for w in draft.guards),
            at=draft.at,
            quantities=tuple((key, draft.quantities[key]) for key in order),
            note=draft.note,
            source=draft.source,
            rope=draft.rope,
            family=family(draft.kind, self.kinds),
            locking=draft.locking,
            part_of=tuple(dict.fromkeys(w.text for w in draft.part_of)),
            near=tuple(dict.fromkeys(w.text for w in draft.near)),
            across=tuple(dict.fromkeys(w.text for w in draft.across)),
            gear_only="gear_only" in draft.flags,
            adjustable="adjustable" in draft.flags,
            textile="textile" in draft.flags,
            room=draft.room,
            takes=draft.takes,
            directions=draft.directions,
            within=draft.within,
        )
