"""The workbench on which a rig is put together: declared parts, their attributes, their names.

A `Draft` is a part while it is being read; `Bench.finish` freezes them all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from analyser.reading.mistakes import Mistake, Place, did_you_mean
from analyser.reading.parsing import Document
from analyser.reading.syntax import Attribute, Link, Word
from analyser.rig.kinds import Kind
from analyser.rig.model import BODIES, Caution, Contact, Nature, Need, Part, Quantity
from analyser.rig.quantities import measures, quantity

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
}
MEASURED = {"strength": "force", "length": "length", "width": "length"}
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
        self.contacts: dict[tuple[str, str], Contact] = {}
        self.mistakes: list[Mistake] = []
        self.cautions: list[Caution] = []
        self.used: set[str] = set()
        """Parts that something touches, runs over, stands on or works."""

    # -- saying what is wrong

    def wrong(self, place: Place, text: str, hint: str = "") -> None:
        self.mistakes.append(Mistake(place, text, hint))

    def doubtful(self, name: str) -> bool:
        """Was the name only on lines that could not be read? Then it was reported already."""
        return name in self.document.doubtful or name.split(".")[0] in self.document.doubtful

    def unknown(self, word: Word, what: str = "part", among: Iterable[str] | None = None) -> None:
        if self.doubtful(word.text):
            return
        known = list(among if among is not None else [*self.parts, *self.ropes])
        self.wrong(
            word.place,
            f"there is no {what} called `{word.text}`",
            did_you_mean(word.text, known, f"declare it: `carabiner {word.text}`" if what == "part" else ""),
        )
        self.document.doubtful.add(word.text)

    # -- declaring

    def kind(self, word: Word) -> Kind | None:
        kind = self.kinds.get(word.text)
        if kind is None and not self.doubtful(word.text):
            hint = did_you_mean(word.text, self.kinds, "`stillheld kinds` lists them all")
            self.wrong(word.place, f"there is no kind of part called `{word.text}`", hint)
        return kind

    def declare(self, kind_word: Word, name: Word) -> Draft | None:
        kind = self.kind(kind_word)
        if kind is None:
            self.document.doubtful.add(name.text)
            return None
        if kind.nature is Nature.KNOT:
            self.wrong(
                kind_word.place,
                f"a {kind.name} is tied in a rope, not declared",
                f"in the rope: `tied to … with {kind.name} as {name.text}`",
            )
            self.document.doubtful.add(name.text)
            return None
        return self.add(name, kind)

    def add(self, name: Word, kind: Kind, **given: str) -> Draft | None:
        before = self.parts[name.text].place if name.text in self.parts else self.ropes.get(name.text)
        if before is not None:
            here = "" if before.file == name.place.file else f" of {before.file}"
            self.wrong(
                name.place,
                f"`{name.text}` is declared twice: the first is on line {before.line}{here}",
                f"write only `{name.text}` here, or give this one a name of its own",
            )
            return None
        draft = Draft(name.text, kind, name.place, **given)
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
        if natures and draft.nature not in natures:
            self.wrong(
                attribute.place,
                f"`{SPELT.get(key, key)}` is for {whose}, and `{draft.name}` is a {draft.kind.name}",
                "take it out, or give it to the part it belongs to",
            )
            return
        words = list(attribute.words)
        match key:
            case "measured" | "strength" | "length" | "width" | "stretch" | "friction" | "efficiency":
                self._measured(draft, attribute)
            case "at":
                x, y, z = (float(number) for number in attribute.numbers)
                draft.at = (x, y, z)
            case "points":
                draft.points += words
            case "ends":
                draft.ends = (words, list(attribute.far))
                if not attribute.far:
                    self.wrong(attribute.place, "`ends` names two ends", "write `ends a, b | c, d`")
                draft.points += [w for w in (*words, *attribute.far) if w.text not in {p.text for p in draft.points}]
            case "operated_by" | "minded_by" | "worn_by":
                if len(words) > 1:
                    self.wrong(words[1].place, f"`{SPELT[key]}` names one person", "take the others out")
                setattr(draft, key, words[0])
            case "guarded_by":
                draft.guards += words
            case "feet" | "guyed_by" | "needs":
                count = int(float(attribute.numbers[0])) if attribute.numbers else None
                if count is not None and not 1 <= count <= len(words):
                    self.wrong(
                        attribute.place,
                        f"{attribute.numbers[0]} of {len(words)} cannot be",
                        f"a number from 1 to {len(words)}",
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

    def _measured(self, draft: Draft, attribute: Attribute) -> None:
        key, measure = attribute.key, attribute.measure
        if key in ("friction", "efficiency"):
            number = attribute.numbers[0]
            draft.quantities[key] = Quantity(number, float(number), "")
            return
        assert measure is not None
        found, what = quantity(measure), measures(measure)
        if key == "stretch":
            number = attribute.numbers[0]
            if what not in ("mass", "force"):
                self.wrong(measure.place, "a stretch is given at a mass or a force", "`stretch 3 % at 150 kg`")
            draft.quantities[key] = Quantity(f"{number} %", float(number) / 100, "%", found)
            return
        if key == "measured":
            key = "diameter" if measure.unit in ("mm", "in") else BARE.get(what, "")
            if not key:
                self.wrong(attribute.place, f"`{found.text}` alone says nothing of a part", "name what it is")
                return
        elif MEASURED[key] != what:
            hint = "for example `strength 22 kN`" if key == "strength" else f"for example `{key} 1.2 m`"
            self.wrong(measure.place, f"a {key} is a {MEASURED[key]}, and {measure.unit} measures a {what}", hint)
            return
        draft.quantities[key] = found

    # -- names and contacts

    def part(self, word: Word, what: str = "part") -> Draft | None:
        """The part a name stands for, or a mistake that says which one may be meant."""
        found = self.parts.get(word.text)
        if found:
            return found
        if "." in word.text and not self.doubtful(word.text):
            body_name, point = word.text.split(".", 1)
            body = self.parts.get(body_name)
            if body and body.nature not in BODIES:
                self.wrong(word.place, f"`{body_name}` is a {body.kind.name}: it has no points", f"write `{body_name}`")
                self.document.doubtful.add(word.text)
                return None
            if body:
                have = [one.split(".", 1)[1] for one in self.parts if one.startswith(f"{body_name}.")]
                hint = (
                    did_you_mean(point, have, f"its points are {', '.join(have)}")
                    if have
                    else f"declare it: `{body_name}: points {point}`"
                )
                text = f"`{body_name}` has no point `{point}`" if have else f"`{body_name}` has no points"
                self.wrong(word.place, text, hint)
                self.document.doubtful.add(word.text)
                return None
            self.unknown(Word(body_name, word.place), "person, litter or load", self.parts)
            return None
        if word.text in self.ropes:
            self.wrong(
                word.place,
                f"`{word.text}` is a rope: other parts touch its knots, or it runs through them",
                f"name a knot of it, or add a station to `rope {word.text}`",
            )
            return None
        self.unknown(word, what, self.parts)
        return None

    def person(self, word: Word) -> str | None:
        found = self.part(word, "person")
        if found and found.nature is not Nature.PERSON:
            self.wrong(word.place, f"`{word.text}` is a {found.kind.name}, not a person", "name a person")
            return None
        if found:
            self.used.add(found.name)
        return found.name if found else None

    def touch(self, a: str, b: str, place: Place, *, given: bool = True) -> None:
        if a == b:
            self.wrong(place, f"`{a}` cannot touch itself", "name two different parts")
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
        self.wrong(
            place,
            f"`{draft.name}` is a {draft.kind.name}: nothing is attached to it",
            "in the rope: `over EDGE, padded by PAD`",
        )
        return False

    def declare_links(self, chain: tuple[Link, ...]) -> None:
        """Declare `carabiner left-crab` where it stands in a chain."""
        for link in chain:
            if link.kind and link.name:
                self.declare(link.kind, link.name)

    def chain(self, chain: tuple[Link, ...], near: str = "") -> list[Draft] | None:
        """The parts of a chain, its unnamed ones named, each touching the next; None if unknown."""
        found: list[Draft | None] = []
        for position, link in enumerate(chain):
            if link.name:
                found.append(self.part(link.name))
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

    # -- finishing

    def finish(self, needs: dict[str, tuple[Need, ...]]) -> dict[str, Part]:
        """Every draft as a frozen part, in the order of the file."""
        own_points: dict[str, list[str]] = {}
        for draft in self.parts.values():
            if draft.body:
                own_points.setdefault(draft.body, []).append(draft.name)
        return {d.name: self._freeze(d, needs, own_points) for d in self.parts.values()}

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
            rope=draft.rope,
        )

