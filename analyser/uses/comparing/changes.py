"""What changed between two revisions of a rig: a list of changes, each in the trade's words.

Both rigs are in one set of names (`matching.py`, `renaming.py`). What a rig holds is taken apart into
pieces: a part, a contact, a rope, a cause, an assumption. A piece that only one rig has, or that the
two have differently, is a difference; differences that a rigger would make with one hand (a strap and
the two places where it touches, a rope and its knots) are one change.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher

from analyser.checking.finding import listed
from analyser.rig.model import BODIES, Contact, Failure, Judged, Nature, Part, Rig, Rope
from analyser.uses.comparing.facts import (
    at_station,
    differences,
    links_of_part,
    links_of_station,
    of_rope,
    of_station,
    whole_part,
)

Key = tuple[str, Hashable]
"""A piece: `("part", name)`, `("contact", (a, b))`, `("rope", name)`, `("cause", name)`, `("sound", failure)`."""
Value = Part | Contact | Rope | Failure | Judged

SORTS = (
    *("part added", "part gone", "part changed", "rope added", "rope gone", "rope laid differently", "rope changed"),
    *("attached elsewhere", "contact made", "contact taken away", "cause added", "cause gone", "cause changed"),
    *("assumption added", "assumption dropped"),
)
"""The sorts of changes, in the order in which they are told."""
FEW = 4
CHAINED = 2
"""A link of a chain has so many contacts."""


@dataclass(frozen=True, slots=True)
class Change:
    """One change: its sort, the sentence, the parts it is about, and its pieces."""

    sort: str
    text: str
    about: tuple[str, ...]
    keys: frozenset[Key]


def pair_of(contact: Contact) -> tuple[str, str]:
    return (contact.a, contact.b) if contact.a < contact.b else (contact.b, contact.a)


def pieces(rig: Rig) -> dict[Key, Value]:
    """Everything of the rig as first attached on which holding depends."""
    found: dict[Key, Value] = {("part", name): part for name, part in rig.parts.items()}
    found |= {("contact", pair_of(one)): one for one in rig.contacts}
    found |= {("rope", rope.name): rope for rope in rig.ropes}
    found |= {("cause", one.part): one for one in rig.failures if one.mode == "strikes"}
    found |= {("sound", one.failure): one for one in rig.sound}
    return found


def links(value: Value) -> set[str]:
    """The parts without which a piece cannot be there."""
    if isinstance(value, Part):
        return {name for _, name in links_of_part(value)}
    if isinstance(value, Contact):
        return {value.a, value.b}
    if isinstance(value, Rope):
        return {name for station in value.stations for name in links_of_station(station)}
    return set()


def said(value: Value) -> object:
    """A piece as it is compared: without its place in the file."""
    if isinstance(value, Part):
        return {key: fact[0] for key, fact in whole_part(value).items()} | {"body": value.body, "rope": value.rope}
    if isinstance(value, Rope):
        return {key: fact[0] for key, fact in of_rope(value).items()}, [_station_said(value, k) for k in _all(value)]
    if isinstance(value, Failure):
        return value.effects, value.likelihood
    return value.given if isinstance(value, Contact) else None


def _all(rope: Rope) -> range:
    return range(len(rope.stations))


def _station_said(rope: Rope, k: int) -> object:
    station = rope.stations[k]
    return station.role, station.part, {key: fact[0] for key, fact in of_station(station).items()}


def changes(old: Rig, new: Rig) -> tuple[Change, ...]:
    """Every change, in the order of `SORTS` and then of the names."""
    return _Changes(old, new).made()


class _Changes:
    def __init__(self, old: Rig, new: Rig) -> None:
        self.rigs = old, new
        self.was, self.now = pieces(old), pieces(new)
        self.keys = [key for key in dict.fromkeys([*self.was, *self.now]) if self._differs(key)]
        self.added = {key[1] for key in self.keys if key[0] == "part" and key not in self.was}
        self.gone = {key[1] for key in self.keys if key[0] == "part" and key not in self.now}
        self.root = {key: key for key in self.keys}
        self.moved: dict[Key, str] = {}
        """The first piece of each contact that moved, and the part that is attached elsewhere."""

    def _differs(self, key: Key) -> bool:
        was, now = self.was.get(key), self.now.get(key)
        return was is None or now is None or said(was) != said(now)

    def _find(self, key: Key) -> Key:
        while self.root[key] != key:
            key = self.root[key]
        return key

    def _join(self, one: Key, other: Key) -> None:
        if one in self.root and other in self.root:
            self.root[self._find(other)] = self._find(one)

    def made(self) -> tuple[Change, ...]:
        moves = self._moves()
        for lost, gained in moves.values():
            self._join(lost, gained)
        busy = {key for pair in moves.values() for key in pair}
        for side in (self.was, self.now):
            fresh = self.gone if side is self.was else self.added
            for key in self.keys:
                value = side.get(key)
                if isinstance(value, Contact) and key not in busy and not self._kept(key):
                    ends = sorted((self._many(side, name), name) for name in pair_of(value) if name in fresh)
                    if ends:
                        self._join(("part", ends[0][1]), key)
                    if ends and ends[-1][0] <= CHAINED:  # links of a chain come and go together, a ring by itself
                        self._join(("part", ends[0][1]), ("part", ends[-1][1]))
                elif isinstance(value, Part):
                    for link in (value.body, value.rope):
                        if link is not None and value.name in fresh:
                            self._join(("part" if link == value.body else "rope", link), key)
                elif isinstance(value, Rope) and self._kept(key) is False:
                    for station in value.stations:
                        if station.part in fresh and self._many(side, station.part) <= CHAINED:
                            self._join(key, ("part", station.part))
        groups: dict[Key, list[Key]] = {}
        for key in self.keys:
            groups.setdefault(self._find(key), []).append(key)
        told = [self._change(group, moves) for group in groups.values()]
        return tuple(sorted(told, key=lambda one: (SORTS.index(one.sort), one.about, one.text)))

    def _many(self, side: dict[Key, Value], name: str) -> int:
        """How many contacts a part has in one of the rigs."""
        return len(self.rigs[0 if side is self.was else 1].touching.get(name, ()))

    def _kept(self, key: Key) -> bool:
        """Have both rigs this piece, differently?"""
        return key in self.was and key in self.now

    # -- contacts that moved

    def _moves(self) -> dict[str, tuple[Key, Key]]:
        """Parts that left one neighbour for another: the contact that was, and the one that is."""
        lost, gained = ({}, {})  # type: tuple[dict[str, list[Key]], dict[str, list[Key]]]
        for key in self.keys:
            if key[0] == "contact" and not self._kept(key):
                side = lost if key in self.was else gained
                value = self.was.get(key) or self.now[key]
                assert isinstance(value, Contact)
                for name in (value.a, value.b):
                    side.setdefault(name, []).append(key)
        found: dict[str, tuple[Key, Key]] = {}
        busy: set[Key] = set()
        for part in sorted(self.rigs[1].parts.values(), key=lambda p: (p.nature is not Nature.KNOT, p.name)):
            name = part.name
            many = max(len(rig.touching.get(name, ())) for rig in self.rigs)
            if name in self.added or name not in self.rigs[0].parts or part.body or part.nature in BODIES:
                continue
            if part.nature is Nature.GROUND or many > (3 if part.nature is Nature.KNOT else 2):
                continue
            pair = [*lost.get(name, ()), *gained.get(name, ())]
            if len(lost.get(name, ())) == len(gained.get(name, ())) == 1 and not busy & set(pair):
                found[name] = (pair[0], pair[1])
                busy |= set(pair)
        return found

    # -- words

    def _change(self, group: list[Key], moves: dict[str, tuple[Key, Key]]) -> Change:
        keys = frozenset(group)
        ropes = [key for key in group if key[0] == "rope"]
        parts = [key for key in group if key[0] == "part"]
        moved = [name for name, pair in moves.items() if keys & set(pair)]
        if ropes:
            sort, text = self._rope(ropes, parts)
        elif any(self._kept(key) for key in parts):
            sort, text = "part changed", "; ".join(self._part(key) for key in parts)
        elif parts:
            added = parts[0] in self.now
            sort = "part added" if added else "part gone"
            text = self._bundle(parts, keys, added=added)
        elif moved:
            sort, text = "attached elsewhere", "; ".join(self._elsewhere(name, moves[name]) for name in moved)
        else:
            sort, text = self._single(group[0])
        names = [str(key[1]) for key in group if key[0] != "contact"] or moved
        names = names or [name for key in group for name in self._ends(key)]
        return Change(sort, text, tuple(sorted(dict.fromkeys(names))), keys)

    def _ends(self, key: Key) -> tuple[str, str]:
        value = self.was.get(key) or self.now[key]
        assert isinstance(value, Contact)
        return pair_of(value)

    def _named(self, rig: Rig, name: str) -> str:
        return f"{rig.parts[name].kind} {name}" if name in rig.parts else name

    def _bundle(self, parts: list[Key], keys: frozenset[Key], *, added: bool) -> str:
        """`strap sam-strap, from master to sam-chest`: what came or went, and what of the rest it touches."""
        rig = self.rigs[1 if added else 0]
        names = [str(key[1]) for key in parts]
        beyond = {end for key in keys if key[0] == "contact" for end in self._ends(key)} - set(names)
        beyond |= {name for one in names for name in links(rig.parts[one]) if name not in names and name in rig.parts}
        words = ", ".join(self._named(rig, name) for name in names)
        if not beyond:
            return words
        return f"{words}, {'on' if len(beyond) == 1 else 'between'} {listed(sorted(beyond))}"

    def _part(self, key: Key) -> str:
        was, now = self.was.get(key), self.now.get(key)
        name = str(key[1])
        if not (isinstance(was, Part) and isinstance(now, Part)):
            there = self.rigs[1 if isinstance(now, Part) else 0]
            return f"{self._named(there, name)} {'added' if isinstance(now, Part) else 'gone'}"
        told = differences(whole_part(was), whole_part(now))
        return f"{name}: " + ", ".join(f"{label} {after} (was {before})" for label, before, after in told)

    def _elsewhere(self, name: str, pair: tuple[Key, Key]) -> str:
        from_, to = (next(end for end in self._ends(key) if end != name) for key in pair)
        verb = "tied to" if self.rigs[1].parts[name].nature is Nature.KNOT else "attached to"
        return f"{self._named(self.rigs[1], name)}: {verb} {to} instead of {from_}"

    def _rope(self, ropes: list[Key], parts: list[Key]) -> tuple[str, str]:
        told: list[str] = []
        sorts: list[str] = []
        for key in ropes:
            was, now = self.was.get(key), self.now.get(key)
            if isinstance(was, Rope) and isinstance(now, Rope):
                laid = list(self._laid(was, now))
                general = [
                    f"{label} {after} (was {before})"
                    for label, before, after in differences(of_rope(was), of_rope(now))
                ]
                knots = [self._part(one) for one in parts if self._kept(one)]
                sorts.append("rope laid differently" if laid else "rope changed")
                told.append(f"{now.name}: " + "; ".join([*laid, *general, *knots]))
            else:
                rope, rig = (now, self.rigs[1]) if isinstance(now, Rope) else (was, self.rigs[0])
                assert isinstance(rope, Rope)
                others = [
                    self._named(rig, str(one[1]))
                    for one in parts
                    if isinstance(part := rig.parts.get(str(one[1])), Part) and part.rope is None
                ]
                sorts.append("rope added" if isinstance(now, Rope) else "rope gone")
                way = ", ".join(at_station(rig, station) for station in rope.stations)
                told.append(f"{rope.kind} {rope.name}: {way}" + (f"; with {', '.join(others)}" if others else ""))
        return min(sorts, key=SORTS.index), "; ".join(told)

    def _laid(self, was: Rope, now: Rope) -> Iterator[str]:
        """Stations added, taken out, moved, or said otherwise of."""
        before = [(one.role, one.part) for one in was.stations]
        after = [(one.role, one.part) for one in now.stations]
        steps = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
        left = Counter(one for op, a, b, _, _ in steps if op in ("delete", "replace") for one in before[a:b])
        came = Counter(one for op, _, _, a, b in steps if op in ("insert", "replace") for one in after[a:b])
        for op, a, b, c, d in steps:
            if op == "equal":
                for k, j in zip(range(a, b), range(c, d), strict=True):
                    told = differences(of_station(was.stations[k]), of_station(now.stations[j]))
                    if told:
                        words = ", ".join(f"{label} {new} (was {old})" for label, old, new in told)
                        yield f"{at_station(self.rigs[1], now.stations[j])}: {words}"
                continue
            for k in range(a, b):
                if not came[before[k]]:
                    yield f"no longer {at_station(self.rigs[0], was.stations[k])}{_between(was, k)}"
            for j in range(c, d):
                word = "moved: " if left[after[j]] else "now "
                yield f"{word}{at_station(self.rigs[1], now.stations[j])}{_between(now, j)}"

    def _single(self, key: Key) -> tuple[str, str]:
        was, now = self.was.get(key), self.now.get(key)
        value = now or was
        if isinstance(value, Contact):
            rig = self.rigs[1 if now else 0]
            knots = all(rig.parts[name].nature is Nature.KNOT for name in (value.a, value.b))
            verb = "interlocked with" if knots else "attached to"
            a, b = pair_of(value)
            sort = "contact made" if now else "contact taken away"
            return sort, f"{a} {'is' if now else 'is no longer'} {verb} {b}"
        if isinstance(value, Judged):
            word = "added" if now else "dropped"
            sort = f"assumption {word}"
            return sort, f"{value.failure} taken as impossible{'' if now else ' no more'}: {value.reason}"
        assert isinstance(value, Failure)
        if isinstance(was, Failure) and isinstance(now, Failure):
            return "cause changed", f"{value.part}: {_cause_differs(was, now)}"
        return f"cause {'added' if now else 'gone'}", f"{value.part}: {_does(value)}"


def _between(rope: Rope, k: int) -> str:
    """Between which stations a station stands on its rope."""
    labels = [one.label for one in rope.stations]
    if 0 < k < len(labels) - 1:
        return f" between {labels[k - 1]} and {labels[k + 1]}"
    if len(labels) < 2:
        return ""
    return f" before {labels[1]}, at its start" if k == 0 else f" after {labels[-2]}, at its end"


def _struck(failure: Failure) -> dict[str, frozenset[str]]:
    words = ("gone", "no longer gripping", "hands off", "off their feet", "cut", "cutting")
    return dict(zip(words, failure.effects.groups, strict=True))


def _does(failure: Failure) -> str:
    return "; ".join(f"{word}: {_some(names)}" for word, names in _struck(failure).items() if names) or "nothing"


def _cause_differs(was: Failure, now: Failure) -> str:
    told = []
    before, after = _struck(was), _struck(now)
    for word in after:
        for sign, names in (("now also", after[word] - before[word]), ("no longer", before[word] - after[word])):
            if names:
                told.append(f"{sign} {word}: {_some(names)}")
    if was.likelihood != now.likelihood:
        told.append(f"likelihood {now.likelihood} (was {was.likelihood})")
    return "; ".join(told)


def _some(names: Iterable[str]) -> str:
    shown = sorted(names)
    return ", ".join(shown[:FEW]) + (f" and {len(shown) - FEW} more" if len(shown) > FEW else "")
