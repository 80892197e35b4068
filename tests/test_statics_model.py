"""From a rig to its statics: what is one point, what is a line, what is missing, what is not held."""

from __future__ import annotations

import numpy as np
import pytest
from rigs import rig_of
from statics import STIFF, at_rest, statics_of, wanted

from analyser.forces import Case, Missing, Statics
from analyser.forces.carried import part_forces
from analyser.forces.stiffness import DEFAULTS, GRAVITY
from analyser.forces.strength import factors
from analyser.rig.catalogue import catalogue
from analyser.rig.model import Effects

W = 100 * GRAVITY

CHAIN = """
    anchor bolt: at (0, 0, 10), strength 12 kN
    person sam: 100 kg, points waist, at (0, 0, 5)
    ring master: strength 50 kN
    attach bolt - carabiner top-crab - master
    top-crab: strength 22 kN
    rope red: strength 30 kN
        tied to master with figure-eight as red-top
        tied to carabiner low-crab - sam.waist with bowline as red-low
"""


def test_every_part_of_a_chain_carries_the_load() -> None:
    statics = statics_of(CHAIN)
    found = statics.equilibrium()
    carried = {one.name: one.force for one in part_forces(statics.rig, found)}
    for name in ("bolt", "top-crab", "master", "red-top", "red-low", "low-crab", "sam.waist", "sam"):
        assert carried[name] == pytest.approx(W, rel=1e-9), name
    assert found.reactions["bolt"] == pytest.approx((0, 0, -W), abs=1e-6)


def test_strength_factors_weakest_first_and_none_passed_silently() -> None:
    statics = statics_of(CHAIN)
    told = factors(statics.rig, statics.equilibrium())
    rows = [(row.name, round(row.factor * W)) for row in told.rows]
    # facts 5.1: a bowline keeps 60 %, a figure-eight 80 %; the rope breaks at its worst knot (5.2)
    assert rows == [("bolt", 12000), ("red[red-top..red-low]", 18000), ("top-crab", 22000), ("master", 50000)]
    assert told.rows[1].knot == "red-low" and "dcrescue" in (told.rows[1].source or "")
    assert told.without == ("low-crab",)


def test_the_worked_factors_of_a_redirected_line() -> None:
    """facts 5.10: 2 kN, top redirect at 0 degrees 4 kN, base redirect at 90 degrees 2.83 kN; rope 22 kN
    with a 0.67 knot, top pulley 36, base connector 27 kN: 7.4, 9.0, 9.5; 7.4 decides."""
    statics = statics_of(f"""
        anchor head: at (0, 0, 10)
        anchor base: at (0.001, 0, 0)
        anchor far: at (5, 0, 0)
        load block: {2000 / GRAVITY:.9f} kg, points eye, at (-0.001, 0, 5)
        pulley top: strength 36 kN
        pulley low
        carabiner low-crab: strength 27 kN
        attach top - head
        attach low - low-crab - base
        rope red: strength 22 kN, {STIFF}
            tied to block.eye with overhand
            through top
            through low
            tied to far with overhand
    """)
    told = {row.name: row.factor for row in factors(statics.rig, statics.equilibrium()).rows}
    assert told["top"] == pytest.approx(9.0, abs=0.05)
    assert told["low-crab"] == pytest.approx(9.5, abs=0.05)
    assert min(told.values()) == told["red[red-overhand..red-overhand-2]"] == pytest.approx(7.4, abs=0.05)


def test_parts_side_by_side_in_one_lump_are_a_bound() -> None:
    statics = statics_of("""
        anchor bolt: at (0, 0, 5)
        plate plate
        load block: 100 kg, points eye
        attach bolt - carabiner one - plate
        attach bolt - carabiner two - plate
        attach plate - block.eye
    """)
    carried = {one.name: one for one in part_forces(statics.rig, statics.equilibrium())}
    assert carried["one"].at_most and carried["two"].at_most and not carried["plate"].at_most
    assert carried["one"].force == pytest.approx(W)


def test_the_angle_at_an_anchor_a_ring_and_a_pulley() -> None:
    statics = statics_of("""
        anchor left: at (-1, 0, 1)
        anchor right: at (1, 0, 1)
        ring master
        load block: 100 kg, points eye, at (0, 0, -1)
        attach left - sling a - master
        attach right - sling b - master
        attach master - block.eye
        a, b: length 1.41421356 m, stretch 0 % at 1 kg
    """)
    carried = {one.name: one for one in part_forces(statics.rig, statics.equilibrium())}
    assert carried["master"].included == pytest.approx(90, abs=0.1)
    statics = statics_of("""
        anchor head: at (0, 0, 5)
        anchor base: at (0, 0, 0)
        anchor side: at (5, 0, 5)
        person max: 100 kg, points waist, at (0, 0, 1)
        rope red
            tied to max.waist with bowline
            through pulley wheel - head
            tied to side with bowline
    """)
    carried = {one.name: one for one in part_forces(statics.rig, statics.equilibrium())}
    assert carried["wheel"].included == carried["head"].included == pytest.approx(90, abs=0.1)


def test_what_is_missing_is_asked_for_once_and_with_a_reason() -> None:
    assert wanted("""
        anchor left, right
        ring master
        person ann: points waist, chest
        rope red
            tied to left with figure-eight
            tied to master with bowline
        attach right - strap side - master
        attach master - strap low - ann.waist
    """) == [
        "left: at (x, y, z)",
        "right: at (x, y, z)",
        "master: at (x, y, z)",
        "ann: 80 kg",
        "side: length 1.2 m",
        "low: length 1.2 m",
    ]


def test_nothing_is_asked_of_what_no_weight_can_come_on() -> None:
    found = at_rest("""
        anchor bolt: at (0, 0, 5)
        anchor spare, other
        person sam: 100 kg, points waist
        person jo: standing, points waist
        attach bolt - strap line - sam.waist
        attach spare - lanyard jo-lanyard - jo.waist
        attach other - sling loose - carabiner idle-crab
        line: length 2 m
    """)
    assert [line.name for line in found.lines] == ["line"]


def test_a_place_follows_from_the_parts_that_touch() -> None:
    found = at_rest("""
        anchor bolt: at (0, 0, 5)
        person sam: 100 kg, points waist, at (0, 0, 1)
        attach bolt - carabiner crab - plate hub - carabiner other
        rope red
            tied to other with bowline
            gripped by descender dev - carabiner low - sam.waist
            stopper
    """)
    assert found.at["hub"] == (0, 0, 5)
    assert found.line("red").rest == pytest.approx(4)


def test_contradictions_are_told() -> None:
    told = Statics.of(
        rig_of("""
        anchor bolt: at (0, 0, 5)
        plate hub: at (0, 0, 4)
        person sam: 100 kg, points waist, at (0, 0, 1)
        attach bolt - hub
        rope red: 2 m
            tied to hub with bowline
            tied to sam.waist with bowline
    """)
    )
    assert isinstance(told, Missing)
    assert [one.why for one in told.contradictions] == [
        "bolt and hub are joined by parts without a length, and are drawn 1.00 m apart",
        "red is 2 m long, and is drawn over 4.00 m",
    ]


def test_a_rope_tied_at_both_ends_may_give_its_length() -> None:
    found = at_rest("""
        anchor bolt: at (0, 0, 5)
        person sam: 100 kg, points waist
        rope red: 3 m
            tied to bolt with bowline
            tied to sam.waist with bowline
    """)
    assert found.line("red").rest == 3
    assert any("red: 3 m" in said for said in found.assumed)


def test_a_rope_lies_over_an_edge_or_clear_of_it() -> None:
    over = at_rest("""
        anchor bolt: at (0, 0, 1)
        edge lip: at (3, 0, 0)
        person sam: 100 kg, points waist, at (4, 0, -5)
        rope red
            tied to bolt with bowline
            over lip
            tied to sam.waist with bowline
    """)
    assert over.reactions["lip"][2] < -0.5 * W and not over.lifted
    clear = at_rest("""
        anchor bolt: at (0, 0, 1)
        anchor high: at (3.2, 0, 6)
        edge lip: at (3, 0, 0)
        person sam: 100 kg, points waist, at (1.5, 0, -3)
        rope red
            tied to bolt with bowline
            through pulley wheel - sam.waist
            over lip
            tied to high with bowline
    """)
    assert clear.lifted == (("red", "lip"),) and "lip" not in clear.reactions


def test_a_knot_in_the_middle_makes_two_lines() -> None:
    found = at_rest("""
        anchor bolt: at (0, 0, 5)
        ring master: at (0, 0, 3)
        load block: 100 kg, points eye
        person sam: 50 kg, points waist, at (0, 0, 1)
        attach master - sling short - block.eye
        short: length 1 m
        rope red
            tied to bolt with figure-eight as top
            tied to master with butterfly as mid
            tied to sam.waist with figure-eight as tail
    """)
    assert found.tension("red[top..mid]") == pytest.approx(1.5 * W)
    assert found.tension("red[mid..tail]") == pytest.approx(0.5 * W)


PROGRESS = """
    anchor bolt: at (0, 0, 10)
    anchor weight-side: at (2, 0, 10)
    load block: 100 kg, points eye, at (0, 0, 5)
    load counter: {counter} kg, points eye, at (2, 0, 5)
    attach bolt - cam-pulley capture
    attach weight-side - pulley turn
    rope red
        tied to block.eye with bowline as knot
        gripped by capture, load from knot
        through turn
        tied to counter.eye with bowline as far
"""


def test_a_one_way_grip_holds_its_loaded_side_and_lets_the_other_pull_rope_through() -> None:
    held = at_rest(PROGRESS.format(counter=40))
    assert held.tension("red[knot..capture]") == pytest.approx(W)
    assert held.tension("red[capture..far]") == pytest.approx(0.4 * W)
    assert held.passed == {"red at capture": 0.0}
    # heavier than the load: it runs, until the load's knot comes up to the capture
    ran = at_rest(PROGRESS.format(counter=150))
    assert ran.passed["red at capture"] == pytest.approx(5, abs=0.3)  # and the stretch of what ran
    assert ran.jammed == (("bolt", "block"),) or ran.jammed == (("block", "bolt"),)
    assert ran.tension("red[capture..far]") == pytest.approx(1.5 * W, rel=1e-6)


def test_two_masses_over_a_pulley_run_until_a_knot_jams() -> None:
    found = at_rest("""
        anchor bolt: at (0, 0, 10)
        load a: 100 kg, points eye, at (0, 0, 5)
        load b: 60 kg, points eye, at (0, 0, 4)
        rope red
            tied to a.eye with bowline
            through pulley wheel - bolt
            tied to b.eye with bowline
    """)
    assert found.jammed == (("b", "bolt"),)  # the lighter comes up, and presses on the wheel
    assert found.tension("red") == pytest.approx(W)
    assert found.reactions["bolt"] == pytest.approx((0, 0, -1.6 * W), abs=1e-3)


def test_what_has_run_up_hangs_on_what_it_has_run_up_to() -> None:
    """60 kg drawn up to a wheel by 100 kg: the wheel bears both, and the lighter one's knot the whole pull."""
    statics = statics_of("""
        anchor bolt: at (0, 0, 10)
        load a: 100 kg, points eye, at (0, 0, 5)
        load b: 60 kg, points eye, at (0, 0, 4)
        rope red
            tied to a.eye with bowline as heavy
            through pulley wheel - bolt
            tied to b.eye with bowline as light
    """)
    carried = {one.name: one for one in part_forces(statics.rig, statics.equilibrium())}
    assert carried["bolt"].force == pytest.approx(1.6 * W)
    assert carried["wheel"].force == pytest.approx(1.6 * W)
    assert carried["light"].force == carried["heavy"].force == pytest.approx(W)
    assert carried["b"].force == pytest.approx(0.6 * W)
    assert carried["wheel"].included == pytest.approx(0)


def test_what_nothing_holds_falls_and_the_rest_is_still_told() -> None:
    text = """
        anchor bolt: at (0, 0, 10)
        anchor other: at (5, 0, 10)
        load a: 100 kg, points eye, at (0, 0, 5)
        person sam: 80 kg, points waist
        attach other - strap line - sam.waist
        line: length 2 m
        rope red
            tied to a.eye with bowline
            through pulley wheel - bolt
            gripped by brake low - bolt
    """
    statics = statics_of(text)
    whole = statics.equilibrium()
    assert whole.falls == () and whole.tension("red") == pytest.approx(W)
    slipped = statics.equilibrium(Case(Effects(ungripped=frozenset({"low"}))))
    assert slipped.falls == ("a",)
    assert slipped.tension("line") == pytest.approx(0.8 * W)


def test_the_programme_proves_that_something_falls_for_ever() -> None:
    """One free node on a line under a fixed one, and one on nothing: the ray names the one that falls."""
    from analyser.forces.convex import solve
    from analyser.forces.network import Network

    network = Network(
        free=2,
        carrier=np.zeros(0, dtype=np.intp),
        offsets=np.zeros((0, 3)),
        bodies=0,
        fixed=np.zeros((1, 3)),
        weights=np.array([500.0, 800.0]),
        start=np.array([2]),
        end=np.array([0]),
        line=np.array([0]),
        rest=np.array([2.0]),
        rate=np.array([1e5]),
        passing=np.zeros((1, 0)),
    )
    told = solve(network, np.zeros((0, 3, 3)))
    assert told.state is None and told.falling is not None
    assert told.falling.tolist() == [False, True]


def test_a_stopper_catches_when_the_device_slips_and_the_rope_length_is_given() -> None:
    text = """
        anchor bolt: at (0, 0, 20)
        person sam: 100 kg, points waist, at (0, 0, 15)
        descender dev
        attach dev - sam.waist
        rope red: 12 m, spare below
            tied to bolt with bowline
            gripped by dev
            stopper
    """
    statics = statics_of(text)
    assert statics.equilibrium().at["sam"][2] == pytest.approx(15, abs=0.5)
    ran = statics.equilibrium(Case(Effects(ungripped=frozenset({"dev"}))))
    assert ran.falls == ()
    assert ran.at["sam"][2] == pytest.approx(20 - 12 * (1 + W / 30e3), abs=1e-6)


def test_the_defaults_are_kinds_of_the_catalogue() -> None:
    assert {*DEFAULTS} - {"rope"} <= {*catalogue()}


def test_stretch_written_and_by_kind() -> None:
    found = at_rest("""
        anchor bolt: at (0, 0, 5)
        person sam: 150 kg, points waist
        attach bolt - strap line - sam.waist
        line: length 10 m, stretch 3 % at 150 kg
    """)
    assert found.line("line").length == pytest.approx(10.3)
    assert not found.line("line").default
    assert not any("line" in said for said in found.assumed)


def test_a_kind_of_ones_own_is_a_line_when_it_stands_on_one() -> None:
    text = """
        kind tape like strap: stretch 6 % at 100 kg
        anchor bolt: at (0, 0, 5)
        person sam: 100 kg, points waist
        attach bolt - tape line - sam.waist
    """
    assert wanted(text) == ["line: length 1.2 m"]
    found = at_rest(text + "    line: length 2 m\n")
    assert found.line("line").length == pytest.approx(2.12)


def test_a_line_to_let_out_must_be_one_of_the_rig() -> None:
    statics = statics_of(CHAIN)
    longer = statics.equilibrium(Case(extra={"red": 0.5}))
    assert longer.at["sam"][2] == pytest.approx(statics.equilibrium().at["sam"][2] - 0.5 - 0.5 * W / 30e3, abs=1e-3)
    with pytest.raises(KeyError, match="no line is called blue"):
        statics.equilibrium(Case(extra={"blue": 0.5}))


def test_hardware_alone_carries_too() -> None:
    statics = statics_of("""
        anchor bolt: at (0, 0, 5), strength 10 kN
        person sam: 100 kg, points waist
        attach bolt - carabiner crab - sam.waist
        crab: strength 20 kN
    """)
    found = statics.equilibrium()
    assert found.reactions["bolt"] == pytest.approx((0, 0, -W))
    assert [(row.name, round(row.force)) for row in factors(statics.rig, found).rows] == [
        ("bolt", round(W)),
        ("crab", round(W)),
    ]


def test_nothing_to_hang_is_no_error() -> None:
    statics = statics_of("""
        anchor bolt: at (0, 0, 5)
        attach bolt - sling idle - carabiner crab
    """)
    found = statics.equilibrium()
    assert found.accepted and found.lines == () and found.load == 0
