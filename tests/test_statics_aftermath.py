"""After a failure: where bodies come to rest, the peak on the way, and what that breaks."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statics import STIFF, statics_of

from analyser.forces.aftermath import after, cascade, every_single
from analyser.forces.arrest import modulus, peak, steady_stop
from analyser.forces.grounds import FEET, Ground
from analyser.forces.motion import motion
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Effects

W = 100 * GRAVITY


@pytest.mark.parametrize(
    ("mass", "fall_factor", "ea", "force"),
    # facts 6.4 [computed, g 9.81], kN; the form after Wexler 1950 [from memory; checked by energy balance]
    [
        (80, 0, 20, 1.570),
        (80, 0.3, 20, 3.952),
        (80, 1.77, 20, 8.280),
        (80, 1.77, 45.05, 12.00),
        (100, 0.2, 30, 4.549),
        (100, 0.3, 30, 5.296),
        (100, 0.3, 41.16, 6.000),
        (100, 1, 25, 8.053),
        (100, 1, 30, 8.715),
        (100, 2, 25, 10.934),
        (200, 1 / 3, 30, 8.526),
        (280, 1 / 3, 30, 10.651),
    ],
)
def test_the_standard_equation(mass: float, fall_factor: float, ea: float, force: float) -> None:
    assert peak(mass, 1000 * ea, fall_factor, 9.81) / 1000 == pytest.approx(force, abs=0.0006)
    if fall_factor:  # facts 6.3
        assert modulus(peak(mass, 1000 * ea, fall_factor), mass, fall_factor) == pytest.approx(1000 * ea)


def test_the_bracket_of_a_low_stretch_rope() -> None:
    # facts 6.5 and 13.15 [limits: source: S39; 4.5: source: S68]: under 6 kN at 100 kg and f 0.3; f 0.2: 4.55
    assert peak(100, 41.2e3, 0.3) / 1000 == pytest.approx(6.0, abs=0.01)
    assert peak(100, 30e3, 0.2) / 1000 == pytest.approx(4.5, abs=0.1)


def test_an_even_stop_is_a_floor() -> None:
    # facts 6.9 [computed]
    for mass, fall, stop, force in ((100, 4, 1.75, 3.22), (100, 1.8, 1.07, 2.63), (200, 1, 1, 3.92), (280, 1, 1, 5.49)):
        assert steady_stop(mass, fall, stop, 9.81) / 1000 == pytest.approx(force, abs=0.006)


def backed_up(slack: float, mass: float, stretch: float = 3, more: str = "") -> str:
    return f"""
        anchor main-bolt: at (0, 0, 10)
        anchor second-bolt: at (0, 0, 10)
        person sam: {mass} kg, points waist, chest, at (0, 0, 8)
        attach main-bolt - strap main - sam.waist
        main: {STIFF}
        rope second: stretch {stretch} % at 100 kg
            tied to second-bolt with figure-eight
            tied to sam.chest with figure-eight, slack {slack} m
        {more}
    """


@settings(max_examples=30, deadline=None)
@given(st.floats(0.0, 3), st.floats(40, 300), st.floats(1, 9))
def test_one_mass_on_one_line_is_the_standard_equation_to_eight_digits(
    slack: float, mass: float, stretch: float
) -> None:
    statics = statics_of(backed_up(round(slack, 4), round(mass, 3), round(stretch, 3)))
    told = after(statics, ["main fails"])
    assert told.accepted
    if told.arrest is None:  # the stretch of the main line had already tightened the second
        assert slack < 1e-3
        return
    ea = 100 * GRAVITY / round(stretch, 3) * 100
    expected = peak(round(mass, 3), ea, told.arrest.fall_factor)
    assert told.arrest.peak == pytest.approx(expected, rel=1e-8)
    assert told.arrest.free_fall == pytest.approx(slack, abs=1e-3)
    band = told.lines[0]
    assert band.static == pytest.approx(round(mass, 3) * GRAVITY)
    assert band.quick == told.arrest.peak > 1.99 * band.static


def test_an_unshared_line_without_slack_takes_twice_the_weight() -> None:
    # facts 6.10 [computed]: exactly 2 W, whatever the rope
    for stretch in (1, 5):
        told = after(statics_of(backed_up(0.0002, 100, stretch)), ["main fails"])
        assert told.lines[0].quick / W == pytest.approx(2, abs=0.02)


def test_a_shared_line_settles_at_the_weight_and_overshoots_to_one_and_a_half() -> None:
    # facts 6.10 [computed]: two identical plumb lines at W/2 each, one lost: settles at W, peak 1.5 W
    statics = statics_of("""
        anchor one: at (0, 0, 10)
        anchor two: at (0, 0, 10)
        person sam: 100 kg, points waist
        attach one - strap a - sam.waist
        attach two - strap b - sam.waist
        a, b: length 4 m, stretch 5 % at 100 kg
    """)
    told = after(statics, ["a fails"])
    assert (told.line("b").before, told.line("b").static) == pytest.approx((W / 2, W))
    assert told.line("b").quick == pytest.approx(1.5 * W, rel=1e-9)
    assert told.body("sam").drop == pytest.approx(0.5 * 0.05 * 4)
    assert told.arrest is None  # it was not slack: not a fall


def test_drop_and_swing_when_one_of_two_legs_goes() -> None:
    statics = statics_of(f"""
        anchor left: at (-3, 0, 4)
        anchor right: at (3, 0, 4)
        person sam: 100 kg, points waist
        attach left - strap a - sam.waist
        attach right - strap b - sam.waist
        a, b: length 5 m, {STIFF}
    """)
    told = after(statics, ["a fails"])
    sam = told.body("sam")
    # hand geometry: from the middle, 4 m under the anchors, to plumb under the right one, 5 m down
    assert sam.drop == pytest.approx(1, abs=1e-3)
    assert sam.swing == pytest.approx(3, abs=1e-3)
    assert told.line("b").static == pytest.approx(W)
    # a pendulum let go at this angle peaks at W (3 - 2 cos a) = 1.4 W: inside the band
    assert told.line("b").static <= 1.4 * W <= told.line("b").quick


def test_who_falls_and_who_reaches_the_ground() -> None:
    statics = statics_of(backed_up(1.5, 100))
    assert after(statics, ["main fails", "second[second-figure-eight..second-figure-eight-2] is cut"]).falls == ("sam",)
    assert after(statics, ["main fails"], ground=Ground(4, "floor")).reaches_ground == ()
    low = after(statics, ["main fails"], ground=Ground(5.39, "floor"))
    assert low.body("sam").after[2] - FEET > 5.39 > low.body("sam").lowest - FEET  # on the way, not at rest
    assert low.reaches_ground == ("sam",)


def test_a_light_ring_follows_the_masses() -> None:
    """The peak of one mass under a weightless ring and two legs in one plumb line: springs in series."""
    statics = statics_of(f"""
        anchor main-bolt: at (0, 0, 10)
        anchor second-bolt: at (0, 0, 10)
        ring mid: at (0, 0, 9)
        person sam: 100 kg, points waist, at (0, 0, 8)
        attach main-bolt - strap main - sam.waist
        main: {STIFF}
        attach second-bolt - strap upper - mid
        attach mid - strap lower - sam.waist
        upper: length 1.5 m, stretch 3 % at 100 kg
        lower: length 1.5 m, stretch 3 % at 100 kg
    """)
    told = after(statics, ["main fails"])
    expected = peak(100, W / 0.03, 1 / 3)
    assert told.line("upper").quick == pytest.approx(expected, rel=1e-4)
    assert told.line("lower").quick == pytest.approx(expected, rel=1e-4)


def test_every_single_failure_agrees_with_one_at_a_time() -> None:
    statics = statics_of(backed_up(0.5, 90))
    told = every_single(statics)
    assert [one.failures[0] for one in told] == [failure.id for failure in statics.rig.failures]
    for one in told:
        again = after(statics, one.failures)
        assert [band.static for band in one.lines] == pytest.approx([band.static for band in again.lines])
        assert one.accepted and not one.falls


def two_anchors(included: float, kn: float) -> str:
    half = math.radians(included / 2)
    x, z = 2 * math.sin(half), 2 * math.cos(half)
    return f"""
        anchor left: at ({-x:.9f}, 0, {z:.9f})
        anchor right: at ({x:.9f}, 0, {z:.9f})
        left, right: strength 8 kN
        load block: {1000 * kn / GRAVITY:.9f} kg, points eye
        attach left - strap a - block.eye
        attach right - strap b - block.eye
        a, b: length 2 m, {STIFF}
    """


def test_consequent_overload() -> None:
    # facts 9.11 [computed]: two 8 kN anchors at rest. 120 degrees under 6 kN: 6 each, one lost: holds
    held = cascade(statics_of(two_anchors(120, 6)), ["left fails"])
    assert held.broken == () and held.final.falls == ()
    # 150 degrees: 11.6 each: both break with nothing removed
    both = cascade(statics_of(two_anchors(150, 6)))
    assert sorted(one.name for one in both.broken) == ["left", "right"] and both.final.falls == ("block",)
    assert both.broken[0].factor.force == pytest.approx(11590, rel=2e-3)
    # 60 degrees under 10 kN: 5.8 each; lose one: 10 > 8: a cascade, so each anchor is a single point
    assert cascade(statics_of(two_anchors(60, 10))).broken == ()
    lost = cascade(statics_of(two_anchors(60, 10)), ["left fails"])
    assert [one.name for one in lost.broken] == ["right"] and lost.final.falls == ("block",)


def test_the_peak_may_break_what_holds_at_rest() -> None:
    text = backed_up(1.0, 100).replace("anchor second-bolt:", "anchor second-bolt: strength 4 kN,")
    assert cascade(statics_of(text), ["main fails"]).broken == ()
    told = motion(statics_of(text), ["main fails"], starts=0)
    assert [one.broken.name for one in told.broken] == ["second-bolt"]
    assert told.broken[0].broken.factor.force == pytest.approx(4000, rel=2e-3)
    assert told.falls == ("sam",)


def test_a_rope_breaks_at_its_worst_knot() -> None:
    text = backed_up(1.0, 100).replace("rope second: ", "rope second: strength 5 kN, ")
    text = text.replace("sam.chest with figure-eight", "sam.chest with bowline as low")
    told = motion(statics_of(text), ["main fails"], starts=0)
    assert [(one.broken.name, one.broken.factor.knot) for one in told.broken] == [
        ("second[second-figure-eight..low]", "low")
    ]
    assert told.falls == ("sam",)


def test_a_litter_that_loses_a_leg_tilts_and_stays() -> None:
    statics = statics_of("""
        anchor bolt: at (0, 0, 10)
        person vic: 80 kg
        litter basket: 15 kg, points head-left, head-right, foot-left, foot-right
        ring master
        attach bolt - strap main - master
        attach master - strap leg-1 - basket.head-left
        attach master - strap leg-2 - basket.head-right
        attach master - strap leg-3 - basket.foot-left
        attach master - strap leg-4 - basket.foot-right
        attach basket - strap lashing - vic
        main: length 2 m
        leg-1, leg-2, leg-3, leg-4: length 1.4 m
    """)
    for told in every_single(statics):
        if told.failures[0].startswith("leg"):
            assert told.accepted and told.falls == ()
            # the pair on the diagonal beside the lost leg takes nearly all of it
            other = {"leg-1": "leg-4", "leg-2": "leg-3", "leg-3": "leg-2", "leg-4": "leg-1"}[
                told.failures[0].split()[0]
            ]
            assert told.line(other).static < 0.1 * max(band.static for band in told.lines if "leg" in band.name)
            assert told.line("main").static == pytest.approx(95 * GRAVITY)
            assert told.line("main").quick > told.line("main").static
    gone = after(statics, ["lashing fails"])
    assert gone.falls == ("vic",)


def test_effects_already_there_are_counted() -> None:
    statics = statics_of(backed_up(0.5, 100))
    told = after(statics, ["main fails"], already=Effects(gone=frozenset({"second-bolt"})))
    assert told.falls == ("sam",)


def test_a_deviation_that_fails_lets_the_rope_come_to_the_edge() -> None:
    statics = statics_of("""
        anchor top: at (0, 0, 10)
        anchor wall: at (2, 0, 6)
        edge ledge: at (0.1, 0, 4)
        person nia: 75 kg, points waist, at (1.2, 0, 1)
        attach wall - sling away - carabiner turn
        away: length 0.8 m
        turn: at (1.2, 0, 6)
        rope working
            tied to top with figure-eight
            through turn
            tied to nia.waist with figure-eight
    """)
    told = after(statics, ["turn fails"])
    assert [(line.split("[")[0], edge) for line, edge, _ in told.near_edges] == [("working", "ledge")]
    assert told.body("nia").swing > 0.8


def test_a_rope_without_a_length_says_that_it_cannot_tell_how_far_it_runs() -> None:
    statics = statics_of("""
        anchor bolt: at (0, 0, 20)
        person sam: 100 kg, points waist, at (0, 0, 15)
        attach descender dev - sam.waist
        rope red
            tied to bolt with bowline
            gripped by dev
            stopper
    """)
    told = after(statics, ["dev slips"])
    assert told.falls == ("sam",)
    assert any("runs to its stopper, and gives no length" in said for said in told.equilibrium.assumed)
