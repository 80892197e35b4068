"""Which part of the new revision is which of the old: by name, and where renamed, by place in the graph.

A name that both have is one thing. What is left on both sides is told apart by what it is and by what
it touches, round after round outward (colour refinement), and paired where exactly one on each side
answers the description; parts that nothing tells apart are paired in order of their names. Numbers
that the reader gives (`master-sling-2`, `red-bowline-2`) follow the order of lines, so such names are
taken as names only where the graph doesn't say better.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass

from analyser.language.identities import Label, Span
from analyser.rig.model import Effects, Nature, Rig
from analyser.uses.comparing.facts import links_of_part, links_of_station, of_part, of_rope

NUMBERED = re.compile(r"(.*?)-\d+")
MOST_ROUNDS = 60
GEAR = (Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.GRIP)
"""What can be put in another's place, and is told as one part of another kind."""


@dataclass(frozen=True, slots=True)
class Renamed:
    """One thing that goes by another name now, and by what it was known again."""

    old: str
    new: str
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Matching:
    """`names` maps every name of the old revision to the one that it has in the comparison: the new
    name, or for what is gone its own, made different where something new goes by it now."""

    names: dict[str, str]
    renamed: tuple[Renamed, ...]


@dataclass
class _Graph:
    """Parts and ropes with what they are (`exact`, by kind in `loose`, in `sort` whether one may take
    another's place) and their labelled neighbours."""

    exact: dict[str, Hashable]
    loose: dict[str, Hashable]
    sort: dict[str, Hashable]
    near: dict[str, list[tuple[Hashable, str]]]

    @classmethod
    def of(cls, rig: Rig) -> _Graph:
        exact: dict[str, Hashable] = {}
        loose: dict[str, Hashable] = {}
        sort: dict[str, Hashable] = {}
        near: dict[str, list[tuple[Hashable, str]]] = {}

        def join(a: str, b: str, one: Hashable, other: Hashable) -> None:
            near.setdefault(a, []).append((one, b))
            near.setdefault(b, []).append((other, a))

        for part in rig.parts.values():
            exact[part.name] = (part.nature, *sorted((k, str(v[0])) for k, v in of_part(part).items()))
            loose[part.name] = (part.nature, part.kind)
            sort[part.name] = "gear" if part.nature in GEAR else part.nature
            for label, name in links_of_part(part):
                join(part.name, name, label, f"({label})")
        for contact in rig.contacts:
            join(contact.a, contact.b, "touches", "touches")
        for rope in rig.ropes:
            facts = sorted((k, str(v[0])) for k, v in of_rope(rope).items())
            exact[rope.name] = ("rope", len(rope.stations), *facts)
            loose[rope.name] = ("rope", rope.kind)
            sort[rope.name] = "rope"
            for k, station in enumerate(rope.stations):
                number = min(k, len(rope.stations) - 1 - k)  # whichever end it is written from
                grips = tuple(sorted((station.to_start, station.to_end)))
                for name in links_of_station(station):
                    at = (number, str(station.role), name == station.part, grips)
                    join(rope.name, name, at, ("station", *at))
        return cls(
            exact, loose, sort, {name: [pair for pair in near.get(name, ()) if pair[1] in exact] for name in exact}
        )


def match(old: Rig, new: Rig) -> Matching:
    """Every part, rope and cause of the old rig that is still there, whatever it is called now."""
    graphs = _Graph.of(old), _Graph.of(new)
    whats = {name: _category(old, name) for name in graphs[0].exact}
    others = {name: _category(new, name) for name in graphs[1].exact}
    same = {name for name in whats if others.get(name) == whats[name]}
    loosely = {name for name in same if _numbered(name, old) or _numbered(name, new)}
    fixed = {name: name for name in sorted(same - loosely)}
    by: dict[str, str] = {}
    _pair(graphs, fixed, by, lambda graph: graph.exact, "same kind, same neighbours", MOST_ROUNDS)
    free = set(others) - set(fixed.values())
    fixed |= {name: name for name in sorted(loosely) if name not in fixed and name in free}
    words = "same kind, same neighbours; other things said of it changed"
    _pair(graphs, fixed, by, lambda graph: graph.loose, words, 1)
    _pair(graphs, fixed, by, lambda graph: graph.sort, "another kind in the same place: same neighbours", 1)
    fixed |= _causes(old, new, fixed)
    renamed = [
        Renamed(name, now, _what(new, now), by.get(name, "the same failures"))
        for name, now in fixed.items()
        if name != now
    ]
    taken = {*others, *(f.part for f in new.failures if f.mode == "strikes"), *fixed.values()}
    names = dict(fixed)
    for name in (*whats, *(f.part for f in old.failures if f.mode == "strikes")):
        if name not in names:
            now = name
            while now in taken:
                now += "-before"
            names[name] = now
            taken.add(now)
    return Matching(names, tuple(sorted(renamed, key=lambda one: (one.old, one.new))))


def _category(rig: Rig, name: str) -> str:
    return str(rig.parts[name].nature) if name in rig.parts else "rope"


def _what(rig: Rig, name: str) -> str:
    if name in rig.parts:
        return rig.parts[name].kind
    rope = rig.index.ropes.get(name)
    return rope.kind if rope else "cause"


def _numbered(name: str, rig: Rig) -> bool:
    """Is it one of several whose names differ by a number alone?"""
    found = NUMBERED.fullmatch(name)
    return bool(found and found[1] in rig.parts) or f"{name}-2" in rig.parts


def _pair(
    graphs: tuple[_Graph, _Graph],
    fixed: dict[str, str],
    by: dict[str, str],
    own: Callable[[_Graph], Mapping[str, Hashable]],
    why: str,
    rounds: int,
) -> None:
    """Add to `fixed` what only one on each side can be; what nothing tells apart, in order of names."""
    while True:
        sides = [set(graphs[0].exact) - set(fixed), set(graphs[1].exact) - set(fixed.values())]
        if not all(sides):
            return
        kinds = [{own(graph)[name] for name in side} for graph, side in zip(graphs, sides, strict=True)]
        if not kinds[0] & kinds[1]:
            return
        levels = _levels(graphs, fixed, own, rounds)
        found: list[tuple[str, str]] = []
        for colours in reversed(levels[1:]):
            classes = _classes(colours, sides)
            found = [(mine[0], theirs[0]) for mine, theirs in classes if len(mine) == len(theirs) == 1]
            if rounds == 1:
                known = set(fixed)
                found = [pair for pair in found if any(other in known for _, other in graphs[0].near[pair[0]])]
            if found:
                break
        if not found and rounds > 1:
            alike = [pair for pair in _classes(levels[-1], sides) if len(pair[0]) == len(pair[1])]
            for mine, theirs in alike[:1]:
                both = [name for name in mine if name in theirs]
                found = [(both[0], both[0])] if both else [(mine[0], theirs[0])]
        if not found:
            return
        fixed |= dict(found)
        by |= dict.fromkeys((one for one, _ in found), why)


def _classes(
    colours: tuple[dict[str, int], dict[str, int]], sides: list[set[str]]
) -> list[tuple[list[str], list[str]]]:
    """The free ones of each side by colour, where both sides have some."""
    gathered: dict[int, tuple[list[str], list[str]]] = {}
    for number, side in enumerate(sides):
        for name in sorted(side):
            gathered.setdefault(colours[number][name], ([], []))[number].append(name)
    return sorted(pair for pair in gathered.values() if pair[0] and pair[1])


def _levels(
    graphs: tuple[_Graph, _Graph],
    fixed: dict[str, str],
    own: Callable[[_Graph], Mapping[str, Hashable]],
    rounds: int,
) -> list[tuple[dict[str, int], dict[str, int]]]:
    """The colours after each round, until a round tells no more apart."""
    known = ({name: f"={now}" for name, now in fixed.items()}, {now: f"={now}" for now in fixed.values()})
    numbers: dict[Hashable, int] = {}

    def colour(signature: Hashable) -> int:
        return numbers.setdefault(signature, len(numbers))

    def first(side: int) -> dict[str, int]:
        mine = own(graphs[side])
        return {name: colour(known[side].get(name) or mine[name]) for name in graphs[side].exact}

    def outward(side: int, last: dict[str, int]) -> dict[str, int]:
        found = {}
        for name, at in last.items():
            if name in known[side]:
                found[name] = at
            else:
                around = sorted((repr(label), last[other]) for label, other in graphs[side].near[name])
                found[name] = colour((at, *around))
        return found

    levels = [(first(0), first(1))]
    count = 0
    while len(levels) <= rounds:
        levels.append((outward(0, levels[-1][0]), outward(1, levels[-1][1])))
        now = len({*levels[-1][0].values(), *levels[-1][1].values()})
        if now == count:
            break
        count = now
    return levels


def _causes(old: Rig, new: Rig, fixed: dict[str, str]) -> dict[str, str]:
    """Causes by name, and else by what they do where only one on each side does that."""
    mine = {f.part: f.effects for f in old.failures if f.mode == "strikes"}
    theirs = {f.part: f.effects for f in new.failures if f.mode == "strikes"}
    found = {name: name for name in mine if name in theirs}
    left = [name for name in mine if name not in found]
    free = [name for name in theirs if name not in found]
    for name in left:
        does = _sizes(mine[name], fixed)
        alike = [other for other in free if _sizes(theirs[other], {}) == does]
        rivals = [other for other in left if _sizes(mine[other], fixed) == does]
        if len(alike) == len(rivals) == 1:
            found[name] = alike[0]
    return found


def _sizes(effects: Effects, names: dict[str, str]) -> list[list[str]]:
    return [sorted(_base(one, names) for one in group) for group in effects.groups]


def _base(name: str, names: Mapping[str, str]) -> str:
    """A part by its name now; a span by its rope and its two stations."""
    if isinstance(name, Span):
        return Span(_base(name.rope, names), _base(name.a, names), _base(name.b, names))
    if isinstance(name, Label):
        return Label(_base(name.part, names), name.number)
    return names.get(name, name)
