"""A published litter tie-in, with and without long tails: as a formula, as a rig, and where the two differ.

Topology: litter tie-in slides of a county sheriff's search and rescue, slideplayer.com/slide/16551962, an
extract seen (facts 10.2, S94). Items, formula and counts: facts 10.3, computed there; that both runners go
to the ring is its reading.

The formula lets each item be loaded one way only, as it is in use. A rig counts every connection that is
there, so with tails it has two ways more, and both are real ("still connected", however far it drops first):

1. The ring, held by the one line, holds the other line's knot, and that knot holds its own tail. So with
   the belay gone the attendant, his runner off too, still hangs from ring, KB and TB.
2. Main line, its tail and the litter hold the ring from below, through the bridle. So with KM slipped and
   the belay gone, both runners still hang from ring, bridle, litter and TM.
"""

from __future__ import annotations

from typing import Any

import pytest
from fault_trees import FaultTree
from rigs import rig_of

from analyser.holding.search import Search
from analyser.holding.system import RigSystem
from analyser.rig.model import Rig

ORDER = 4
Sets = set[frozenset[str]]

WORKS: dict[str, str] = {
    "main": "AM & DM & RM",
    "belay": "AB & DB & RB",
    "ring": "G & main & KM | G & belay & KB",
    "litter": "ring & B | main & TM",
    "patient": "litter & L & S | ring & PR",
    "attendant": "ring & AR & AH | belay & TB & AH",
}
"""What works while what does, as facts 10.3 has it."""

CONNECTED = WORKS | {
    "ring": "G & main & KM | G & belay & KB | G & main & TM & L & B",
    "litter": "ring & B | main & TM | ring & KM & TM",
    "attendant": "ring & AR & AH | belay & TB & AH | ring & KB & TB & AH",
}
"""The same with the two ways more that the plain rig has."""

COUNTS = [
    (True, "patient", (0, 20, 16)),
    (True, "attendant", (1, 20, 4)),
    (False, "patient", (1, 19, 0)),
    (False, "attendant", (3, 16, 0)),
]
with_and_without = pytest.mark.parametrize(("tails", "who", "counts"), COUNTS)


def failure_sets_of(works: dict[str, str], who: str, *, tails: bool) -> Sets:
    """The minimal failure sets of a formula; without tails no way needs one, since there is none."""
    gates: dict[str, list[Any]] = {}
    for name, formula in works.items():
        ways = [way.split(" & ") for way in formula.split(" | ") if tails or not {"TM", "TB"} & set(way.split(" & "))]
        for k, way in enumerate(ways):
            gates[f"{name}-{k}"] = ["or", *way]  # a way is lost with any of its items,
        gates[name] = ["and", *(f"{name}-{k}" for k in range(len(ways)))]  # and all is lost with every way
    tree = FaultTree(gates, who)
    return {frozenset(tree.events[event] for event in cut) for cut in Search(tree).failure_sets([who], ORDER)[who]}


LINES = """
    anchor AM, AB
    brake DM, DB: self-locking
    ring G
    person patient: points chest
    person attendant
    harness AH: worn by attendant
    attach AM - DM
    attach AB - DB
    attach G - strap PR - patient.chest
    attach G - strap AR - AH
"""

CONNECTED_RIG = (
    LINES
    + """
    litter L: points head, foot
    rope main
        gripped by DM
        tied to G as KM
        {main_tail}
    rope belay
        gripped by DB
        tied to G as KB
        {belay_tail}
    attach G - bridle B - L.head
    attach L - strap S - patient
"""
)

ITEM_OF = {
    "main[DM..KM] is cut": "RM",
    "belay[DB..KB] is cut": "RB",
    "main[KM..main-end] is cut": "TM",
    "belay[KB..belay-end] is cut": "TB",
}
ITEMS = ("AM", "DM", "AB", "DB", "KM", "KB", "G", "B", "L", "S", "PR", "AR", "AH")


def every(rig: Rig) -> set[str]:
    return {failure.id for failure in rig.failures}


def failure_sets_of_rig(text: str, who: str, *, tails: bool, head: str) -> Sets:
    """The failure sets of a rig over the formula's items, each one event: a device that slips and the model's
    other failures are left out."""
    rig = rig_of(
        text.format(
            main_tail=f"tied to {head} as main-end" if tails else "",
            belay_tail="tied to AH as belay-end" if tails else "",
        )
    )
    lost = [f for f in rig.failures if f.part in ITEMS and not (f.mode == "slips" and f"{f.part} fails" in every(rig))]
    told = {f.id: f.part for f in lost} | {f.id: ITEM_OF[f.id] for f in rig.failures if f.id in ITEM_OF}
    expected = {*ITEMS, "RM", "RB", *(("TM", "TB") if tails else ())}
    assert sorted(told.values()) == sorted(expected)
    system = RigSystem(rig, [failure for failure in rig.failures if failure.id in told])
    cuts = Search(system).failure_sets([who], ORDER)[who]
    return {frozenset(told[system.events[event]] for event in cut) for cut in cuts}


def sizes(sets: Sets) -> tuple[int, ...]:
    return tuple(sum(len(cut) == size for cut in sets) for size in (1, 2, 3))


@with_and_without
def test_the_formula_has_the_published_counts(tails: bool, who: str, counts: tuple[int, ...]) -> None:
    sets = failure_sets_of(WORKS, who, tails=tails)
    assert sizes(sets) == counts
    assert all(len(cut) <= 3 for cut in sets)


def test_the_formula_has_the_published_sets() -> None:
    """Singles and pairs as facts 10.3 lists them."""
    main, belay = ("AM", "DM", "RM"), ("AB", "DB", "RB")
    patient = failure_sets_of(WORKS, "patient", tails=True)
    assert {cut for cut in patient if len(cut) == 2} == {
        *(frozenset({a, b}) for a in main for b in (*belay, "KB", "G")),
        *map(frozenset, (("G", "TM"), ("G", "L"), ("G", "S"), ("PR", "L"), ("PR", "S"))),
    }
    attendant = failure_sets_of(WORKS, "attendant", tails=True)
    assert {cut for cut in attendant if len(cut) < 3} == {
        frozenset({"AH"}),
        *(frozenset({a, b}) for a in main for b in belay),
        *(frozenset({a, b}) for a in belay for b in ("G", "KM", "AR")),
        *map(frozenset, (("TB", "G"), ("TB", "AR"))),
    }
    singles = {who: failure_sets_of(WORKS, who, tails=False) for who in ("patient", "attendant")}
    assert {cut for cut in singles["patient"] if len(cut) == 1} == {frozenset({"G"})}
    assert {cut for cut in singles["attendant"] if len(cut) == 1} == {frozenset({one}) for one in ("G", "AR", "AH")}


@pytest.mark.parametrize("who", ["patient", "attendant"])
def test_without_tails_the_plain_rig_has_the_same_sets(who: str) -> None:
    found = failure_sets_of_rig(CONNECTED_RIG, who, tails=False, head="L.head")
    assert found == failure_sets_of(WORKS, who, tails=False)


@pytest.mark.parametrize(("who", "counts"), [("patient", (0, 20, 9)), ("attendant", (1, 14, 15))])
def test_with_tails_the_plain_rig_has_two_ways_more(who: str, counts: tuple[int, ...]) -> None:
    """Exactly those two, and the formula never holds where the plain rig doesn't."""
    found = failure_sets_of_rig(CONNECTED_RIG, who, tails=True, head="L.head")
    assert sizes(found) == counts
    assert found == failure_sets_of(CONNECTED, who, tails=True)
    formula = failure_sets_of(WORKS, who, tails=True)
    assert found != formula
    assert all(any(cut <= one for cut in formula) for one in found)
