"""A holdfast in line: it fails as its front does, and loses in steps."""

from __future__ import annotations

import pytest
from balance import fate as balanced
from rigs import rig_of

import analyser
from analyser.holding.fate import Kind
from analyser.holding.outcome import what_if
from analyser.language.formatting import laid_out
from analyser.rig.catalogue import catalogue
from analyser.rig.model import Rig

PICKETS = """
    anchor front, middle, rear: not below
    holdfast pickets: in line front, middle, rear
    load crate: 80 kg, points eye
    attach pickets - shackle pin - crate.eye
"""
TIED_BACK = """
    anchor post, tree: not below
    holdfast block: in line post, back
    rope back
        tied to tree with bowline as tree-knot
        tied to block with bowline as back-knot
    load crate: 80 kg, points eye
    attach block - shackle pin - crate.eye
    stage "Take the tie-back out"
        derig back
"""
LOADED = """
    anchor front, middle, rear: not below
    holdfast pickets: in line front, middle, rear, strength 8 kN, at (0, 0, 5)
    load crate: 80 kg, points eye, at (0, 0, 0)
    rope tie: 11 mm, strength 30 kN, 6 m, stretch 3 % at 150 kg
        tied to pickets with bowline
        tied to crate.eye with bowline
"""


def kind(rig: Rig, *failures: str) -> Kind:
    events = [one for one in rig.failures if one.id in failures]
    found = dict(what_if(rig, events).fates)["crate"].kind
    assert balanced(rig, "crate", events) == str(found), "the second evaluator"
    return found


@pytest.mark.parametrize(
    ("failures", "then"),
    [
        ((), Kind.HELD),
        (("front fails",), Kind.FALLS),
        (("middle fails",), Kind.SLACKENS),
        (("rear fails",), Kind.SLACKENS),
        (("middle fails", "rear fails"), Kind.SLACKENS),
        (("front fails", "rear fails"), Kind.FALLS),
        (("pickets fails",), Kind.FALLS),
    ],
)
def test_it_fails_as_its_front_does_and_gives_as_the_others_go(failures: tuple[str, ...], then: Kind) -> None:
    assert kind(rig_of(PICKETS), *failures) is then


def test_what_must_be_left_of_it_is_said_beside() -> None:
    rig = rig_of(PICKETS.replace("middle, rear\n    load", "middle, rear, needs front, middle\n    load"))
    assert kind(rig, "middle fails") is Kind.FALLS
    assert kind(rig, "rear fails") is Kind.SLACKENS


def test_the_first_bears_alone_whatever_is_behind_it() -> None:
    result = analyser.check(rig_of(PICKETS))
    body = result.states[0].outcome.bodies[0]
    assert body.attachments == body.independent == 1
    assert {one.id for one in result.failures if one.falls} == {"front fails", "pickets fails", "pin fails"}


def test_a_rope_in_the_line_goes_and_leaves_a_gap() -> None:
    result = analyser.check(rig_of(TIED_BACK))
    first, after = (state.rig for state in result.states)
    assert kind(first, "tree fails") is kind(first, "back[tree-knot..back-knot] is cut") is Kind.SLACKENS
    assert [need.parts for need in after.parts["block"].needs] == [("post",)]
    assert kind(after) is Kind.HELD
    assert kind(after, "post fails") is Kind.FALLS


def test_behind_a_gap_nothing_is_laced_to_the_front() -> None:
    need = rig_of(PICKETS).parts["pickets"].needs[0]
    assert need.without({"middle"}).parts == ("front",)
    assert need.without({"front"}).parts == ()
    assert need.without({"front"}).asked(still=False) == (1, ())


def test_the_strength_of_a_line_is_not_that_of_what_is_left() -> None:
    asked = "    require strength factor at least 5 on pickets after any 1 failure\n"
    one = analyser.check(rig_of(LOADED + asked)).requirements[0]
    assert not one.met
    assert [words for words in one.because if "whole line" in words] == [
        "not checked: after middle fails and rear fails, what pickets still bears: "
        "its strength is that of the whole line"
    ]
    whole = analyser.check(rig_of(LOADED + "    require strength factor at least 5 on pickets\n")).requirements[0]
    assert whole.met


def test_it_is_laid_out_as_written() -> None:
    text = 'rig "P"\nanchor front, rear\nholdfast pickets: in line front, rear\n'
    assert laid_out(text.replace(": in", ":   in").encode(), "p.rig", catalogue()) == text
