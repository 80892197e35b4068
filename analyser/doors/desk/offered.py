"""What may be put on a rope, as lines with blanks: each item with its place in the text and its likely names.

The lines are the language's own. A blank stands filled with what it would mostly be filled with (an anchor
that holds nothing yet, a point that nothing holds yet), so that a press gives a line that reads, and the
names that fit are proposed where it is filled otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Any

from analyser.doors.editor.names import Sort
from analyser.doors.editor.readings import Reading
from analyser.rig.model import Nature, Rig

ITEMS = ("anchor", "person", "rope", "strap", "device", "pulley", "ring", "litter", "edge", "frame", "require", "step")
"""In the order in which they are shown; the words for them are the page's."""
GROUPS = ("title", "ground", "people", "chains", "ropes", "required", "stages")
"""The order of a text that is easily read. What is added comes after the last of its group, or of one before."""
CHAINS = GROUPS.index("chains")
OF_ITEM = {
    "anchor": "ground",
    "edge": "ground",
    "frame": "ground",
    "person": "people",
    "litter": "people",
    "strap": "chains",
    "device": "chains",
    "pulley": "chains",
    "ring": "chains",
    "rope": "ropes",
    "require": "required",
    "step": "stages",
}
FIRST_WORDS = {
    "rig": "title",
    "revision": "title",
    "note": "title",
    "include": "title",
    "units": "title",
    "kind": "title",
    "attach": "chains",
    "rope": "ropes",
    "interlock": "ropes",
    "cause": "ropes",
    "sound": "required",
    "accept": "required",
    "require": "required",
    "latent": "required",
    "stage": "stages",
    "observed": "stages",
}
PEOPLE = (Nature.PERSON, Nature.LITTER, Nature.LOAD, Nature.HARNESS)
BODIES = (Nature.PERSON, Nature.LITTER, Nature.LOAD)
GROUNDS = (Nature.GROUND, Nature.EDGE, Nature.PAD, Nature.FRAME, Nature.STRUCTURE)
ANCHORS = ("left-bolt", "right-bolt", "third-bolt")
PERSONS = ("ann", "jo", "kim", "sam", "lee")
ROPES = ("red", "green", "blue", "orange")


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the text: its number (from 1), its first word, and whether it begins a block."""

    number: int
    word: str
    top: bool
    under: bool
    """No free line is before it."""


def offered(reading: Reading, text: str, line: int) -> list[dict[str, Any]]:
    """Every item for a text: `lines` to insert after line `after` (0: at the top), blanks as `${…}`. `also`: further
    lines, each after another line of the text as it is.

    `line` is where the cursor stands (from 1): a step comes behind the step that it stands at."""
    lines = list(_lines(text))
    names = _Free(reading)
    return [_item(item, names.anew(), lines, line) for item in ITEMS]


def _item(item: str, names: _Free, lines: list[Line], cursor: int) -> dict[str, Any]:
    if item == "step":
        return {"item": item, **_step(lines, cursor)}
    after, gap = _place(OF_ITEM[item], names, lines)
    written = list(LINES[item](names))
    also = _over(names, lines) if item == "edge" else []
    last = next((one.word for one in lines if one.number == after), "")
    gap |= OF_ITEM[item] == "chains" and (item == "device" or last == "person")  # each device with who works it
    return {"item": item, "after": after, "lines": ["", *written] if gap else written, "also": also}


def _lines(text: str) -> Iterator[Line]:
    before = 0
    for number, one in enumerate(text.split("\n"), 1):
        words = one.split()
        if words and not words[0].startswith("#"):
            yield Line(number, words[0].rstrip(":,"), not one[0].isspace(), number == before + 1)
            before = number


def _place(group: str, names: _Free, lines: list[Line]) -> tuple[int, bool]:
    """After which line something of a group comes, and whether a free line goes before it."""
    best, of = 0, -1
    wanted = GROUPS.index(group)
    now = -1
    for one in lines:
        if one.top:
            group = _group(one.word, names)
            theirs = group == "people" and one.under and now == CHAINS  # who works a device stands with it
            now = CHAINS if theirs else GROUPS.index(group)
        if of <= now <= wanted:
            best, of = one.number, now
    return best, bool(best) and of != wanted


def _group(word: str, names: _Free) -> str:
    if word in FIRST_WORDS:
        return FIRST_WORDS[word]
    kind = names.kinds.get(names.kind_of.get(word, word))  # `left-brake: …` goes with its brake
    if kind is None or kind.nature in GROUNDS:
        return "ground"
    return "people" if kind.nature in PEOPLE else "chains"


def _step(lines: list[Line], cursor: int) -> dict[str, Any]:
    """A step after the cursor's own, or at the end of the last stage; where there is none, a stage with it."""
    tops = [one for one in lines if one.top]
    stages = [one for one in tops if one.word == "stage"]
    if not stages:
        last = lines[-1].number if lines else 0
        return {"after": last, "lines": ["", 'stage "${The work}"', '    say "${ready}"']}
    here = max((one for one in tops if one.number <= cursor), key=lambda one: one.number, default=None)
    stage = here if here and here.word == "stage" else stages[-1]
    ends = min((one.number for one in tops if one.number > stage.number), default=None)
    mine = [one.number for one in lines if one.number >= stage.number and (ends is None or one.number < ends)]
    if here is stage and cursor > stage.number:
        mine = [number for number in mine if number <= cursor] or mine
    return {"after": mine[-1], "lines": ['    ${check "all is well"}']}


class _Free:
    """Names that are free, and those that are likely meant."""

    def __init__(self, reading: Reading) -> None:
        self.kinds = reading.kinds
        self.kind_of = reading.names.kind_of
        self.rig: Rig | None = reading.rig
        self.taken = {*self.kind_of, *(self.rig.parts if self.rig else ())}
        self.points = [one.name for one in reading.names.all if one.sort is Sort.POINT and one.gives]
        self.given = frozenset(self.taken)
        used = [one.name for one in reading.names.all if not one.gives]
        self.uses = {name: used.count(name) for name in {*used}}

    def anew(self) -> _Free:
        """Without the names that were given for another item."""
        self.taken = set(self.given)
        return self

    def fresh(self, *wished: str) -> str:
        """The first of these names that is free, else the last with a number."""
        for one in wished:
            if one not in self.taken:
                self.taken.add(one)
                return one
        stem, number = re.sub(r"-?\d+\Z", "", wished[-1]), 2
        while f"{stem}-{number}" in self.taken:
            number += 1
        self.taken.add(f"{stem}-{number}")
        return f"{stem}-{number}"

    def of(self, *natures: Nature) -> list[str]:
        """The names of these natures that are there from the start, the least used first."""
        found = []
        there = self.rig.parts if self.rig else self.kind_of
        for name, kind in self.kind_of.items():
            if name not in there:
                continue
            known = self.kinds.get(kind)
            if known and known.nature in natures:
                found.append(name)
        return sorted(found, key=lambda name: self.uses.get(name, 0))

    def anchor(self) -> str:
        below = {p.name for p in self.rig.parts.values() if p.below} if self.rig else set()
        grounds = (one for one in self.of(Nature.GROUND) if one not in below)
        return next(chain(grounds, self.of(Nature.FRAME)), "left-bolt")

    def ring(self) -> str | None:
        """Where lines come together: a ring, where the text has one."""
        return next((name for name, kind in self.kind_of.items() if kind == "ring"), None)

    def free(self, nature: Nature) -> str | None:
        """The first of a nature that no rope has met yet."""
        met = {s.part for rope in self.rig.ropes for s in rope.stations} if self.rig else set()
        met |= {guard for rope in self.rig.ropes for s in rope.stations for guard in s.guards} if self.rig else set()
        return next((one for one in self.of(nature) if one not in met), None)

    def load(self) -> str:
        """A point of a body that nothing holds yet, else of the one that the fewest do."""
        standing = {p.name for p in self.rig.parts.values() if p.standing} if self.rig else set()
        every = self.of(*BODIES)
        bodies = [one for one in every if one not in standing] or every
        if not bodies:
            return "ann.waist"
        bodies.reverse()  # whoever came last is being attached
        bodies.sort(key=lambda one: sum(self.uses.get(p, 0) for p in self._points(one)))
        points = sorted(self._points(bodies[0]), key=lambda point: self.uses.get(point, 0))
        return points[0] if points else bodies[0]

    def _points(self, body: str) -> list[str]:
        return [one for one in self.points if one.startswith(f"{body}.")]

    def hands(self) -> str | None:
        """Somebody who stands, and works no device yet."""
        standing = [p.name for p in self.rig.parts.values() if p.standing and not p.exposed] if self.rig else []
        return next((one for one in standing if not self.uses.get(one)), None)


def _anchor(names: _Free) -> Iterable[str]:
    return (f"anchor ${{{names.fresh(*ANCHORS)}}}",)


def _person(names: _Free) -> Iterable[str]:
    return (f"person ${{{names.fresh(*PERSONS)}}}: ${{80 kg}}, points waist, chest",)


def _litter(names: _Free) -> Iterable[str]:
    name = names.fresh("basket", "litter-2")
    return (f"litter ${{{name}}}: ${{15 kg}}, points head-left, head-right, foot-left, foot-right",)


def _rope(names: _Free) -> Iterable[str]:
    """From a device that has no rope yet, else from an anchor; over the edge where there is one; to the ring where
    there is one, else to a body."""
    rope, device, edges, pad = (
        names.fresh(*ROPES),
        names.free(Nature.GRIP),
        names.of(Nature.EDGE),
        names.free(Nature.PAD),
    )
    yield f"rope ${{{rope}}}: ${{11 mm}}"
    yield f"    gripped by ${{{device}}}" if device else f"    tied to ${{{names.anchor()}}} with ${{figure-eight}}"
    if edges:
        yield f"    over ${{{edges[0]}}}, padded by ${{{pad}}}" if pad else f"    over ${{{edges[0]}}}"
    yield f"    tied to ${{{names.ring() or names.load()}}} with ${{figure-eight}}"


def _strap(names: _Free) -> Iterable[str]:
    return (
        f"attach ${{{names.ring() or names.anchor()}}} - strap ${{{names.fresh('strap-1')}}} - ${{{names.load()}}}",
    )


def _ring(names: _Free) -> Iterable[str]:
    return (f"ring ${{{names.fresh('master', 'ring-2')}}}",)


def _device(names: _Free) -> Iterable[str]:
    crab, brake, hands = names.fresh("crab-1"), names.fresh("brake-1"), names.hands()
    nobody = () if hands else (f"person {(hands := names.fresh('jo', 'kim'))}: standing",)
    return (
        f"attach ${{{names.anchor()}}} - carabiner {crab} - ${{brake}} {brake}",
        f"{crab}: locking",
        f"{brake}: operated by ${{{hands}}}, self-locking",
        *nobody,
    )


def _pulley(names: _Free) -> Iterable[str]:
    crab, wheel = names.fresh("crab-1"), names.fresh("wheel-1")
    return (f"attach ${{{names.anchor()}}} - carabiner {crab} - pulley ${{{wheel}}}", f"{crab}: locking")


def _edge_and_pads(names: _Free) -> tuple[str, str, str]:
    return names.fresh("lip", "edge-2"), names.fresh("left-mat", "mat-1"), names.fresh("right-mat", "mat-2")


def _edge(names: _Free) -> Iterable[str]:
    edge, *pads = _edge_and_pads(names)
    return (f"edge ${{{edge}}}", f"pad ${{{pads[0]}}}, ${{{pads[1]}}}")


def _over(names: _Free, lines: list[Line]) -> list[dict[str, Any]]:
    """Where there are ropes already and no edge yet: they go over it, each on a pad of its own as far as there are."""
    if names.of(Nature.EDGE):
        return []
    edge, *mats = _edge_and_pads(names.anew())
    found, pads = [], iter(mats)
    for number, one in enumerate(lines[:-1]):
        first = lines[number + 1]
        if one.top and one.word == "rope" and not first.top and first.word in ("tied", "gripped"):
            pad = next(pads, "")
            found.append(
                {"after": first.number, "lines": [f"    over {edge}, padded by {pad}" if pad else f"    over {edge}"]}
            )
    return found


def _frame(names: _Free) -> Iterable[str]:
    feet = [names.fresh(f"foot-{number}") for number in (1, 2, 3)]
    hobble, head = names.fresh("hobble"), names.fresh("head", "frame-2")
    return (
        f"footing {', '.join(feet)}: below",
        f"strap {hobble}",
        *(f"attach {foot} - {hobble}" for foot in feet),
        f"tripod ${{{head}}}: feet {', '.join(feet)}, needs {hobble}",
    )


def _require(names: _Free) -> Iterable[str]:
    return ("require ${every person has 2 independent attachments}", "require ${everyone held after any 1 failure}")


LINES = {
    "anchor": _anchor,
    "person": _person,
    "rope": _rope,
    "strap": _strap,
    "device": _device,
    "pulley": _pulley,
    "ring": _ring,
    "litter": _litter,
    "edge": _edge,
    "frame": _frame,
    "require": _require,
}
