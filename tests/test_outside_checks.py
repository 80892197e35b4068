"""Checks from outside: textbook networks and trade facts written as rigs, each with its source."""

from __future__ import annotations

from itertools import combinations

import pytest
from rigs import checked, criticals, rig_of, sets_of

import analyser


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
