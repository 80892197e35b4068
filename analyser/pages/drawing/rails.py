"""The rig as text: rails that follow ropes and contacts from the ground at the top to the people below.

One row a part, so that it fits a narrow terminal however the rig is joined. A rope between two of its
stations is one row with its knots and edges; points are told with what is attached to them.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from textwrap import wrap

from analyser.rig.model import BODIES, Nature, Part, Rig, Role, Rope, Station

MOST_RAILS = 16
"""Rails side by side for which there is room beside the words."""
SYMBOLS = {
    Nature.GROUND: "■",
    Nature.GRIP: "◆",
    Nature.PULLEY: "◎",
    Nature.FRAME: "△",
    **dict.fromkeys(BODIES, "●"),
}
JOINT = "○"
ROPE_RAIL, RAIL = "║", "│"
PLAIN = str.maketrans("■◆◎△●○║│├┐┘┬┴─–…", "#%OA@o:|+.'++--~")
FOLDED = (Nature.POINT, Nature.KNOT, Nature.STOPPER, Nature.EDGE, Nature.PAD, Nature.STRUCTURE, Nature.ROPE)
"""Natures without a row of their own."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the drawing: its rails with the part's symbol in them, its name, what it is, what is marked,
    and the rails beside a further line of its words."""

    rails: str
    name: str = ""
    what: str = ""
    mark: str = ""
    under: str = ""


@dataclass(slots=True)
class _Node:
    name: str
    what: str
    symbol: str
    covers: set[str]
    """Parts and spans whose failure is a failure of this row."""
    late: bool = False
    """A person: whatever leads to them stands above."""


def rows(rig: Rig, marks: Mapping[str, str] | None = None) -> list[Row]:
    """The rig from the ground down. `marks` are words behind parts or spans, by name.

    Empty where there would be more than `MOST_RAILS` rails: such a rig is for `stillheld draw`.
    """
    nodes, joined = _graph(rig)
    order, below = _in_order(rig, nodes, joined)
    drawn = list(_rows(nodes, order, below, marks or {}))
    widest = max((len(row.rails) for row in drawn), default=0)
    return [] if widest > 2 * MOST_RAILS else drawn


def lines(found: Iterable[Row], width: int = 80, *, plain: bool = False) -> list[str]:
    """Rows as lines of text of at most `width` columns; `plain` uses ASCII alone for what is drawn."""
    listed = list(found)
    rails = max((len(row.rails) for row in listed), default=0) + 2
    names = min(max((len(row.name) for row in listed), default=0) + 2, width // 3)
    text = []
    for row in listed:
        first = f"{row.rails:<{rails}}{row.name:<{names}}" + ("  " if len(row.name) > names - 2 else "")
        said = "  ".join(filter(None, [row.what, row.mark]))
        room = max(width - rails - names, 20)
        words = wrap(said, max(width - len(first), 20), break_long_words=False, break_on_hyphens=False) or [""]
        further = wrap(" ".join(words[1:]), room, break_long_words=False, break_on_hyphens=False)
        text.append(f"{first}{words[0]}")
        text += [f"{row.under:<{rails}}{'':<{names}}{more}" for more in further]
    text = [one.rstrip() for one in text]
    return [one.translate(PLAIN) for one in text] if plain else text


# -- what has a row, and what is joined to what


def _graph(rig: Rig) -> tuple[dict[str, _Node], dict[str, list[str]]]:
    nodes: dict[str, _Node] = {}
    joined: dict[str, list[str]] = {}
    for part in rig.parts.values():
        if part.nature in FOLDED:
            continue
        symbol = SYMBOLS.get(part.nature, JOINT)
        covers = {part.name, *part.points, *part.part_of}
        nodes[part.name] = _Node(part.name, _what(rig, part), symbol, covers, part.nature is Nature.PERSON)

    def join(a: str, b: str) -> None:
        for one, other in ((a, b), (b, a)):
            if one != other and other not in joined.setdefault(one, []):
                joined[one].append(other)

    for contact in rig.contacts:
        ends = [_owner(rig, name) for name in (contact.a, contact.b)]
        if all(end in nodes for end in ends):
            join(*ends)
    for part in rig.parts.values():
        for need in part.needs:
            for foot in need.parts:
                if foot in nodes:
                    join(foot, part.name)
    for rope in rig.ropes:
        for ident, first, last in _sections(rope):
            one, other = rope.stations[first], rope.stations[last]
            covers = {rope.name, *rope.spans[first:last]}
            for station in rope.stations[first : last + 1]:
                if station.role in (Role.TIE, Role.OVER, Role.STOPPER):
                    covers |= {station.part, *station.guards, *rig.parts[station.part].guards}
                covers |= {*station.near, *station.inside}
            nodes[ident] = _Node(rope.name, "", ROPE_RAIL, covers)
            for station in (one, other):
                for name in _at(rig, station):
                    if name in nodes:
                        join(name, ident)
    linked = {name: joined.get(name, []) for name in nodes}
    for name in list(nodes):  # who stands aside and works a device is told with the device
        if nodes[name].late and not linked[name] and rig.parts[name].standing:
            del nodes[name], linked[name]
    return nodes, linked


def _sections(rope: Rope) -> Iterator[tuple[str, int, int]]:
    """Each stretch of a rope between two stations at which it is tied, gripped, turned, held or stopped."""
    stops = [k for k, station in enumerate(rope.stations) if station.role is not Role.OVER]
    for first, last in pairwise(stops):
        yield f"{rope.name} {first}", first, last


def _owner(rig: Rig, name: str) -> str:
    part = rig.parts[name]
    return part.body if part.nature is Nature.POINT and part.body else name


def _at(rig: Rig, station: Station) -> list[str]:
    """The rows at which a rope's station is: what its knot touches, or the part itself."""
    if station.role is Role.STOPPER:
        return []
    if station.role is not Role.TIE:
        return [_owner(rig, station.part)]
    touched = rig.touching[station.part]
    return [_owner(rig, name) for name in touched if rig.parts[name].nature is not Nature.KNOT]


def _what(rig: Rig, part: Part) -> str:
    words = [part.kind]
    words += [f"to {name}" for name in rig.touching[part.name] if rig.parts[name].nature is Nature.POINT]
    if part.operated_by:
        words.append(f"worked by {part.operated_by}")
    if part.minded_by:
        words.append(f"minded by {part.minded_by}")
    if part.self_locking:
        words.append("self-locking")
    words += [part.hitch] if part.hitch else []
    words += ["held open"] * part.held_open + ["lowers by itself"] * part.lowers
    if part.stands_on:
        words.append(f"stands on {part.stands_on}")
    elif part.standing:
        words.append("standing, may lose footing" if part.exposed else "standing")
    if part.below:
        words.append("below")
    words += [f"below {name}" for name in part.below_for]
    words += [f"part of {name}" for name in part.part_of]
    words += [f"near {name}" for name in part.near]
    return ", ".join(words)


def _rope_words(rig: Rig, rope: Rope, first: int, last: int, *, upward: bool) -> str:
    """`figure-eight red-top, over lip (padded by mat), bowline red-low`, from above down."""
    told = []
    stations = rope.stations[first : last + 1]
    for station in reversed(stations) if upward else stations:
        part = rig.parts[station.part]
        if station.role is Role.TIE:
            laced = [name for name in rig.touching[part.name] if rig.parts[name].nature is Nature.KNOT]
            told.append(f"{part.kind} {part.name}" + "".join(f", through {name}" for name in laced))
        elif station.role is Role.OVER:
            guards = list(dict.fromkeys([*station.guards, *part.guards]))
            told.append(f"over {part.name}" + (f" ({', '.join(guards)})" if guards else " (bare)"))
        elif station.role is Role.STOPPER:
            told.append(f"stopper {part.name}")
        elif station.role is Role.HAND:
            told.append(f"in {part.name}'s hands")
    for station in stations[1:]:
        told += [f"near {name}" for name in station.near] + [f"inside {name}" for name in station.inside]
    return f"{rope.kind}: {' – '.join(told)}" if told else rope.kind


# -- the order from the ground down


def _in_order(
    rig: Rig, nodes: dict[str, _Node], joined: dict[str, list[str]]
) -> tuple[list[str], dict[str, list[str]]]:
    """The rows from top to bottom, and for each the rows that hang from it. Chains stay together."""
    ground = [name for name in nodes if name in rig.parts and rig.parts[name].nature is Nature.GROUND]
    far = len(nodes) + 1
    steps = dict.fromkeys(nodes, far) | dict.fromkeys(ground, 0)
    queue = deque(ground)
    while queue:
        here = queue.popleft()
        for there in [] if nodes[here].late else joined[here]:
            if steps[there] == far:
                steps[there] = steps[here] + 1
                queue.append(there)
    place = {name: k for k, name in enumerate(nodes)}

    def height(name: str) -> tuple[bool, int, int]:
        return (nodes[name].late, steps[name], place[name])

    below = {name: [other for other in joined[name] if height(other) > height(name)] for name in nodes}
    waiting = {name: len(joined[name]) - len(below[name]) for name in nodes}
    stack = [name for name in sorted(nodes, key=height, reverse=True) if not waiting[name]]
    order: list[str] = []
    while stack:
        here = stack.pop()
        order.append(here)
        for there in reversed(below[here]):
            waiting[there] -= 1
            if not waiting[there]:
                stack.append(there)
    at = {name: k for k, name in enumerate(order)}
    for rope in rig.ropes:
        for ident, first, last in _sections(rope):
            ends = [min((at[n] for n in _at(rig, rope.stations[k]) if n in at), default=far) for k in (first, last)]
            nodes[ident].what = _rope_words(rig, rope, first, last, upward=ends[1] < ends[0])
    return order, below


# -- rails


class _Rails:
    """The rails side by side: each leads on to the row whose name it holds."""

    def __init__(self) -> None:
        self.to: list[tuple[str, str] | None] = []

    def free(self, start: int) -> int:
        for k in range(start, len(self.to)):
            if self.to[k] is None:
                return k
        self.to.append(None)
        return len(self.to) - 1

    def drawn(self) -> list[str]:
        cells = [" "] * (2 * len(self.to))
        for k, rail in enumerate(self.to):
            if rail:
                cells[2 * k] = rail[1]
        return cells

    def across(self, at: int, others: list[int], corner: str, between: str) -> str:
        """A row in which rails to the right turn in to the one at `at`, or out of it."""
        cells = self.drawn()
        for k in range(2 * at + 1, 2 * max(others)):
            if cells[k] == " ":
                cells[k] = "─"
        for k in others:
            cells[2 * k] = corner if k == max(others) else between
        cells[2 * at] = "├"
        return "".join(cells).rstrip()


def _rows(
    nodes: dict[str, _Node], order: list[str], below: dict[str, list[str]], marks: Mapping[str, str]
) -> Iterator[Row]:
    rails = _Rails()
    last = ""
    for name in order:
        node = nodes[name]
        came = [k for k, rail in enumerate(rails.to) if rail and rail[0] == name]
        if len(came) > 1:
            yield Row(rails.across(came[0], came[1:], "┘", "┴"))
        at = came[0] if came else rails.free(0)
        if not came and last[2 * at : 2 * at + 1].strip():  # what ended just above is not joined to what begins here
            yield Row("".join(rails.drawn()).rstrip())
        for k in came[1:]:
            rails.to[k] = None
        rails.to[at] = (name, node.symbol)
        mark = "  ".join(dict.fromkeys(words for one, words in marks.items() if one in node.covers))
        here = "".join(rails.drawn()).rstrip()
        rails.to[at] = (name, ROPE_RAIL if node.symbol == ROPE_RAIL else RAIL) if below[name] else None
        yield Row(here, node.name, node.what, mark, "".join(rails.drawn()))
        last = here
        rails.to[at] = None
        places: list[int] = []
        for there in below[name]:
            rail = ROPE_RAIL if ROPE_RAIL in (node.symbol, nodes[there].symbol) else RAIL
            places.append(rails.free(at if not places else at + 1))
            rails.to[places[-1]] = (there, rail)
        if len(places) > 1:
            last = rails.across(at, places[1:], "┐", "┬")
            yield Row(last)
        while rails.to and rails.to[-1] is None:
            rails.to.pop()
