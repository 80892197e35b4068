"""Two ropes joined: one knot, in both; what it does when it slips, and what steps make of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from balance import fates
from differential import by_engine, scenarios_of

import analyser
from analyser.language.mistakes import Unreadable
from analyser.rig.plan import Plan

JOINED = """rig "Two lengths"  # invented
anchor top, side
person sam: points waist, chest
rope red: 11 mm
    tied to top with figure-eight as red-top
    joined to start of blue with double-fishermans as bend, tail 300 mm
rope blue: 11 mm
    tied to sam.waist with figure-eight as low
"""
BACKED_UP = (
    JOINED
    + """rope green: 11 mm
    tied to side with figure-eight as green-top
    tied to sam.chest with figure-eight as green-low
"""
)


def read(text: str, *steps: str) -> Plan:
    stage = 'stage "On"\n' + "".join(f"    {step}\n" for step in steps) if steps else ""
    return analyser.read_text(text + stage, "joined.rig", Path())


def alone(text: str, *steps: str) -> set[str]:
    outcome = analyser.check(read(text, *steps)).states[-1].outcome
    return {str(one.id) for one in outcome.failures if "sam" in one.falls}


def test_the_knot_is_one_part_in_both_ropes() -> None:
    """Its slip parts both, it is named once among what can fail, and a cut of either rope is the same to sam."""
    rig = read(JOINED)
    assert [str(one.id) for one in rig.failures if one.id.part == "bend"] == ["bend slips"]
    assert rig.index.ropes_at("bend") == ("red", "blue")
    assert [str(span) for rope in rig.ropes for span in rope.spans] == ["red[red-top..bend]", "blue[bend..low]"]
    assert [s.tail.text for rope in rig.ropes for s in rope.stations if s.part == "bend" and s.tail] == ["300 mm"] * 2
    assert alone(JOINED) == {
        *("top fails", "red-top slips", "bend slips", "low slips"),
        *("red[red-top..bend] is cut", "blue[bend..low] is cut"),
    }


def test_it_is_the_same_said_on_the_other_rope() -> None:
    other = JOINED.replace("    joined to start of blue with double-fishermans as bend, tail 300 mm\n", "")
    other = other.replace("blue: 11 mm\n", "blue: 11 mm\n    joined to end of red with double-fishermans as bend\n")
    assert alone(other) == alone(JOINED)


def test_a_joint_tells_a_loaded_side_and_can_be_named_as_one() -> None:
    """The bend is the only knot on that side of the device; written or not, it grips towards the bend."""
    for said in ("", ", load from bend"):
        text = BACKED_UP.replace("tied to sam.waist with figure-eight as low", f"gripped by d{said}\n    stopper")
        rig = read(text + "attach sam.waist - rope-grab d\n")
        (at,) = rig.index.at("d")
        assert (at.station.to_start, at.station.to_end) == (True, False)


@pytest.mark.parametrize(
    "text",
    [
        JOINED,
        BACKED_UP,
        BACKED_UP + "edge lip\nrope white\n    joined to end of green with sheet-bend as second\n    over lip\n"
        "    tied to top with bowline\n",
        JOINED.replace("tied to top with figure-eight as red-top", "gripped by b, load from end")
        + "attach top - brake b\nb: operated by jo\nperson jo: standing\n",
        JOINED.replace("    joined", "    through wheel\n    joined") + "attach side - pulley wheel\n",
        JOINED.replace("rope red: 11 mm", "rope red: tag line"),
        # three lengths, the middle one with no station of its own but its joints
        JOINED.replace("tied to sam.waist with figure-eight as low", "joined to end of low-rope with sheet-bend")
        + "rope low-rope\n    tied to sam.waist with figure-eight as low\n",
    ],
)
def test_both_evaluators_tell_the_same(text: str) -> None:
    rig = read(text)
    scenarios = scenarios_of(rig, pairs=True)
    assert by_engine(rig, scenarios) == [fates(rig, one) for one in scenarios]


# -- steps


@pytest.mark.parametrize("step", ["detach bend", "detach bend from blue", "detach bend from red", "derig red"])
def test_what_parts_the_two(step: str) -> None:
    plan = read(BACKED_UP, step)
    after = plan.stages[0].steps[0].rig
    assert "bend" not in after.parts
    assert [str(s.label) for s in after.index.ropes["blue"].stations] == ["low"]
    assert "green-top slips" in alone(BACKED_UP, step)


def test_a_rope_that_is_laid_anew_is_joined_anew_or_not_at_all() -> None:
    plan = read(
        BACKED_UP,
        "rerig red\n        tied to side with bowline as red-side\n"
        "        joined to start of blue with sheet-bend as new-bend",
        "rerig blue\n        tied to sam.waist with bowline\n        joined to end of red with sheet-bend as third",
    )
    first, second = (step.rig for step in plan.stages[0].steps)
    assert [str(s.label) for s in first.index.ropes["blue"].stations] == ["new-bend", "low"]
    assert [str(s.label) for s in second.index.ropes["red"].stations] == ["red-side", "third"]
    assert "new-bend" not in second.parts


def test_while_one_is_laid_anew_the_other_hangs_on_nothing() -> None:
    """During that step the knot is open: the second rope alone holds sam."""
    told = analyser.check(read(BACKED_UP, "rerig red\n        tied to side\n        joined to start of blue as bend"))
    (meanwhile,) = told.states[1].meanwhile
    assert {str(one.id) for one in meanwhile.outcome.failures if "sam" in one.falls} >= {"green-top slips"}


def test_a_part_goes_on_a_rope_beside_its_joint() -> None:
    plan = read(BACKED_UP, "attach side - rope-grab grab to blue between bend and low, load from bend")
    rope = plan.stages[0].steps[0].rig.index.ropes["blue"]
    assert [str(s.label) for s in rope.stations] == ["bend", "grab", "low"]


def test_the_way_back_from_a_step_joins_the_two_again() -> None:
    from analyser.uses.procedure.document import procedure

    def back(step: str) -> str:
        made = procedure(analyser.check(read(BACKED_UP, step)), "joined.rig")
        return str(made.stages[0].steps[0].after.back)

    assert "Join red and blue again with double-fishermans bend" in back("detach bend")
    assert "Join red and blue again with double-fishermans bend" in back("detach bend from blue")
    assert "tied to top with figure-eight red-top; joined to blue with double-fishermans bend" in back("derig red")


# -- what is wrong


def mistakes(text: str) -> list[tuple[str, str]]:
    with pytest.raises(Unreadable) as told:
        read(text)
    return [(one.text, one.help) for one in told.value.mistakes]


BEND = "    joined to start of blue with double-fishermans as bend, tail 300 mm\n"
ONCE = "a knot that joins two ropes is said once, on one of them: take this line out"


@pytest.mark.parametrize(
    ("new", "text", "hint"),
    [
        ("    joined to start of red\n", "the rope `red` is joined to itself",
         "a loop is `closed with double-fishermans` as the last station"),
        ("    joined to end of side\n", "`side` is an anchor, and a rope is joined to a rope",
         "write `tied to side`, or name the rope"),
        ("    joined to end of bleu\n", "there is no rope called `bleu`", "did you mean `blue`?"),
        ("    joined to end of blue\n    tied to side\n", "a rope is joined at its end, and `red` goes on here",
         "make this its first or its last station; a knot in its middle is `tied to …`"),
        ("    joined to start of blue, load from start\n",
         "a knot holds whichever side is loaded: `load from` says nothing here", "take `, load from start` out"),
        (BEND + "rope grey\n    tied to side\n    joined to start of blue\n",
         "the start of `blue` is joined already (line 6)", ONCE),
        ("    joined to start of hoop\nrope hoop\n    through top\n    closed\n",
         "the rope `hoop` is closed: it has no end", "say `through` what the loop lies in"),
    ],
)  # fmt: skip
def test_what_cannot_be_joined(new: str, text: str, hint: str) -> None:
    """One message each (a rope with nothing but the joint has one station without it: that is not told as well)."""
    assert (text, hint) in mistakes(JOINED.replace(BEND, new))


def test_said_on_both_is_said_once_too_often() -> None:
    both = JOINED + "    joined to end of red with double-fishermans as bend\n"
    both = both.replace("    tied to sam.waist with figure-eight as low\n    joined", "    joined")
    text = "`bend` joins `red` and `blue` already (line 6)"
    hint = "such a knot is said once, on one of the two ropes: take this line out"
    assert mistakes(both + "    tied to sam.waist with figure-eight as low\n") == [(text, hint)]
