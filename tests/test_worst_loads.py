"""What a part may come to carry without places: against all simple paths, all ways, and sums by hand."""

from __future__ import annotations

import json
from pathlib import Path

import networkx
import pytest
from hypothesis import given, settings
from random_rigs import rig_texts
from rigs import checked, rig_of

import analyser
from analyser.checking.worst_loads import CARRYING, WorstLoad, in_words, worst_loads
from analyser.doors.commands.main import main
from analyser.holding.reviewing import Review
from analyser.rig.model import Nature, Rig, Role
from analyser.rig.quantities import GRAVITY

EXAMPLES = Path(__file__).parent.parent / "examples"
SHARED = """
    anchor bolt, spare: strength 22 kN
    person ann: 80 kg
    person ben: 100 kg
    litter basket: 20 kg, points head, foot
    ring master
    rope red
        tied to bolt
        tied to master
    rope green
        tied to spare
        tied to master
    attach master - strap ann-strap - ann
    attach master - strap ben-strap - ben
    attach master - strap head-leg - basket.head
    attach master - strap foot-leg - basket.foot
"""


def row(rig: Rig, name: str) -> WorstLoad:
    return next(one for one in worst_loads(rig) if one.name == name)


def test_one_anchor_may_come_to_carry_everybody() -> None:
    # by hand: (80 + 100 + 20) kg x 9.80665 m/s2 = 1.961 kN [computed]
    rig = rig_of(SHARED)
    for name in ("bolt", "spare", "master"):
        assert in_words(rig, row(rig, name)) == f"{name} may come to carry all 3 bodies, 1.96 kN"
    assert row(rig, "bolt").factor == pytest.approx(22_000 / (200 * GRAVITY))
    assert row(rig, "red").load.newtons == pytest.approx(200 * GRAVITY)
    assert row(rig, "ben-strap").load.bodies == ("ben",)
    assert row(rig, "head-leg").load.bodies == ("basket",)


def test_weight_passes_through_people_though_they_hold_nobody() -> None:
    rig = rig_of("""
        anchor bolt
        person ann: 70 kg, points waist
        person ben: 90 kg, points waist
        attach bolt - strap mine - ann.waist
        attach ann.waist - strap yours - ben.waist
    """)
    assert row(rig, "mine").load.newtons == pytest.approx(160 * GRAVITY)
    assert row(rig, "yours").load.bodies == ("ben",)


def test_hardware_with_a_mass_counts_and_who_stands_does_not() -> None:
    rig = rig_of("""
        anchor bolt
        person ann: 70 kg
        person kit: 90 kg, standing, points waist
        ring master: 12 kg
        attach bolt - sling s - master
        attach master - strap a - ann
        attach master - strap k - kit.waist
    """)
    assert row(rig, "bolt").load.newtons == pytest.approx(82 * GRAVITY)
    assert "ann and master" in in_words(rig, row(rig, "bolt"))


def test_a_mass_that_is_not_given_is_said() -> None:
    rig = rig_of(SHARED.replace("ben: 100 kg", "ben"))
    one = row(rig, "bolt")
    assert one.load.unknown == ("ben",) and one.factor is None
    assert in_words(rig, one).endswith("0.981 kN and more, whose mass is not given")


def test_what_no_weight_comes_on_is_not_listed() -> None:
    rig = rig_of(
        SHARED + "    anchor far\n    attach master - sling idle - carabiner end\n    attach far - sling other\n"
    )
    assert not {"idle", "end", "far", "other"} & {one.name for one in worst_loads(rig)}


def graph(rig: Rig) -> networkx.Graph:
    """The ways of weight written down again: contacts, needs, ropes to their stations, one ground."""
    found = networkx.Graph()
    found.add_node("*")
    for part in rig.parts.values():
        if part.nature is Nature.GROUND or part.standing:
            found.add_edge(part.name, "*")
        found.add_edges_from((part.name, foot) for need in part.needs for foot in need.parts)
    found.add_edges_from((c.a, c.b) for c in rig.contacts)
    for rope in rig.ropes:
        for station in rope.stations:
            if station.role in (Role.TIE, Role.RUN, Role.GRIP, Role.HAND):
                found.add_edge(("rope", rope.name), station.part)
    return found


@settings(max_examples=40, deadline=None)
@given(rig_texts(1))
def test_nothing_on_a_simple_path_is_left_out(text: str) -> None:
    rig = analyser.read_text(text)
    told = {one.name: set(one.load.bodies) for one in worst_loads(rig)}
    ways = graph(rig)
    for body in rig.bodies:
        if body.name not in ways:
            continue
        on = set()
        for k, path in enumerate(networkx.all_simple_paths(ways, body.name, "*")):
            firm = {
                n for n in path if n in rig.parts and rig.parts[n].nature is Nature.GROUND and not rig.parts[n].below
            }
            if firm <= {path[-2]}:  # weight that has come to the ground stays there
                on |= {*path}
            if k > 2000:
                break
        for name in on - {"*", body.name}:
            if isinstance(name, tuple):
                assert body.name in told.get(name[1], ())
            elif rig.parts[name].nature in CARRYING:
                assert body.name in told.get(name, ()), name


@settings(max_examples=40, deadline=None)
@given(rig_texts(1))
def test_what_holds_somebody_after_some_failures_may_carry_them(text: str) -> None:
    """Every way of being held (`holding/rules.md` section 4) is what some failures leave over."""
    rig = analyser.read_text(text)
    told = {one.name: set(one.load.bodies) for one in worst_loads(rig)}
    by_id = {failure.id: failure for failure in rig.failures}
    review = Review(rig)
    for body in rig.bodies:
        ways, _ = review.ways(body.name, 50)
        for failure in (by_id[one] for way in ways for one in way):
            part = rig.parts.get(failure.part)
            bears = part is not None and failure.mode == "fails" and part.nature in (Nature.GROUND, Nature.JOINT)
            if bears and part is not None and part.name != body.name:
                assert body.name in told.get(part.name, ()), (body.name, failure.id)


def test_a_weak_anchor_is_told_with_the_same_weight() -> None:
    result = checked(SHARED.replace("strength 22 kN", "strength 12 kN"))
    texts = [one.text for one in result.findings if one.rule == "weak-anchor"]
    assert texts[0].startswith("bolt (12 kN) may come to hold ann, basket and ben, 1.96 kN: 6.1 times that")


def test_the_command_tells_the_bound_and_what_it_leaves_out(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(EXAMPLES / "litter-lower.rig")
    assert main(["forces", path]) == 1  # forces themselves need more facts
    page = " ".join(capsys.readouterr().out.split())
    assert "left-bolt 1.77 kN all 3 bodies 25 kN 14.2" in page
    assert "twice it there" in page and "a drop" in page and "at an angle" in page and "Local codes" in page
    assert main(["forces", path, "--json"]) == 1
    rows = json.loads(capsys.readouterr().out)["worst_loads"]
    bolt = next(one for one in rows if one["name"] == "left-bolt")
    assert bolt["at_most_kN"] == pytest.approx(0.18 * GRAVITY, abs=1e-4) and bolt["bodies"] == ["vic", "sam", "basket"]
