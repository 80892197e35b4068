"""The rig as a networkx graph, for people who open it in a notebook and for drawing."""

from __future__ import annotations

import networkx

from analyser.rig.model import Rig


def as_graph(rig: Rig) -> networkx.MultiGraph:
    """Parts as nodes (`kind`, `nature`, `line`, `body`), contacts and rope spans as edges.

    A span joins the parts of two neighbouring stations. Edge data: `via` is "contact", "point"
    (a body's own point), "needs" or the span's name; `rope` the rope's name or None.
    """
    graph = networkx.MultiGraph(title=rig.title, revision=rig.revision)
    for part in rig.parts.values():
        graph.add_node(part.name, kind=part.kind, nature=str(part.nature), line=part.place.line, body=part.body)
    for contact in rig.contacts:
        graph.add_edge(contact.a, contact.b, via="contact" if contact.given else "point", rope=None)
    for part in rig.parts.values():
        for need in part.needs:
            for foot in need.parts:
                graph.add_edge(part.name, foot, via="needs", rope=None)
    for rope in rig.ropes:
        for index, span in enumerate(rope.spans):
            a, b = rope.stations[index].part, rope.stations[index + 1].part
            graph.add_edge(a, b, via=span, rope=rope.name)
    return graph
