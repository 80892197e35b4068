"""The small answers that must come out: the table of the holding rules, row by row, as rigs.

Source of every expectation in this file: the design's own rules of holding, section 5, with which
two programs written apart from each other agreed. Physics beside it is common practice, no source.
"""

from __future__ import annotations

from rigs import checked, criticals, falls, rig_of, sets_of

from analyser.holding.system import sets_with
from analyser.rig.model import Effects


def test_person_carabiner_anchor() -> None:
    result = checked("""
        anchor bolt
        person sam: points waist
        attach bolt - carabiner crab - sam.waist
    """)
    assert criticals(result, "sam") == {"bolt fails", "crab fails"}
    assert result.body("sam").independent == 1
    assert result.body("sam").attachments == 1


TWO_ROPES_OVER_AN_EDGE = """
    anchor left, right
    edge lip
    {pad}
    person sam: points waist, chest
    rope red
        tied to left with bowline
        over lip{guard}
        tied to carabiner red-crab - sam.waist
    rope green
        tied to right with bowline
        over lip{guard}
        tied to carabiner green-crab - sam.chest
"""


def test_two_ropes_over_one_bare_edge() -> None:
    result = checked(TWO_ROPES_OVER_AN_EDGE.format(pad="", guard=""))
    assert criticals(result, "sam") == {"lip cuts"}
    assert result.body("sam").independent == 1
    assert result.body("sam").attachments == 2


def test_the_same_with_one_pad_for_both() -> None:
    result = checked(TWO_ROPES_OVER_AN_EDGE.format(pad="pad mat", guard=", padded by mat"))
    assert criticals(result, "sam") == set()
    assert frozenset({"lip cuts", "mat shifts"}) in sets_of(result, "sam", 2)
    assert result.body("sam").independent == 2  # the edge and its guard are two
    assert [f.about for f in result.findings if f.rule == "shared-edge"] == [("lip",)]  # and it is said


LITTER_ON_TAILS = """
    anchor left, right
    brake left-brake, right-brake: self-locking
    ring master
    litter basket: points head-left, head-right, foot-left, foot-right
    person vic: points waist
    person sam: points waist, chest
    attach left - left-brake
    attach right - right-brake
    rope red
        gripped by left-brake
        tied to master with bowline as red-bowline
        tied to carabiner vic-crab - vic.waist with figure-eight as red-tail
    rope green
        gripped by right-brake
        tied to master with bowline as green-bowline
        {attendant}
    interlock red-bowline, green-bowline
    attach master - strap leg-1 - basket.head-left
    attach master - strap leg-2 - basket.head-right
    attach master - strap leg-3 - basket.foot-left
    attach master - strap leg-4 - basket.foot-right
    {second}
"""


def test_interlocked_bowlines_with_tails_to_patient_and_attendant() -> None:
    result = checked(LITTER_ON_TAILS.format(attendant="tied to carabiner sam-crab - sam.waist", second=""))
    assert falls(result, "master fails") == ("basket",)


def test_attendant_on_a_descender_on_the_tail_only() -> None:
    tail = "gripped by descender sam-descender - carabiner sam-crab - sam.waist"
    result = checked(LITTER_ON_TAILS.format(attendant=tail, second=""))
    own = {
        "sam-descender fails",
        "sam-descender slips",
        "sam-crab fails",
        "green[green-bowline..sam-descender] is cut",
    }
    assert own <= criticals(result, "sam")
    with_strap = checked(LITTER_ON_TAILS.format(attendant=tail, second="attach master - strap sam-strap - sam.chest"))
    assert not own & criticals(with_strap, "sam")
    assert with_strap.body("sam").independent == 2


def test_three_to_one_with_progress_capture() -> None:
    result = checked("""
        anchor top
        cam-pulley capture
        pulley lower
        load bag
        person jo: standing
        attach top - capture
        attach lower - bag
        rope haul
            tied to bag with figure-eight as bag-knot
            gripped by capture, load from bag-knot
            through lower
            held by jo
    """)
    assert criticals(result, "bag") == {
        "top fails",
        "capture fails",
        "capture slips",
        "bag-knot slips",
        "haul[bag-knot..capture] is cut",
    }
    assert result.states[0].outcome.hands_off_falls == ()


def test_two_masses_over_one_pulley() -> None:
    bare = """
        anchor top
        load left, right
        attach top - pulley wheel
        rope line
            tied to left
            through wheel
            tied to right
    """
    result = checked(bare)
    assert not result.body("left").held
    assert not result.body("right").held
    people = """
        anchor top
        person ann: points waist
        person ben: points waist
        attach top - pulley wheel
        rope line
            tied to ann.waist
            through wheel
            tied to ben.waist
        attach ann.waist - strap between - ben.waist
    """
    result = checked(people)
    assert not result.body("ann").held
    assert not result.body("ben").held


TRACK = """
    anchor west, east{below}
    pulley runner
    load bag
    attach runner - bag
    rope track
        tied to west with bowline as west-knot
        through runner
        tied to {east} with bowline as east-knot
    {more}
"""


def test_track_line() -> None:
    result = checked(TRACK.format(below="", east="east", more=""))
    assert criticals(result, "bag") == {
        "west fails",
        "east fails",
        "west-knot slips",
        "east-knot slips",
        "track[west-knot..runner] is cut",
        "track[runner..east-knot] is cut",
        "runner fails",
    }


def test_track_line_with_its_second_anchor_below() -> None:
    result = checked(TRACK.format(below="", east="low", more="anchor low: below"))
    assert not result.body("bag").held


def test_climber_on_a_brake_at_the_ground() -> None:
    result = checked("""
        anchor top
        anchor ground: below
        brake belay: self-locking
        person cy: points waist
        attach top - pulley wheel
        attach ground - belay
        rope line
            tied to cy.waist with figure-eight as tie-in
            through wheel
            gripped by belay
    """)
    assert criticals(result, "cy") == {
        "top fails",
        "wheel fails",
        "belay fails",
        "belay slips",
        "ground fails",
        "tie-in slips",
        "line[tie-in..wheel] is cut",
        "line[wheel..belay] is cut",
    }


def test_closed_loop_of_cord() -> None:
    result = checked("""
        anchor bolt
        ring eye
        load bag
        attach eye - bag
        rope loop
            through bolt
            through eye
            closed with double-fishermans as bend
    """)
    assert result.body("bag").held
    assert criticals(result, "bag") == {
        "bend slips",
        "loop[bend..bolt] is cut",
        "loop[bolt..eye] is cut",
        "loop[eye..bend#2] is cut",
        "bolt fails",
        "eye fails",
    }


DOUBLED_ROPE = """
    anchor branch
    person cy: points waist, chest
    friction-hitch hitch
    attach branch - ring eye
    {hitch}
    rope line
        tied to cy.waist with figure-eight as tie-in
        through eye
        gripped by hitch
"""


def test_doubled_rope() -> None:
    result = checked(DOUBLED_ROPE.format(hitch="attach hitch - cy.chest"))
    common = {
        "branch fails",
        "eye fails",
        "tie-in slips",
        "hitch fails",
        "hitch slips",
        "line[tie-in..eye] is cut",
        "line[eye..hitch] is cut",
    }
    assert criticals(result, "cy") == common
    assert result.body("cy").attachments == 1
    assert result.body("cy").independent == 1


def test_doubled_rope_with_a_cord_between_hitch_and_chest() -> None:
    cord = """rope bridge
        tied to hitch with bowline as upper
        tied to cy.chest with bowline as lower"""
    result = checked(DOUBLED_ROPE.format(hitch=cord))
    assert result.body("cy").held
    assert {"hitch slips", "upper slips", "lower slips", "bridge[upper..lower] is cut"} <= criticals(result, "cy")
    assert result.body("cy").attachments == 1


def test_stopper_jams_under_a_slipping_descender() -> None:
    result = checked("""
        anchor bolt
        person sam: points waist
        rope line
            tied to bolt with figure-eight as top-knot
            gripped by descender device - sam.waist
            stopper as end-knot
    """)
    assert "device slips" not in criticals(result, "sam")
    assert frozenset({"device slips", "end-knot slips"}) in sets_of(result, "sam", 2)


def test_tripod_with_a_haul_line_to_a_far_anchor() -> None:
    result = checked("""
        anchor far
        footing a, b, c
        tripod legs: feet a, b, c
        load bag
        attach legs - sling hanger - bag
        rope haul
            tied to far with bowline as far-knot
            tied to legs with bowline as head-knot
    """)
    assert criticals(result, "bag") == {"a fails", "b fails", "c fails", "legs fails", "hanger fails"}
    assert "haul[far-knot..head-knot] is cut" not in criticals(result, "bag")


def test_attendant_clipped_only_to_the_patient() -> None:
    result = checked("""
        anchor bolt
        person vic: points waist, chest
        person sam: points waist
        attach bolt - carabiner crab - vic.waist
        attach vic.chest - strap tether - sam.waist
    """)
    assert not result.body("sam").held
    assert result.body("sam").only_by_person
    assert {f.rule for f in result.findings if "sam" in f.bodies} == {"only-by-person"}


def test_below_keeps_an_end_but_holds_nothing_up() -> None:
    rig = rig_of("""
        anchor low: below
        ring eye
        attach low - eye
    """)
    anchored, held = sets_with(rig, Effects())
    assert {"low", "eye"} <= anchored
    assert not held & {"low", "eye"}
