"""From whom somebody hangs is told by name, where that is one person."""

from __future__ import annotations

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.foremost import verdict_head
from analyser.checking.hanging_from import holder

ONE = """
rig "Held by a casualty"  # invented
anchor left, right
person vic: points waist, chest
person sam: points waist
attach left - strap vic-left - vic.waist
attach right - strap vic-right - vic.chest
attach vic.waist - strap short - sam.waist
"""
TWO = (
    ONE
    + """
person ann: points waist
attach left - strap ann-left - ann.waist
attach ann.waist - strap long - sam.waist
"""
)


def test_one_person_is_named_in_the_verdict_and_in_the_finding() -> None:
    rig = analyser.read_text(ONE)
    assert holder(rig, "sam") == "vic"
    result = analyse(rig, 1)
    assert "sam is NOT HELD as rigged: hangs only from vic" in verdict_head(result)
    (told,) = [one.text for one in result.states[0].findings if one.rule == "only-by-person"]
    assert told == "sam is held only by vic: that does not count as held"


def test_of_two_none_is_named() -> None:
    rig = analyser.read_text(TWO)
    assert holder(rig, "sam") == ""
    assert "sam is NOT HELD as rigged: hangs only from a person" in verdict_head(analyse(rig, 1))
