"""The workbench on which a rig is put together: declared parts, their attributes, their names.

A `Draft` is a part while it is being read; `Bench.finish` freezes them all.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from analyser.language.broken import kinds_of_standard
from analyser.language.mistakes import Mistake, Place, did_you_mean, near, with_article
from analyser.language.parsing import Document
from analyser.language.syntax import Link, Word
from analyser.language.vocabulary import KINDS_MEANT, STATEMENTS
from analyser.rig.attributes import apply
from analyser.rig.catalogue import Kind, family, meant
from analyser.rig.model import BODIES, Caution, Contact, Nature, Need, Part, Quantity

MOST_COMPARED = 8_000
"""Names looked at for `did you mean …?` in one run."""


@dataclass
class Draft:
    """A part being read. Names in `guards`, `needs` and the rest are as written until resolved."""

    name: str
    kind: Kind
    place: Place
    body: str | None = None
    rope: str | None = None
    point: str = ""
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
    off: tuple[float, float, float] = (0.0, 0.0, 0.0)
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

    def add(
        self, name: Word, kind: Kind, *, body: str | None = None, rope: str | None = None, point: str = ""
    ) -> Draft | None:
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
        draft = Draft(name.text, kind, name.place, body, rope, point)
        self.parts[name.text] = draft
        for attribute in kind.attributes:
            apply(self, draft, attribute)
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
        return {d.name: self._freeze(d, needs, own_points, drafts) for d in drafts.values()}

    def _freeze(
        self,
        draft: Draft,
        needs: dict[str, tuple[Need, ...]],
        points: dict[str, list[str]],
        drafts: dict[str, Draft],
    ) -> Part:
        own = tuple(points.get(draft.name, ()))
        ends: tuple[tuple[str, ...], tuple[str, ...]] | None = None
        if draft.ends:
            a, b = (tuple(f"{draft.name}.{w.text}" for w in end) for end in draft.ends)
            ends = (a, b)
        elif draft.nature in BODIES:
            head, foot = (tuple(p for p in own if drafts[p].point.startswith(word)) for word in ("head", "foot"))
            ends = (head, foot) if head and foot else None
        order = list(draft.quantities)
        return Part(
            name=draft.name,
            kind=draft.kind.name,
            nature=draft.nature,
            place=draft.place,
            body=draft.body,
            point=draft.point,
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
            off=draft.off,
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
