"""A device that lowers by itself: who hangs on it alone comes down and is not held; locked off, it holds."""

from __future__ import annotations

import pytest

import analyser
from analyser.holding.fate import Kind

RIG = """rig "Out of a window"
anchor beam, post
person vic: 80 kg, points waist, chest
attach beam - automatic-descender box
rope line: 10 mm, 40 m
    stopper as drum-end
    gripped by box
    tied to vic.chest with sewn-eye
"""
STRAP = "attach post - strap holding - vic.waist\n"


def _fate(rig: analyser.Rig, state: int = 0, failure: str = "") -> Kind:
    result = analyser.check(rig)
    outcome = result.states[state].outcome
    if failure:
        return dict(next(one for one in outcome.failures if one.id == failure).fates)["vic"].kind
    return next(one for one in outcome.bodies if one.name == "vic").fate.kind


@pytest.mark.parametrize("device", ["automatic-descender box", "descender box (lowers by itself)"])
def test_who_hangs_on_it_alone_runs(device: str) -> None:
    rig = analyser.read_text(RIG.replace("automatic-descender box", device))
    assert _fate(rig) is Kind.RUNS
    (told,) = [one for one in analyser.check(rig).states[0].findings if one.rule == "lowers-by-itself"]
    assert (told.about, told.bodies) == (("box",), ("vic",))


def test_who_hangs_on_something_else_is_held_until_that_fails() -> None:
    rig = analyser.read_text(RIG + STRAP)
    assert _fate(rig) is Kind.HELD
    assert _fate(rig, failure="holding fails") is Kind.RUNS
    assert analyser.check(rig).body("vic").attachments == 1, "what lets down is no attachment"


def test_without_a_stopper_nothing_would_ever_stop_them() -> None:
    assert _fate(analyser.read_text(RIG.replace("    stopper as drum-end\n", ""))) is Kind.FALLS


def test_locked_off_it_holds_and_opened_again_it_lets_down() -> None:
    rig = analyser.read_text(RIG + 'stage "Wait"\n    lock off box\n    open box\n')
    assert [_fate(rig, state) for state in (0, 1, 2)] == [Kind.RUNS, Kind.HELD, Kind.RUNS]
    assert _fate(rig, 1, "box slips") is Kind.RUNS


# -- devices that grip nothing, and what is stepped in


def _told(text: str) -> set[str]:
    return {one.rule for one in analyser.check(analyser.read_text(text)).states[0].findings}


def test_a_winch_without_a_rope_in_its_grip_is_told_and_with_one_is_not() -> None:
    text = (
        'rig "A"\nanchor beam\nperson sam\nattach beam - winch drum\nrope wire\n    tied to drum\n{}    tied to sam\n'
    )
    assert "grips-nothing" in _told(text.format(""))
    gripped = text.format("    gripped by drum\n")
    assert "grips-nothing" not in _told(gripped)
    (grip,) = [s for rope in analyser.read_text(gripped).ropes for s in rope.stations if s.part == "drum"]
    assert (grip.to_start, grip.to_end) == (False, True), "the drum end pulls no side"
    failures = {one.id for one in analyser.read_text(gripped).failures}
    assert "drum slips" in failures


def test_a_foot_loop_on_an_ascender_is_no_danger_and_hangs_not_loose() -> None:
    text = """rig "A"
anchor bolt
person mia: points waist, chest, foot
rope pitch
    tied to bolt
    gripped by ascender upper - lanyard long - mia.waist
    gripped by ascender lower - mia.chest
attach upper - foot-loop step
"""
    assert not _told(text) & {"gear-only", "hangs-loose"}
    assert "gear-only" not in _told(text + "attach step - mia.foot\n")
