"""Somebody who drops by a step, or after a failure in a later state: told with how far, by hand."""

from __future__ import annotations

import pytest
from rigs import rig_of

from analyser.checking.analysing import analyse
from analyser.checking.results import Result
from analyser.holding.fate import Kind
from analyser.pages.writers.terminal import plain
from analyser.pages.writing.short_check import short_page

TAILS = """
anchor near, other: not below
    near: at (0, 0, 10)
    other: at (0.3, 0, 10)
person sam: 80 kg, at (0, 0, 9), points waist, chest
lanyard long: length {long}
attach near - lanyard short - sam.waist
attach long - sam.chest
short: length 1 m
require every person has 1 independent attachment
stage "Change over"
    attach long - other
    detach short from near
    note "done"
"""
LINES = """
anchor one, two: not below
    one: at (0, 0, 40)
    two: at (1, 0, 40)
person jo: standing
person vic: 85 kg, at (0.5, 0, 30), points waist, chest
attach one - brake front
attach two - brake back
front, back: operated by jo, self-locking
rope main: 11 mm, 60 m, stretch 3 % at 150 kg
    stopper
    gripped by front
    tied to vic.waist with figure-eight
rope belay: 11 mm, 60 m, stretch 3 % at 150 kg
    stopper
    gripped by back
    tied to vic.chest with figure-eight
require everyone held after any 1 failure
stage "Lower"
    pay out main by 5 m
    pay out belay by {belay} m
    note "end"
"""


def page(result: Result) -> str:
    return " ".join(plain(short_page(result, "a.rig").blocks).split())


def test_a_step_that_drops_somebody_is_a_danger_with_how_far() -> None:
    """On a tail of 8 m, 0.3 m aside, sam comes to hang 7.0 m lower: sqrt(64 - 0.09) - 1, and the stretch."""
    result = analyse(rig_of(TAILS.format(long="8 m")))
    _, _, opened, done = result.states
    (told,) = [one for one in opened.findings if one.rule == "step-drops"]
    assert told.severity == "danger" and "sam drops 7." in told.text
    assert [state.outcome.body("sam").fate.kind for state in (opened, done)] == [Kind.DROPS, Kind.HELD], "once"
    short = analyse(rig_of(TAILS.format(long="1.1 m")))
    assert not [one for state in short.states for one in state.findings if one.rule == "step-drops"]


def test_a_drop_after_a_failure_in_a_later_state_is_told_whatever_is_asked() -> None:
    """Ten metres more are out on the belay than on the main."""
    result = analyse(rig_of(LINES.format(belay=15)))
    drops = {one.id: dict(one.fates).get("vic") for one in result.states[-1].outcome.failures}
    fate = drops["one fails"]
    assert fate and fate.kind is Kind.DROPS and fate.drop and 9.9 < fate.drop < 10.6
    assert "drops later after step 1.2: vic 10." in page(result) and "vic drops 10 m" in page(result)


def test_a_lowering_is_no_drop() -> None:
    result = analyse(rig_of(LINES.format(belay=5)))
    assert all(state.outcome.body("vic").fate.kind is Kind.HELD for state in result.states)
    assert "with nothing failed" not in page(result)


GRAB = """
anchor one, two, three: not below
person jo: standing
person vic: points waist, chest
attach one - descender front
attach two - descender back
attach three - sling link - rope-grab grab
front, back: operated by jo, self-locking
rope main
    stopper
    gripped by front
    tied to vic.waist with figure-eight as knot
rope belay
    stopper
    gripped by back
    tied to vic.chest with figure-eight
stage "Pass"
    attach grab to main between front and knot, load from knot
    {steps}
    detach grab from main
"""


@pytest.mark.parametrize(
    ("why", "steps", "told"),
    [
        ("what is paid out from behind a grab puts the load on it", "pay out main by 0.2 m", True),
        ("locked off behind it makes no difference", "pay out main by 0.2 m\n    lock off front", True),
        ("taken in again it is slack", "pay out main by 0.2 m\n    take in main by 0.3 m", False),
        ("it never had the load", 'say "on"', False),
    ],
)
def test_a_grab_onto_which_the_load_was_paid_still_carries(why: str, steps: str, told: bool) -> None:
    result = analyse(rig_of(GRAB.format(steps=steps)))
    found = [one for one in result.states[-1].findings if one.rule == "may-still-carry"]
    assert bool(found) is told, why


ABSORBER = """
anchor main: at (0, 0, 11), not below
anchor back: at (0, 0, 10), not below
person sam: 100 kg, at (0, 0, 9.5), points waist, chest
attach main - lanyard short - sam.waist
short: length 1.5 m
attach back - lanyard long - absorber pack - sam.chest
long: length 1.7 m, stretch 1 % at 100 kg
pack: length 0.3 m, slips at 4 kN, slips up to 1.75 m, source "invented"
require drop at most {most} m after any 1 failure
"""


@pytest.mark.parametrize(("most", "met"), [(1.6, False), (1.9, False), (2.1, True)])
def test_what_an_absorber_tears_counts_in_a_drop(most: float, met: bool) -> None:
    """By energy: 1.5 m free, then W h / (F - W) = 0.98 * 1.5 / (4 - 0.98) = 0.49 m of it, and the stretch."""
    (judged,) = analyse(rig_of(ABSORBER.format(most=most))).requirements
    assert judged.met is met
    if not met:
        assert "pack lets out 0.4" in judged.because[0]


def test_lines_let_out_in_one_step_are_let_out_together() -> None:
    """As by one step each; and who works either device does it."""
    apart = LINES.format(belay=5)
    together = apart.replace("    pay out main by 5 m\n    pay out belay by 5 m\n", "    pay out main, belay by 5 m\n")
    one, two = analyse(rig_of(apart)), analyse(rig_of(together))
    (first, _), last = [state.loads for state in two.states[1:]], one.states[-1].loads
    assert first and last and first.now.at["vic"] == pytest.approx(last.now.at["vic"], abs=1e-6)
    (step, _) = two.rig.stages[0].steps
    assert step.done_by(two.rig.first) == ("jo",) and step.line.lengthened == ("main", "belay")


def test_somebody_let_down_to_the_ground_is_no_find() -> None:
    landed = LINES.format(belay=5).replace("require", "footing floor: at (0.5, 0, 24), below\nrequire")
    let_down = landed.replace("    pay out main by 5 m\n    pay out belay by 5 m\n", "    pay out main, belay by 8 m\n")
    result = analyse(rig_of(let_down))
    assert not [
        one
        for state in result.states
        for one in state.findings
        if one.rule == "reaches-ground" and "nothing" in one.text
    ]
