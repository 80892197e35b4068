"""The words of changing over: a part put on a rope, a knot with several loops, who does a step.

Every answer here was made by hand from `holding/rules.md` before it was run. All rigs are invented.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import analyser
from analyser.checking.results import Result
from analyser.holding.fate import Fate, Kind
from analyser.language.mistakes import Place, Unreadable
from analyser.language.parsing import parse_text
from analyser.language.spelling import spelt
from analyser.language.syntax import StageBlock
from analyser.rig.catalogue import catalogue
from analyser.rig.model import Rope

RIG = """rig "Two ropes"
anchor top, side, low-bolt
person sam: 80 kg, points waist, chest
person kim, jo: standing
edge lip
attach sam.waist - carabiner crab - descender rack
attach sam.chest - lanyard cow - rope-grab follower
attach side - sling hold - rope-grab grab
rack, follower: self-locking
rope main: 11 mm, 60 m
    tied to top with figure-eight as upper
    gripped by rack, load from upper
    over lip
    stopper as low
rope spare: 11 mm
    tied to side with figure-eight as spare-top
    stopper as spare-end
"""


def read(*steps: str) -> analyser.Plan:
    lines = "".join(f"    {step}\n" for step in steps)
    return analyser.read_text(f'{RIG}stage "Over"\n{lines}', "words.rig", Path())


def after(*steps: str) -> analyser.Rig:
    return read(*steps).stages[0].steps[-1].rig


def wrong(*steps: str) -> list[tuple[str, str]]:
    with pytest.raises(Unreadable) as told:
        read(*steps)
    return [(one.text, one.help) for one in told.value.mistakes]


def rope_in(rig: analyser.Rig, name: str) -> Rope:
    """A rope without the places of what is written."""
    nowhere = Place("", 0)
    rope = rig.index.ropes[name]
    return replace(rope, place=nowhere, stations=tuple(replace(one, place=nowhere) for one in rope.stations))


@pytest.mark.parametrize(
    ("put", "laid"),
    [
        ("attach grab to main between rack and lip, load from upper",
         ["tied to top with figure-eight as upper", "gripped by rack, load from upper",
          "gripped by grab, load from upper", "over lip", "stopper as low"]),
        ("attach grab to main between lip and rack, load from upper",
         ["tied to top with figure-eight as upper", "gripped by rack, load from upper",
          "gripped by grab, load from upper", "over lip", "stopper as low"]),
        ("attach grab to main between upper and rack",
         ["tied to top with figure-eight as upper", "gripped by grab", "gripped by rack, load from upper", "over lip",
          "stopper as low"]),
        ("attach grab to main between low and end, load from start",
         ["tied to top with figure-eight as upper", "gripped by rack, load from upper", "over lip", "stopper as low",
          "gripped by grab, load from start"]),
        ("attach grab to main between start and upper, both ways",
         ["gripped by grab, both ways", "tied to top with figure-eight as upper", "gripped by rack, load from upper",
          "over lip", "stopper as low"]),
        ("attach hold to main between rack and lip, slack 0.3 m, clear of lip",
         ["tied to top with figure-eight as upper", "gripped by rack, load from upper", "slack 0.3 m", "through hold",
          "over lip, kept clear by hold", "stopper as low"]),
        ("attach low-bolt to main between lip and low with butterfly as bight, tail 0.4 m",
         ["tied to top with figure-eight as upper", "gripped by rack, load from upper", "over lip",
          "tied to low-bolt with butterfly as bight, tail 0.4 m", "stopper as low"]),
        ("attach kim to main between rack and lip, load from upper",
         ["tied to top with figure-eight as upper", "gripped by rack, load from upper",
          "held by kim, load from upper", "over lip", "stopper as low"]),
    ],
)  # fmt: skip
def test_put_on_a_rope_is_the_rope_laid_anew_with_it(put: str, laid: list[str]) -> None:
    one, other = after(put), after("rerig main", *(f"    {line}" for line in laid))
    assert rope_in(one, "main") == rope_in(other, "main")
    assert {(c.a, c.b) for c in one.contacts} == {(c.a, c.b) for c in other.contacts}
    assert {one.id for one in one.failures} == {one.id for one in other.failures}


def held(result: Result, state: int) -> tuple[int, list[str]]:
    """Of sam: the fewest failures that bring him down, and those that do so alone."""
    outcome = result.states[state].outcome
    (body,) = (one for one in outcome.bodies if one.name == "sam")
    return body.smallest_failure_set or 0, sorted(str(one.id) for one in outcome.failures if "sam" in one.falls)


def test_a_second_rope_holds_from_the_step_that_puts_the_grab_on_it() -> None:
    """State 0: the descender's side alone. State 1: the follower is on the spare rope, whose knot is on `side`;
    what drops him is one of each side. Where the descender slips in state 0, sam runs to the stopper."""
    result = analyser.check(read("attach follower to spare between spare-top and spare-end, load from spare-top"))
    first = ["crab fails", "lip cuts", "main[upper..rack] is cut", "rack fails", "rack slips", "top fails"]
    first.append("upper slips")
    first.remove("lip cuts")  # it lies below the rack: that end of the rope carries nobody
    assert held(result, 0) == (1, first)
    order, alone = held(result, 1)
    assert (order, alone) == (2, [])


def test_the_wrong_way_round_it_runs_out() -> None:
    """A grab that grips against the rope's free end only, on a rope with no knot in its end: once the other rope is
    gone it runs through, and sam falls. With the knot he runs to it; held he is by neither."""
    free = RIG.replace("    stopper as spare-end", "    over lip")
    step = "    attach follower to spare between spare-top and SECOND, load from end\n"
    for text, second, then in ((free, "lip", Fate(Kind.FALLS)), (RIG, "spare-end", Fate(Kind.RUNS, ("spare-end",)))):
        plan = analyser.read_text(f'{text}stage "Over"\n{step.replace("SECOND", second)}', "words.rig", Path())
        result = analyser.check(plan)
        assert held(result, 1)[0] == 1
        (top,) = (one for one in result.states[1].outcome.failures if one.id == "top fails")
        assert dict(top.fates)["sam"] == then


def test_a_knot_in_the_bight_holds_what_is_below_it_when_the_top_fails() -> None:
    """With a bight below the descender on a bolt of its own the rope holds from below too, once it comes tight: the
    descender grips towards the top alone, so the top still drops him."""
    result = analyser.check(read("attach low-bolt to main between rack and lip with butterfly as bight"))
    assert "top fails" in held(result, 1)[1]


def test_what_was_done_to_the_rope_stays() -> None:
    """Paid out, locked off: a part put on the rope is no rope laid anew."""
    rig = after("pay out main by 0.4 m", "lock off rack", "attach grab to main between rack and lip, load from upper")
    assert dict(rig.index.ropes["main"].quantities)["let out"].si == 0.4
    assert rig.parts["rack"].self_locking
    opened = after("open grab", "attach grab to main between rack and lip, load from upper")
    assert opened.index.ropes["main"].stations[2].to_start, "an opened device that is put on a rope grips it"


@pytest.mark.parametrize(
    ("step", "text", "hint"),
    [
        ("attach grab to main between upper and lip, load from upper",
         "between `upper` and `lip` lies `rack` on `main` here",
         "name two neighbours: `between upper and rack` or `between rack and lip`"),
        ("attach grab to main between low and low", "`low` and `low` are one station",
         "name the two that it comes between"),
        ("attach grab to main between uper and rack", "the rope `main` has no station called `uper` here",
         "did you mean `upper`?"),
        ("attach grab to mian between upper and rack", "there is no rope called `mian`", "did you mean `main`?"),
        ("attach grab to main between rack and lip, clear of rack", "the rope `main` does not pass over `rack` here",
         "it passes lip"),
        ("attach lip to spare between spare-top and spare-end", "`lip` is an edge: a rope passes over it",
         "write `over lip`"),
        ("lock off rack, by kimm", "there is no person called `kimm`", "did you mean `kim`?"),
        ("lock off rack, by grab", "`grab` is a rope-grab, not a person",
         "name a person: `sam` or `kim` or `jo`"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told(step: str, text: str, hint: str) -> None:
    assert (text, hint) in wrong(step)


def test_what_is_advised_can_be_followed() -> None:
    (told,) = wrong("attach grab to main between upper and lip, load from upper")
    for place in ("between upper and rack", "between rack and lip"):
        assert place in told[1]
        assert after(f"attach grab to main {place}, load from upper")


# -- who does it


def test_who_takes_a_device_in_hand_works_it_from_then_on() -> None:
    """`rack` holds by itself, in kim's hand too when kim lets go: it runs while kim holds it open. With no knot in the
    rope's end to run to, that drops sam."""
    steps = "    take rack in hand, by kim\n    take rack in hand, by jo\n    lock off rack, by jo\n"
    text = RIG.replace("    stopper as low\n", "")
    result = analyser.check(analyser.read_text(f'{text}stage "Over"\n{steps}', "words.rig", Path()))
    for state, hand in ((0, []), (1, ["kim holds on"]), (2, ["jo holds on"]), (3, [])):
        assert [one for one in held(result, state)[1] if one.startswith(("kim", "jo"))] == hand


def test_a_third_hand_is_told() -> None:
    """Kim has both hands on devices and is to clip something too; jo's hands are free."""
    text = RIG.replace("rack, follower: self-locking", "rack, follower: operated by kim")
    text = text.replace("stopper as spare-end", "gripped by follower, load from spare-top\n    stopper as spare-end")
    for who, crowded in (("kim", True), ("jo", False)):
        plan = analyser.read_text(f'{text}stage "Over"\n    attach hold - cow, by {who}\n', "words.rig", Path())
        told = [one for one in analyser.check(plan).states[1].findings if one.rule == "too-much-at-once"]
        assert bool(told) is crowded
        if told:
            assert "needs a third hand of kim" in told[0].text


def test_who_does_it_is_in_the_procedure_and_on_the_cards() -> None:
    from analyser.uses.procedure.document import procedure

    plan = read("attach hold - cow, by kim", 'check "cow is on", by jo, kim')
    made = procedure(analyser.check(plan), "words.rig")
    steps = [(step.words, step.by) for stage in made.stages for step in stage.steps]
    assert steps == [("Attach hold – cow", ("kim",)), ("cow is on", ("jo", "kim"))]
    assert {one.name: one.does for one in made.people} == {"jo": ("does 1.2",), "kim": ("does 1.1, 1.2",), "sam": ()}
    taken = procedure(
        analyser.check(
            read("attach follower to spare between spare-top and spare-end", "pay out main by 0.3 m, by kim")
        ),
        "words.rig",
    )
    back = taken.stages[0].steps[1].after.back
    assert "Take in main by 0.3 m" in str(back) and ", by kim" not in str(back)


# -- one knot, several things


MASTER = """rig "Three legs"
anchor a, b, c
ring hub
person sam: points waist, chest
attach hub - strap s - sam.waist
rope legs: 8 mm
    tied to hub with overhand as master
    through carabiner crab-a - a
    again master
    through carabiner crab-b - b
    again master
    through carabiner crab-c - c
    closed with double-fishermans as bend
"""


def alone(text: str, body: str = "sam") -> set[str]:
    outcome = analyser.check(analyser.read_text(text, "words.rig", Path())).states[0].outcome
    return {str(one.id) for one in outcome.failures if body in one.falls}


def test_one_knot_with_three_loops_is_one_part() -> None:
    """The master knot is one thing: with it hub and legs part. No anchor, carabiner or strand does it alone."""
    assert alone(MASTER) == {"hub fails", "s fails", "master slips"}


def test_a_knot_tied_to_two_things_holds_by_either() -> None:
    """One overhand round both anchors: either anchor holds it, and the knot alone drops her."""
    text = """rig "Two anchors"
anchor a, b
person sam: points waist
rope line: 11 mm
    tied to a and b with overhand as knot
    tied to sam.waist with figure-eight as low
"""
    assert alone(text) == {"knot slips", "low slips", "line[knot..low] is cut"}


@pytest.mark.parametrize(
    ("old", "new", "text", "hint"),
    [
        ("    again master\n    through carabiner crab-b", "    again mastre\n    through carabiner crab-b",
         "the rope `legs` has no knot called `mastre` above this station", "name one: `again master`"),
        ("    through carabiner crab-a - a\n    again", "    again",
         "the rope comes to `master` right after `master`: there is no loop between",
         "say what the loop runs through: `through left-crab`, or take this line out"),
    ],
)  # fmt: skip
def test_a_knot_that_is_not_there_again(old: str, new: str, text: str, hint: str) -> None:
    with pytest.raises(Unreadable) as told:
        analyser.read_text(MASTER.replace(old, new, 1), "words.rig", Path())
    assert [(one.text, one.help) for one in told.value.mistakes] == [(text, hint)]


# -- written back


@pytest.mark.parametrize(
    "step",
    [
        "attach side - rope-grab g (self-locking, 12 kN) to main between rack and lip, load from upper, by kim",
        "attach low-bolt to main between lip and low with butterfly as bight, tail 0.4 m, clear of lip, by kim, jo",
        "attach side - a carabiner (locking) - cow, by jo",
        "detach cow from side, by kim",
        "take in main by 0.3 m, by kim",
        "move lip to (0, 1, 2), by jo",
        'check "on", by kim',
    ],
)
def test_a_step_is_spelt_as_it_is_written(step: str) -> None:
    document = parse_text(f'rig "a"\nstage "b"\n    {step}\n'.encode(), "a.rig", None, set(catalogue()))
    assert not document.mistakes
    (block,) = (one for one in document.statements if isinstance(one, StageBlock))
    assert spelt(block) == ['stage "b"', f"    {step}"]
    assert block.steps[0].words == step


def test_attributes_in_a_chain_are_the_part_s() -> None:
    rig = after("attach side - carabiner big (locking, 30 kN) - cow", "attach hold - a sling (length 1.2 m) - crab")
    assert rig.parts["big"].locking is True and dict(rig.parts["big"].quantities)["strength"].si == 30_000
    assert dict(rig.parts["hold-sling"].quantities)["length"].si == 1.2
