"""How long a rope must be: its whole way, to every knot, in every state; and where what is spare of it lies."""

from __future__ import annotations

import math

import pytest

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.rope_too_short import lengths_needed
from analyser.rig.model import Rig

UP = """
rig "Up over a wheel and down to a knot on a part"
anchor low: at (0, 0, 0)
anchor high: at (3, 0, 10)
ring master
person sam: 80 kg, at (3, 0, 2), points waist
attach master - sam.waist
attach low - descender brake
brake: self-locking
attach high - pulley wheel
rope red: {length} m{more}
    stopper
    gripped by brake
    through wheel
    tied to master with bowline
"""
WAY = math.hypot(3, 10) + 8
"""From the brake up to the wheel, and plumb down to the ring where sam hangs: derivation."""


def needed(rig: Rig) -> float:
    return max(one.metres for rope in rig.ropes for one in lengths_needed(rig, rope, rig.index.fixed))


def test_the_way_goes_to_every_knot() -> None:
    assert needed(analyser.read_text(UP.format(length=60, more=""))) == pytest.approx(WAY, rel=1e-9)
    short = analyse(analyser.read_text(UP.format(length=12, more="")))
    assert [one.rule for one in short.states[0].findings].count("rope-too-short") == 1
    long = analyse(analyser.read_text(UP.format(length=19, more="")))
    assert not [one for one in long.states[0].findings if one.rule == "rope-too-short"]


def test_what_is_slack_or_paid_out_belongs_to_it_in_every_state() -> None:
    text = UP.format(length=20, more="").replace("    through wheel", "    slack 0.5 m\n    through wheel")
    stages = '\nstage "down"\n    pay out red by 4 m\n'
    rig = analyser.read_text(text)
    assert needed(rig) == pytest.approx(WAY + 0.5, rel=1e-9)
    result = analyse(analyser.read_text(text + stages))
    found = [[one.text for one in state.findings if one.rule == "rope-too-short"] for state in result.states]
    assert found[0] == []
    assert found[1] and f"{WAY:.4g} m apart, and 4.5 m are slack or paid out" in found[1][0]


SPARE = """
rig "A rope of 60 m on 18 m"
anchor bolt: at (0, 0, 18), strength 20 kN
footing yard: at (0, 0, 0), below
person sam: 80 kg, at (0, 0, 10), points waist
descender dev: strength 15 kN
attach dev - sam.waist
rope red: 60 m{spare}
    tied to bolt with bowline
    gripped by dev
    stopper
require drop at most 1 m
"""


def test_spare_rope_is_not_put_below_a_device_unasked() -> None:
    """Below, 52 m of it run through `dev` to the stopper; above, none; and unless the file says which, it is asked."""
    told = {}
    for spare in ("", ", spare below", ", spare in the bag above"):
        result = analyse(analyser.read_text(SPARE.format(spare=spare)))
        loads = result.states[0].loads
        assert loads is not None and loads.after is not None
        then = next(one for one in loads.after if one.failures == ("dev slips",))
        fares = next(one for one in loads.faring if one.failures == ("dev slips",))
        told[spare] = [m.drop for m in then.moved], [ask.wanted.line for ask in fares.asks]
    assert told[""] == ([], ["rope red: spare below"])
    ((drop,), none) = told[", spare below"]
    assert drop == pytest.approx(52, abs=2) and not none
    assert told[", spare in the bag above"][1] == []
