"""What a verdict says beside its first broken requirement: the dangers, and what nobody was asked for."""

from __future__ import annotations

from rigs import BRAKED, rig_of

import analyser
from analyser.checking.foremost import verdict_line


def line(text: str) -> str:
    return verdict_line(analyser.check(rig_of(text)))


def test_a_plan_that_is_not_met_counts_its_dangers_too() -> None:
    """What drops the bag is told by the words themselves; that the rope is too short is a danger more."""
    quiet = line(BRAKED.format(require="require everyone held after any 1 failure", step="pay out main by 4 m"))
    assert quiet.startswith("NOT MET: bag hangs on ONE")
    loud = line(BRAKED.format(require="require everyone held after any 1 failure", step="pay out main by 40 m"))
    assert loud.startswith("NOT MET: bag hangs on ONE") and "; 1 danger more (1 of 1" in loud
    assert "danger" not in quiet


def test_so_does_one_that_is_not_met_for_another_reason() -> None:
    told = line(
        BRAKED.format(require='accept bolt: "a"\n    require every connector is locking', step="pay out main by 40 m")
        + "    attach bolt - carabiner hook: not locking\n".replace(": not locking", " (not locking)")
    )
    assert told.startswith("NOT MET: every connector is locking: ") and "; 1 danger more (" in told


def test_what_asks_of_nobody_says_so() -> None:
    result = analyser.check(
        rig_of(BRAKED.format(require="require every person has 2 independent attachments", step="pay out main by 4 m"))
    )
    (one,) = result.requirements
    assert one.met and one.of_nobody
    assert one.asked == (
        "every person has 2 independent attachments: nobody that it speaks of has to be held in this file, "
        "nothing to ask"
    )
    assert "1 of 1 requirements met, 1 of them of nobody" in verdict_line(result)


def test_what_asks_of_somebody_in_a_later_stage_only_asks() -> None:
    text = """
        anchor left, right
        load bag: points eye
        attach left - strap one - bag.eye
        attach right - strap two - bag.eye
        require every person has 1 independent attachment
        stage "On"
            person sam: points waist
            attach left - strap three - sam.waist
    """
    (one,) = analyser.check(rig_of(text)).requirements
    assert one.met is False and not one.of_nobody
    assert one.asked == "every person has 1 independent attachment"


def test_a_danger_that_a_step_brings_is_told_with_that_step() -> None:
    told = line(
        """
        anchor a, b
        person jo, kim: standing
        person sam: points w, c
        rope main: 20 m
            stopper
            gripped by brake m - a
            tied to sam.w
        rope belay: 60 m
            stopper
            gripped by brake n - b
            tied to sam.c
        m: operated by jo, self-locking
        n: operated by kim, self-locking
        stage "down"
            take m in hand
            take n in hand
            pay out main, belay by 12 m
            pay out main, belay by 12 m
            lock off m
            lock off n
        """
    )
    assert "1 danger to look at: after step 1.4 (line " in told and ") main is 20 m long" in told
