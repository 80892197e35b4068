"""A plain rig as a networkx graph, and who is held after nodes were taken out of it: the reference.

People don't conduct: they are no nodes here, and a person is held where a part that touches them
is. Loads conduct, so a load and its points are one node. Knots and spans are nodes like any part.
"""

from __future__ import annotations

from collections.abc import Iterable

import networkx

from analyser.rig.model import Nature, Rig

GROUND = "the ground"


class PlainGraph:
    """The graph of a plain rig, joined to one node for the ground."""

    def __init__(self, rig: Rig, through: str | None = None) -> None:
        """`through`: a person kept as a node, to ask for ways and cuts to that person."""
        self.rig = rig
        self.touching: dict[str, set[str]] = {body.name: set() for body in rig.bodies}
        people = {body.name for body in rig.bodies if body.nature is Nature.PERSON}
        name = {part.name: part.body or part.name for part in rig.parts.values()}
        self.graph = networkx.Graph()
        self.graph.add_node(GROUND)

        def join(a: str, b: str) -> None:
            if a == b:
                return
            for one, other in ((a, b), (b, a)):
                if one in self.touching:
                    self.touching[one].add(other)
            if not {a, b} & (people - {through}):
                self.graph.add_edge(a, b)

        for contact in rig.contacts:
            join(name[contact.a], name[contact.b])
        for rope in rig.ropes:
            for k, span in enumerate(rope.spans):
                join(rope.stations[k].part, span)
                join(span, rope.stations[k + 1].part)
        for part in rig.parts.values():
            if part.nature is Nature.GROUND:
                join(part.name, GROUND)
        self.nodes = [failure.part for failure in rig.failures]
        """For each failure the node that it takes out."""

    def after(self, failures: Iterable[int]) -> frozenset[str]:
        """Who is held after some failures: copy the graph, remove nodes, one search from the ground."""
        left = self.graph.copy()
        left.remove_nodes_from([self.nodes[k] for k in failures])
        reached = networkx.node_connected_component(left, GROUND)
        return frozenset(body for body, near in self.touching.items() if body in reached or near & reached)

    def after_by_hand(self, failures: Iterable[int]) -> frozenset[str]:
        """The same without a copy: a search over plain dictionaries that steps around what failed."""
        near = self.graph.adj
        seen = {self.nodes[k] for k in failures}
        gone = set(seen)
        seen.add(GROUND)
        stack = [GROUND]
        while stack:
            for other in near[stack.pop()]:
                if other not in seen:
                    seen.add(other)
                    stack.append(other)
        reached = seen - gone
        return frozenset(body for body, by in self.touching.items() if body in reached or by & reached)
