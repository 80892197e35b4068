"""The search behind `reconstruct`, with no rig in sight: what accounts for some goals down and others up.

The core is compared with trying every set, and with published diagnoses: a *conflict* of a device is a
set of components that cannot all be working, as something was measured that they would not give. In
monotone form a conflict is a goal that is up while all its components work; everything measured is
accounted for when every conflict is down. So the minimal diagnoses are the smallest sets that bring all
goals down, which is the theorem that they are the minimal hitting sets of the conflicts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import Any

from fault_trees import FaultTree
from hypothesis import given, settings
from hypothesis import strategies as st

from analyser.uses.incident.smallest import smallest_sets

Sets = set[frozenset[str]]


def found(
    tree: FaultTree, fell: Sequence[str], stayed: Sequence[str] = (), order: int = 3, **more: Iterable[str]
) -> Sets:
    """The smallest sets by name; `more` are required, excluded or free events by name."""
    events = {key: frozenset(map(tree.events.index, names)) for key, names in more.items()}
    return {frozenset(tree.events[e] for e in one) for one in smallest_sets(tree, fell, stayed, order=order, **events)}


def named(*sets: str) -> Sets:
    return {frozenset(one.split()) for one in sets}


# -- published diagnoses


def test_the_full_adder() -> None:
    """Inputs 1, 0, 1; sum 1 and carry 0 are measured, both wrong. Conflicts {X1, X2} and {X1, A2, O1}.

    Published diagnoses {X1}, {X2, A2}, {X2, O1}. Source: R. Reiter, A theory of diagnosis from first
    principles, Artificial Intelligence 32 (1987), the running example; from memory.
    """
    gates: dict[str, list[Any]] = {"sum": ["or", "X1", "X2"], "carry": ["or", "X1", "A2", "O1"]}
    assert found(FaultTree(gates, "sum", "carry"), ("sum", "carry")) == named("X1", "X2 A2", "X2 O1")


def test_multipliers_and_adders() -> None:
    """Three multipliers, two adders: F is measured 10 where 12 is due, G is 12 as it should be.

    Conflicts {A1, M1, M2} and {A1, A2, M1, M3}; published diagnoses {A1}, {M1}, {A2, M2}, {M2, M3}.
    Source: J. de Kleer and B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32
    (1987); from memory.
    """
    gates: dict[str, list[Any]] = {"f": ["or", "A1", "M1", "M2"], "fg": ["or", "A1", "A2", "M1", "M3"]}
    assert found(FaultTree(gates, "f", "fg"), ("f", "fg")) == named("A1", "M1", "A2 M2", "M2 M3")


# -- textbook fault trees, with somebody left standing

TANK: dict[str, list[Any]] = {
    "rupture": ["or", "T", "over"],
    "over": ["or", "K2", "both"],
    "both": ["and", "S", "any"],
    "any": ["or", "S1", "K1", "R"],
}
"""The pressure tank of the fault tree handbook NUREG-0492 (facts 9.6, S87)."""


def test_the_pressure_tank_ruptured() -> None:
    """As published: two singles, three pairs."""
    tank = FaultTree(TANK, "rupture", "over")
    assert found(tank, ["rupture"]) == named("T", "K2", "S S1", "S K1", "S R")


def test_the_tank_ruptured_and_was_never_over_pressure() -> None:
    """By the tree alone: what is left of the published sets is the tank itself."""
    tank = FaultTree(TANK, "rupture", "over")
    assert found(tank, ["rupture"], ["over"]) == named("T")


def test_what_was_found_and_what_was_ruled_out() -> None:
    tank = FaultTree(TANK, "rupture", "over")
    assert found(tank, ["rupture"], required=["S"]) == named("S T", "S K2", "S S1", "S K1", "S R")
    assert found(tank, ["rupture"], excluded=["T", "K1"]) == named("K2", "S S1", "S R")
    assert found(tank, ["rupture"], required=["T"], excluded=["T"]) == set()
    assert found(tank, ["rupture"], ["over"], required=["K2"]) == set()


def test_the_bridge() -> None:
    """Minimal cuts {1,2}, {4,5}, {1,3,5}, {2,3,4}. Source: eslm.lpude.in DMTH404 unit 17.3 (facts 9.4, S88)."""
    gates: dict[str, list[Any]] = {
        "down": ["and", "p14", "p25", "p135", "p234"],
        "p14": ["or", "1", "4"],
        "p25": ["or", "2", "5"],
        "p135": ["or", "1", "3", "5"],
        "p234": ["or", "2", "3", "4"],
    }
    bridge = FaultTree(gates, "down", "p14")
    assert found(bridge, ["down"], order=5) == named("1 2", "4 5", "1 3 5", "2 3 4")
    assert found(bridge, ["down"], ["p14"], order=5) == set()
    assert found(bridge, ["down"], order=5, required=["3"]) == named("1 2 3", "3 4 5", "1 3 5", "2 3 4")


# -- what counts towards the order


def test_free_events_do_not_count() -> None:
    gates: dict[str, list[Any]] = {"top": ["and", "a", "b", "c"]}
    tree = FaultTree(gates, "top")
    assert found(tree, ["top"], order=2) == set()
    assert found(tree, ["top"], order=2, free=["b"]) == named("a b c")
    assert found(tree, ["top"], order=2, required=["c"]) == named("a b c")


def test_nothing_need_have_happened() -> None:
    tree = FaultTree({"top": ["or", "a"]}, "top")
    assert found(tree, []) == {frozenset()}


# -- trying every set

NAMES = "abcdef"
GATES = st.lists(
    st.lists(st.lists(st.sampled_from(NAMES), min_size=1, max_size=3, unique=True), min_size=1, max_size=4),
    min_size=1,
    max_size=4,
)
SOME = st.frozensets(st.sampled_from(NAMES), max_size=2)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(GATES, st.integers(0, 2), st.integers(0, 3), SOME, SOME, SOME)
def test_trying_every_set(
    tops: list[list[list[str]]], standing: int, order: int, required: Any, excluded: Any, free: Any
) -> None:
    """Each top is an OR of ANDs of events; the last `standing` of them must not happen."""
    gates: dict[str, list[Any]] = {"every": ["and", *NAMES]}
    for k, cuts in enumerate(tops):
        gates |= {f"t{k}c{n}": ["and", *cut] for n, cut in enumerate(cuts)}
        gates[f"t{k}"] = ["or", *(f"t{k}c{n}" for n in range(len(cuts)))]
    names = [f"t{k}" for k in range(len(tops))]
    fell, stayed = names[: len(names) - standing], names[len(names) - standing :] if standing else []
    tree = FaultTree(gates, *names)

    def happens(top: str, events: frozenset[str]) -> bool:
        return any(set(cut) <= events for cut in tops[names.index(top)])

    accounting = [
        events
        for size in range(len(NAMES) + 1)
        for events in map(frozenset, combinations(NAMES, size))
        if required <= events
        and not events & excluded
        and all(happens(top, events) for top in fell)
        and not any(happens(top, events) for top in stayed)
    ]
    smallest = {one for one in accounting if not any(other < one for other in accounting)}
    wanted = {one for one in smallest if len(one - required - free) <= order}
    assert found(tree, fell, stayed, order, required=required, excluded=excluded, free=free) == wanted
