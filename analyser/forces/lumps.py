"""Which parts are one point: rigid hardware and everything it touches is one lump.

A carabiner, a ring, a knot or a device has no length here: what touches it is at the same place.
A sling, strap or lanyard (`stiffness.DEFAULTS`), and any joint with a `length`, is a line with two
ends, and each end is in a lump of its own. A person is one point with all points of the harness. A
litter, or a load with several points in use, is a rigid body: its points are lumps that it carries.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import groupby

from analyser.forces.stiffness import line_kind
from analyser.forces.view import on_it
from analyser.rig.model import Contact, Effects, Nature, Part, Rig, Role

APART = (Nature.EDGE, Nature.PAD)
RIGID = (Nature.LITTER, Nature.LOAD)


@dataclass(slots=True)
class Lump:
    """Parts at one point. `body` is the rigid body that carries it, `rides` says that it lies in
    that body (a patient) and is not one of its points."""

    parts: tuple[str, ...]
    contacts: list[tuple[str, str]] = field(default_factory=list)
    body: str | None = None
    rides: bool = False


@dataclass(frozen=True, slots=True)
class Soft:
    """A part with a length: its two ends, as lumps."""

    part: str
    ends: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Lumps:
    lumps: tuple[Lump, ...]
    of: dict[str, int]
    """The lump of each part that is a point (a soft part has none)."""
    soft: tuple[Soft, ...]
    soft_station: dict[str, int]
    """Where a rope meets a soft part: the lump at that end of it."""
    unclear: tuple[str, ...]
    """Soft parts that touch more than two others: their ends were told by the order of writing."""
    spanning: tuple[str, ...]
    """Soft parts that span more than two places: they carry nothing here."""


def on_ground(rig: Rig, lumps: Lumps, k: int, already: Effects | None = None) -> bool:
    """Is there an anchor, a footing, a frame or somebody who stands in this lump?"""
    fallen = already.unfooted if already else frozenset()
    parts = [rig.parts[name] for name in lumps.lumps[k].parts if name in rig.parts]
    return any(
        part.nature in (Nature.GROUND, Nature.FRAME) or (part.standing and part.name not in fallen) for part in parts
    )


def rigid_bodies(rig: Rig) -> frozenset[str]:
    """Litters with points in use, and loads with two or more points in use."""
    used = {name for c in rig.contacts if c.given for name in (c.a, c.b)}
    used |= {station.part for rope in rig.ropes for station in rope.stations}
    found = set()
    for part in rig.parts.values():
        if part.nature in RIGID:
            points = sum(point in used for point in part.points)
            if points >= (1 if part.nature is Nature.LITTER else 2):
                found.add(part.name)
    return frozenset(found)


def is_soft(part: Part) -> bool:
    """Has it two ends with a length between them?"""
    if part.nature is not Nature.JOINT:
        return False
    length = dict(part.quantities).get("length")
    return length.si > 0 if length else line_kind(part) is not None


class Joined:
    """Disjoint sets of names (union by the first name seen: the order is the file's)."""

    def __init__(self) -> None:
        self.parent: dict[str, str] = {}

    def find(self, name: str) -> str:
        parent = self.parent
        root = parent.setdefault(name, name)
        while parent[root] != root:
            root = parent[root]
        while parent[name] != root:
            parent[name], name = root, parent[name]
        return root

    def join(self, a: str, b: str) -> None:
        a, b = self.find(a), self.find(b)
        if a != b:
            self.parent[b] = a


def lumps_of(rig: Rig, effects: Effects, hands: bool) -> Lumps:
    """The lumps of what is left of a rig."""
    parts = {n: p for n, p in rig.parts.items() if n not in effects.gone and p.nature not in APART}
    rigid = rigid_bodies(rig)
    contacts = [c for c in rig.contacts if c.a in parts and c.b in parts and on_it(rig, c, effects.unfooted)]
    touched_bodies: dict[str, set[str]] = defaultdict(set)
    for c in contacts:
        for a, b in ((c.a, c.b), (c.b, c.a)):
            if a in rigid and c.given:
                touched_bodies[b].add(a)
    soft = {n for n, p in parts.items() if is_soft(p)}
    # a strap without a length on a litter itself is a lashing: what it ties lies in the litter
    lashings = {n for n in soft if touched_bodies.get(n) and "length" not in dict(parts[n].quantities)}
    soft -= lashings
    joined = Joined()
    for name in parts:
        if name not in soft:
            joined.find(name)
    ends = _soft_ends(rig, soft, contacts, parts, hands)
    riding: list[tuple[str, str]] = []
    kept: list[tuple[str, str]] = []
    for k, c in enumerate(contacts):
        a, b = (f"{n}|{ends[n][k]}" if n in soft else n for n in (c.a, c.b))
        if c.a in rigid or c.b in rigid:
            body, other = (a, b) if c.a in rigid else (b, a)
            if c.given and not (c.a in rigid and c.b in rigid):
                riding.append((other, body))
            continue
        joined.join(a, b)
        kept.append((a, b))
    for name in soft:
        for end in sorted({*ends[name].values()}):
            joined.find(f"{name}|{end}")
    return _collect(parts, rigid, joined, kept, riding, soft, ends)


def _soft_ends(
    rig: Rig, soft: Iterable[str], contacts: list[Contact], parts: dict[str, Part], hands: bool
) -> dict[str, dict[int, int]]:
    """For each soft part, at which of its two ends (0, 1) each of its contacts is.

    Key -1 stands for the ropes that meet it. Two contacts are at one end each; with more, those
    that the file writes before the part are at one end and those after it at the other.
    """
    touching: dict[str, list[tuple[int, bool]]] = {name: [] for name in soft}
    for k, c in enumerate(contacts):
        for name, before in ((c.a, False), (c.b, True)):
            if name in touching:
                touching[name].append((k, before))
    roped = {
        s.part for rope in rig.ropes for s in rope.stations if s.role in (Role.RUN, Role.GRIP) and s.part in touching
    }
    found: dict[str, dict[int, int]] = {}
    for name, rows in touching.items():
        befores = [before for _, before in rows]
        if len(rows) + (name in roped) <= 2 or name in roped:
            found[name] = {k: (0 if name in roped else at) for at, (k, _) in enumerate(rows)}
        elif len(set(befores)) == 2:
            found[name] = {k: 0 if before else 1 for k, before in rows}
        else:  # it spans several things (a hobble round three feet): no line with two ends
            found[name] = {k: at for at, (k, _) in enumerate(rows)}
        if name in roped:
            found[name][-1] = 1
    return found


def _collect(
    parts: dict[str, Part],
    rigid: frozenset[str],
    joined: Joined,
    kept: list[tuple[str, str]],
    riding: list[tuple[str, str]],
    soft: set[str],
    ends: dict[str, dict[int, int]],
) -> Lumps:
    roots = sorted(joined.parent, key=joined.find)
    members = {root: list(names) for root, names in groupby(roots, joined.find)}
    order = {root: k for k, root in enumerate(dict.fromkeys(joined.find(name) for name in joined.parent))}
    lumps = [Lump(()) for _ in order]
    of: dict[str, int] = {}
    for root, k in order.items():
        names = sorted(members[root], key=lambda name: (not parts.get(name), name))
        lumps[k].parts = tuple(names)
        for name in names:
            of[name] = k
    for a, b in kept:
        lumps[of[a]].contacts.append((a, b))
    for name in parts:
        body = parts[name].body
        if name in rigid:
            lumps[of[name]].body = name
        elif body in rigid and body in parts:
            lumps[of[name]].body = body
    for other, body in riding:
        if lumps[of[other]].body is None:
            lumps[of[other]].body, lumps[of[other]].rides = body, True
    made, unclear, spanning = [], [], []
    for name in sorted(soft):
        if {*ends[name].values()} == {0, 1}:
            made.append(Soft(name, (of[f"{name}|0"], of[f"{name}|1"])))
            if len(ends[name]) > 2:
                unclear.append(name)
        elif len(ends[name]) > 2:
            spanning.append(name)
    stations = {name: of[f"{name}|1"] for name in soft if -1 in ends[name]}
    points = {name: k for name, k in of.items() if "|" not in name}
    return Lumps(tuple(lumps), points, tuple(made), stations, tuple(unclear), tuple(spanning))
