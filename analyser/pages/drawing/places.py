"""Where lines meet parts: at a node, at a point's cell on the rim of its body, at a rope's own cell.

All names are made up (`n7` for the eighth part, `p8` for a point's cell), so that no name of the
rig is ever read as part of the drawing's own language.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from itertools import pairwise

from analyser.pages.drawing.tables import Cell
from analyser.pages.drawing.tiles import TILES, stacks
from analyser.pages.drawing.watched import Watching, watching
from analyser.rig.model import Nature, Part, Rig, Role, Rope, Station

UP, DOWN = "u", "d"
RIM_PORT = re.compile(r":p(\d+)[ud]")
COMPASS = {UP: "n", DOWN: "s"}


class Places:
    """Every place at which a line can end, for one rig."""

    def __init__(self, rig: Rig, depth: dict[str, int], apart: Container[tuple[str, str]] = ()) -> None:
        """Parts of a pair in `apart` (in order of names) are never stacked: contacts that are not there
        all the time, or in one of two revisions only."""
        self.rig = rig
        self.depth = depth
        self.index = {name: k for k, name in enumerate(rig.parts)}
        self.sides: dict[str, set[str]] = {}
        """For each part: the sides on which lines meet it."""
        self.hands: dict[str, set[str]] = {}
        """For each hand station's cell: the sides on which its rope leaves."""
        for contact in rig.contacts:
            if contact.given:
                self._meet(contact.a, contact.b)
                self._meet(contact.b, contact.a)
        for rope in rig.ropes:
            for k in range(len(rope.spans)):
                self._meet_rope(rope, k, k + 1)
                self._meet_rope(rope, k + 1, k)
        self.watching = watching(rig)
        contacts = {
            self._downward(contact.a, contact.b)
            for contact in rig.contacts
            if contact.given and (min(contact.a, contact.b), max(contact.a, contact.b)) not in apart
        }
        self.stacks = stacks(rig, self._pairs(), contacts, {one.watched for one in self.watching if one.loose})
        self.ids = {name: f"n{k}" for name, k in self.index.items()}
        """The node each part is drawn in: that of its body, or of the top tile of its stack."""
        for part in rig.parts.values():
            if part.body:
                self.ids[part.name] = self.ids[part.body]
        for top, *others in self.stacks:
            self.ids |= {part.name: self.ids[top.name] for part in others}

    def side(self, part: str, other: str) -> str:
        """The side on which a line from `part` leaves on its way to `other`."""
        return UP if self.depth[other] < self.depth[part] else DOWN

    def tile(self, name: str) -> str:
        """The port of a tile in its stack."""
        return f"t{self.index[name]}"

    def stacked(self, one: str, other: str) -> bool:
        """Are two parts tiles of one stack?"""
        return self.rig.parts[one].nature in TILES and self.ids[one] == self.ids[other]

    def watched(self, one: Watching) -> str:
        """Where a dotted line ends: at the passage that is guarded, or at a device's tile."""
        if one.passage:
            return self._passage(*one.passage)
        return f"{self.ids[one.watched]}:{self.tile(one.watched)}"

    def watcher(self, one: Watching) -> str:
        """Where a dotted line begins."""
        tile = self.rig.parts[one.watcher].nature in TILES
        return f"{self.ids[one.watcher]}:{self.tile(one.watcher)}" if tile else self.ids[one.watcher]

    def part(self, name: str, other: str) -> str:
        """Where a line to `other` meets a part: a point has a cell on the rim of its body."""
        if self.rig.parts[name].body is None:
            return self.ids[name]
        side = self.side(name, other)
        return f"{self.ids[name]}:{self._rim_port(name, side)}:{COMPASS[side]}"

    def beside(self, name: str, other: str) -> str:
        """Where a line to `other` meets a part that it is not attached to yet: at a tile's own side, as what touches it
        above and below is in its stack."""
        tile = self.rig.parts[name].nature in TILES
        return f"{self.ids[name]}:{self.tile(name)}:_" if tile else self.part(name, other)

    def station(self, rope: Rope, k: int, other: str) -> str:
        """Where the span towards `other` meets a rope's station."""
        station = rope.stations[k]
        side = self.side(station.part, other)
        if station.role is Role.HAND:
            return f"{self.ids[station.part]}:{self._hand_port(rope, k)}{side}:{COMPASS[side]}"
        if station.role is Role.OVER:
            return f"{self._passage(rope, k)}:{COMPASS[side]}"
        return self.part(station.part, other)

    def rim(self, body: Part, side: str) -> list[Cell]:
        """The cells on the upper or lower rim of a body; a point with lines both ways is on both."""
        found = []
        for name in body.points:
            part = self.rig.parts[name]
            sides = self.sides.get(name) or {UP}
            if side in sides:
                short = name.removeprefix(f"{body.name}.")
                words = (f"{short} ({part.kind})",) if part.nature is Nature.HARNESS else (short,)
                found.append(Cell(self._rim_port(name, side), name, words))
        for rope, k, station in self._stations():
            port = self._hand_port(rope, k)
            if station.role is Role.HAND and station.part == body.name and side in self.hands[port]:
                found.append(Cell(port + side, "", (f"{rope.name} in bare hands",)))
        return found

    def along_rim(self, head: str) -> int:
        """The order of a line's head on the rim of a body, 0 elsewhere: the layout keeps to it."""
        found = RIM_PORT.search(head)
        return int(found[1]) + 1 if found else 0

    def passages(self, edge: Part, lost: Container[str]) -> list[Cell]:
        """A place for each rope over an edge, with what still keeps it off; one in all if none does."""
        found = []
        for rope, k, station in self._stations():
            if station.part == edge.name:
                guards = dict.fromkeys([*station.guards, *edge.guards])
                kept = [f"kept off by {guard}" for guard in guards if guard not in lost]
                found.append(Cell(self._passage(rope, k), "", (rope.name, *(kept or ["bare on the edge"]))))
        return found or [Cell(self.ids[edge.name], "", ())]

    def lowest(self, part: Part) -> bool:
        """Nothing of the rig runs on downward from here."""
        names = {part.name, *part.points}
        hands = [self._hand_port(rope, k) for rope, k, s in self._stations() if s.part == part.name]
        sides = [self.sides.get(name, set()) for name in names] + [self.hands.get(port, set()) for port in hands]
        return not any(DOWN in side for side in sides)

    def _stations(self) -> Iterator[tuple[Rope, int, Station]]:
        for rope in self.rig.ropes:
            for k, station in enumerate(rope.stations):
                yield rope, k, station

    def _downward(self, one: str, other: str) -> tuple[str, str]:
        return (one, other) if self.side(one, other) == DOWN else (other, one)

    def _pairs(self) -> list[tuple[str, str]]:
        """Every line between parts, the upper part first."""
        found = [(contact.a, contact.b) for contact in self.rig.contacts if contact.given]
        for rope in self.rig.ropes:
            found += [(a.part, b.part) for a, b in pairwise(rope.stations)]
        found += [(p.name, foot) for p in self.rig.parts.values() for foot in p.needed]
        return [self._downward(a, b) for a, b in found if a != b]

    def _meet(self, part: str, other: str) -> None:
        self.sides.setdefault(part, set()).add(self.side(part, other))

    def _meet_rope(self, rope: Rope, k: int, towards: int) -> None:
        station, other = rope.stations[k], rope.stations[towards].part
        if station.role is Role.HAND:
            side = self.side(station.part, other)
            self.hands.setdefault(self._hand_port(rope, k), set()).add(side)
        else:
            self._meet(station.part, other)

    def _rim_port(self, name: str, side: str) -> str:
        return f"p{self.index[name]}{side}"

    def _hand_port(self, rope: Rope, k: int) -> str:
        return f"h{self.rig.ropes.index(rope)}x{k}"

    def _passage(self, rope: Rope, k: int) -> str:
        return f"e{self.rig.ropes.index(rope)}x{k}"
