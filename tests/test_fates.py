"""The small answers that must come out, the second of three files: what runs, slackens, tips, as rigs.

Source of every expectation: the rules of holding, sections 3, 5 and 6 (`analyser/holding/rules.md`); how such
systems are rigged is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from rigs import TWO_BRAKES, alone, checked, fate, kind, rig_of

from analyser.holding.fate import Fate, Kind
from analyser.holding.outcome import assess
from analyser.rig.model import Rig

# -- tails: stoppers, ties, hitches behind a device

STOPPERS = {"left": "stopper", "right": "stopper", "more": ""}
TIED = {"left": "tied to left as left-tail", "right": "tied to right as right-tail", "more": ""}
HITCHES = {
    "left": "stopper\n        gripped by left-hitch",
    "right": "stopper\n        gripped by right-hitch",
    "more": "attach left - friction-hitch left-hitch\n    attach right - friction-hitch right-hitch",
}


@pytest.mark.parametrize("behind", [STOPPERS, TIED], ids=["stoppers", "tied tails"])
def test_two_plain_brakes_in_one_hand(behind: dict[str, str]) -> None:
    """What is reached only after a run is a last catch, and no attachment."""
    rig = rig_of(TWO_BRAKES.format(**behind))
    outcome = assess(rig)
    assert kind(rig, "vic", "jo lets go") is Kind.RUNS
    assert next(f for f in outcome.failures if f.id == "jo lets go").falls == ("vic",)
    assert outcome.body("vic").independent == 1
    assert outcome.hands_off_falls == ("vic",)
    assert outcome.hands_off.fate("vic").kind is Kind.RUNS


def test_what_it_runs_to_is_told_by_name() -> None:
    assert fate(rig_of(TWO_BRAKES.format(**STOPPERS)), "vic", "jo lets go").to == ("red-stopper", "green-stopper")
    assert fate(rig_of(TWO_BRAKES.format(**TIED)), "vic", "jo lets go").to == ("left-tail", "right-tail")


def test_the_same_with_a_hitch_behind_each_brake_on_the_same_anchor() -> None:
    rig = rig_of(TWO_BRAKES.format(**HITCHES))
    assert kind(rig, "vic", "jo lets go") is Kind.HELD
    assert assess(rig).hands_off_falls == ()


def test_the_same_with_nothing_behind() -> None:
    rig = rig_of(TWO_BRAKES.format(left="", right="", more=""))
    assert kind(rig, "vic", "jo lets go") is Kind.FALLS


BLOCKED = """
    anchor top
    person sam: points waist
    attach top - ring eye
    attach sam.waist - descender device
    rope line
        {block}
        through eye
        gripped by device, load from eye
        {end}
"""


def test_a_knot_that_blocks_the_rope_behind_a_ring() -> None:
    """It holds as a tie: nothing has to run first. Under a device the same knot is a last catch."""
    rig = rig_of(BLOCKED.format(block="stopper as block", end="stopper as end"))
    outcome = assess(rig)
    assert outcome.body("sam").held
    assert fate(rig, "sam", "device slips") == Fate(Kind.RUNS, ("end",))
    assert kind(rig, "sam", "block slips") is Kind.FALLS
    without = rig_of(BLOCKED.format(block="stopper as block", end=""))
    assert kind(without, "sam", "device slips") is Kind.FALLS


def test_a_descender_on_a_rope_with_a_stopper_at_its_end() -> None:
    rig = rig_of("""
        anchor bolt
        person sam: points waist
        rope line
            tied to bolt with figure-eight as top-knot
            gripped by descender device - sam.waist
            stopper as end-knot
    """)
    assert fate(rig, "sam", "device slips") == Fate(Kind.RUNS, ("end-knot",))
    assert ("device slips",) in assess(rig).failure_sets["sam"]
    assert kind(rig, "sam", "device slips", "end-knot slips") is Kind.FALLS


BRAKE_AND_BOLT = """
    anchor one, two
    person vic: points waist
    person jo: standing
    attach one - carabiner crab - brake device
    device: operated by jo
    {more}
    rope line
        tied to vic.waist as tie-in
        gripped by device, load from tie-in
        {behind}
"""


@pytest.mark.parametrize("failure", ["one fails", "crab fails", "device fails", "device slips", "jo lets go"])
def test_a_brake_with_its_tail_on_another_bolt(failure: str) -> None:
    tied = rig_of(BRAKE_AND_BOLT.format(more="", behind="tied to two as tail"))
    assert fate(tied, "vic", failure) == Fate(Kind.RUNS, ("tail",))
    hitch = rig_of(BRAKE_AND_BOLT.format(more="attach two - friction-hitch hitch", behind="gripped by hitch"))
    assert kind(hitch, "vic", failure) is Kind.SLACKENS


def test_an_autoblock_on_the_belayers_own_harness() -> None:
    """The belayer holds nobody, so the hitch on him holds no rope."""
    rig = rig_of(
        BRAKE_AND_BOLT.format(
            more="attach jo.waist - carabiner own - friction-hitch block\n    jo: points waist",
            behind="gripped by block\n        tied to two as tail",
        )
    )
    assert fate(rig, "vic", "device slips") == Fate(Kind.RUNS, ("tail",))


# -- grips that back each other up

HAUL = """
    anchor top, capture-bolt
    load bag
    person jo: standing
    attach capture-bolt - cam-pulley capture
    rope main
        tied to bag as bag-knot
        gripped by rope-grab grab - pulley wheel, load from bag-knot
        gripped by capture, load from bag-knot
        {same}
    {other}
"""


@pytest.mark.parametrize(
    ("same", "other"),
    [
        ("through wheel\n        held by jo, load from bag-knot", ""),
        ("", "rope haul\n        tied to top\n        through wheel\n        held by jo"),
    ],
    ids=["on the same rope", "piggy-back"],
)
def test_a_haul_grab_that_slips_before_the_capture(same: str, other: str) -> None:
    """A grab that hangs on the very rope it grips is never missed; bare hands hold nobody, before or after."""
    rig = rig_of(HAUL.format(same=same, other=other))
    for failure in ("grab slips", "grab fails", "jo lets go"):
        assert kind(rig, "bag", failure) is Kind.HELD
    assert kind(rig, "bag", "capture slips") is Kind.BY_A_PERSON


def test_a_hand_ascender_above_a_chest_ascender() -> None:
    rig = rig_of("""
        anchor top
        person sam: points waist, chest
        rope line
            tied to top as knot
            gripped by ascender hand - lanyard cow - sam.waist, load from knot
            gripped by ascender chest - sam.chest, load from knot
            stopper
    """)
    for failure in ("hand slips", "hand fails", "cow fails", "chest slips", "chest fails"):
        assert kind(rig, "sam", failure) is Kind.HELD
    assert assess(rig).body("sam").attachments == 2
    assert kind(rig, "sam", "hand slips", "chest slips") is Kind.RUNS


# -- slack and bends


def test_a_tie_back_that_takes_over() -> None:
    """From a weak front tree to a good rear one, its blocks and capture at the rear."""
    rig = rig_of("""
        anchor front, rear
        person vic: points waist
        attach front - sling front-sling - ring eye
        attach rear - pulley rear-wheel
        attach rear - cam-pulley capture
        attach eye - pulley front-wheel
        rope tackle
            tied to eye as eye-knot
            through rear-wheel
            through front-wheel
            gripped by capture, load from eye-knot
            stopper
        rope main
            tied to eye
            tied to vic.waist
    """)
    assert kind(rig, "vic", "front fails") is Kind.SLACKENS
    assert kind(rig, "vic", "rear fails") is Kind.HELD
    assert kind(rig, "vic", "front fails", "capture slips") is Kind.RUNS


def test_a_backup_bolt_on_the_same_rope() -> None:
    rig = rig_of("""
        anchor main, backup
        person vic: points waist
        rope line
            tied to backup
            tied to main as main-knot
            tied to vic.waist
    """)
    assert kind(rig, "vic", "main fails") is Kind.SLACKENS
    assert kind(rig, "vic", "main-knot slips") is Kind.SLACKENS
    assert kind(rig, "vic", "backup fails") is Kind.HELD


def test_main_and_belay_over_one_high_directional() -> None:
    rig = rig_of("""
        anchor left, right, high
        person vic: points waist, chest
        attach high - pulley first
        attach high - pulley second
        rope red
            tied to left
            through first
            tied to vic.waist
        rope green
            tied to right
            through second
            tied to vic.chest
    """)
    assert kind(rig, "vic", "high fails") is Kind.SLACKENS
    assert kind(rig, "vic", "first fails") is Kind.HELD  # the other rope has not moved
    assert assess(rig).body("vic").independent == 2


def test_a_sliding_sling_on_three_bolts() -> None:
    rig = rig_of("""
        anchor bolt-1, bolt-2, bolt-3
        person vic: points waist
        ring master
        rope sling
            through carabiner crab-1 - bolt-1
            through master
            through carabiner crab-2 - bolt-2
            through master
            through carabiner crab-3 - bolt-3
            through master
            closed with double-fishermans
        attach master - strap waist-strap - vic.waist
    """)
    assert kind(rig, "vic", "bolt-1 fails") is Kind.SLACKENS
    assert kind(rig, "vic", "crab-2 fails") is Kind.SLACKENS
    assert kind(rig, "vic", "sling[crab-1..master] is cut") is Kind.FALLS


def test_lines_that_carried_nothing_by_their_own_word() -> None:
    rig = rig_of("""
        anchor one, two, three
        person sam: points waist, chest
        attach one - strap work - sam.waist
        rope loose
            tied to two
            slack 0.5 m
            tied to sam.chest
    """)
    assert kind(rig, "sam", "work fails") is Kind.SLACKENS
    assert kind(rig, "sam", "two fails") is Kind.HELD
    arrest = rig_of("""
        anchor one, two
        person sam: points waist, chest
        attach one - strap work - sam.waist
        attach two - absorber tears - sam.chest
    """)
    assert kind(arrest, "sam", "work fails") is Kind.SLACKENS


def test_who_loses_footing_never_does_better_than_slackens() -> None:
    rig = rig_of("""
        anchor bolt
        person lee: standing, exposed, points waist
        attach bolt - lanyard own - lee.waist
    """)
    assert kind(rig, "lee", "lee loses footing") is Kind.SLACKENS
    assert kind(rig, "lee", "own fails") is Kind.HELD
    assert assess(rig).body("lee").attachments == 1


def test_nothing_fires_in_a_plain_two_rope_lower() -> None:
    rig = rig_of(
        TWO_BRAKES.format(left="stopper", right="stopper", more="").replace(
            "operated by jo", "operated by jo, self-locking"
        )
    )
    outcome = assess(rig)
    assert outcome.body("vic").fate.kind is Kind.HELD
    assert set(alone(rig, outcome, "vic")) == {"master fails", "waist-strap fails"}


# -- guards

OVER_A_RIB = """
    anchor left, right, side
    edge rib
    {pad}
    person vic: points waist
    attach side - sling deviation - pulley wheel
    rope red
        tied to left
        {through}
        over rib, kept clear by {guard}{padded}
        tied to vic.waist
    rope green
        tied to right
        over rib, kept clear by {guard}{padded}
        tied to vic.waist
"""


@pytest.mark.parametrize("gone", ["side fails", "deviation fails"])
@pytest.mark.parametrize("guard", ["deviation", "wheel"])
def test_one_deviation_keeps_two_ropes_off_a_rib(gone: str, guard: str) -> None:
    rig = rig_of(OVER_A_RIB.format(guard=guard, through="", pad="", padded=""))
    assert kind(rig, "vic", "rib cuts") is Kind.HELD
    assert kind(rig, "vic", "rib cuts", gone) is Kind.FALLS


def test_a_pad_guards_while_it_is_there() -> None:
    rig = rig_of(OVER_A_RIB.format(guard="deviation", through="", pad="pad mat", padded=", padded by mat"))
    assert kind(rig, "vic", "rib cuts", "side fails") is Kind.HELD
    assert kind(rig, "vic", "rib cuts", "side fails", "mat shifts") is Kind.FALLS


def test_a_guard_that_hangs_on_the_ropes_it_guards_is_none() -> None:
    rig = rig_of("""
        anchor top
        edge rib
        load bag
        ring hub
        attach hub - pulley wheel
        attach hub - bag
        rope line
            tied to top
            over rib, kept clear by wheel
            tied to hub
    """)
    assert kind(rig, "bag", "rib cuts") is Kind.FALLS


def test_a_guard_that_the_rope_was_taken_off() -> None:
    rig = rig_of(OVER_A_RIB.format(guard="wheel", through="through wheel", pad="", padded=""))
    assert kind(rig, "vic", "rib cuts") is Kind.HELD

    def off(rope_name: str) -> Rig:
        ropes = []
        for rope in rig.ropes:
            stations = tuple(
                replace(s, ran_through=("wheel",)) if rope.name == rope_name and s.guards else s for s in rope.stations
            )
            ropes.append(replace(rope, stations=stations))
        return replace(rig, ropes=tuple(ropes))

    assert kind(off("red"), "vic", "rib cuts") is Kind.HELD  # it still runs there
    assert kind(off("green"), "vic", "rib cuts") is Kind.HELD  # the other one is still clear
    bare = off("green")
    red = next(f for f in bare.failures if f.id.startswith("red[") and f.id.endswith("is cut"))
    assert kind(bare, "vic", "rib cuts", red.id) is Kind.FALLS


A_FRAME = """
    anchor left, right, back
    footing heel-1, heel-2
    a-frame legs: feet heel-1, heel-2, guyed by guy
    rope guy
        tied to back as back-knot
        tied to legs as head-knot
    attach legs - pulley first
    attach legs - pulley second
    edge brow
    person vic: points waist, chest
    rope red
        tied to left
        over brow, kept clear by first
        through first
        tied to vic.waist
    rope green
        tied to right
        over brow, kept clear by second
        through second
        tied to vic.chest
"""


@pytest.mark.parametrize("gone", ["heel-1 fails", "back fails", "head-knot slips", "legs fails"])
def test_an_a_frame_over_the_brow_carries_the_wheels(gone: str) -> None:
    """What the frame carries goes with it, guards among it; and, brow or not, everybody slackens."""
    rig = rig_of(A_FRAME)
    assert kind(rig, "vic", "brow cuts") is Kind.HELD
    assert kind(rig, "vic", gone) is Kind.SLACKENS
    assert kind(rig, "vic", gone, "brow cuts") is Kind.FALLS


def test_who_stands_on_what_hangs_on_nothing_is_not_held() -> None:
    text = """
        anchor a, b
        load deck: points l, r, ends l | r
        attach a - strap sa - deck.l
        attach b - strap sb - deck.r
        person lou: stands on deck
        stage "Off"
            detach sa
            detach sb
    """
    states = checked(text).states
    assert [one.outcome.body("lou").held for one in states] == [True, False, False]
    assert [one.outcome.body("deck").held for one in states][::2] == [True, False]
