"""How much of a rope can be taken in: no more than is left between what takes it in and what hangs on it."""

from __future__ import annotations

import pytest
from rigs import BRAKED, rig_of

import analyser

WHEEL = """
    anchor low: at (4, 0, 0)
    anchor high: at (0, 0, 10)
    load bag: 80 kg, at (0, 0, 7), points eye
    attach low - descender works
    works: self-locking
    attach high - pulley wheel
    rope main: 11 mm, 60 m
        stopper
        gripped by works
        through wheel
        tied to bag.eye with bowline as low-knot
    stage "Up"
        {step}
"""
HAUL = """
    anchor bolt: at (0, 0, 10)
    person jo: standing, at (0, 3, 10)
    load bag: 80 kg, at (0, 0, 2), points eye
    attach bolt - cam-pulley head
    rope main: 11 mm, 60 m
        tied to bag.eye with bowline as low
        gripped by rope-grab grab - pulley lower, load from low
        gripped by head, load from low
        through lower
        held by jo, tail towards end
    grab: at (0, 0, 3)
    stage "Up"
        {step}
"""


def said(text: str, rule: str = "taken-in-too-far") -> list[list[str]]:
    return [[one.text for one in state.findings if one.rule == rule] for state in analyser.check(rig_of(text)).states]


@pytest.mark.parametrize(("metres", "told"), [("2.9 m", False), ("3 m", False), ("3.2 m", True), ("5 m", True)])
def test_more_than_lies_between_brake_and_load(metres: str, told: bool) -> None:
    rows = said(BRAKED.format(require="", step=f"take in main by {metres}"))
    expected = [f"{metres} of main are taken in, and only 3 m of it are between works and low"] if told else []
    assert rows == [[], [], expected, expected]


def test_what_was_paid_out_before_may_be_taken_in_again() -> None:
    rows = said(BRAKED.format(require="", step="pay out main by 4 m\n        take in main by 6 m"))
    assert not any(rows)


def test_the_last_wheel_above_ends_it() -> None:
    """There are 10.8 m more to the brake, and 3 m to the wheel at which the knot arrives."""
    assert not any(said(WHEEL.format(step="take in main by 3 m")))
    rows = said(WHEEL.format(step="take in main by 4 m"))
    assert rows[1] == ["4 m of main are taken in, and only 3 m of it are between wheel and low-knot"]


def test_what_has_moved_meanwhile_is_measured_from_where_it_was() -> None:
    rows = said(BRAKED.format(require="", step="take in main by 2 m\n        move bag to (0, 0, 9)"))
    assert not any(rows)


def test_a_haul_grab_near_the_load_is_not_what_takes_in() -> None:
    assert not any(said(HAUL.format(step="take in main by 4 m")))
    assert said(HAUL.format(step="take in main by 9 m"))[1] == [
        "9 m of main are taken in, and only 8 m of it are between head and low"
    ]


def test_without_places_the_rope_is_no_longer_than_it_is() -> None:
    bare = BRAKED.replace(", at (0, 0, 7)", "").replace(": at (0, 0, 10)", "")
    assert said(bare.format(require="", step="take in main by 40 m"))[2] == [
        "40 m of main are taken in, and it is 30 m long"
    ]
    assert not any(said(bare.format(require="", step="take in main by 20 m")))
    out = said(bare.format(require="", step="pay out main by 40 m"), "rope-too-short")
    assert out[2] == ["main is 30 m long, and 40 m are slack or paid out"]
