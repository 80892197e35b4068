"""The search against a binary decision diagram library, on the published fault trees.

The reference builds the top event as a diagram (`dd`, its pure Python mode, events in the order in
which the tree is walked), forms the diagram of the minimal solutions, and counts them by size.
The published numbers are the third witness.
"""

from __future__ import annotations

import importlib
import json
from typing import Any

from analyser.holding.search import Search
from tests.fault_trees import FaultTree, published

from .measuring import FOLDER, duration, heading, median, once, table

NAME = "published-trees"
Cuts = frozenset[frozenset[str]]


def run(*, quick: bool) -> None:
    heading(NAME, "minimal cut sets of published trees: the search against a decision diagram library")
    try:
        library: Any = importlib.import_module("dd.autoref")
    except ModuleNotFoundError:
        library = None
        print("  `dd` is not installed: its columns are left out (`pip install dd` to have them)\n")
    rows = []
    jobs = [("chinese", 6), ("baobab1", 3), ("baobab2", 3)]
    for name, order in jobs if quick else [*jobs, ("baobab1", 4), ("baobab2", 4)]:
        tree, counts = published(name)
        top = tree.goals[0]
        seconds, cuts = median(_searched, tree, top, order)
        mine = _by_order([len(cut) for cut in cuts[top]], order)
        said = counts["by_order"][:order]
        if mine != said:
            raise AssertionError(f"{name}: {mine} sets by order, published {said}")
        row: list[object] = [name, len(tree.events), order, sum(mine), duration(seconds)]
        if library:
            built, (manager, root) = once(_diagram, library, name)
            counted, theirs = once(_minimal, manager, root, order)
            del root, manager  # in this order: nodes before what they are kept in
            if theirs != mine:
                raise AssertionError(f"{name}: {mine} sets by order, by the diagram {theirs}")
            row += [duration(built), duration(counted), f"{(built + counted) / seconds:.2g}x"]
        else:
            row += ["", "", ""]
        rows.append(row)
    table(("tree", "events", "order", "sets", "search", "diagram", "its sets", "ratio"), rows)
    print("\n  all counts by order equal the published ones" + (" and the library's" if library else ""))
    print("  ratio below 1x: the library was faster; its diagram holds the sets of every order")


def _searched(tree: FaultTree, top: str, order: int) -> dict[str, list[frozenset[int]]]:
    return Search(tree).failure_sets([top], order)


def _by_order(sizes: list[int], order: int) -> list[int]:
    return [sizes.count(size) for size in range(1, order + 1)]


def _diagram(library: Any, name: str) -> tuple[Any, Any]:
    """The top event over the basic events, which are declared as a walk from the top meets them."""
    data = json.loads((FOLDER / "tests" / "published" / f"{name}.json").read_text())
    manager = library.BDD()
    manager.configure(reordering=False)
    return manager, _built(manager, data["gates"], data["top"], {})


def _built(manager: Any, gates: dict[str, list[Any]], name: str, built: dict[str, Any]) -> Any:
    if name in built:
        return built[name]
    if name not in gates:
        manager.declare(name)
        built[name] = manager.var(name)
        return built[name]
    kind, *inputs = gates[name]
    count = {"and": len(inputs), "or": 1}.get(kind)
    if count is None:
        count, inputs = int(inputs[0]), inputs[1:]
    reached = [manager.false] * count  # reached[k]: at least k + 1 so far
    for one in inputs:
        value = _built(manager, gates, str(one), built)
        for k in range(count - 1, 0, -1):
            reached[k] |= reached[k - 1] & value
        reached[0] |= value
    built[name] = reached[-1]
    return built[name]


def _minimal(manager: Any, root: Any, order: int) -> list[int]:
    """How many minimal solutions of a coherent function have each size up to `order`.

    Those of (x, high, low) are those of low, and x with those of high that none of low is part of.
    """
    cuts = _solutions(manager, root, order, {})
    return _by_order([len(cut) for cut in cuts], order)


def _solutions(manager: Any, node: Any, order: int, known: dict[int, Cuts]) -> Cuts:
    if node == manager.false:
        return frozenset()
    if node == manager.true:
        return frozenset({frozenset()})
    key = int(node)
    if key not in known:
        _, low, high = manager.succ(node)
        if node.negated:
            low, high = ~low, ~high
        below = _solutions(manager, low, order, known)
        variable = frozenset({node.var})
        above = _solutions(manager, high, order, known)
        known[key] = below | {cut | variable for cut in above if len(cut) < order and not _within(cut, below)}
    return known[key]


def _within(cut: frozenset[str], cuts: Cuts) -> bool:
    """Is one of the cuts part of this one?"""
    subsets: list[frozenset[str]] = [frozenset()]
    for one in cut:
        subsets += [subset | {one} for subset in subsets]
    return any(subset in cuts for subset in subsets)
