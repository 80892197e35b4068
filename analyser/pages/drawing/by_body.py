"""A rig of many parts on several sheets: an overview of who hangs from which ground by which rope, then one sheet a
body, with what holds it and nothing else.

What is drawn on a body's sheet are the parts of the ways in which it is held, the ropes between them, the edges that
those pass and what keeps them off, and who works or minds a device there. Where a line goes on to something that is
drawn elsewhere, it says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from analyser.checking.held_by import held_by
from analyser.checking.results import Result
from analyser.checking.sentences import in_few
from analyser.pages.drawing import colours
from analyser.pages.drawing.diagram import EDGES, LEGEND, NODES, SHEET, Drawing, either_way
from analyser.pages.drawing.legend import ACROSS, UPRIGHT, Sheet, heading, resting
from analyser.pages.drawing.marks import Marks, intact
from analyser.pages.drawing.parts import Node
from analyser.pages.drawing.tables import body_node
from analyser.pages.drawing.tiles import stack_node
from analyser.pages.drawing.words import SMALL, beside, bold, html_label, literal, sized
from analyser.rig.model import Nature, Part, Rig, Role, Rope

FROM = 40
"""Up to so many parts a rig is read on one sheet."""
WAYS = 60
"""Ways of a body that are drawn; where it has more, all that it could lose are still told in its box."""
Hangs = tuple[str, str, tuple[str, ...]]
"""A ground, a body, and the ropes by which the one holds the other."""


@dataclass(frozen=True, slots=True)
class Leaf:
    """One sheet: its file's name without the ending, whom it is about (empty: everybody), and its DOT source across
    and upright."""

    name: str
    body: str
    sources: tuple[str, ...]


def overview(result: Result) -> str:
    """Who hangs from what, by which rope, on one sheet across."""
    said = "Who hangs from what, by which rope."
    return _laid(result, replace(intact(result), shown_of=said, brief=True), ACROSS)


def sheets(result: Result) -> Iterator[Leaf]:
    """The sheets of one state of a rig, the overview first."""
    marks = intact(result)
    bodies = [body.name for body in result.rig.bodies]
    count = len(bodies) + 1
    wide = max(2, len(str(count - 1)))
    over = f"Sheet 1 of {count}: who hangs from what, by which rope."
    yield Leaf("0".zfill(wide) + "-overview", "", _overview(result, replace(marks, shown_of=over, brief=True)))
    for number, body in enumerate(bodies, 1):
        said = f"Sheet {number + 1} of {count}: what holds {body}, nothing failed."
        mine, others = holding(result, body)
        own = replace(marks, shown_of=said, notes={name: [*told] for name, told in marks.notes.items()})
        for name, on in others.items():
            own.notes.setdefault(name, []).append(f"goes on to {in_few(on)}")
        yield Leaf(f"{number:0{wide}}-{body}", body, either_way(replace(result, rig=mine), marks=own))


# -- one body


def holding(result: Result, body: str) -> tuple[Rig, dict[str, tuple[str, ...]]]:
    """What of a rig holds a body, and where lines go on to what is left out, by the part at which they do."""
    rig, review = result.rig, result.states[0].outcome.review
    named = {rig.index.failures[one].part for way in review.ways(body, WAYS)[0] for one in way}
    kept = {body, *rig.parts[body].points} | {name for name in named if name in rig.parts}
    ropes = [laid for rope in rig.ropes if (laid := _between(rope, kept))]
    kept |= {station.part for rope in ropes for station in rope.stations}
    for rope in ropes:
        kept |= {one for station in rope.stations for one in (*station.guards, *rig.parts[station.part].guards)}
    kept |= {foot for name in [*kept] for foot in rig.parts[name].needed}
    hands = {rig.parts[name].operated_by or rig.parts[name].minded_by for name in kept}
    kept |= {name for name in hands if name} | {owner for name in kept if (owner := rig.parts[name].body)}
    kept |= {
        point
        for name in [*kept]
        for point in rig.parts[name].points
        if not kept.isdisjoint(one for one in rig.index.touching[point] if one != name)
    }
    parts = {name: _own(part, kept) for name, part in rig.parts.items() if name in kept}
    mine = replace(
        rig,
        parts=parts,
        ropes=tuple(ropes),
        contacts=tuple(c for c in rig.contacts if c.a in kept and c.b in kept),
        failures=tuple(f for f in rig.failures if f.mode != "strikes" or f.effects.touch(kept)),
    )
    return mine, _elsewhere(rig, mine)


def _between(rope: Rope, kept: set[str]) -> Rope | None:
    """A rope from the first to the last of its stations at something kept."""
    here = [k for k, one in enumerate(rope.stations) if one.part in kept and one.role is not Role.OVER]
    if len(here) < 2:
        return None
    first, last = here[0], here[-1]
    return replace(rope, stations=rope.stations[first : last + 1], spans=rope.spans[first:last], closed=False)


def _own(part: Part, kept: set[str]) -> Part:
    return replace(part, points=tuple(one for one in part.points if one in kept)) if part.points else part


def _elsewhere(rig: Rig, mine: Rig) -> dict[str, tuple[str, ...]]:
    """By part that is drawn: what it is joined to and that isn't."""
    found: dict[str, dict[str, None]] = {}
    for contact in rig.contacts:
        for one, other in ((contact.a, contact.b), (contact.b, contact.a)):
            if contact.given and one in mine.parts and other not in mine.parts:
                found.setdefault(one, {})[other] = None
    drawn = {span for rope in mine.ropes for span in rope.spans}
    for span, at in rig.index.spans.items():
        if span not in drawn:
            for one in (at.part, at.rope.stations[at.number + 1].part):
                if one in mine.parts and rig.parts[one].nature is not Nature.EDGE:
                    found.setdefault(one, {})[at.rope.name] = None
    return {name: tuple(others) for name, others in found.items()}


# -- everybody


def _overview(result: Result, marks: Marks) -> tuple[str, ...]:
    return tuple(_laid(result, marks, sheet) for sheet in (ACROSS, UPRIGHT))


def _laid(result: Result, marks: Marks, sheet: Sheet) -> str:
    """The grounds that hold somebody, everybody, and a line from ground to body for each way, by its ropes."""
    import graphviz

    drawing = Drawing(result, marks, sheet=sheet)
    hangs = list(dict.fromkeys(_hangs(result)))
    made = graphviz.Digraph(graph_attr={**SHEET, "size": sheet.size}, node_attr=NODES, edge_attr=EDGES)
    made.attr(label=heading(result, marks, sheet))
    for node in _nodes(drawing, {ground for ground, _, _ in hangs}):
        made.node(node.id, node.label, **node.attributes)
    for ground, body, ropes in hangs:
        tint = drawing.colours.get(ropes[0], colours.INK) if ropes else colours.INK
        stroke = drawing.strokes[ropes[0]].drawn(tint) if ropes and ropes[0] in drawing.strokes else {"color": tint}
        label = html_label(beside(bold(sized(literal(", ".join(ropes)), SMALL + 1)))) if ropes else None
        made.edge(drawing.places.ids[ground], drawing.places.ids[body], label, **stroke)
    made.node(LEGEND, _singles(drawing), shape="plain")
    for part in result.rig.bodies:
        made.edge(drawing.places.ids[part.name], LEGEND, style="invis")
    return str(made.source)


def _hangs(result: Result) -> Iterator[Hangs]:
    rig, outcome = result.rig, result.states[0].outcome
    for body in outcome.bodies:
        for way in outcome.review.enough_ways(body.name, 1) if body.held else ():
            for leg in held_by(rig, body.name, way):
                ground = next((one for one in leg if one in rig.parts and rig.parts[one].nature is Nature.GROUND), None)
                if ground:
                    ropes = tuple(one for one in leg if one in rig.index.ropes) or leg[-1:]
                    yield ground, body.name, ropes


def _nodes(drawing: Drawing, grounds: set[str]) -> Iterator[Node]:
    rig, outcomes = drawing.rig, {body.name: body for body in drawing.result.bodies}
    for name in (part.name for part in rig.parts.values() if part.name in grounds):
        yield stack_node(drawing.places.ids[name], [(rig.parts[name], "t", None)], drawing.marks)
    for part in rig.bodies:
        ident, outcome = drawing.places.ids[part.name], outcomes.get(part.name)
        yield body_node(ident, part, outcome, drawing.result.order, drawing.marks, (), ())


def _singles(drawing: Drawing) -> str:
    """The single points by name: they stand on the sheets of those whom they hold."""
    rows = [
        f'<TR><TD ALIGN="LEFT">{bold(sized(literal(name), SMALL + 1))} {sized(literal(told), SMALL + 1)}</TD></TR>'
        for name, several in drawing.marks.single.items()
        for told in several
    ]
    rows = rows or [f'<TR><TD ALIGN="LEFT">{sized("no single point in this file", SMALL + 1)}</TD></TR>']
    table = f'BORDER="1" COLOR="{colours.QUIET}" CELLBORDER="0" CELLSPACING="0"'
    strip = f"<TR><TD><TABLE {table}>{''.join(rows)}</TABLE></TD></TR>{resting(drawing.rig, drawing.sheet)}"
    return html_label(f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0">{strip}</TABLE>')
