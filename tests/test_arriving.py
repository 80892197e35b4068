"""What arrives at each person's device and hand, before and after each failure; a line a step; one figure a part."""

from __future__ import annotations

import json

import pytest

import analyser
from analyser.checking.analysing import analyse
from analyser.doors.commands.main import main
from analyser.rig.quantities import GRAVITY

W = 80 * GRAVITY
BELAY = """
rig "A main line and a belay"
anchor one: at (0, 0, 10), strength 20 kN
anchor two: at (0, 0, 10), strength 20 kN
person jo: standing, at (0.5, 0, 10)
person kim: standing, at (0.2, 0, 10)
person sam: 80 kg, at (0, 0, 4)
attach one - descender main-device
attach two - descender belay-device
main-device: operated by jo, self-locking
belay-device: operated by kim, self-locking
rope main: stretch 3 % at 150 kg
    gripped by main-device
    tied to sam with figure-eight as main-knot
rope belay: stretch 3 % at 150 kg
    gripped by belay-device
    slack 0.2 m
    tied to sam with figure-eight as belay-knot

stage "lowered"
    pay out main by 0.1 m
"""
HELD = """
rig "In bare hands"
anchor top: at (0, 0, 10), strength 20 kN
person jo: standing, at (0, 0, 10)
load bag: 40 kg, at (0, 0, 4)
attach top - strap tether - bag
tether: length 6 m
rope cord: stretch 3 % at 150 kg
    tied to bag with figure-eight
    held by jo
"""


def test_what_arrives_at_each_device() -> None:
    """At rest the main line carries all; when it goes, all of it comes on the belay's device (weight), with more on
    the way: 0.2 m slack on 6 m."""
    loads = analyse(analyser.read_text(BELAY)).states[0].loads
    assert loads is not None
    told = {one.device: one for one in loads.belayed}
    assert {name: (one.person, one.rope) for name, one in told.items()} == {
        "main-device": ("jo", "main"),
        "belay-device": ("kim", "belay"),
    }
    assert told["main-device"].before == pytest.approx(W, rel=1e-6)
    assert told["belay-device"].before == pytest.approx(0, abs=1e-6)
    then = next(row for row in told["belay-device"].after if row.failure == "main-knot slips")
    assert then.rest == pytest.approx(W, rel=1e-6)
    assert then.peak is not None and then.peak > 2 * W  # let go with slack: more than twice the weight


def test_what_hands_would_have_to_hold(tmp_path, capsys) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "held.rig"
    file.write_text(HELD.lstrip())
    assert main(["forces", str(file), "--json"]) == 0
    (hands,) = json.loads(capsys.readouterr().out)["in_hands"]
    then = next(row for row in hands["after"] if row["failure"] == "tether fails")
    assert (hands["person"], hands["device"], then["peak_kN"]) == ("jo", None, None)
    assert then["rest_kN"] == pytest.approx(40 * GRAVITY / 1000, abs=0.005)


def test_a_line_a_step_and_one_state_alone(tmp_path, capsys) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "belay.rig"
    file.write_text(BELAY.lstrip())
    assert main(["forces", str(file)]) == 0
    text = capsys.readouterr().out
    assert "STEP BY STEP" in text and "1 pay out main by 0.1 m" in text
    assert "WHAT ARRIVES AT DEVICES AND HANDS" in text and "belay-device (kim)" in text
    assert "AT WORST" not in text  # it is worked out: one figure a part
    assert main(["forces", str(file), "--state", "1", "--json"]) == 0
    (state,) = json.loads(capsys.readouterr().out)["states"]
    assert state["number"] == 1


def test_what_each_part_carries_at_worst_only_where_nothing_is_worked_out() -> None:
    assert not analyser.forces(analyser.read_text(HELD)).worst_loads
    bare = HELD.replace(": at (0, 0, 10), strength", ": strength").replace(", at (0, 0, 4)", "")
    assert analyser.forces(analyser.read_text(bare)).worst_loads


def test_a_rope_can_be_asked_for_its_factor() -> None:
    text = BELAY.split("stage")[0].replace("rope main: ", "rope main: strength 20 kN, ")
    for least, met in ((15, True), (25, False)):
        (judged,) = analyse(
            analyser.read_text(text + f"require strength factor at least {least} on main\n")
        ).requirements
        assert judged.met is met, judged.because
        if not met:
            assert "of which main-knot keeps 80%" in judged.because[0]


def test_a_sewn_eye_keeps_what_is_marked() -> None:
    text = BELAY.split("stage")[0].replace("rope main: ", "rope main: strength 20 kN, ")
    loads = (
        analyse(analyser.read_text(text.replace("figure-eight as main-knot", "sewn-eye as main-knot"))).states[0].loads
    )
    assert loads is not None
    row = next(one for one in loads.factors.rows if one.name.startswith("main["))
    assert row.factor == pytest.approx(20_000 / W, rel=1e-6)


def test_a_stretch_below_nothing_is_refused() -> None:
    with pytest.raises(analyser.Unreadable) as told:
        analyser.read_text(HELD.replace("stretch 3 %", "stretch -3 %"))
    (wrong,) = told.value.mistakes
    assert wrong.text == "a stretch of -3 % is less than nothing"
    assert wrong.help == "write `stretch 3 % at 150 kg`"
