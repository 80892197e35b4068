"""One picture a state, laid out alike: what a step brings, changes and takes away is marked by line and by word.

Everything that is there in any state is placed once; each picture then shows what is there in its
state, and leaves the places of the rest free. NEW stands at what came with the step, CHANGED at what
it left otherwise, TAKEN OUT or OFF, dashed, at what was there before it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from analyser.checking.results import Result, State
from analyser.pages.drawing.diagram import EDGES, LEGEND, NODES, SHEET, Drawing, sheet_of
from analyser.pages.drawing.heights import depths
from analyser.pages.drawing.legend import heading, heading_rows
from analyser.pages.drawing.marks import Marks, contact_name, intact
from analyser.pages.drawing.parts import Node, marked
from analyser.pages.drawing.places import Places
from analyser.pages.drawing.rendering import Layout
from analyser.rig.model import Contact, Part, Rig, Rope

NEW, CHANGED, OUT, OFF, ABSENT = "NEW", "CHANGED", "TAKEN OUT", "OFF", "NOT THERE"
Shape = tuple[str, tuple[tuple[str, str, str], ...]]


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture of a film: its file's name without the ending, and its DOT source, every place given."""

    name: str
    source: str


def film(result: Result, lay_out: Callable[[str], Layout]) -> Iterator[Picture]:
    """The pictures of all states, in order. `lay_out` is given one DOT source and tells where things are."""
    whole = everything(result)
    states = tuple(result.every_state)
    always = [_pairs(state.rig) for state in states]
    every = set[tuple[str, str]]().union(*always)
    places = Places(whole, depths(whole), {pair for pair in every if not all(pair in pairs for pairs in always)})
    drawings: list[Drawing] = []
    for before, state in zip((states[0], *states), states, strict=False):
        parts = {n: state.rig.parts.get(n) or before.rig.parts.get(n) or part for n, part in whole.parts.items()}
        parts = {n: replace(part, points=whole.parts[n].points) for n, part in parts.items()}
        rig = replace(whole, parts=parts)
        shown = result.at(state.number, _within(result, state))
        order = [rope.name for rope in whole.ropes]
        ropes = tuple(sorted(shown.rig.ropes, key=lambda rope: order.index(rope.name)))
        shown = replace(shown, rig=replace(shown.rig, ropes=ropes))
        drawings.append(Drawing(shown, _changes(shown, whole, before, state), rig, places))
    _make_room([one.marks for one in drawings])
    tallest = max(heading_rows(one.result, one.marks) for one in drawings)
    fullest = Drawing(result.at(0), _fullest([one.marks for one in drawings]), whole, places)
    layout = lay_out(sheet_of(fullest, numbered=True))
    width = max(2, len(str(len(result.states) - 1)))
    for state, drawing in zip(states, drawings, strict=True):
        number, words = f"{state.number:0{width}}", state.when or state.step or "as first attached"
        if state.when:  # before the picture of the state that the step leads to
            number = f"{state.number - 1:0{width}}.{_within(result, state)}"
        yield Picture(f"{number}-{slug(words)}", _placed(drawing, layout, tallest, fullest.footing()))


def _within(result: Result, state: State) -> int:
    """The first, second … within the step that leads to it; 0 for the state after the step."""
    return 1 + result.states[state.number].meanwhile.index(state) if state.when else 0


def slug(words: str) -> str:
    """Words as a file's name: `lock off left-brake` gives `lock-off-left-brake`."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")[:48].strip("-") or "step"


def everything(result: Result) -> Rig:
    """A rig of all that is there in any state; a rope that is laid in several ways is there once for each."""
    parts: dict[str, Part] = {}
    points: dict[str, dict[str, None]] = {}
    contacts: dict[tuple[str, str], Contact] = {}
    ropes: dict[Shape, Rope] = {}
    for state in result.every_state:
        for name, part in state.rig.parts.items():
            parts.setdefault(name, part)
            points.setdefault(name, {}).update(dict.fromkeys(part.points))
        for contact in state.rig.contacts:
            contacts.setdefault((min(contact.a, contact.b), max(contact.a, contact.b)), contact)
        for rope in state.rig.ropes:
            ropes.setdefault(_shape(rope), rope)
    parts = {name: replace(part, points=tuple(points[name])) for name, part in parts.items()}
    return replace(result.rig, parts=parts, contacts=tuple(contacts.values()), ropes=tuple(ropes.values()))


def _shape(rope: Rope) -> Shape:
    return rope.name, tuple((str(s.role), s.part, s.label) for s in rope.stations)


def _pairs(rig: Rig) -> set[tuple[str, str]]:
    return {(min(c.a, c.b), max(c.a, c.b)) for c in rig.contacts}


def _changes(result: Result, whole: Rig, before: State, state: State) -> Marks:
    """The marks of a state, and what is new, changed, gone or not there in it."""
    marks = intact(result)
    was, now = before.rig, state.rig
    for name, part in whole.parts.items():
        if name in now.parts:
            if name not in was.parts:
                marks.changes[name] = NEW
            elif _told(was.parts[name]) != _told(now.parts[name]):
                marks.changes[name] = CHANGED
        elif name in was.parts:
            marks.lost[name] = OUT
        elif part.body:
            marks.changes[name] = ABSENT
        else:
            marks.hidden.add(name)
    spans_then = {span: rope for rope in was.ropes for span in rope.spans}
    spans_now = {span: rope for rope in now.ropes for span in rope.spans}
    for rope in whole.ropes:
        for span in rope.spans:
            if span in spans_now and span not in spans_then:
                marks.changes[span] = NEW
            elif span not in spans_now and span in spans_then:
                marks.lost[span] = OUT
            elif span not in spans_now:
                marks.hidden.add(span)
    then, there = _pairs(was), _pairs(now)
    for contact in whole.contacts:
        pair, name = (min(contact.a, contact.b), max(contact.a, contact.b)), contact_name(contact.a, contact.b)
        if not contact.given:
            continue
        if pair in there and pair not in then:
            marks.changes[name] = NEW
        elif pair not in there and pair in then:
            marks.lost[name] = OFF
        elif pair not in there:
            marks.hidden.add(name)
    for rope in now.ropes:
        old = next((one for one in was.ropes if one.name == rope.name), None)
        if old and old.quantities != rope.quantities:
            marks.changes[rope.name] = CHANGED
        for one, other in zip(rope.stations, old.stations if old else (), strict=False):
            if one.part == other.part and (one.to_start, one.to_end) != (other.to_start, other.to_end):
                marks.changes.setdefault(one.part, CHANGED)
    return marks


def _told(part: Part) -> tuple[object, ...]:
    """What a step can change of a part."""
    return part.self_locking, part.standing, part.exposed, part.at, part.quantities


def _make_room(frames: list[Marks]) -> None:
    names = {name for m in frames for name in (*m.single, *m.notes, *m.lost, *m.changes)}
    room = {name: max(len(marked(name, m, "")) for m in frames) for name in names}
    for marks in frames:
        marks.room = room


def _fullest(frames: list[Marks]) -> Marks:
    """For each name the marks of the state that writes most on it; nothing is hidden."""
    found = Marks(room=frames[0].room)
    for name in found.room:
        full = max(frames, key=lambda m: len("".join(marked(name, m, ""))))
        found.notes[name] = [*full.single.get(name, ()), *full.notes.get(name, ())]  # a doubled outline would be larger
        if name in full.lost:
            found.lost[name] = full.lost[name]
        if name in full.changes:
            found.changes[name] = full.changes[name]
    return found


def _placed(drawing: Drawing, layout: Layout, tallest: int, under: str) -> str:
    """One picture, every node and line at the place that the layout gave it."""
    import graphviz

    kept = {key: value for key, value in SHEET.items() if key not in ("mclimit", "rankdir", "newrank")}
    sheet = graphviz.Digraph(graph_attr={**kept, "bb": layout.box}, node_attr=NODES, edge_attr=EDGES)
    sheet.attr(label=heading(drawing.result, drawing.marks, tall=tallest))
    idents = {drawing.places.ids[name] for name in drawing.marks.hidden if name in drawing.places.ids}
    nodes = [*drawing.nodes(), *(node for row in drawing.edges() for node in row)]
    legend = Node(LEGEND, under, {"shape": "plain"})
    for name, corner in zip(("from", "to"), _corners(layout), strict=True):
        sheet.node(name, "", shape="point", style="invis", width="0.01", pos=corner)
    for node in (*nodes, legend):
        look = {**node.attributes, "pos": layout.nodes[node.id]}
        if node.id in idents or _passage_hidden(drawing, node.id):
            look["style"] = "invis"
        sheet.node(node.id, node.label, **look)
    for line, (way, at) in zip(drawing.sorted_lines(), layout.lines, strict=True):
        look = {**line.attributes, "pos": way, **({"lp": at} if at else {})}
        sheet.edge(line.tail, line.head, line.label or None, **look)
    return str(sheet.source)


ROUND = 14
"""Points round the drawing: a doubled outline makes no picture larger than the others."""


def _corners(layout: Layout) -> tuple[str, str]:
    left, low, right, high = (float(number) for number in layout.box.split(","))
    return f"{left - ROUND:g},{low - ROUND:g}", f"{right + ROUND:g},{high + ROUND:g}"


def _passage_hidden(drawing: Drawing, ident: str) -> bool:
    """Is this the box of a rope over an edge that is not laid so in this state?"""
    found = re.fullmatch(r"e(\d+)x(\d+)", ident)
    if not found:
        return False
    rope, k = drawing.rig.ropes[int(found[1])], int(found[2])
    around = rope.spans[max(k - 1, 0) : k + 1]
    return all(span in drawing.marks.hidden for span in around)
