"""The small answers that must come out, the third of three files: ends and sides, hands, by what, several bodies.

Source of every expectation: the rules of holding, sections 3, 5 and 6 (`analyser/holding/rules.md`); how such
systems are rigged is common practice, no source.
"""

from __future__ import annotations

import pytest
from rigs import TWO_BRAKES, alone, fate, kind, rig_of

from analyser.checking.calling import At
from analyser.checking.scenario import after_failures
from analyser.holding.fate import Fate, Kind, worst
from analyser.holding.outcome import assess
from analyser.rig.model import Rig

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
        TWO_BRAKES.format(left="stopper", right="stopper", more="").replace(
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
