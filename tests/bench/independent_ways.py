"""Independent attachments of people on plain rigs, against networkx's disjoint paths and cuts.

By Menger's theorem both must equal the smallest failure set there. The engine's time has its set-up
in it, once for all bodies of the rig; networkx's has the graph of each body.
"""

from __future__ import annotations

import random

import networkx

from analyser.holding.reviewing import Review, Ways
from analyser.rig.model import Nature

from .generating import made
from .graphs import GROUND, PlainGraph
from .measuring import duration, heading, once, table

NAME = "independent-ways"
Named = list[tuple[networkx.Graph, str]]
MOST_BODIES = {50: 25, 300: 25, 1000: 5}


def run(*, quick: bool) -> None:
    heading(NAME, "independent attachments on plain rigs: the engine against networkx")
    rows = []
    for size in (50, 300) if quick else MOST_BODIES:
        rig = made("plain", size).rig
        people = [body.name for body in rig.bodies if body.nature is Nature.PERSON]
        chosen = sorted(random.Random(1).sample(people, min(len(people), MOST_BODIES[size])))
        set_up, review = once(Review, rig)
        engine, mine = once(_by_engine, review, chosen)
        graphs = [PlainGraph(rig, through=name).graph for name in chosen]
        named = list(zip(graphs, chosen, strict=True))
        paths, disjoint = once(_paths, named)
        cutting, cuts = once(_cuts, named)
        numbers = [ways.number for ways in mine]
        if not numbers == disjoint == cuts or not all(ways.exact for ways in mine):
            raise AssertionError(f"{size} parts: {numbers} independent ways, networkx {disjoint} paths, {cuts} cuts")
        rows.append(
            [
                size,
                len(chosen),
                f"{min(cuts)} to {max(cuts)}",
                duration(set_up),
                duration(engine),
                duration(paths),
                f"{paths / (set_up + engine):.2g}x",
                duration(cutting),
                f"{cutting / (set_up + engine):.2g}x",
            ]
        )
    table(("parts", "people", "ways", "set up", "engine", "paths", "ratio", "minimum cut", "ratio"), rows)
    print("\n  all numbers equal (ways = disjoint paths = size of the minimum cut), every one exact")


def _by_engine(review: Review, names: list[str]) -> list[Ways]:
    return [review.independent(name) for name in names]


def _paths(named: Named) -> list[int]:
    return [len(list(networkx.node_disjoint_paths(graph, name, GROUND))) for graph, name in named]


def _cuts(named: Named) -> list[int]:
    return [len(networkx.minimum_node_cut(graph, name, GROUND)) for graph, name in named]
