"""What was found otherwise, gathered: what is gone, parted, turned and loose, and of what kind and figures it is.

Parts and ropes of later steps count like those of the rig as first attached: what they are, and what they touch, is
looked up in the first state in which they are there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from analyser.checking.finding import listed
from analyser.language.attributes import BY_KEY, Shape
from analyser.language.mistakes import Mistake, did_you_mean, with_article
from analyser.language.syntax import Attribute, Word
from analyser.rig.catalogue import Kind
from analyser.rig.describing import kept_as
from analyser.rig.failing import taken_along
from analyser.rig.model import BODIES, Nature, Part, Role, Rope, Station
from analyser.rig.plan import Plan
from analyser.uses.field.found import Difference

TIED = (Nature.KNOT, Nature.STOPPER)


class Otherwise:
    """What differs from the rig as written, in all of its states."""

    def __init__(self, plan: Plan, kinds: Mapping[str, Kind]) -> None:
        self.kinds = kinds
        self.parts: dict[str, Part] = {}
        self.ropes: dict[str, Rope] = {}
        self.touching: dict[str, tuple[str, ...]] = {}
        self.pairs: set[frozenset[str]] = set()
        """What touches in some state; a rope what is on it."""
        self.stations: list[Station] = []
        """Of all ropes in all states, each once."""
        seen: set[Rope] = set()
        for state in plan.states:
            self.touching |= {name: state.touching[name] for name in state.parts if name not in self.parts}
            self.parts = {**state.parts, **self.parts}
            self.pairs |= {frozenset((one.a, one.b)) for one in state.contacts if one.given}
            for rope in state.ropes:
                self.ropes.setdefault(rope.name, rope)
                if rope not in seen:
                    seen.add(rope)
                    self.stations += rope.stations
                    self.pairs |= {frozenset((rope.name, station.part)) for station in rope.stations}
        self.later = self.parts.keys() - plan.first.parts.keys()
        """Parts that a step brings in."""
        self.gone: set[str] = set()
        self.loose: set[str] = set()
        self.turned: set[str] = set()
        self.parted: set[frozenset[str]] = set()
        self.kind: dict[str, Word] = {}
        self.figures: dict[str, tuple[Attribute, ...]] = {}
        self.stands_no_more: dict[str, tuple[str, ...]] = {}

    # -- what each difference says

    def take(self, one: Difference) -> Iterator[Mistake]:
        """Note a difference; what is wrong with it is told."""
        name = one.name.text
        if name not in self.parts and name not in self.ropes:
            hint = did_you_mean(name, {**self.parts, **self.ropes}, "a part that was not written is told as extra")
            yield Mistake(one.name.place, f"there is no part or rope called `{name}` in the rig", hint)
            return
        wrong = getattr(self, f"_{one.how.replace('-', '_')}")(one)
        if wrong:
            yield wrong

    def _missing(self, one: Difference) -> Mistake | None:
        name = one.name.text
        part = self.parts.get(name)
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
            self.gone |= self.knots_of(name)
        for member in sorted(taken_along(self.parts).get(name, ())):
            self._take_out(member)
        for part in self.parts.values():
            lacking = [need for need in part.needs if len(set(need.bearing) - self.gone) < need.count]
            if lacking and part.name not in self.gone:
                away = dict.fromkeys(self._whose(one) for need in lacking for one in need.bearing if one in self.gone)
                self.stands_no_more[part.name] = tuple(away)
                self._take_out(part.name)

    def knots_of(self, rope: str) -> set[str]:
        return {part.name for part in self.parts.values() if part.rope == rope}

    def _whose(self, name: str) -> str:
        """A frame stands on a rope by its knot, and people say the rope."""
        return self.parts[name].rope or name

    def _unlocked(self, one: Difference) -> Mistake | None:
        part = self.parts.get(one.name.text)
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
        part = self.parts.get(one.name.text)
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
        own = [station for station in self.stations if station.part == name and station.role is Role.GRIP]
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
        if other not in self.parts and other not in self.ropes:
            hint = did_you_mean(other, {**self.parts, **self.ropes}, self._on(name))
            return Mistake(one.other.place, f"there is no part or rope called `{other}`", hint)
        pair = frozenset((name, other))
        if pair not in self.pairs:
            return Mistake(one.other.place, f"`{name}` is not on `{other}` as written either", self._on(name))
        self.parted.add(pair)
        return None

    def _on(self, name: str) -> str:
        """What a part or rope is on, as it first comes."""
        if name in self.ropes:
            others = [station.part for station in self.ropes[name].stations]
        else:
            others = [*self.touching[name], *(r.name for r in self.ropes.values() if _on(r.stations, name))]
        return f"`{name}` is on {listed(list(dict.fromkeys(others)))}" if others else f"`{name}` is on nothing"

    def _is(self, one: Difference) -> Mistake | None:
        assert one.other
        part, kind = self.parts.get(one.name.text), self.kinds[one.other.text]
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
        part = self.parts.get(one.name.text)
        if one.attributes and part and part.nature in TIED:
            text = f"`{part.name}` is {with_article(part.kind)}: it has no figures of its own"
            return Mistake(one.name.place, text, f"write another knot: `found {part.name} is bowline`")
        known = {about(each): each for each in self.figures.get(one.name.text, ())}
        for each in one.attributes:
            if about(each) in known:
                text = f"the {about(each).replace('_', ' ')} of `{one.name.text}` is told twice"
                return Mistake(each.place, text, "leave the one that was found")
            known[about(each)] = each
        self.figures[one.name.text] = tuple(known.values())
        return None

    # -- what follows from it

    def left_on(self, knot: str) -> list[str]:
        """What a knot still touches: what it is tied to, or a knot that its loop passes through."""
        others = self.touching[knot]
        return [one for one in others if one not in self.gone and frozenset((knot, one)) not in self.parted]

    def loosen(self) -> None:
        """A knot that touches nothing any more is none, and a rope that is at one place alone is none: what hangs on
        them hangs on nothing, and a frame that they guyed has lost them."""
        knots = [part.name for part in self.parts.values() if part.nature is Nature.KNOT and self.touching[part.name]]
        while fresh := [
            *(knot for knot in knots if knot not in self.gone and not self.left_on(knot)),
            *(name for name, rope in self.ropes.items() if name not in self.gone and self._stations_left(rope) < 2),
        ]:
            for name in fresh:
                self._take_out(name)

    def _stations_left(self, rope: Rope) -> int:
        parted = (frozenset((rope.name, station.part)) in self.parted for station in rope.stations)
        return sum(one.part not in self.gone and not off for one, off in zip(rope.stations, parted, strict=True))


def _on(stations: Iterable[Station], name: str) -> bool:
    return any(station.part == name and station.role is not Role.TIE for station in stations)


def about(one: Attribute) -> str:
    """What an attribute speaks of: figures without a word by their unit."""
    row = BY_KEY[one.key]
    return row.key if row.shape is Shape.GROUP else kept_as(one)
