"""The statements of a rig's file, with what was found otherwise.

A step of a stage is changed as every other line: it attaches and lays what is there. One of which nothing is left
is left out and told; a chain that has lost a link in its middle becomes several steps of the same words.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from analyser.language.attributes import BY_KEY, Shape
from analyser.language.syntax import (
    Attach,
    Attribute,
    Declaration,
    Detail,
    Interlock,
    Link,
    More,
    ObservedBlock,
    Onto,
    RopeLine,
    RopeStation,
    StageBlock,
    Statement,
    StepLine,
    Word,
    words_in,
)
from analyser.rig.model import Role, Station
from analyser.rig.plan import Plan
from analyser.uses.field.leaving_out import LeftOut, left_out
from analyser.uses.field.otherwise import Otherwise, about

OF_THE_THING = frozenset(
    (
        *("strength", "stretch", "slips_at", "slips_up_to", "loss", "friction", "efficiency", "likelihood"),
        *("minor_axis", "gate_open", "self_locking", "anti_panic", "both_ways", "lowers", "adjustable", "textile"),
        *("locking", "not_locking", "room", "takes", "called", "source", "alike"),
    )
)
"""Attributes that speak of the thing itself, not of where it is or who works it: another thing there has its own."""


class Restated:
    """The file's statements, changed; `left_out` is what they can't carry of it."""

    def __init__(self, plan: Plan, otherwise: Otherwise) -> None:
        self.document = plan.document
        self.found = otherwise
        self.named = {part.place: part.name for part in otherwise.parts.values()}
        self.stations = {station.place: station for station in otherwise.stations}
        self.left_out: list[LeftOut] = []
        self.differing: set[str] = set()
        """Every name of which something is otherwise."""

    def statements(self) -> Iterator[Statement]:
        found = self.found
        found.loosen()
        self.differing = {*found.gone, *found.loose, *found.turned, *found.kind, *found.figures}.union(*found.parted)
        for statement in self.document.statements:
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
                    yield from self._attached(self._split(statement.chain))
                case Interlock():
                    yield from self._interlock(statement)
                case RopeLine():
                    rope, pieces = self._rope(statement)
                    yield from (rope,) if rope else ()
                    yield from self._attached(pieces)
                case StageBlock():
                    yield replace(statement, steps=tuple(self._steps(statement.steps)))
                case _:
                    yield statement
        for name, figures in found.figures.items():
            if figures and name in found.parts and name not in found.later:
                yield More(figures[0].place, (Detail((Word(name, figures[0].place),), figures),))

    # -- declarations, and what is said of parts

    def _declaration(self, one: Declaration) -> Iterator[Declaration]:
        left = tuple(name for name in one.names if name.text not in self.found.gone)
        details = tuple(self._details(one.details, left))
        for word in dict.fromkeys(self.found.kind.get(n.text, one.kind) for n in left):
            names = tuple(name for name in left if self.found.kind.get(name.text, one.kind) == word)
            own = {name.text for name in names}
            mine = [(d, tuple(n for n in d.names if n.text in own)) for d in details]
            theirs = tuple(replace(d, names=n) for d, n in mine if n)
            theirs += tuple(Detail((name,), found) for name in names if (found := self._of_later(name.text)))
            yield replace(one, kind=word, names=names, details=theirs)

    def _details(self, details: Iterable[Detail], names: tuple[Word, ...]) -> Iterator[Detail]:
        """Details with names of their own, for what is still there, without figures that were found otherwise."""
        for detail in details:
            for name in detail.names or names:
                if name.text in self.found.gone:
                    continue
                kept = tuple(self._attribute(a) for a in self._still(name.text, detail.attributes))
                kept = tuple(a for a in kept if a.words or not _lists(a))
                if kept or not detail.attributes:
                    yield Detail((name,), kept)

    def _still(self, name: str, attributes: Iterable[Attribute]) -> Iterator[Attribute]:
        """What is still true of a part or rope: not what was found otherwise, nor, where it is another thing, what
        was said of the one that isn't there."""
        other = {about(one) for one in self.found.figures.get(name, ())}
        for one in attributes:
            if about(one) in other:
                continue
            if name in self.found.kind and _of_the_thing(one):
                if one.key != "alike":  # the kind of a rope is what is found otherwise
                    self.left_out.append(left_out(one.place, self.document.sources, piece=True))
                continue
            yield one

    def _of_later(self, name: str) -> tuple[Attribute, ...]:
        """The figures found of a part that a step brings in: said where it is declared."""
        return self.found.figures.get(name, ()) if name in self.found.later else ()

    def _attribute(self, one: Attribute) -> Attribute:
        if not _lists(one):
            return one
        return replace(one, words=tuple(word for word in one.words if word.text not in self.found.gone))

    def _interlock(self, one: Interlock) -> Iterator[Statement]:
        run: list[Word] = []
        for word in one.knots:
            if word.text in self.found.gone or (run and frozenset((run[-1].text, word.text)) in self.found.parted):
                if len(run) > 1:
                    yield replace(one, knots=tuple(run))
                run = []
            if word.text not in self.found.gone:
                run.append(word)
        if len(run) > 1:
            yield replace(one, knots=tuple(run))

    # -- chains

    def _named(self, link: Link) -> Link:
        """The link by its name, an unnamed one too, and of the kind that was found."""
        if link.name is None and link.place in self.named:
            link = replace(link, name=Word(self.named[link.place], link.place))
        if link.name and link.kind:
            still = tuple(self._still(link.name.text, link.attributes))
            link = replace(link, attributes=(*still, *self._of_later(link.name.text)))
        if link.kind and link.name and link.name.text in self.found.kind:
            link = replace(link, kind=self.found.kind[link.name.text])
        return link

    def _split(self, chain: Iterable[Link]) -> list[list[Link]]:
        """A chain in the pieces that are left of it."""
        return self._parted(map(self._named, chain))

    def _parted(self, chain: Iterable[Link]) -> list[list[Link]]:
        pieces: list[list[Link]] = [[]]
        for link in chain:
            name = link.name.text if link.name else ""
            last = pieces[-1][-1].name if pieces[-1] else None
            if name in self.found.gone or (last and frozenset((last.text, name)) in self.found.parted):
                pieces.append([])
            if name not in self.found.gone:
                pieces[-1].append(link)
        return pieces

    @staticmethod
    def _attached(pieces: Iterable[list[Link]]) -> Iterator[Statement]:
        """What is left of chains: their contacts, and the declaration of a lone part."""
        for piece in pieces:
            if len(piece) > 1:
                yield Attach(piece[0].place, tuple(piece))
            elif piece and (lone := _declared(piece[0])):
                yield lone

    # -- ropes

    def _rope(self, one: RopeLine, *, again: bool = False) -> tuple[RopeLine | None, list[list[Link]]]:
        """A rope as found, or None where nothing is left of it; and what its chains join. `again`: it is laid anew."""
        name = one.name.text
        if name in self.found.gone:
            return None, [piece for station in one.stations for piece in self._split(station.links)]
        stations: list[RopeStation] = []
        pieces: list[list[Link]] = []
        near: tuple[Word, ...] = ()  # what is near the span that two become when a station goes
        for station in one.stations:
            kept, rest = self._station(name, station, self.stations.get(station.place))
            if kept and stations:
                stations.append(replace(kept, near=(*near, *kept.near)))
            elif kept:
                stations.append(replace(kept, near=(), inside=(), slack=None))
            near = () if kept else (*near, *station.near)
            pieces += rest
        attributes = tuple(self._still(name, one.attributes))
        if not again:
            attributes = (*attributes, *self.found.figures.get(name, ()))
        if name in self.found.kind:
            kind = self.found.kind[name]
            attributes = (Attribute("alike", kind.place, (kind,)), *attributes)
        written = {station.place for station in one.stations}
        laid = self.found.ropes[name].stations if name in self.found.ropes else ()
        joined = [each for each in laid if each.place not in written and each.part not in self.found.gone]
        if len(stations) + len(joined) > 1 and stations:
            return replace(one, attributes=attributes, stations=tuple(stations)), pieces
        if not again:
            self.found.gone |= self.found.knots_of(name)
        for station in stations:  # one station is no rope: what its chain joins stays joined
            pieces += self._parted(station.links)
        return None, pieces

    def _station(
        self, rope: str, written: RopeStation, station: Station | None
    ) -> tuple[RopeStation | None, list[list[Link]]]:
        """A station as found, or None; and the pieces of its chains that it no longer meets."""
        one = self._plain(written)
        if station is None:
            return one, []
        chains = [self._parted(chain) for chain in (one.chain, *one.also)]
        met = [pieces[0] for pieces in chains if pieces[0]]
        rest = [piece for pieces in chains for piece in pieces[1:]]
        parted = self.found.parted
        if station.role is Role.TIE:
            knot = station.part
            one = replace(one, name=one.name or Word(knot, one.place), knot=self.found.kind.get(knot, one.knot))
            left = self.found.left_on(knot)
            on = [piece for piece in met if piece[0].name and frozenset((knot, piece[0].name.text)) not in parted]
            on = [piece for piece in on if piece[0].name and frozenset((rope, piece[0].name.text)) not in parted]
            rest += [piece for piece in met if piece not in on]
            apart = knot in self.found.gone or frozenset((rope, knot)) in parted
            if not apart and not on and one.chain and left:  # held by another knot's loop alone
                on = [[Link(one.place, Word(left[0], one.place))]]
            apart = apart or bool(one.chain and not on)
        else:
            on = met
            if station.role is Role.STOPPER:
                one = replace(one, name=one.name or Word(station.part, one.place))
            first = one.chain[0].name.text if one.chain and one.chain[0].name else ""
            apart = station.part in self.found.gone or first in self.found.gone
            apart = apart or any(frozenset((rope, name)) in parted for name in (first, station.part))
        if apart:
            return None, [*on, *rest]
        first_chain, *also = on or [[]]
        one = replace(one, chain=tuple(first_chain), also=tuple(map(tuple, also)))
        return self._gripping(one, station), rest

    def _plain(self, one: RopeStation) -> RopeStation:
        """Without guards, sleeves and hazards that are not there."""
        gone = self.found.gone
        guards, inside = (tuple(w for w in several if w.text not in gone) for several in (one.guards, one.inside))
        chain, *also = (tuple(map(self._named, chain)) for chain in (one.chain, *one.also))
        return replace(one, chain=chain, also=tuple(also), guards=guards, inside=inside)

    def _gripping(self, one: RopeStation, station: Station) -> RopeStation:
        """The loaded side said, as knots that told it may be gone; turned where the device was."""
        if station.role not in (Role.GRIP, Role.HAND):
            return one
        if station.part in self.found.loose:
            return replace(one, role="through", load_from=None, tail_towards=None, both_ways=False)
        if station.to_start == station.to_end:
            return one
        to_start = station.to_start is not (station.part in self.found.turned)
        side = Word("start" if to_start else "end", one.place)
        return replace(one, load_from=side, tail_towards=None, both_ways=False)

    # -- steps

    def _steps(self, steps: Iterable[StepLine]) -> Iterator[StepLine]:
        for one in steps:
            made = list(self._step(one))
            if not made:
                self.left_out.append(left_out(one.place, self.document.sources))
            yield from made

    def _step(self, one: StepLine) -> Iterator[StepLine]:
        """A step as it can be done with what was found; nothing where nothing is left of it."""
        if self.differing.isdisjoint(self._names(one)):
            yield one
            return
        pieces: list[list[Link]] = []
        if one.rope:
            rope, pieces = self._rope(one.rope, again=one.verb == "rerig")
            if rope:
                yield replace(one, rope=rope)
            elif one.verb == "rerig" and one.rope.name.text not in self.found.gone:
                yield replace(one, verb="derig", rope=None, names=(one.rope.name,))
        elif one.onto:
            onto, pieces = self._onto(one.onto)
            if onto:
                yield replace(one, onto=onto, chain=onto.station.chain)
        elif one.declaration:
            yield from (replace(one, declaration=each) for each in self._declaration(one.declaration))
        elif one.chain:
            pieces = self._split(one.chain)
        else:
            yield one
        for piece in sorted(pieces, key=lambda piece: len(piece) < 2):
            if len(piece) > 1:
                yield replace(one, verb="attach", rope=None, onto=None, chain=tuple(piece))
            elif piece and (lone := _declared(piece[0])):
                yield replace(one, verb="declare", rope=None, onto=None, chain=(), declaration=lone)

    def _names(self, one: StepLine) -> Iterator[str]:
        """Every part and rope of which a step speaks, those without a name in the file too."""
        yield from (word.text for word in words_in(one))
        stations = one.rope.stations if one.rope else (one.onto.station,) if one.onto else ()
        for link in (*one.chain, *(link for station in stations for link in station.links)):
            yield self.named.get(link.place, "")
        yield from (self.stations[station.place].part for station in stations if station.place in self.stations)

    def _onto(self, one: Onto) -> tuple[Onto | None, list[list[Link]]]:
        """A part that a step puts on a rope."""
        if one.rope.text in self.found.gone:
            return None, self._split(one.station.chain)
        kept, pieces = self._station(one.rope.text, one.station, self.stations.get(one.station.place))
        return replace(one, station=kept) if kept else None, pieces


def _declared(link: Link) -> Declaration | None:
    """The declaration of a part that stands alone in its chain, where it is one."""
    if not (link.kind and link.name):
        return None
    details = (Detail((), link.attributes),) if link.attributes else ()
    return Declaration(link.place, link.kind, (link.name,), details)


def _lists(one: Attribute) -> bool:
    """Does it list parts that may be gone?"""
    return BY_KEY[one.key].shape in (Shape.NAMES, Shape.GROUP) and one.key != "points"


def _of_the_thing(one: Attribute) -> bool:
    return one.key in OF_THE_THING or (one.key == "measured" and about(one) != "length")
