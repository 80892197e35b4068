"""How many failure sets a topology has, of one, two, three and four: each row a rig in the language.

Source: the counting rules for rope chains, facts 9.9, computed there. What a row doesn't count (knots, a
device that slips rather than fails, the point where chains meet) is marked `sound`, with that reason.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from rigs import checked, counts

NOT_COUNTED = '"not an item of the row"'


def line(name: str, top: str, point: str, *, connector: bool = False) -> str:
    """A rope from `top` to a device at a point of the harness: counted are rope, device and connector."""
    between = f"carabiner {name}-crab - " if connector else ""
    return f"""
        rope {name}
            tied to {top} as {name}-top
            gripped by descender {name}-device - {between}{point}
        sound {name}-device slips: {NOT_COUNTED}
    """


def with_knots_sound(*lines: str) -> str:
    return "\n".join(f"sound {name}-top: {NOT_COUNTED}" for name in lines)


HARNESS = """
        person sam
        harness belt: worn by sam
"""


@dataclass(frozen=True)
class Topology:
    words: str
    rig: str
    counts: tuple[int, int, int, int]


def chains(m: int, n: int, s: int) -> Topology:
    """Two chains of m and n items, of which s items further on are shared."""
    text = f"        load bag\n        ring meet\n        sound meet: {NOT_COUNTED}\n"
    for side, length in (("left", m), ("right", n)):
        links = "".join(f" - link {side}-{k}" for k in range(1, length))
        text += f"        anchor {side}\n        attach {side}{links} - meet\n"
    text += "        attach meet" + "".join(f" - link shared-{k}" for k in range(s)) + " - bag\n"
    return Topology(f"two chains of {m} and {n}, {s} shared", text, (s, m * n, 0, 0))


def y_hang(name: str) -> str:
    """Two anchors into one knot, a rope, a device: the slings to the knot are not counted."""
    return f"""
        anchor {name}-left, {name}-right
        ring {name}-meet
        attach {name}-left - sling {name}-left-sling - {name}-meet
        attach {name}-right - sling {name}-right-sling - {name}-meet
        sound {name}-meet, {name}-left-sling, {name}-right-sling: {NOT_COUNTED}
        {line(name, f"{name}-meet", "belt")}
    """


TOPOLOGIES = (
    chains(4, 4, 0),
    chains(5, 3, 1),
    chains(2, 6, 3),
    Topology(
        "two-line person: anchor, rope, device, connector on each, one harness",
        f"""
        anchor left, right
        {HARNESS}
        {line("red", "left", "belt", connector=True)}
        {line("green", "right", "belt", connector=True)}
        {with_knots_sound("red", "green")}
        """,
        (1, 16, 0, 0),
    ),
    Topology(
        "the same, both lines on one anchor: three and three separate, harness and anchor shared",
        f"""
        anchor bolt
        {HARNESS}
        {line("red", "bolt", "belt", connector=True)}
        {line("green", "bolt", "belt", connector=True)}
        {with_knots_sound("red", "green")}
        """,
        (2, 9, 0, 0),
    ),
    Topology(
        "the same two lines, three items each (anchor, rope, device), and the harness",
        f"""
        anchor left, right
        {HARNESS}
        {line("red", "left", "belt")}
        {line("green", "right", "belt")}
        {with_knots_sound("red", "green")}
        """,
        (1, 9, 0, 0),
    ),
    Topology(
        "three independent chains of 2, 3, 2, and the harness",
        f"""
        anchor left, right, beam
        {HARNESS}
        attach left - lanyard left-lanyard - belt
        {line("red", "right", "belt")}
        attach beam - lanyard beam-lanyard - belt
        {with_knots_sound("red")}
        """,
        (1, 0, 12, 0),
    ),
    Topology(
        "Y-hang on each line: two anchors into one knot, rope, device; twice; and the harness",
        HARNESS + y_hang("red") + y_hang("green"),
        (1, 9, 6, 1),
    ),
    Topology(
        "both lines tied off to the same two anchors (knot, rope, device each), and the harness",
        f"""
        anchor left, right
        ring red-meet, green-meet
        attach left - sling left-red - red-meet
        attach right - sling right-red - red-meet
        attach left - sling left-green - green-meet
        attach right - sling right-green - green-meet
        sound red-meet, green-meet, left-red, right-red, left-green, right-green: {NOT_COUNTED}
        {HARNESS}
        {line("red", "red-meet", "belt")}
        {line("green", "green-meet", "belt")}
        """,
        (1, 10, 0, 0),
    ),
    Topology(
        "three anchors, any one holds, one master connector",
        f"""
        anchor a, b, c
        carabiner master
        load bag
        attach a - sling a-sling - master - bag
        attach b - sling b-sling - master
        attach c - sling c-sling - master
        sound a-sling, b-sling, c-sling: {NOT_COUNTED}
        """,
        (1, 0, 1, 0),
    ),
    Topology(
        "three anchors, two needed, one master connector",
        f"""
        anchor a, b, c
        holdfast pickets: needs 2 of a, b, c
        load bag
        attach pickets - carabiner master - bag
        sound pickets: {NOT_COUNTED}
        """,
        (1, 3, 0, 0),
    ),
    Topology(
        "two people each with rope and device twice on one level line with two end anchors, for one of them",
        f"""
        anchor west, east
        person sam, kim: points waist, chest
        rope level
            tied to west as west-end
            through carabiner sam-first
            through carabiner sam-second
            through carabiner kim-first
            through carabiner kim-second
            tied to east as east-end
        cause line: level[west-end..sam-first] is cut, level[sam-first..sam-second] is cut
        sound level[west-end..sam-first] is cut, level[sam-first..sam-second] is cut: "the line is one item: `line`"
        sound level[sam-second..kim-first] is cut, level[kim-first..kim-second] is cut: "the line is one item: `line`"
        sound level[kim-second..east-end] is cut: "the line is one item: `line`"
        sound west-end, east-end, sam-first, sam-second, kim-first, kim-second: {NOT_COUNTED}
        {line("one", "sam-first", "sam.waist")}
        {line("two", "sam-second", "sam.chest")}
        {line("three", "kim-first", "kim.waist")}
        {line("four", "kim-second", "kim.chest")}
        {with_knots_sound("one", "two", "three", "four")}
        """,
        (3, 4, 0, 0),
    ),
)


def rig_text(topology: Topology) -> str:
    """The rig at the margin, stations indented: its pieces are indented like this file."""
    lines = topology.rig.splitlines()
    return "\n".join(("    " if one.startswith(" " * 12) else "") + one.strip() for one in lines)


@pytest.mark.parametrize("topology", TOPOLOGIES, ids=lambda topology: topology.words)
def test_topology_has_the_counts_of_its_row(topology: Topology) -> None:
    result = checked(rig_text(topology), order=4)
    who = "sam" if "sam" in result.failure_sets else "bag"
    assert counts(result, who, 4) == topology.counts


def test_what_is_not_counted_is_listed_as_assumed() -> None:
    assert {one.failure for one in checked(rig_text(TOPOLOGIES[0])).rig.sound} == {"meet fails"}
