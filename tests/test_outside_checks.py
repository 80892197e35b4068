"""Checks from outside: textbook networks and trade facts written as rigs, each with its source."""

from __future__ import annotations

from itertools import combinations

import pytest
from rigs import checked, counts, criticals, falls, rig_of, sets_of

import analyser
from analyser.holding.search import Search
from analyser.holding.system import RigSystem


def test_bridge_network() -> None:
    """Minimal cuts of the bridge 1-4, 2-5 with the tie 3: {1,2}, {4,5}, {1,3,5}, {2,3,4}.

    Source: Unit 17.3 bridge structure p. 237, eslm.lpude.in DMTH404, an extract seen (facts 9.4, S88).
    Rope reading: anchor items 1 and 2, a tie (3) half way between two working lines, rope items 4, 5.
    The points where items meet are knots and rings taken as sound.
    """
    result = checked(
        """
        anchor one, two
        ring left, right
        strap three, four, five
        load top
        attach one - left - four - top
        attach two - right - five - top
        attach left - three - right
        sound left, right: "the nodes of the textbook network do not fail"
        """,
        order=4,
    )
    names = {frozenset(f"{name} fails" for name in cut) for cut in (("one", "two"), ("four", "five"))}
    assert criticals(result, "top") == set()
    assert sets_of(result, "top", 2) == names
    assert sets_of(result, "top", 3) == {
        frozenset(f"{name} fails" for name in cut) for cut in (("one", "three", "five"), ("two", "three", "four"))
    }
    assert sets_of(result, "top", 4) == set()
    assert result.body("top").independent == 2


@pytest.mark.parametrize(("k", "n"), [(2, 3), (2, 4), (3, 4), (3, 5), (1, 3)])
def test_k_of_n(k: int, n: int) -> None:
    """k-of-n works if k work: its minimal cuts are all sets of n - k + 1.

    Source: eslm.lpude.in DMTH404 for the rule, an extract seen (facts 9.5, S88); the counts are computed.
    """
    pickets = ", ".join(f"p{i}" for i in range(n))
    result = checked(
        f"""
        anchor {pickets}
        holdfast pickets: needs {k} of {pickets}
        load bag
        attach pickets - bag
        sound pickets fails: "the textbook gate does not fail"
        """,
        order=4,
    )
    size = n - k + 1
    expected = {frozenset(f"p{i} fails" for i in cut) for cut in combinations(range(n), size)}
    assert sets_of(result, "bag", size) == expected
    assert sum(len(sets_of(result, "bag", s)) for s in range(1, 5)) == len(expected)
    assert result.body("bag").independent == n // k


def chains(*lengths: int, shared: int = 0) -> str:
    """A person on several chains of items, with `shared` items between all of them and the person."""
    lines = ["person sam: points waist", "ring end"]
    for c, length in enumerate(lengths):
        names = [f"c{c}-{i}" for i in range(length)]
        lines.append(f"anchor {names[0]}")
        lines += [f"ring {name}" for name in names[1:]]
        lines.append("attach " + " - ".join([*names, "end"]))
    below = [f"s{i}" for i in range(shared)]
    lines += [f"ring {name}" for name in below]
    lines.append("attach " + " - ".join(["end", *below, "sam.waist"]))
    lines.append('sound end: "the meeting point is not an item of the count"')
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("lengths", "shared", "expected"),
    [
        ((4, 4), 1, (1, 16, 0, 0)),  # two-line person: anchor, rope, device, connector each, one harness
        ((3, 3), 1, (1, 9, 0, 0)),
        ((3, 3), 2, (2, 9, 0, 0)),  # both lines on one anchor: harness and anchor single
        ((2, 3, 2), 1, (1, 0, 12, 0)),
        ((1, 1, 1), 1, (1, 0, 1, 0)),  # three anchors, any one holds, one master connector
        ((5, 3), 0, (0, 15, 0, 0)),
    ],
)
def test_counting_rules_for_chains(lengths: tuple[int, ...], shared: int, expected: tuple[int, ...]) -> None:
    """How many singles, pairs, triples and fours a topology has (facts 9.9, computed there)."""
    result = checked(chains(*lengths, shared=shared), order=4)
    assert counts(result, "sam", 4) == expected


LITTER = """
    anchor AM, AB
    brake DM, DB: self-locking
    ring G
    litter L: points head, foot
    person patient: points chest
    person attendant
    harness AH: worn by attendant
    attach AM - DM
    attach AB - DB
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
    attach G - strap PR - patient.chest
    attach G - strap AR - AH
"""
ITEMS = ("AM", "DM", "RM", "AB", "DB", "RB", "KM", "KB", "TM", "TB", "G", "B", "L", "S", "PR", "AR", "AH")
"""The items of the published count, each one event; what our model fails beside them is left out."""


def litter_counts(tails: bool, body: str) -> tuple[tuple[int, ...], set[str]]:
    rig = rig_of(
        LITTER.format(
            main_tail="tied to L.head as main-end" if tails else "",
            belay_tail="tied to AH as belay-end" if tails else "",
        )
    )
    renamed = {
        "main[DM..KM] is cut": "RM",
        "belay[DB..KB] is cut": "RB",
        "KM slips": "KM",
        "KB slips": "KB",
        "main[KM..main-end] is cut": "TM",
        "belay[KB..belay-end] is cut": "TB",
        **{f"{item} fails": item for item in ITEMS},
    }
    system = RigSystem(rig, [f for f in rig.failures if f.id in renamed])
    cuts = Search(system).failure_sets([body], 3)[body]
    singles = {renamed[system.events[e]] for cut in cuts if len(cut) == 1 for e in cut}
    return tuple(sum(len(cut) == size for cut in cuts) for size in (1, 2, 3)), singles


@pytest.mark.parametrize(
    ("tails", "body", "expected", "singles"),
    [
        (False, "patient", (1, 19, 0), {"G"}),
        (False, "attendant", (3, 16, 0), {"G", "AR", "AH"}),
        (True, "patient", (0, 20, 9), set()),
        (True, "attendant", (1, 14, 15), {"AH"}),
    ],
)
def test_litter_tie_in_as_a_rig(tails: bool, body: str, expected: tuple[int, ...], singles: set[str]) -> None:
    """Main and belay to one ring, with and without tails: the tails take the ring out as a single.

    Topology: litter tie-in slides of a county sheriff's search and rescue, slideplayer.com/slide/16551962,
    an extract seen (facts 10.2, S94). Counts without tails: computed there (facts 10.3). With tails the
    printed formula has no way from the ring through a knot into that rope's own tail; the rig has one (the
    ring, held by the other rope, holds the knot, and the knot holds the tail), so it counts fewer sets.
    These two rows are ours; the formula itself is checked in test_published_trees.py.
    """
    found, alone = litter_counts(tails, body)
    assert found == expected
    assert alone == singles


def test_level_line_shared_by_two_people() -> None:
    """Descent and arrest lines of two people on one level line: it and its ends are single for both.

    Source: FACE 03-MA-010, an extract seen (facts 11.2, S97).
    """
    text = """
        anchor west, east
        rope level
            tied to west as west-end
            tied to carabiner a - carabiner b with butterfly as middle
            tied to east as east-end
        person ann: points waist, chest
        person ben: points waist, chest
    """
    for who in ("ann", "ben"):
        text += f"""
        rope {who}-descent
            tied to a as {who}-descent-top
            gripped by descender {who}-device - {who}.waist
        rope {who}-arrest
            tied to a as {who}-arrest-top
            gripped by rope-grab {who}-grab - {who}.chest
        """
    result = checked(text)
    for who in ("ann", "ben"):
        assert result.body(who).attachments == 2
        assert result.body(who).independent == 1


def test_outrigger_single_for_both() -> None:
    """One rope tied at its middle to a rolling outrigger, a second person tied to the same outrigger.

    Source: FACE 05-MA-038, an extract seen (facts 11.4, S99).
    """
    result = checked("""
        anchor outrigger
        person ann: points waist, chest
        person ben: points waist
        rope line
            gripped by descender device - ann.waist
            tied to outrigger with butterfly as middle
            gripped by rope-grab arrest - ann.chest
        attach outrigger - lanyard tie - ben.waist
    """)
    assert falls(result, "outrigger fails") == ("ann", "ben")
    assert falls(result, "middle slips") == ("ann",)
    assert result.body("ann").attachments == 2
    assert result.body("ann").independent == 1


def test_one_load_line_through_a_brake() -> None:
    """Litter, casualty and attendant on one load line; helpers unroped at the lip.

    Source: FACE AK-92-016, an extract seen (facts 11.5, S95): brake single, helper count 0.
    """
    result = checked("""
        anchor tree
        litter basket: points head, foot
        person casualty: points chest
        person attendant: points waist
        person helper: standing, exposed
        attach tree - brake brake-bar
        rope line
            gripped by brake-bar
            tied to ring master as load-knot
        attach master - strap head-leg - basket.head
        attach master - strap foot-leg - basket.foot
        attach basket - strap lashing - casualty
        attach master - strap tether - attendant.waist
    """)
    assert falls(result, "brake-bar slips") == ("attendant", "basket", "casualty")
    assert result.body("helper").attachments == 0
    assert falls(result, "helper loses footing") == ("helper",)


def test_whistle_test() -> None:
    """A brake worked by hand fails the hands-off test; a self-locking one passes.

    Source: county manual quoted at firehouse.com/forums t125939, an extract seen (facts 9.12, S93).
    """
    text = """
        anchor bolt
        person jo: standing
        load bag
        attach bolt - brake bar
        bar: operated by jo{locking}
        rope line
            gripped by bar
            tied to bag
    """
    assert analyser.check(rig_of(text.format(locking=""))).states[0].outcome.hands_off_falls == ("bag",)
    locking = analyser.check(rig_of(text.format(locking=", self-locking")))
    assert locking.states[0].outcome.hands_off_falls == ()


def test_one_sleeve_or_structure_is_a_common_cause() -> None:
    """An agent that reaches both ropes shows up as a single (facts 9.10, common practice, no source)."""
    result = checked("""
        anchor left, right
        person sam: points waist, chest
        rope red
            tied to left as red-top
            tied to sam.waist as red-low
        rope green
            tied to right as green-top
            tied to sam.chest as green-low
        cause hot-pipe: red[red-top..red-low] is cut, green[green-top..green-low] is cut
    """)
    assert criticals(result, "sam") == {"hot-pipe strikes"}
    assert result.body("sam").independent == 1
