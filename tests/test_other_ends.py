"""Who hangs only from a person: where the straps could end instead, found, told, and true when it is written so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from balance import HOLDS, fates
from random_stages import random_stage

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.first_look import first_look
from analyser.checking.results import Result
from analyser.pages.writing.at_the_head import to_do_now

PICK_OFF = Path("examples/crossings/pick-off-wrong.rig").read_text(encoding="utf-8")
HELD = """rig "Held by the other"
anchor bolt, post
person vic, sam: points waist, chest
attach bolt - strap a - ring one - strap b - vic.waist
attach post - strap c - ring two - strap d - vic.chest
attach vic.waist - strap e - sam.waist
attach vic.chest - strap f - sam.chest
require everyone held after any 1 failure
"""
NO_RING = """rig "No ring"
anchor bolt, post
person vic, sam: points waist, chest
attach bolt - strap b - vic.waist
attach post - strap d - vic.chest
attach vic.waist - strap e - sam.waist
attach vic.chest - strap f - sam.chest
"""
ONE_RING = HELD.replace("ring two - strap d", "strap d")


def lines(result: Result) -> str:
    """What stands over a picture."""
    return "\n".join(f"{label} {words}" for label, words, _ in to_do_now(result).rows)


@pytest.mark.parametrize(("text", "straps"), [(PICK_OFF, 2), (HELD, 2)], ids=["in later steps", "as first attached"])
def test_written_so_everybody_is_held(text: str, straps: int) -> None:
    """The second evaluator agrees: nobody falls after any single failure, in any state."""
    wrong = analyse(analyser.read_text(text))
    assert not wrong.met
    look = first_look(wrong)
    assert len(look.ends) == straps
    for one in look.ends:
        text, times = re.subn(
            rf"attach {re.escape(one.now)} - strap {one.strap} ", f"attach {one.to} - strap {one.strap} ", text
        )
        assert times == 1
    plan = analyser.read_text(text)
    assert analyse(plan).met
    for rig in (plan.alone, *(step.rig for stage in plan.stages for step in stage.steps)):
        for failure in rig.failures:
            assert not {name for name, told in fates(rig, [failure]).items() if told == "falls"}
        assert set(fates(rig, []).values()) == {HOLDS}


REBELAY = Path("examples/crossings/rebelay-wrong.rig").read_text(encoding="utf-8")


def test_two_tails_on_one_anchor_are_told_as_the_cause_and_one_goes_to_another() -> None:
    """Written so, all that is asked is met; another order of steps would leave both on one anchor, and isn't told."""
    wrong = analyse(analyser.read_text(REBELAY))
    look = first_look(wrong)
    assert look.endangered[0].sharing == ("waist-tail", "chest-tail") and look.instead
    told = lines(wrong)
    moved = "Clipped, slack: move chest-tail from low-work to low-back-up."
    moved += "\nClipped, tight: leave it; add a strap from eva-chest to low-back-up."
    moved += "\nNot clipped yet: clip as “In the plan” says."
    assert f"\nBefore step 1.9 {moved}" in told
    assert (
        "\nPast step 1.9 1. STOP: no further step, open nothing that holds, brake hands stay on the rope."
        "\n2. Step 1.10 done too? Put nothing back: nobody hangs on ONE for this any more."
        "\n3. Step 1.9 done, 1.10 not? follower back on back-up.\n4. Then as before step 1.9.\n" in told
    )
    assert "\nIn the plan In step 1.4 clip chest-tail to low-back-up, not to low-work. Not for use" in told
    assert "step 1.10," not in told
    assert "low-work (anchor), which alone holds waist-tail and chest-tail: not held if that fails" in told
    parts = {"chest-tail": ("PUT on low-back-up,", "NOT on low-work"), "low-back-up": ("PUT chest-tail HERE",)}
    assert dict(to_do_now(wrong).at) == parts
    mended = REBELAY.replace("chest-tail - low-work", "chest-tail - low-back-up")
    plan = analyser.read_text(mended.replace("detach chest-tail from low-work", "detach chest-tail from low-back-up"))
    assert analyse(plan).met
    for rig in (plan.alone, *(step.rig for stage in plan.stages for step in stage.steps)):
        for failure in rig.failures:
            assert not {name for name, told in fates(rig, [failure]).items() if told == "falls"}


def test_it_is_said_as_an_order() -> None:
    told = lines(analyse(analyser.read_text(PICK_OFF)))
    plan = "In step 1.2 clip short-strap to work-ring, not to ron-waist. In step 1.3 clip long-strap to"
    assert f"\nIn the plan {plan}" in told
    first = lines(analyse(analyser.read_text(HELD)))
    assert first.partition("\n")[2].startswith(
        "Do now STOP. Nobody gets on; load nothing.\n"
        "Mend it Clip e to one, not to vic.waist. Clip f to two, not to vic.chest."
    )


@pytest.mark.parametrize("text", [NO_RING, ONE_RING], ids=["nothing to end at", "one thing for two straps"])
def test_where_a_quick_look_finds_none_it_says_nothing(text: str) -> None:
    result = analyse(analyser.read_text(text))
    assert first_look(result).endangered
    assert first_look(result).ends == ()
    assert "clip e to" not in lines(result).lower()


def test_both_straps_at_one_ring_are_not_offered() -> None:
    """Two ends at one ring would hang on it alone."""
    for one in first_look(analyse(analyser.read_text(PICK_OFF))).ends:
        assert one.to in {"work-ring", "back-up-ring"}


def test_the_ground_under_what_was_set_down_is_no_anchor_to_end_at() -> None:
    """It is there in some states only."""
    look = first_look(analyse(analyser.read_text(random_stage(5045, 6))))
    assert look.endangered and all("ground" not in one.to for one in look.ends)


def test_what_is_clipped_wrong_already_is_moved_where_nobody_is_left_on_one_by_it() -> None:
    """One strap at a time, before the step to stop before; as first attached there is no such time."""
    look = first_look(analyse(analyser.read_text(PICK_OFF)))
    assert look.movable and look.step
    assert (
        "\nBefore step 1.6 Clipped, slack: move one at a time: short-strap from ron-waist to work-ring, long-strap "
        "from ron-chest to back-up-ring.\nClipped, tight: leave them; add straps from cas-waist to work-ring, "
    ) in lines(analyse(analyser.read_text(PICK_OFF)))
    assert not first_look(analyse(analyser.read_text(HELD))).movable
    plan = analyser.read_text(PICK_OFF)
    before = next(step for stage in plan.stages for step in stage.steps if step.line.verb == "pay out").rig
    for failure in before.failures:
        if failure.part in {one.strap for one in look.ends}:
            assert set(fates(before, [failure]).values()) == {HOLDS}, "the second evaluator, one strap off"
