"""The small answers that must come out, the second of two files: what runs, slackens, tips, as rigs.

Source of every expectation: the rules of holding, sections 3, 5 and 6 (`analyser/holding/rules.md`); how such
systems are rigged is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from rigs import rig_of

from analyser.checking.calling import At
from analyser.checking.scenario import after_failures
from analyser.holding.fate import Fate, Kind, worst
from analyser.holding.outcome import Outcome, assess, what_if
from analyser.rig.model import Rig


def kind(rig: Rig, body: str, *failures: str) -> Kind:
    """What happens to a body after these failures together."""
    return fate(rig, body, *failures).kind


def fate(rig: Rig, body: str, *failures: str) -> Fate:
    known = {failure.id: failure for failure in rig.failures}
    return what_if(rig, [known[one] for one in failures]).fate(body)


def alone(rig: Rig, outcome: Outcome, body: str) -> dict[str, Kind]:
    """What happens to a body after each single failure, where it isn't simply held."""
    found = {failure.id: failure.fate(body).kind for failure in outcome.failures}
    return {name: one for name, one in found.items() if one is not Kind.HELD}


# -- tails: stoppers, ties, hitches behind a device

TWO_BRAKES = """
    anchor left, right
    person vic: points waist
    person jo: standing
    ring master
    attach left - brake left-brake
    attach right - brake right-brake
    left-brake, right-brake: operated by jo
    {more}
    rope red
        {left}
        gripped by left-brake, load from red-knot
        tied to master as red-knot
    rope green
        {right}
        gripped by right-brake, load from green-knot
        tied to master as green-knot
    attach master - strap waist-strap - vic.waist
"""
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


# -- ends and sides


def test_a_litter_lashed_at_both_ends_to_a_load() -> None:
    """What hangs from the litter supports neither of its ends."""
    rig = rig_of("""
        anchor a, b
        litter basket: points head, foot
        load pack: points p, q
        rope head-rope
            tied to a
            tied to basket.head
        rope foot-rope
            tied to b
            tied to basket.foot
        attach basket.head - strap lashing-1 - pack.p
        attach basket.foot - strap lashing-2 - pack.q
    """)
    assert kind(rig, "basket", "a fails") is Kind.TIPS
    assert kind(rig, "basket", "b fails") is Kind.TIPS
    assert kind(rig, "basket", "a fails", "b fails") is Kind.FALLS
    assert kind(rig, "pack", "basket fails") is Kind.FALLS


def test_a_litter_whose_foot_hangs_on_a_tackle() -> None:
    rig = rig_of("""
        anchor top, capture-bolt
        ring master
        attach top - master
        litter basket: points head, foot
        attach master - strap leg - basket.head
        attach capture-bolt - cam-pulley capture
        attach basket.foot - pulley lower
        rope tackle
            tied to master
            through lower
            gripped by capture, load from lower
            stopper as far
    """)
    assert fate(rig, "basket", "capture slips") == Fate(Kind.TIPS, ("far",))
    assert kind(rig, "basket", "leg fails") is Kind.TIPS
    assert assess(rig).body("basket").fate.kind is Kind.HELD


SHARED_LEGS = """
    anchor top
    ring master
    attach top - master
    litter basket: points head, foot
    rope legs
        tied to basket.head
        {master}
        tied to basket.foot
"""


def test_both_ends_on_one_rope_that_runs_freely() -> None:
    assert assess(rig_of(SHARED_LEGS.format(master="through master"))).body("basket").tips
    assert not assess(rig_of(SHARED_LEGS.format(master="tied to master"))).body("basket").tips


def test_it_tips_only_where_it_has_lost_a_support_that_it_had() -> None:
    """Hung by its head alone to begin with, it hangs as it was meant to."""
    rig = rig_of("""
        anchor top
        litter basket: points head, foot
        attach top - strap leg - basket.head
    """)
    assert assess(rig).body("basket").fate.kind is Kind.HELD


def test_sides_tip_like_ends() -> None:
    text = """
        anchor a, b
        load crate: points l, r{more}
        attach a - strap left-leg - crate.l
        attach b - strap right-leg - crate.r
    """
    assert kind(rig_of(text.format(more="")), "crate", "left-leg fails") is Kind.HELD
    assert kind(rig_of(text.format(more=", sides l | r")), "crate", "left-leg fails") is Kind.TIPS


def test_a_bar_with_ends_is_structure_and_tips() -> None:
    rig = rig_of("""
        anchor a, b
        bar beam: ends n | s
        load bag
        attach a - strap leg-1 - beam.n
        attach b - strap leg-2 - beam.s
        attach beam - sling hanger - bag
    """)
    assert [body.name for body in rig.bodies] == ["bag"]
    outcome = assess(rig)
    after = {failure.id: failure for failure in outcome.failures}
    assert after["leg-1 fails"].tips == ("beam",)
    assert after["leg-1 fails"].falls == ()
    assert after["beam fails"].falls == ("bag",)
    assert after["beam fails"].tips == ()


# -- hands on devices

IN_HAND = """
    anchor left, right
    person vic: points waist, chest
    person jo, kim: standing
    attach left - brake left-brake
    attach right - brake right-brake
    left-brake: operated by jo, self-locking
    right-brake: operated by {who}, self-locking
    rope red
        stopper
        gripped by left-brake
        tied to vic.waist
    rope green
        stopper
        gripped by right-brake
        tied to vic.chest
    stage "lower"
        take left-brake in hand
        take right-brake in hand
"""


def in_hand(who: str, more: str = "") -> Rig:
    text = IN_HAND.format(who=who) + (f"    left-brake, right-brake: {more}\n" if more else "")
    return rig_of(text).stages[0].steps[-1].rig


def test_twin_tension_with_two_operators() -> None:
    rig = in_hand("kim")
    outcome = assess(rig)
    assert {"jo holds on", "kim holds on"} <= {failure.id for failure in rig.failures}
    assert not any(failure.id.endswith("lets go") for failure in rig.failures)
    assert alone(rig, outcome, "vic") == {}
    assert outcome.hands_off_falls == ()


def test_twin_tension_in_one_persons_hands() -> None:
    rig = in_hand("jo")
    assert kind(rig, "vic", "jo holds on") is Kind.RUNS
    assert assess(rig).hands_off_falls == ()


def test_anti_panic_takes_holding_on_away() -> None:
    rig = in_hand("jo", "anti-panic")
    assert not any(failure.id.endswith("holds on") for failure in rig.failures)


HELD_OPEN = """
    anchor bolt
    person sam: points waist
    person jo: standing
    attach bolt - rope-grab capture
    capture: {how}
    rope line
        stopper as end
        gripped by capture
        tied to sam.waist
    stage "Down"
        hold open capture, by jo
        let capture grip
"""


@pytest.mark.parametrize("how", ["self-locking", "operated by jo, self-locking", "minded by jo"])
def test_a_device_held_open_does_not_grip_whoever_lets_go(how: str) -> None:
    held, let_grip = (step.rig for step in rig_of(HELD_OPEN.format(how=how)).stages[0].steps)
    assert assess(held).body("sam").fate == Fate(Kind.RUNS, ("end",))
    assert not [
        failure.id for failure in held.failures if failure.part in ("jo", "capture") and failure.mode != "fails"
    ]
    assert assess(held).hands_off_falls == ("sam",)
    assert assess(let_grip).body("sam").held
    assert let_grip.parts["capture"] == rig_of(HELD_OPEN.format(how=how)).parts["capture"]


def test_a_loaded_brake_that_a_step_opens() -> None:
    rig = rig_of("""
        anchor bolt
        person sam: points waist
        attach bolt - brake device
        device: self-locking
        rope line
            stopper as end
            gripped by device
            tied to sam.waist
        stage "open"
            open device
    """)
    opened = rig.stages[0].steps[-1].rig
    assert assess(rig).body("sam").fate.kind is Kind.HELD
    assert assess(opened).body("sam").fate == Fate(Kind.RUNS, ("end",))
    assert not assess(opened).body("sam").held


def test_hands_off_tries_every_set_of_people() -> None:
    """Somebody who lets go alone may leave it worse than all together; here both devices need a hand each."""
    rig = rig_of(
        TWO_BRAKES.format(**STOPPERS).replace(
            "left-brake, right-brake: operated by jo",
            """
    person kim: standing
    left-brake: operated by jo
    right-brake: operated by kim""",
        )
    )
    outcome = assess(rig)
    assert outcome.body("vic").independent == 1  # the ring and the strap
    assert outcome.hands_off_falls == ("vic",)
    assert kind(rig, "vic", "jo lets go") is Kind.HELD


# -- by what


def test_by_what_a_body_is_held_all_that_hold_equally() -> None:
    rig = rig_of("""
        anchor a, b, c
        ring master
        litter basket: points head
        rope red
            tied to a
            tied to master
        rope green
            tied to b
            tied to master
        attach c - strap tag-strap - master
        attach master - strap leg - basket.head
    """)
    outcome = assess(rig)
    hold = outcome.hold("basket")
    assert hold is not None
    assert hold.through == ("leg", "master")
    assert set(hold.any_of) == {("red",), ("green",), ("tag-strap",)}
    red = [f for f in rig.failures if f.id.startswith("red[")]
    after = outcome.hold("basket", red)
    assert after is not None
    assert set(after.any_of) == {("green",), ("tag-strap",)}
    assert outcome.hold("basket", [f for f in rig.failures if f.id == "leg fails"]) is None


def test_the_kinds_are_in_their_order_the_worst_first() -> None:
    assert [str(one) for one in Kind] == [
        *("falls", "only by a person", "only by another's weight", "runs", "to the ground"),
        *("turns over", "tips", "drops", "slackens", "held"),
    ]
    assert [one for one in Kind if one.not_held][-1] is Kind.TO_THE_GROUND
    assert worst([Fate(Kind.SLACKENS), Fate(Kind.RUNS, ("end",)), Fate(Kind.HELD)]) == Fate(Kind.RUNS, ("end",))


# -- several bodies asked after at once, and a body's ends asked one at a time


def test_a_knot_on_somebodys_harness_holds_nothing_for_another_body() -> None:
    rig = rig_of("""
        anchor bolt
        person jo: standing
        friction-hitch grip: operated by jo
        carabiner spare
        litter basket: points head, foot
        person sam: points chest
        rope one
            tied to spare as one-knot
            gripped by grip
        rope two
            through basket.foot
            through sam.chest
            tied to sam.chest as two-knot
            gripped by grip
            closed with double-fishermans as two-loop
        rope three
            tied to bolt as three-knot
            gripped by grip
        attach sam.chest - basket.foot
    """)
    assert kind(rig, "sam", "two[two-knot..grip] is cut") is Kind.HELD
    assert kind(rig, "basket", "two[two-knot..grip] is cut") is Kind.BY_A_PERSON


def test_an_end_sinks_when_a_knot_at_the_other_end_of_its_ring_lets_rope_go() -> None:
    rig = rig_of("""
        anchor left, right
        litter basket: points head, foot
        rope ring
            tied to basket.foot as foot-knot
            tied to right as top
            through basket.head
            closed with double-fishermans as loop
        attach left - basket.foot
    """)
    assert kind(rig, "basket", "foot-knot slips") is Kind.SLACKENS
    assert kind(rig, "basket", "top slips") is Kind.TIPS


def test_what_hangs_between_the_ends_of_a_bar_drops_when_it_tips() -> None:
    bar = """
        anchor left, right, far
        bar yoke: points port, middle, starboard, ends port | starboard
        person ann: points waist
        attach left - strap one - yoke.port
        attach right - strap two - yoke.starboard
        attach yoke.middle - strap three - ann.waist
    """
    rig = rig_of(bar)
    assert alone(rig, assess(rig), "ann") == {
        **dict.fromkeys(("left fails", "one fails", "right fails", "two fails"), Kind.SLACKENS),
        **dict.fromkeys(("three fails", "yoke fails"), Kind.FALLS),
    }
    rig = rig_of(bar + "    attach far - strap four - yoke.middle\n")
    assert kind(rig, "ann", "one fails") is Kind.HELD, "the middle hangs from a strap of its own"


def test_what_if_names_the_bar_that_tips() -> None:
    rig = rig_of("""
        anchor left, right
        bar yoke: points port, starboard, ends port | starboard
        person ann: points waist
        attach left - strap one - yoke.port
        attach right - strap two - yoke.starboard
        attach yoke.starboard - strap three - ann.waist
    """)
    failures = {failure.id: failure for failure in rig.failures}
    assert after_failures(At(rig, 0), [failures["one fails"]]).bars_that_tip == ("yoke",)
    assert after_failures(At(rig, 0), [failures["yoke fails"]]).bars_that_tip == ()


def test_two_ropes_that_meet_in_a_loose_ring_are_one_rope_that_runs() -> None:
    rig = rig_of("""
        anchor left, right
        load crate: points one, two, ends one | two
        ring middle
        rope red
            tied to crate.one as red-low
            through left
            tied to middle as red-end
        rope green
            tied to crate.two as green-low
            through right
            tied to middle as green-end
    """)
    assert kind(rig, "crate") is Kind.TIPS


def test_an_absorber_joins_nothing_that_hangs_still() -> None:
    """The far end of the rope is tied to what only an absorber joins to the load: rope runs until that has opened."""
    rig = rig_of("""
        anchor left
        load crate: points one, two
        pulley wheel
        attach wheel - crate.one
        rope red
            tied to left as red-top
            through wheel
            tied to slip as red-end
        ring loose
        attach loose - lanyard slip - absorber tear - crate.two
    """)
    assert kind(rig, "crate") is Kind.SLACKENS


def test_an_end_knows_what_the_other_end_held_up() -> None:
    """A ring that stood by the other end of the same litter, and hangs on rope that must first come to its stopper."""
    rig = rig_of("""
        anchor near, far
        ring middle
        litter basket: points head, foot
        rope red
            tied to basket.head with bowline as red-low
            tied to near as red-top
            through middle
            stopper
        rope green
            tied to middle as green-top
            tied to basket.foot with bowline as green-low
        attach far - basket.head
    """)
    assert kind(rig, "basket") is Kind.HELD
    assert kind(rig, "basket", "far fails") is Kind.SLACKENS
    assert kind(rig, "basket", "basket fails") is Kind.HELD


def test_an_end_sinks_when_its_tackle_loses_a_wheel_at_the_master_ring() -> None:
    """A foot on a small tackle below the ring from which the head hangs: without one wheel the rope is too long."""
    rig = rig_of("""
        anchor bolt
        ring master
        litter basket: points head, foot
        attach bolt - strap top - master
        attach master - sling leg - basket.head
        attach master - pulley high
        pulley low
        attach low - sling foot-leg - basket.foot
        attach master - brake grab
        grab: self-locking
        rope fours
            tied to master as fours-end
            through low
            through high
            through low
            gripped by grab
            stopper
    """)
    assert kind(rig, "basket") is Kind.HELD
    assert kind(rig, "basket", "high fails") is Kind.SLACKENS
    assert kind(rig, "basket", "low fails") is Kind.TIPS
