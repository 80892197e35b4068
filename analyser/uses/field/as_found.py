"""The rig as it was found: the statements of its file, changed by what a walk-down found, read anew.

What holds is never guessed: a part that is missing is taken out of every line that names it, and what was
found but does not do its work is not counted on. So an unlocked gate, a knot half tied and an open buckle are
taken out like a part that is missing: that is what each of them may come to (`findings/latent.py`). A hitch
that is loose lets its rope run through. Lines of the file that the rig as found can carry no more (a step that
attaches a missing part, a reason why it cannot fail) are left out and told; none is made up.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from analyser.checking.finding import listed
from analyser.holding.outcome import assess
from analyser.language.attributes import BY_KEY, Shape
from analyser.language.mistakes import Mistake, Place, Unreadable, did_you_mean, with_article
from analyser.language.parsing import Document
from analyser.language.syntax import (
    Attach,
    Attribute,
    Cause,
    Chance,
    Declaration,
    Detail,
    Interlock,
    Judgement,
    Link,
    More,
    ObservedBlock,
    Require,
    RopeLine,
    RopeStation,
    StageBlock,
    Statement,
    StepLine,
    Waiver,
    Word,
)
from analyser.rig.building import build
from analyser.rig.catalogue import Kind
from analyser.rig.failing import taken_along
from analyser.rig.model import BODIES, Effects, Nature, Rig, Role, Rope, Station
from analyser.rig.plan import Plan
from analyser.uses.field.found import Difference, Found, without_comment

MOST_READINGS = 40
"""How often what the found rig can't carry is left out before giving up: each time at least one line goes."""
TIED = (Nature.KNOT, Nature.STOPPER)
OF_THE_THING = frozenset(
    (
        *("strength", "stretch", "slips_at", "slips_up_to", "loss", "friction", "efficiency", "likelihood"),
        *("minor_axis", "gate_open", "self_locking", "anti_panic", "both_ways", "adjustable", "textile"),
        *("locking", "not_locking", "room", "takes", "called", "source", "alike"),
    )
)
"""Attributes that speak of the thing itself, not of where it is or who works it: another thing there has its own."""
T = TypeVar("T")


@dataclass(frozen=True)
class LeftOut:
    """A line of the rig's file that the rig as found can't carry. `asked`: it is a requirement."""

    place: Place
    words: str
    asked: bool


@dataclass(frozen=True)
class AsFound:
    """The rig as found, and the lines of its file that are left out of it."""

    rig: Rig
    found: Found
    left_out: tuple[LeftOut, ...]
    stands_no_more: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Frames that are as written, and have not what they stand on: each with what of it is not there. They are taken
    out like what is missing: nothing may count on them."""

    def running(self, written: Rig) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Who runs first: devices found reversed or loose, each with whom the rig as found holds in as many
        ways as it does only once they have run down its rope. The rules call that held."""
        turned = [one.name.text for one in self.found.differences if one.how in ("reversed", "loose")]
        slack = {device: frozenset(_slack_behind(written, self.rig, device)) for device in turned}
        now = assess(self.rig).bodies if any(slack.values()) else ()
        found = []
        for device in turned:
            if slack[device]:
                then = assess(self.rig, already=Effects(cut=slack[device])).bodies
                rows = zip(now, then, strict=True)
                names = tuple(a.name for a, b in rows if a.held > b.held or a.attachments > b.attachments)
                if names:
                    found.append((device, names))
        return tuple(found)

    @property
    def asked_no_more(self) -> bool:
        """Is something that the file requires not to be asked of the rig as found?"""
        return any(one.asked for one in self.left_out)


def as_found(rig: Plan, found: Found) -> AsFound:
    """The rig with every difference made; raises `Unreadable` with the mistakes of the found file."""
    document, kinds = rig.document, rig.kinds
    sources = {**document.sources, found.file: list(found.lines)}
    mistakes = [*found.mistakes, *_another(rig, found)]
    changing = _Changing(rig, kinds)
    for difference in found.differences:
        mistakes += changing.take(difference)
    if mistakes:
        raise Unreadable(mistakes, {found.file: list(found.lines)})
    statements = [*changing.statements(document.statements), *found.extra]
    left_out: list[LeftOut] = [changing.said_of_another(one, document.sources) for one in changing.not_of_it]
    for _ in range(MOST_READINGS):
        fresh = Document(tuple(statements), sources=sources)
        made, wrong = build(fresh)
        if made is not None:
            told = tuple(sorted(set(left_out), key=lambda one: (one.place, one.words)))
            return AsFound(made, found, told, tuple(changing.stands_no_more.items()))
        own = [one for one in wrong if one.place.file == found.file]
        if own:
            raise Unreadable(own, sources)
        leaving = _Leaving(wrong, document.sources)
        statements = list(leaving.statements(statements))
        if not leaving.left_out:
            break
        left_out += leaving.left_out
    raise Unreadable([replace(one, text=f"as found, this cannot be read: {one.text}") for one in wrong], sources)


def _another(rig: Rig, found: Found) -> Iterator[Mistake]:
    """Was another rig walked, or another revision of it?"""
    if found.title and found.title.text != rig.title:
        text = f"this was found on “{found.title.text}”, and the rig is “{rig.title}”"
        yield Mistake(found.title.place, text, "name the rig that was walked, or write its title here")
    same = (rig.revision, rig.revision.number) if rig.revision else ("",)
    if found.revision and found.revision.text not in same:
        now = f"the rig is revision {rig.revision}" if rig.revision else "the rig has no revision"
        text = f"this was found on revision {found.revision.text}, and {now}"
        yield Mistake(found.revision.place, text, "walk the rig again, or compare the revisions: `stillheld compare`")


def _slack_behind(written: Rig, now: Rig, device: str) -> Iterator[str]:
    """The stretches of the rig as found on the side of a device that is not loaded as written."""
    for rope in written.ropes:
        for station in rope.stations:
            if station.part != device or station.role is not Role.GRIP or station.to_start == station.to_end:
                continue
            for found in now.ropes:
                at = [k for k, one in enumerate(found.stations) if found.name == rope.name and one.part == device]
                for k in at:
                    yield from found.spans[k : k + 1] if station.to_start else found.spans[max(0, k - 1) : k]


class _Changing:
    """What is gone, parted, turned and otherwise, and the statements without and with it."""

    def __init__(self, rig: Plan, kinds: Mapping[str, Kind]) -> None:
        self.rig = rig
        self.kinds = kinds
        self.ropes = {rope.name: rope for rope in rig.ropes}
        self.gone: set[str] = set()
        self.loose: set[str] = set()
        self.turned: set[str] = set()
        self.parted: set[frozenset[str]] = set()
        self.kind: dict[str, Word] = {}
        self.figures: dict[str, tuple[Attribute, ...]] = {}
        self.more: list[Statement] = []
        self.stands_no_more: dict[str, tuple[str, ...]] = {}
        self.not_of_it: dict[Attribute, Word] = {}
        parts = [part for state in reversed(rig.states) for part in state.parts.values()]
        self.named = {part.place: part.name for part in parts}
        self.stations = {station.place: station for rope in rig.ropes for station in rope.stations}

    # -- what each difference says

    def take(self, one: Difference) -> Iterator[Mistake]:
        """Note a difference; what is wrong with it is told."""
        name = one.name.text
        if name not in self.rig.parts and name not in self.ropes:
            hint = did_you_mean(name, {**self.rig.parts, **self.ropes}, "a part that was not written is told as extra")
            yield Mistake(
                one.name.place, f"there is no part or rope called `{name}` in the rig as first attached", hint
            )
            return
        wrong = getattr(self, f"_{one.how.replace('-', '_')}")(one)
        if wrong:
            yield wrong

    def _missing(self, one: Difference) -> Mistake | None:
        name = one.name.text
        part = self.rig.parts.get(name)
        if part and part.nature in (*BODIES, Nature.POINT):
            text = f"`{name}` is {with_article(part.kind)}: whether people, loads and their points are there is seen"
            return Mistake(one.name.place, text, f"say what is not on it: `found … not on {name}`")
        self._take_out(name)
        return None

    def _take_out(self, name: str) -> None:
        """A part with all that goes with it: its members, what stands on it, a rope's knots."""
        if name in self.gone:
            return
        self.gone.add(name)
        if name in self.ropes:
            self.gone |= {part.name for part in self.rig.parts.values() if part.rope == name}
        for member in sorted(taken_along(self.rig.parts).get(name, ())):
            self._take_out(member)
        for part in self.rig.parts.values():
            lacking = [need for need in part.needs if len(set(need.parts) - self.gone) < need.count]
            if lacking and part.name not in self.gone:
                away = dict.fromkeys(self._whose(one) for need in lacking for one in need.parts if one in self.gone)
                self.stands_no_more[part.name] = tuple(away)
                self._take_out(part.name)

    def _whose(self, name: str) -> str:
        """A frame stands on a rope by its knot, and people say the rope."""
        return self.rig.parts[name].rope or name

    def _unlocked(self, one: Difference) -> Mistake | None:
        part = self.rig.parts.get(one.name.text)
        if part is None or "connector" not in part.family:
            what = with_article(part.kind) if part else "a rope"
            text = f"`{one.name.text}` is {what}: only a connector has a gate to lock"
            return Mistake(one.name.place, text, "write `missing`, `loose` or `reversed`")
        if part.locking is False:
            text = f"`{part.name}` does not lock as written, so an unlocked gate is no difference"
            return Mistake(one.name.place, text, "leave this line out")
        self._take_out(part.name)
        return None

    def _loose(self, one: Difference) -> Mistake | None:
        part = self.rig.parts.get(one.name.text)
        if part and part.nature in (*TIED, Nature.HARNESS):
            self._take_out(part.name)
        elif part and part.nature is Nature.GRIP:
            self.loose.add(part.name)
        else:
            what = with_article(part.kind) if part else "a rope"
            text = f"`{one.name.text}` is {what}: knots, hitches, stoppers and buckles are left loose"
            return Mistake(one.name.place, text, "write `missing` or `not on …`")
        return None

    def _reversed(self, one: Difference) -> Mistake | None:
        name = one.name.text
        own = [s for rope in self.rig.ropes for s in rope.stations if s.part == name and s.role is Role.GRIP]
        if not own:
            return Mistake(one.name.place, f"no rope is gripped by `{name}`: it has no way round", "write `missing`")
        if all(station.to_start == station.to_end for station in own):
            text = f"`{name}` grips both ways, or neither: it has no wrong way round"
            return Mistake(one.name.place, text, "write `loose` where it does not grip")
        self.turned.add(name)
        return None

    def _not_on(self, one: Difference) -> Mistake | None:
        assert one.other
        name, other = one.name.text, one.other.text
        if other not in self.rig.parts and other not in self.ropes:
            hint = did_you_mean(other, {**self.rig.parts, **self.ropes}, self._touching(name))
            return Mistake(one.other.place, f"there is no part or rope called `{other}`", hint)
        pair = frozenset((name, other))
        touch = any(contact.given and {contact.a, contact.b} == pair for contact in self.rig.contacts)
        for rope, part in ((name, other), (other, name)):
            laid = self.ropes.get(rope)
            touch = touch or (laid is not None and any(station.part == part for station in laid.stations))
        if not touch:
            return Mistake(one.other.place, f"`{name}` is not on `{other}` as written either", self._touching(name))
        self.parted.add(pair)
        return None

    def _touching(self, name: str) -> str:
        if name in self.ropes:
            others = [station.part for station in self.ropes[name].stations]
        else:
            others = [*self.rig.touching[name], *(r.name for r in self.rig.ropes if _on(r.stations, name))]
        return f"`{name}` is on {listed(list(dict.fromkeys(others)))}" if others else f"`{name}` is on nothing"

    def _is(self, one: Difference) -> Mistake | None:
        assert one.other
        part, kind = self.rig.parts.get(one.name.text), self.kinds[one.other.text]
        knot = part is not None and part.nature is Nature.KNOT
        rope = part is None
        fits = (kind.nature is Nature.ROPE) is rope and (kind.nature is Nature.KNOT) is knot
        if (part and part.nature in (*BODIES, Nature.POINT, Nature.STOPPER)) or kind.nature in BODIES or not fits:
            what = with_article(part.kind) if part else "a rope"
            text = f"`{one.name.text}` is {what}, and cannot have been {with_article(kind.name)}"
            return Mistake(one.other.place, text, "write it as missing, and what was there as something extra")
        if one.name.text in self.kind:
            return Mistake(one.other.place, f"`{one.name.text}` is said twice to be another kind", "leave one of them")
        self.kind[one.name.text] = one.other
        return self._figures(one)

    def _figures(self, one: Difference) -> Mistake | None:
        if one.attributes:
            part = self.rig.parts.get(one.name.text)
            if part and part.nature in TIED:
                text = f"`{part.name}` is {with_article(part.kind)}: it has no figures of its own"
                return Mistake(one.name.place, text, f"write another knot: `found {part.name} is bowline`")
            known = {_about(each): each for each in self.figures.get(one.name.text, ())}
            for each in one.attributes:
                if _about(each) in known:
                    text = f"the {_about(each).replace('_', ' ')} of `{one.name.text}` is told twice"
                    return Mistake(each.place, text, "leave the one that was found")
                known[_about(each)] = each
            self.figures[one.name.text] = tuple(known.values())
            if part:
                self.more.append(More(one.place, (Detail((one.name,), one.attributes),)))
        return None

    # -- the statements with it

    def _left_on(self, knot: str) -> list[str]:
        """What a knot still touches: what it is tied to, or a knot that its loop passes through."""
        others = self.rig.touching[knot]
        return [one for one in others if one not in self.gone and frozenset((knot, one)) not in self.parted]

    def _loosen(self) -> None:
        """A knot that touches nothing any more is none, and a rope that is at one place alone is none: what hangs on
        them hangs on nothing, and a frame that they guyed has lost them."""
        knots = [part.name for part in self.rig.parts.values() if part.nature is Nature.KNOT]
        while fresh := [
            *(knot for knot in knots if knot not in self.gone and not self._left_on(knot)),
            *(name for name, rope in self.ropes.items() if name not in self.gone and self._stations_left(rope) < 2),
        ]:
            for name in fresh:
                self._take_out(name)

    def _stations_left(self, rope: Rope) -> int:
        parted = (frozenset((rope.name, station.part)) in self.parted for station in rope.stations)
        return sum(one.part not in self.gone and not off for one, off in zip(rope.stations, parted, strict=True))

    def statements(self, written: Iterable[Statement]) -> Iterator[Statement]:
        self._loosen()
        for statement in written:
            match statement:
                case ObservedBlock():
                    continue
                case Declaration():
                    yield from self._declaration(statement)
                case More():
                    details = tuple(self._details(statement.details, ()))
                    if details:
                        yield replace(statement, details=details)
                case Attach():
                    yield from self._pieces(statement.chain)
                case Interlock():
                    yield from self._interlock(statement)
                case RopeLine():
                    yield from self._rope(statement)
                case StageBlock():
                    yield replace(statement, steps=tuple(self._step(step) for step in statement.steps))
                case _:
                    yield statement
        yield from self.more

    def _declaration(self, one: Declaration) -> Iterator[Statement]:
        left = tuple(name for name in one.names if name.text not in self.gone)
        details = tuple(self._details(one.details, left))
        for word in dict.fromkeys(self.kind.get(n.text, one.kind) for n in left):
            names = tuple(name for name in left if self.kind.get(name.text, one.kind) == word)
            own = {name.text for name in names}
            mine = [(d, tuple(n for n in d.names if n.text in own)) for d in details]
            theirs = tuple(replace(d, names=n) for d, n in mine if n)
            yield replace(one, kind=word, names=names, details=theirs)

    def _details(self, details: Iterable[Detail], names: tuple[Word, ...]) -> Iterator[Detail]:
        """Details with names of their own, for what is still there, without figures that were found otherwise."""
        for detail in details:
            for name in detail.names or names:
                if name.text in self.gone:
                    continue
                kept = tuple(self._attribute(a) for a in self._still(name.text, detail.attributes))
                kept = tuple(a for a in kept if a.words or not _lists(a))
                if kept or not detail.attributes:
                    yield Detail((name,), kept)

    def _still(self, name: str, attributes: Iterable[Attribute]) -> Iterator[Attribute]:
        """What is still true of a part or rope: not what was found otherwise, nor, where it is another thing, what
        was said of the one that isn't there."""
        other = {_about(one) for one in self.figures.get(name, ())}
        for one in attributes:
            if _about(one) in other:
                continue
            if name in self.kind and _of_the_thing(one):
                if one.key != "alike":  # the kind of a rope is what is found otherwise
                    self.not_of_it[one] = self.kind[name]
                continue
            yield one

    def said_of_another(self, one: Attribute, sources: Mapping[str, list[str]]) -> LeftOut:
        """What the file says of the thing that is not there."""
        line = sources[one.place.file][one.place.line - 1]
        words = line[one.place.column - 1 : one.place.end - 1]
        return LeftOut(one.place, words, asked=False)

    def _attribute(self, one: Attribute) -> Attribute:
        if not _lists(one):
            return one
        return replace(one, words=tuple(word for word in one.words if word.text not in self.gone))

    def _interlock(self, one: Interlock) -> Iterator[Statement]:
        run: list[Word] = []
        for word in one.knots:
            if word.text in self.gone or (run and frozenset((run[-1].text, word.text)) in self.parted):
                if len(run) > 1:
                    yield replace(one, knots=tuple(run))
                run = []
            if word.text not in self.gone:
                run.append(word)
        if len(run) > 1:
            yield replace(one, knots=tuple(run))

    def _named(self, link: Link) -> Link:
        """The link by its name, an unnamed one too, and of the kind that was found."""
        if link.name is None and link.place in self.named:
            link = replace(link, name=Word(self.named[link.place], link.place))
        if link.name and link.attributes:
            link = replace(link, attributes=tuple(self._still(link.name.text, link.attributes)))
        if link.kind and link.name and link.name.text in self.kind:
            link = replace(link, kind=self.kind[link.name.text])
        return link

    def _split(self, chain: Iterable[Link]) -> list[list[Link]]:
        """A chain in the pieces that are left of it."""
        pieces: list[list[Link]] = [[]]
        for link in map(self._named, chain):
            name = link.name.text if link.name else ""
            last = pieces[-1][-1].name if pieces[-1] else None
            if name in self.gone or (last and frozenset((last.text, name)) in self.parted):
                pieces.append([])
            if name not in self.gone:
                pieces[-1].append(link)
        return pieces

    def _pieces(self, chain: Iterable[Link]) -> Iterator[Statement]:
        for piece in self._split(chain):
            yield from _attached(piece)

    def _rope(self, one: RopeLine) -> Iterator[Statement]:
        if one.name.text in self.gone:
            for station in one.stations:
                yield from self._pieces(station.chain)
            return
        stations: list[RopeStation] = []
        near: tuple[Word, ...] = ()  # what is near the span that two become when a station goes
        for station in one.stations:
            kept, rest = self._station(one.name.text, station, self.stations.get(station.place))
            if kept and stations:
                stations.append(replace(kept, near=(*near, *kept.near)))
            elif kept:
                stations.append(replace(kept, near=(), inside=(), slack=None))
            near = () if kept else (*near, *station.near)
            for piece in rest:
                yield from _attached(piece)
        attributes = one.attributes
        found = self.figures.get(one.name.text, ())
        attributes = (*self._still(one.name.text, attributes), *found)
        if one.name.text in self.kind:
            kind = self.kind[one.name.text]
            attributes = (Attribute("alike", kind.place, (kind,)), *attributes)
        if len(stations) > 1:
            yield replace(one, attributes=attributes, stations=tuple(stations))
            return
        self.gone |= {part.name for part in self.rig.parts.values() if part.rope == one.name.text}
        for station in stations:  # one station is no rope: what its chain joins stays joined
            for piece in self._split(station.chain):
                yield from _attached(piece)

    def _station(
        self, rope: str, written: RopeStation, station: Station | None
    ) -> tuple[RopeStation | None, list[list[Link]]]:
        """A station as found, or None; and the pieces of its chain that it no longer meets."""
        one = self._plain(written)
        pieces = self._split(one.chain)
        if station is None:
            return one, []
        first = one.chain[0].name.text if one.chain and one.chain[0].name else ""
        if station.role is Role.TIE:
            knot = station.part
            one = replace(one, name=one.name or Word(knot, one.place), knot=self.kind.get(knot, one.knot))
            if knot not in self.gone and first not in self._left_on(knot):  # held by another knot's loop alone
                other = Word(self._left_on(knot)[0], one.place)
                return replace(one, chain=(Link(one.place, other),)), pieces
            apart = knot in self.gone
        else:
            if station.role is Role.STOPPER:
                one = replace(one, name=one.name or Word(station.part, one.place))
            apart = station.part in self.gone
        apart = apart or (bool(first) and (first in self.gone or frozenset((rope, first)) in self.parted))
        apart = apart or frozenset((rope, station.part)) in self.parted
        if apart:
            return None, pieces
        one = self._gripping(one, station)
        if not one.chain:
            return one, []
        return replace(one, chain=tuple(pieces[0])), pieces[1:]

    def _plain(self, one: RopeStation) -> RopeStation:
        """Without guards, sleeves and hazards that are not there."""
        guards, inside = (tuple(w for w in several if w.text not in self.gone) for several in (one.guards, one.inside))
        return replace(one, chain=tuple(map(self._named, one.chain)), guards=guards, inside=inside)

    def _gripping(self, one: RopeStation, station: Station) -> RopeStation:
        """The loaded side said, as knots that told it may be gone; turned where the device was."""
        if station.role not in (Role.GRIP, Role.HAND):
            return one
        if station.part in self.loose:
            return replace(one, role="through", load_from=None, tail_towards=None, both_ways=False)
        if station.to_start == station.to_end:
            return one
        to_start = station.to_start is not (station.part in self.turned)
        side = Word("start" if to_start else "end", one.place)
        return replace(one, load_from=side, tail_towards=None, both_ways=False)

    def _step(self, one: StepLine) -> StepLine:
        """A rope laid anew in a step meets no part that is missing; other steps are left as they are."""
        if one.rope is None or not self.gone:
            return one
        kept = []
        for station in one.rope.stations:
            plain = self._plain(station)
            if not any(link.name and link.name.text in self.gone for link in plain.chain):
                kept.append(plain)
        return replace(one, rope=replace(one.rope, stations=tuple(kept)))


def _on(stations: Iterable[Station], name: str) -> bool:
    return any(station.part == name and station.role is not Role.TIE for station in stations)


def _attached(piece: list[Link]) -> Iterator[Statement]:
    """What is left of a chain: its contacts, or the declaration of a lone part."""
    if len(piece) > 1:
        yield Attach(piece[0].place, tuple(piece))
    elif piece and piece[0].kind and piece[0].name:
        yield Declaration(piece[0].place, piece[0].kind, (piece[0].name,), ())


def _lists(one: Attribute) -> bool:
    """Does it list parts that may be gone?"""
    return BY_KEY[one.key].shape in (Shape.NAMES, Shape.GROUP) and one.key != "points"


def _of_the_thing(one: Attribute) -> bool:
    return one.key in OF_THE_THING or (one.key == "measured" and _about(one) != "length")


def _about(one: Attribute) -> str:
    """What an attribute speaks of: figures without a word by their unit."""
    if one.key == "measured" and one.measure:
        short, long = one.measure.unit in ("mm", "in"), one.measure.unit in ("m", "ft")
        return "diameter" if short else "length" if long else f"measured {one.measure.unit}"
    row = BY_KEY[one.key]
    return row.key if row.shape is Shape.GROUP else row.kept


class _Leaving:
    """Lines in which something is wrong once the rig is as found, taken out and told."""

    def __init__(self, wrong: Iterable[Mistake], sources: dict[str, list[str]]) -> None:
        self.wrong = list(wrong)
        self.sources = sources
        self.left_out: list[LeftOut] = []

    def statements(self, written: Iterable[Statement]) -> Iterator[Statement]:
        for one in written:
            match one:
                case Cause() | Judgement() | Chance():
                    failures = self._kept(one.failures, lambda f: f.place)
                    if failures:
                        yield replace(one, failures=failures)
                case Waiver():
                    names = self._kept(one.names, lambda word: word.place)
                    if names:
                        yield replace(one, names=names)
                case Require():
                    if not self._wrong_in(one.place, whole_line=True):
                        yield one
                    else:
                        self._leave(one.place, asked=True)
                case StageBlock():
                    steps = tuple(self._steps(one))
                    if steps:
                        yield replace(one, steps=steps)
                case RopeLine():
                    yield from self._rope(one)
                case Declaration() | More():
                    yield replace(one, details=tuple(self._details(one.details)))
                case _:
                    yield one

    def _kept(self, several: Iterable[T], place: Callable[[T], Place]) -> tuple[T, ...]:
        kept = []
        for one in several:
            if self._wrong_in(place(one)):
                self._leave(place(one), piece=True)
            else:
                kept.append(one)
        return tuple(kept)

    def _details(self, details: Iterable[Detail]) -> Iterator[Detail]:
        for detail in details:
            attributes = self._kept(detail.attributes, lambda attribute: attribute.place)
            names = self._kept(detail.names, lambda word: word.place)
            if (names or not detail.names) and (attributes or not detail.attributes):
                yield Detail(names, attributes)

    def _steps(self, one: StageBlock) -> Iterator[StepLine]:
        ends = [*(later.place.line for later in one.steps[1:]), sys.maxsize]
        for step, end in zip(one.steps, ends, strict=True):
            if any(m.place.file == step.place.file and step.place.line <= m.place.line < end for m in self.wrong):
                self._leave(step.place)
            else:
                yield step

    def _rope(self, one: RopeLine) -> Iterator[Statement]:
        if self._wrong_in(one.name.place):
            self._leave(one.name.place)
            return
        yield replace(one, stations=self._kept(one.stations, lambda station: station.place))

    def _wrong_in(self, place: Place, *, whole_line: bool = False) -> bool:
        return any(
            m.place.file == place.file
            and m.place.line == place.line
            and (whole_line or place.column <= m.place.column < max(place.end, place.column + 1))
            for m in self.wrong
        )

    def _leave(self, place: Place, *, asked: bool = False, piece: bool = False) -> None:
        """Tell of a line, or of a piece of one, that it is left out."""
        lines = self.sources.get(place.file, [])
        line = lines[place.line - 1] if place.line <= len(lines) else ""
        words = line[place.column - 1 : place.end - 1] if piece else without_comment(line)
        self.left_out.append(LeftOut(place, " ".join(words.split()), asked))
