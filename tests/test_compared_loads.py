"""What was found or changed and takes nobody's hold away is worse all the same: a heavier patient, a weaker bolt, a
gate that doesn't lock, a rope too thin, a device that needs a hand, a frame without its stake. Invented scenarios."""

from __future__ import annotations

from functools import cache

import pytest
from rigs import rig_of

from analyser.checking.analysing import analyse
from analyser.language.mistakes import Unreadable
from analyser.rig.plan import Plan
from analyser.uses.comparing.comparison import compare
from analyser.uses.field.as_found import AsFound, as_found
from analyser.uses.field.found import found_in
from analyser.uses.field.walk_sheet import Walkdown, walked

QUARRY = """
rig "Quarry lower"
anchor a-bolt, b-bolt
person op, sec: standing
person pat: points seat, breast
footing pole-foot: below
anchor stake-1, stake-2: not below
gin-pole pole: feet pole-foot, guyed by guy-1, guyed by guy-2
rope guy-1
    tied to stake-1 with round-turn as g1-low
    tied to pole with clove-hitch as g1-top
rope guy-2
    tied to stake-2 with round-turn as g2-low
    tied to pole with clove-hitch as g2-top
attach pole - shackle pole-shackle - pulley head-wheel
ring low-ring
attach a-bolt - carabiner a-crab (locking, 24 kN) - descender main-dev
main-dev: operated by op, self-locking, takes 10 to 11.5 mm
attach b-bolt - carabiner b-crab (locking) - rope-grab belay-dev
belay-dev: minded by sec, takes 10 to 11.5 mm
rope main: 11 mm
    tied to low-ring with figure-eight as main-knot
    through head-wheel
    gripped by main-dev
    stopper as main-stop
rope belay: 11 mm
    tied to pat.breast with figure-eight as belay-knot
    gripped by belay-dev
    stopper as belay-stop
attach low-ring - strap pat-strap - carabiner pat-crab (locking) - pat.seat
a-bolt: strength 20 kN
"""


@cache
def quarry() -> Plan:
    return rig_of(QUARRY)


def found(text: str) -> AsFound:
    return as_found(quarry(), found_in(text.encode(), "day.found", set(quarry().kinds)))


def sheet(text: str) -> Walkdown:
    made = found(text)
    return walked(quarry(), made, analyse(made.rig), "quarry.rig")


def changed(was: str, now: str) -> tuple[str, ...]:
    assert QUARRY.count(was) == 1
    return compare(quarry(), rig_of(QUARRY.replace(was, now))).worse


@pytest.mark.parametrize(
    ("line", "worse"),
    [
        ("found a-bolt: strength 0.5 kN", "a-bolt has a strength of 0.5 kN (was 20 kN)"),
        ("found belay: 8 mm", "belay has a diameter of 8 mm (was 11 mm)"),
        (
            "found belay: 8 mm",
            "caution: belay-dev takes 10 mm to 11.5 mm, and belay is 8 mm (rope-not-for-device)",
        ),
        (
            "found main-dev: takes 12 to 13 mm",
            "caution: main-dev takes 12 mm to 13 mm, and main is 11 mm (rope-not-for-device)",
        ),
        ("found pat-crab: not locking", "pat-crab has a gate that does not lock"),
        ("found main-dev is brake", "main-dev was self-locking, and grips only while op's hand is on it"),
        ("found stake-1 missing", "pole does not stand: guy-1 is not there; the check leaves it out"),
        ("found g2-low missing", "pole does not stand: guy-2 is not there; the check leaves it out"),
        ("found guy-2 missing", "pole does not stand: guy-2 is not there; the check leaves it out"),
        ("found pole-foot missing", "pole does not stand: pole-foot is not there; the check leaves it out"),
        (
            "found belay-knot not on pat.breast\nrope again: 11 mm\n    tied to pat.seat with bowline as again-knot\n"
            "    tied to b-bolt with bowline as again-top",
            "caution: both attachments of pat are at one point, pat.seat (one-harness-point)",
        ),
    ],
)
def test_what_was_found_is_worse(line: str, worse: str) -> None:
    told = sheet(line).made_worse
    assert any(one.startswith(worse) for one in told), told


@pytest.mark.parametrize("line", ["found stake-1 missing", "found guy-2 missing", "found pole-foot missing"])
def test_a_frame_that_does_not_stand_is_never_met(line: str) -> None:
    made = sheet(line)
    assert made.result.met and not made.met and made.exit_status == 1


def test_another_thing_has_nothing_of_the_one_that_is_not_there() -> None:
    made = found("found main-dev is brake\nfound a-crab is shackle")
    brake, shackle = made.rig.parts["main-dev"], made.rig.parts["a-crab"]
    assert (brake.self_locking, brake.operated_by, brake.takes) == (False, "op", None)
    assert dict(shackle.quantities) == {}
    left = {one.words for one in made.left_out}
    assert left == {"locking", "24 kN", "self-locking", "takes 10 to 11.5 mm"}


def test_one_figure_is_told_once() -> None:
    for text in (
        "found a-bolt: strength 5 kN\nfound a-bolt: strength 15 kN",
        "found a-bolt: strength 5 kN, strength 15 kN",
        "found a-crab is shackle\nfound a-crab is carabiner",
    ):
        with pytest.raises(Unreadable, match="twice"):
            found(text)


@pytest.mark.parametrize(
    ("was", "now", "worse"),
    [
        (
            "operated by op, self-locking, takes",
            "operated by op, takes",
            "main-dev was self-locking, and grips only while op's hand is on it",
        ),
        ("pat-crab (locking)", "pat-crab (not locking)", "pat-crab has a gate that does not lock"),
        ("pat-crab (locking)", "pat-crab", "pat-crab was locking, and isn't said to be"),
        ("strength 20 kN", "strength 12 kN", "a-bolt has a strength of 12 kN (was 20 kN)"),
        ("rope main: 11 mm", "rope main: 9 mm", "main has a diameter of 9 mm (was 11 mm)"),
        ("    stopper as main-stop\n", "", "caution: nothing keeps the end of main from running out"),
    ],
)
def test_a_change_is_worse_though_everybody_is_held(was: str, now: str, worse: str) -> None:
    told = changed(was, now)
    assert any(one.startswith(worse) for one in told), told


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("strength 20 kN", "strength 30 kN"),
        ("rope main: 11 mm", "rope main: 11.5 mm"),
        ("b-crab (locking)", "b-crab (locking, 24 kN)"),
    ],
)
def test_more_is_not_worse(was: str, now: str) -> None:
    assert changed(was, now) == ()


# -- forces

HUNG = """
rig "Two bolts and a tail"
anchor a-bolt: at (0, 0, 10), strength 22 kN
anchor b-bolt: at (0.5, 0, 10), strength 22 kN
person pat: 80 kg, points seat, breast
    at (0, 0, 5)
rope main: like low-stretch-a, 11 mm, stretch 3 % at 150 kg
    tied to a-bolt with figure-eight as main-top
    tied to pat.seat with figure-eight as main-low
rope tail: like low-stretch-a, 11 mm, stretch 3 % at 150 kg
    tied to b-bolt with figure-eight as tail-top
    tied to pat.breast with figure-eight as tail-low, slack 0.2 m
require drop at most 2 m after any 1 failure
require force on any person at most 6 kN
"""


def test_a_heavier_patient_and_more_slack_are_worse() -> None:
    rig = rig_of(HUNG)
    heavy = compare(rig, rig_of(HUNG.replace("80 kg, points", "120 kg, points")))
    assert "pat weighs 120 kg (was 80 kg)" in heavy.worse and heavy.on == "connections and forces"
    assert any("strength factor" in one for one in heavy.worse) and any("is pulled by" in one for one in heavy.worse)
    slack = compare(rig, rig_of(HUNG.replace("slack 0.2 m", "slack 0.9 m")))
    assert any(one.startswith("pat drops") for one in slack.worse), slack.worse
    back = compare(rig_of(HUNG.replace("slack 0.2 m", "slack 0.9 m")), rig)
    assert back.worse == () and back.different


def test_requirements_of_forces_are_compared() -> None:
    rig = rig_of(HUNG)
    turned = {one.text: (one.was.met, one.now.met) for one in compare(rig, rig).requirements}
    judged = {one.requirement.text: one.met for one in analyse(rig).requirements}
    assert turned == {text: (met, met) for text, met in judged.items()} and None not in judged.values()


def test_who_is_caught_by_one_rope_feels_what_that_rope_feels() -> None:
    """All that stops a mass on one rope comes through that rope: by hand, with whatever harness points lie unused."""
    loads = analyse(rig_of(HUNG)).states[0].loads
    assert loads is not None and loads.after is not None
    then = next(one for one in loads.after if one.failures == ("main-top slips",))
    assert then.motion is not None
    peak = next(one for one in then.motion.lines if one.name.startswith("tail"))
    assert loads.people_after["pat"]["main-top slips"] == pytest.approx(peak.high or peak.most, rel=0.01)
    assert then.motion.parts["pat"][0] == pytest.approx(peak.most, rel=0.01) and peak.most > 2000


def test_what_breaks_as_it_hangs_is_not_counted_on() -> None:
    """By the connections a bolt may fail and the other holds; but that bolt breaks before anything fails."""
    weak = HUNG.replace("at (0, 0, 10), strength 22 kN", "at (0, 0, 10), strength 0.5 kN")
    weak = weak.replace("require force on any person at most 6 kN", "require everyone held after any 1 failure")
    judged = {one.requirement.text: one for one in analyse(rig_of(weak)).requirements}
    one = judged["everyone held after any 1 failure"]
    assert one.met is False and "with nothing failed a-bolt breaks: 0.785 kN on 0.5 kN" in one.because[0]
    strong = weak.replace("strength 0.5 kN", "strength 5 kN")
    judged = {one.requirement.text: one for one in analyse(rig_of(strong)).requirements}
    assert judged["everyone held after any 1 failure"].met
