"""The diagram of a rig: ground at the top, people at the bottom, single points marked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from analyser.checking.foremost import verdict_head
from analyser.checking.results import Result
from analyser.pages.drawing.colours import rope_colours, rope_strokes
from analyser.pages.drawing.edges import edge_nodes
from analyser.pages.drawing.heights import depths
from analyser.pages.drawing.legend import ACROSS, UPRIGHT, Sheet, footing, heading
from analyser.pages.drawing.lines import (
    Line,
    contact_lines,
    mending_lines,
    part_way_lines,
    span_lines,
    standing_lines,
    watching_lines,
)
from analyser.pages.drawing.marks import NOTHING_TO_DO, Marks, ToDo, after, intact
from analyser.pages.drawing.parts import SHAPES, Node, plain_node
from analyser.pages.drawing.places import DOWN, UP, Places
from analyser.pages.drawing.rebelays import part_way
from analyser.pages.drawing.tables import body_node
from analyser.pages.drawing.tiles import stack_node
from analyser.rig.model import Failure, Nature, Part, Rig

FONT = "Arial"
BOTH_WAYS = 80
"""So many parts are laid out both across and upright."""
SHEET = {
    "fontname": FONT,
    "rankdir": "TB",
    "newrank": "true",
    "nodesep": "0.12",
    "ranksep": "0.12",
    "mclimit": "4",
    "labelloc": "t",
    "labeljust": "l",
    "outputorder": "edgesfirst",
    "bgcolor": "white",
    "pad": "0.08",
}
NODES = {"fontname": FONT, "fontsize": "12", "margin": "0.07,0.03", "height": "0.2", "width": "0.3"}
EDGES = {"fontname": FONT, "fontsize": "10", "dir": "forward", "arrowhead": "none"}


LEGEND = "legend"


def dot_source(
    result: Result, failing: Sequence[Failure] = (), forces: Mapping[str, str] | None = None, sheet: Sheet = ACROSS
) -> str:
    """The diagram as DOT source: the rig as it is, or what is left after `failing`; with what each part and
    span carries, where `forces` says it."""
    return drawn(result, _marks(result, failing, forces), sheet)


def either_way(
    result: Result,
    failing: Sequence[Failure] = (),
    forces: Mapping[str, str] | None = None,
    *,
    marks: Marks | None = None,
    plan: Result | None = None,
    chosen: str = "",
    do: ToDo = NOTHING_TO_DO,
) -> tuple[str, ...]:
    """The same for a sheet across and one upright: the one with the larger type is taken (`rendering.py`). Many parts
    are drawn across. `plan`: of the whole of which this is one state; `chosen`: why it is this one; `do`: what to do
    now."""
    marks = marks or _marks(result, failing, forces)
    marks.chosen, marks.do = chosen, do
    if plan is not None and plan.met is not result.met:
        marks.plan = f"The whole plan: {verdict_head(plan)}"
    sheets = (ACROSS, UPRIGHT) if len(result.rig.parts) <= BOTH_WAYS else (ACROSS,)
    return tuple(drawn(result, marks, sheet) for sheet in sheets)


def _marks(result: Result, failing: Sequence[Failure], forces: Mapping[str, str] | None) -> Marks:
    marks = after(result, failing) if failing else intact(result)
    marks.forces = dict(forces or {})
    return marks


def drawn(result: Result, marks: Marks, sheet: Sheet = ACROSS) -> str:
    """The diagram of the result's rig as DOT source, with these marks."""
    return sheet_of(Drawing(result, marks, sheet=sheet))


def sheet_of(drawing: Drawing, *, numbered: bool = False, bare: bool = False) -> str:
    """A drawing as DOT source, for the layout program to place; its lines numbered where they are asked for
    after; `bare` of heading and legend where those stand beside it."""
    import graphviz

    result = drawing.result
    sheet = graphviz.Digraph(graph_attr={**SHEET, "size": drawing.sheet.size}, node_attr=NODES, edge_attr=EDGES)
    if not bare:
        sheet.attr(label=heading(result, drawing.marks, drawing.sheet))
    bottom = drawing.level(drawing.bottom())
    last = [] if bare else [LEGEND]
    for rank, idents in (("source", drawing.level(drawing.top())), ("same", bottom), ("sink", last)):
        with sheet.subgraph() as level:
            level.attr(rank=rank)
            for ident in idents:
                level.node(ident)
    for node in drawing.nodes():
        sheet.node(node.id, node.label, **node.attributes)
    for row in drawing.edges():
        with sheet.subgraph() as level:
            level.attr(rank="same")
            for node in row:
                level.node(node.id, node.label, **node.attributes)
    for number, line in enumerate(drawing.sorted_lines()):
        numbering = {"id": str(number)} if numbered else {}
        sheet.edge(line.tail, line.head, line.label or None, **line.attributes, **numbering)
    if bare:
        return str(sheet.source)
    sheet.node(LEGEND, drawing.footing(), shape="plain")
    for ident in bottom or _ends(drawing):
        sheet.edge(ident, LEGEND, style="invis")
    return str(sheet.source)


def _ends(drawing: Drawing) -> list[str]:
    """The nodes from which no line leads on."""
    lines = drawing.sorted_lines()
    above = {line.tail.split(":")[0] for line in lines}
    return list(dict.fromkeys(node.id for node in drawing.nodes() if node.id not in above))


class Drawing:
    """The nodes and lines of one diagram: of a result's rig, or of a larger `rig` of which it is one state."""

    def __init__(
        self,
        result: Result,
        marks: Marks,
        rig: Rig | None = None,
        places: Places | None = None,
        sheet: Sheet = ACROSS,
    ) -> None:
        self.result = result
        self.sheet = sheet
        self.rig: Rig = rig or result.rig
        self.marks = marks
        self.colours = rope_colours(dict.fromkeys(rope.name for rope in self.rig.ropes))
        self.strokes = rope_strokes(rope.name for rope in self.rig.ropes)
        self.depth = places.depth if places else depths(self.rig)
        kept = {*self.rig.parts} - {*marks.lost, *marks.fresh}
        apart = {pair for pair in marks.contacts if kept.issuperset(pair)}
        self.places = places or Places(self.rig, self.depth, apart)

    def footing(self) -> str:
        """What stands under it."""
        ropes = {name: (colour, self.strokes[name]) for name, colour in self.colours.items()}
        return footing(self.rig, self.marks, ropes, self.sheet, watching=bool(self.places.watching))

    def top(self) -> list[Part]:
        """The ground that holds something up, but for what a rope reaches on its way down."""
        reached = part_way(self.rig)
        grounds = [p for p in self.rig.parts.values() if p.holds_up]
        return [part for part in grounds if part.name not in reached]

    def bottom(self) -> list[Part]:
        """Bodies with nothing under them, and the ground that lies below."""
        last = {part.name for part in self.rig.bodies if self.places.lowest(part)}
        below = {p.name for p in self.rig.parts.values() if p.nature is Nature.GROUND and p.below}
        return [part for part in self.rig.parts.values() if part.name in last | below]

    def level(self, parts: list[Part]) -> list[str]:
        """The nodes of one level, each once."""
        return list(dict.fromkeys(self.places.ids[part.name] for part in parts))

    def nodes(self) -> Iterator[Node]:
        outcomes = {body.name: body for body in self.result.bodies}
        for part in self.rig.parts.values():
            ident = self.places.ids[part.name]
            if part.is_body:
                outcome = outcomes.get(part.name)
                top, bottom = self.places.rim(part, UP), self.places.rim(part, DOWN)
                yield body_node(ident, part, outcome, self.result.order, self.marks, top, bottom)
            elif part.nature in SHAPES:
                yield plain_node(ident, part, self.marks)
        for stack in self.places.stacks:
            tiles = [(p, self.places.tile(p.name), self.colours.get(p.rope or "")) for p in stack]
            yield stack_node(self.places.ids[stack[0].name], tiles, self.marks)

    def edges(self) -> Iterator[list[Node]]:
        """The boxes of each edge, which stand in one row."""
        for part in self.rig.parts.values():
            if part.nature is Nature.EDGE:
                yield edge_nodes(part, self.marks, self.places.passages(part, self.marks.lost))

    def sorted_lines(self) -> list[Line]:
        """The lines, those to the rim of a body in the order of its points: the layout keeps to it."""
        return sorted(self.lines(), key=lambda line: self.places.along_rim(line.head))

    def lines(self) -> Iterator[Line]:
        for rope in self.rig.ropes:
            colour, stroke = self.colours[rope.name], self.strokes[rope.name]
            yield from span_lines(rope, colour, stroke, self.marks, self.depth, self.places.station)
        yield from contact_lines(self.rig, self.marks, self.depth, self.places.part, self.places.stacked)
        yield from standing_lines(self.rig, self.marks, self.depth, self.places.part)
        yield from mending_lines(self.rig, self.marks, self.depth, self.places.beside)
        yield from part_way_lines(self.rig, self.depth, self.places.station, self.places.ids)
        yield from watching_lines(self.places.watching, self.marks, self.places.watcher, self.places.watched)
