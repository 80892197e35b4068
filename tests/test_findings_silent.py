"""Ordinary rigs on which a rule must say nothing, each beside the nearest one on which it must.

A reviewer who is told nonsense stops reading: these are the false alarms that were met. The rigs are invented;
that their setups are ordinary is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from rigs import checked


@dataclass(frozen=True)
class Case:
    """`silent` is a rig on which the rule says nothing, and `told` its neighbour, made by replacing text,
    on which it speaks of `about`."""

    words: str
    rule: str
    silent: str
    about: str = ""
    told: tuple[tuple[str, str], ...] = ()


CASES = (
    Case(
        "an idle cow's tail on the same harness point is no attachment",
        "one-harness-point",
        """
        anchor bolt, post
        person ann: points waist
        rope line
            tied to bolt
            gripped by descender d - ann.waist
        attach ann.waist - lanyard tail - carabiner tail-crab
        """,
        "ann.waist",
        (("- carabiner tail-crab", "- carabiner tail-crab - post"),),
    ),
    Case(
        "hitches that are minded hold once they are let go, and the hand on their rope is the same job",
        "needed-twice",
        """
        anchor bolt, post
        person vic: points waist
        person jo: standing
        attach bolt - friction-hitch one
        attach bolt - friction-hitch two
        one, two: minded by jo
        rope belay
            tied to vic.waist
            gripped by one
            gripped by two
            held by jo, load from one
        """,
        "jo",
        (
            ("attach bolt - friction-hitch two", "attach bolt - brake two"),
            ("one, two: minded by jo", "one, two: operated by jo"),
        ),
    ),
    Case(
        "a leader tied to the station works the device on it for the second, whom it lets out",
        "out-of-reach",
        """
        anchor left, right
        ring station
        person lead, second: points waist
        attach left - sling a - station
        attach right - sling b - station
        attach station - brake belay
        belay: operated by lead
        rope line
            tied to lead.waist as lead-knot
            tied to station as tie-in
            gripped by belay, load from second-knot
            tied to second.waist as second-knot
        """,
        "belay",
        (("operated by lead", "operated by second"),),
    ),
    Case(
        "what hangs from one anchor on one connector all pulls one way",
        "three-way-load",
        """
        anchor bolt, post
        person ann, ben: points waist
        attach bolt - carabiner crab
        attach crab - lanyard a - ann.waist
        attach crab - lanyard b - ben.waist
        attach post - sling c - ben.waist
        """,
        "crab",
        (("attach post - sling c - ben.waist", "attach post - sling c - crab"),),
    ),
    Case(
        "two ropes through one deviation pull it one way",
        "three-way-load",
        """
        anchor left, right, wall
        person ann: points waist, chest
        attach wall - sling s - carabiner crab
        rope red
            tied to left
            through crab
            gripped by descender d - ann.waist
        rope green
            tied to right
            through crab
            gripped by rope-grab g - ann.chest
        """,
        "crab",
        (("sling s - carabiner crab", "sling s - carabiner crab - sling t - right"),),
    ),
    Case(
        "two standing ropes through one deviation don't saw on each other",
        "rope-on-rope",
        """
        anchor left, right, wall
        person ann: points waist, chest
        person jo: standing
        attach wall - sling s - carabiner crab
        rope red
            tied to left
            through crab
            gripped by descender d - ann.waist
        rope green
            tied to right
            through crab
            gripped by rope-grab g - ann.chest
        """,
        "crab",
        (("tied to left", "held by jo, load from d"),),
    ),
    Case(
        "a hand on the rope's tail below somebody doesn't make the tied rope run",
        "runs-through-connector",
        """
        anchor bolt, wall
        person ann: points waist
        person jo: standing
        attach wall - carabiner crab
        rope line
            tied to bolt
            through crab
            gripped by descender d - ann.waist
            held by jo, load from d
        """,
        "crab",
        (("tied to bolt", "gripped by brake b - bolt"), ("d - ann.waist", "d - ann.waist, load from crab")),
    ),
    Case(
        "a load on a bight: the rope is tied above and runs through the connector at the load",
        "runs-through-connector",
        """
        anchor bolt, post
        load bag
        person jo: standing
        attach bag - carabiner crab
        rope line
            tied to bolt
            through crab
            tied to post
        """,
        "crab",
        (("tied to post", "gripped by brake b - post"),),
    ),
    Case(
        "an absorber comes sewn to its lanyard",
        "textile-on-textile",
        """
        anchor bolt
        person ann: points chest
        attach ann.chest - absorber soft - lanyard arm - carabiner hook - bolt
        """,
        "arm",
        (("absorber soft", "sling soft"),),
    ),
    Case(
        "a haul line trailed from a gear loop to the ground holds nobody and is not meant to",
        "gear-only",
        """
        anchor bolt
        anchor stake: below
        person ann: points waist
        gear-loop hip: worn by ann
        attach bolt - sling s - ann.waist
        rope trail
            tied to hip
            tied to stake
        """,
        "hip",
        (("anchor stake: below", "anchor stake"),),
    ),
    Case(
        "an empty gear loop is as it should be",
        "unused-part",
        """
        anchor bolt
        person ann: points waist
        gear-loop hip: worn by ann
        attach bolt - sling s - ann.waist
        """,
        "hip",
        (("gear-loop hip", "harness hip"),),
    ),
    Case(
        "one anchor in a rock is a single point and told as one",
        "one-structure",
        """
        anchor bolt: part of rock
        person ann: points waist
        attach bolt - sling s - ann.waist
        """,
        "rock",
        (
            ("anchor bolt: part of rock", "anchor bolt, other: part of rock"),
            ("- ann.waist", "- ann.waist\n        attach other - sling t - ann.waist"),
        ),
    ),
    Case(
        "an anchor is pulled towards who hangs on it, not towards the other anchor",
        "pulled-aside",
        """
        anchor left: at (-1, 0, 10), directions down within 45 deg
        anchor right: at (1, 0, 10)
        ring master
        person ann: points waist, at (0, 0, 5)
        attach left - sling a - master
        attach right - sling b - master
        attach master - sling c - ann.waist
        """,
        "left",
        (("at (0, 0, 5)", "at (9, 0, 8)"),),
    ),
    Case(
        "spare rope with a stopper behind a brake at the top goes down nowhere",
        "rope-too-short",
        """
        anchor bolt
        person vic: points waist
        person jo: standing
        attach bolt - brake b
        b: operated by jo, self-locking
        rope red: 100 m, drop 60 m
            stopper
            gripped by b
            tied to vic.waist
        """,
        "red",
        (("100 m", "60 m"),),
    ),
    Case(
        "a haul at the top hangs no second strand down the drop",
        "rope-too-short",
        """
        anchor bolt
        person vic: points waist
        person jo: standing
        attach bolt - cam-pulley capture
        attach bolt - pulley turn
        attach friction-hitch hitch - pulley wheel
        rope red: 60 m, drop 40 m
            tied to vic.waist
            gripped by hitch
            gripped by capture
            through wheel
            through turn
            held by jo
        """,
        "red",
        (("drop 40 m", "drop 40 m, end on ground"),),
    ),
    Case(
        "the brake of a guiding line lets nobody down",
        "no-stopper",
        """
        anchor bolt, bank
        anchor stake: below
        person vic: points waist
        person jo: standing
        attach bolt - sling s - vic.waist
        attach vic.waist - pulley wheel
        attach stake - brake b
        b: operated by jo, self-locking
        rope guide
            tied to bank
            through wheel
            gripped by b
        """,
        "b",
        (("attach bolt - sling s - vic.waist", "sling s"), ("anchor stake: below", "anchor stake: not below")),
    ),
    Case(
        "a tag line over an edge holds nobody",
        "bare-edge",
        """
        anchor bolt
        edge lip
        person vic: points waist
        person jo: standing
        attach bolt - sling s - vic.waist
        rope tag
            tied to vic.waist
            over lip
            held by jo
        """,
        "lip",
        (("held by jo", "tied to bolt"),),
    ),
    Case(
        "a tag line beside padded ropes",
        "half-padded-edge",
        """
        anchor bolt
        edge lip
        pad mat
        person vic: points waist
        person jo: standing
        rope red
            tied to bolt
            over lip, padded by mat
            tied to vic.waist
        rope tag
            tied to vic.waist
            over lip
            held by jo
        """,
        "lip",
        (("held by jo", "tied to bolt"),),
    ),
    Case(
        "the anchor and the connector of a deviation that keeps a rope off an edge",
        "holds-nobody",
        """
        anchor bolt, wall
        edge ledge
        person ann: points waist
        attach wall - sling s - carabiner crab
        rope line
            tied to bolt
            through crab
            over ledge, kept clear by s
            gripped by descender d - ann.waist
        """,
        "wall",
        ((", kept clear by s", ""),),
    ),
    Case(
        "a second connector beside a contact that can't fail in the model",
        "holds-nobody",
        """
        anchor bolt
        load seat: points left, right
        attach bolt - ring eye - seat.left
        attach seat.right - carabiner crab - eye
        """,
    ),
    Case(
        "a cord with a hitch at its far end is adjustable",
        "attendant-not-adjustable",
        """
        anchor bolt
        ring master
        litter basket
        person sam: points waist, chest
        attach bolt - master - bridle legs - basket
        attach master - strap s - sam.chest
        rope cord: 7 mm
            tied to sam.waist
            gripped by friction-hitch hitch - master
        """,
        "sam",
        (("gripped by friction-hitch hitch - master", "tied to master"),),
    ),
)


def about(rule: str, text: str) -> set[str]:
    return {part for finding in checked(text).findings if finding.rule == rule for part in finding.about}


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule}: {case.words}")
def test_the_rule_is_silent(case: Case) -> None:
    assert about(case.rule, case.silent) == set()


@pytest.mark.parametrize("case", [case for case in CASES if case.told], ids=lambda case: f"{case.rule}: {case.words}")
def test_it_speaks_of_the_neighbour(case: Case) -> None:
    text = case.silent
    for old, new in case.told:
        assert old in text
        text = text.replace(old, new)
    assert case.about in about(case.rule, text)


def test_more_attachments_than_independent_ones_is_a_remark_while_two_are_left() -> None:
    text = """
        anchor bolt, post, beam
        person ann: points waist, chest, back
        attach bolt - sling a - ann.waist
        attach bolt - sling b - ann.chest
        attach post - sling c - ann.back
    """
    found = [one for one in checked(text).findings if one.rule == "fewer-independent"]
    assert [(one.severity.value, one.text) for one in found] == [
        ("note", "ann has 3 attachments, 2 independent: some of them share what can fail")
    ]


def test_a_gear_loop_has_no_buckle_to_leave_undone() -> None:
    result = checked("""
        anchor bolt
        person ann: points waist
        gear-loop hip: worn by ann
        attach bolt - sling s - ann.waist
    """)
    assert "hip fails" not in {slip.failure for slip in result.slips}
