"""The failure search against published fault trees: the same core, no rig in sight."""

from __future__ import annotations

from typing import Any

import pytest
from fault_trees import FaultTree, published

from analyser.holding.search import Search


def cuts_of(gates: dict[str, list[Any]], top: str, order: int) -> set[frozenset[str]]:
    tree = FaultTree(gates, top)
    found = Search(tree).failure_sets([top], order)[top]
    return {frozenset(tree.events[event] for event in cut) for cut in found}


def named(*cuts: str) -> set[frozenset[str]]:
    return {frozenset(cut.split()) for cut in cuts}


@pytest.mark.parametrize(("name", "order"), [("baobab1", 4), ("baobab2", 4), ("chinese", 6)])
def test_benchmark_trees(name: str, order: int) -> None:
    """Numbers of minimal cut sets by order. Source: the Aralia benchmark set (tests/published)."""
    tree, counts = published(name)
    cuts = Search(tree).failure_sets(tree.goals, order)[tree.goals[0]]
    assert [sum(len(cut) == size for cut in cuts) for size in range(1, order + 1)] == counts["by_order"][:order]
    if order == len(counts["by_order"]):
        assert len(cuts) == counts["total"]


def test_pressure_tank() -> None:
    """Source: the pressure tank of the fault tree handbook NUREG-0492, as re-expressed in a public test
    file of which the whole was read (facts 9.6, S87)."""
    gates: dict[str, list[Any]] = {
        "rupture": ["or", "T", "over"],
        "over": ["or", "K2", "both"],
        "both": ["and", "S", "any"],
        "any": ["or", "S1", "K1", "R"],
    }
    assert cuts_of(gates, "rupture", 3) == named("T", "K2", "S S1", "S K1", "S R")


def test_seals() -> None:
    """Source: the NASA fault tree handbook's seal design, as in the same file (facts 9.7, S87)."""
    gates: dict[str, list[Any]] = {
        "leak": ["or", "tape", "metal"],
        "tape": ["and", "contaminated", "common"],
        "metal": ["and", "metal-seal", "seal-1", "seal-2", "plug"],
    }
    assert cuts_of(gates, "leak", 4) == named("contaminated common", "metal-seal seal-1 seal-2 plug")


def test_printed_example_of_minimal_sets() -> None:
    """Of {1,2,3,4}, {1,2,3}, {1,2,4} only the last two are minimal.

    Source: weibull.com/hotwire/issue63, an extract seen (facts 9.3, S89).
    """
    gates: dict[str, list[Any]] = {
        "top": ["or", "all", "a", "b"],
        "all": ["and", "e1", "e2", "e3", "e4"],
        "a": ["and", "e1", "e2", "e3"],
        "b": ["and", "e1", "e2", "e4"],
    }
    assert cuts_of(gates, "top", 4) == named("e1 e2 e3", "e1 e2 e4")


def test_bridge() -> None:
    """Source: eslm.lpude.in DMTH404 unit 17.3, an extract seen (facts 9.4, S88)."""
    gates: dict[str, list[Any]] = {
        "down": ["and", "p14", "p25", "p135", "p234"],
        "p14": ["or", "1", "4"],
        "p25": ["or", "2", "5"],
        "p135": ["or", "1", "3", "5"],
        "p234": ["or", "2", "3", "4"],
    }
    assert cuts_of(gates, "down", 5) == named("1 2", "4 5", "1 3 5", "2 3 4")
    assert Search(FaultTree(gates, "down")).independent("down").number == 2


def test_independent_is_below_the_smallest_cut_where_they_differ() -> None:
    """2-of-3: every pair is a cut and a way, so one way is left though two must fail (computed)."""
    gates: dict[str, list[Any]] = {"top": ["atleast", 2, "a", "b", "c"]}
    search = Search(FaultTree(gates, "top"))
    packing = search.independent("top")
    assert (packing.number, packing.exact) == (1, True)
    assert {len(cut) for cut in search.failure_sets(["top"], 3)["top"]} == {2}
