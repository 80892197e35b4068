"""A way of being held, in the rig's words: its legs, each from the ground towards the body."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable

from analyser.checking.sentences import listed
from analyser.rig.model import Nature, Rig

Legs = tuple[tuple[str, ...], ...]


def held_by(rig: Rig, body: str, way: tuple[str, ...]) -> Legs:
    """The legs of a way of being held: the first runs to the body, each further one to a part of
    a leg told before, which is its last word.

    `way` names the failures that must not happen. A rope's knots, spans and edges are told as the
    rope; parts that can't fail are told where the way runs through them. Where it is their own feet, on something that
    hangs, the legs are those of what hangs, and run to it.
    """
    legs = rig.index.legs.get((body, way))  # each page asks again
    if legs is None:
        deck = _deck(rig, body, way)
        legs = _Way(rig, deck or body, way).legs()
        if deck:
            first, *more = legs or ((),)
            legs = ((*first, deck), *more)
        rig.index.legs[body, way] = legs
    return legs


def _deck(rig: Rig, body: str, way: tuple[str, ...]) -> str | None:
    """What hangs and they stand on, in a way of being held by their own feet there."""
    return rig.parts[body].stands_on if _footing(body) in way else None


def _footing(body: str) -> str:
    """What must not happen where somebody is held by their own feet."""
    return f"{body} loses footing"


class _Way:
    """What holds in one way: the parts and spans that it runs through, and how far each is from the body."""

    def __init__(self, rig: Rig, body: str, way: tuple[str, ...]) -> None:
        failures = rig.index.failures
        self.rig = rig
        self.body = body
        self.named = {failures[one].part for one in way if one in failures}
        self.own = {body, *rig.parts[body].points}
        self.mine = self.named | self.own
        self.toward, self.distance = self._walked(body)

    def _next(self, here: str) -> Iterable[str]:
        """What meets it, of what the way may run through, in order of names: what is named, and what can't fail and is
        nobody's. Of many straps on one ring only its own are looked at."""
        index, mine = self.rig.index, self.mine
        meeting = index.meeting.get(here, ())
        if len(meeting) <= len(mine):
            return (name for name in meeting if name in mine or name in index.lasting)
        return sorted({*index.meeting_lasting.get(here, ()), *(mine & index.meets.get(here, frozenset()))})

    def _walked(self, body: str) -> tuple[dict[str, str], dict[str, int]]:
        """The shortest way to the body: the next part from each, and how many there are."""
        toward: dict[str, str] = {}
        distance = {body: 0}
        queue = deque([body])
        while queue:
            here = queue.popleft()
            for there in self._next(here):
                if there not in distance:
                    distance[there] = distance[here] + 1
                    toward[there] = here
                    queue.append(there)
        return toward, distance

    def _word(self, name: str | None) -> str | None:
        """How a part is told, or None where it is passed over."""
        part = self.rig.parts.get(name or "")
        if name is None or name in self.own or (part and part.nature in (Nature.EDGE, Nature.PAD, Nature.POINT)):
            return None
        if name in self.rig.index.spans:
            return self.rig.index.spans[name].rope.name if name in self.named else None
        return part.rope if part and part.rope else name

    def legs(self) -> Legs:
        told: set[str] = set()
        legs: list[tuple[str, ...]] = []
        far = sorted(self.named & self.distance.keys(), key=lambda n: (-self.distance[n], n))
        for start in far:
            if start in told or self._word(start) is None:
                continue
            leg = self._leg(start, told, first=not legs)
            if len(leg) > 1 or not legs:
                legs.append(tuple(leg))
        return tuple(leg for k, leg in enumerate(legs) if not any(set(leg) <= set(other) for other in legs[:k]))

    def _leg(self, start: str, told: set[str], *, first: bool) -> list[str]:
        """From a part towards the body, as far as nothing of it is told already, and what it joins there."""
        leg: dict[str, None] = {}
        at: str | None = start
        while at is not None and at not in told:
            told.add(at)
            name = self._word(at)
            if name:
                leg[name] = None
            at = self.toward.get(at)
        joins = self._word(at)
        while not first and at is not None and joins is None:
            at = self.toward.get(at)
            joins = self._word(at)
        if not first and joins is None:
            joins = self.body
        return list(leg | {joins: None} if joins else leg)


def in_words(legs: Legs) -> str:
    """`left-bolt – red – master, with right-bolt – sling to master`; what joins at the same part is told together."""
    if not legs or not legs[0]:
        return "what can't fail in this model"
    to: dict[str, list[str]] = {}
    for *leg, joins in legs[1:]:
        to.setdefault(joins, []).append(" – ".join(leg))
    further = [f"{listed(some)} to {joins}" for joins, some in to.items()]
    return ", with ".join([" – ".join(legs[0]), *further])


def way_in_words(rig: Rig, body: str, way: tuple[str, ...]) -> str:
    """A way of being held as it is told: `bolt – strap s`, `their own feet`, `their own feet on deck: bolt – deck`."""
    if way == (_footing(body),):
        return "their own feet"
    deck = _deck(rig, body, way)
    feet = f"their own feet on {deck}: " if deck else ""
    return feet + in_words(held_by(rig, body, way))


def in_short(rig: Rig, body: str, way: tuple[str, ...]) -> str:
    """The same by rope and anchor alone: `red → left-bolt`, `red → left-bolt + green → right-bolt`; where a
    rope is held at both ends `leash → main → far-1 and near-1`."""
    if way == (_footing(body),):
        return "their own feet"
    deck = _deck(rig, body, way)
    told: dict[tuple[str, ...], list[str]] = {}
    for leg in held_by(rig, body, way):
        ground = next((one for one in leg if one in rig.parts and rig.parts[one].nature is Nature.GROUND), None)
        ropes = [one for one in leg if one in rig.index.ropes] or [one for one in leg[-1:] if one != ground]
        if ground:
            chain = tuple(reversed(ropes))
            longer = next((one for one in told if one[len(one) - len(chain) :] == chain), chain)
            told.setdefault(longer, []).append(ground)
    if not told:
        return way_in_words(rig, body, way)
    ends = [" → ".join((*chain, listed(sorted(set(grounds))))) for chain, grounds in told.items()]
    return (f"their own feet on {deck}: " if deck else "") + " + ".join(ends)
