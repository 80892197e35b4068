"""The small answers that must come out, the first of three files: who is held by what is connected, as rigs.

Source of every expectation in this file: the rules of holding, section 6 (`analyser/holding/rules.md`), and
statics: each can be worked out by hand with that page. What runs, slackens or tips is in `test_fates.py`.
"""

from __future__ import annotations

import pytest
from rigs import checked, criticals, falls, rig_of, sets_of

from analyser.holding.fate import Kind
from analyser.holding.outcome import assess, what_if


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
    # what holds a frame up is its feet alone, whatever else is tied to it
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
    assert {f.rule for f in result.findings if "sam" in f.bodies} == {"only-by-person", "person-as-anchor"}


LIMBS = """
    anchor limb-1, limb-2
    anchor base: below
    person ann, ben: points waist
    {link}
    rope a
        tied to ann.waist
        through limb-1
        tied to {base}
    rope b
        tied to ben.waist
        through limb-2
        tied to {base}
"""


@pytest.mark.parametrize(("link", "base"), [("", "base"), ("attach base - carabiner low", "low")])
def test_two_climbers_over_limbs_of_their_own_down_to_one_base(link: str, base: str) -> None:
    """What lies below keeps a line's end and passes nothing on: the other's line holds nobody through it."""
    result = checked(LIMBS.format(link=link, base=base))
    assert falls(result, "limb-1 fails") == ("ann",)
    assert falls(result, "limb-2 fails") == ("ben",)


def test_a_rope_down_through_a_low_redirect_and_up_to_the_body() -> None:
    """The body's own strand pulls it down."""
    rope = """
        anchor top
        anchor floor: below
        person sam: points waist
        attach floor - pulley low
        rope line
            tied to top
            through low
            tied to sam.waist
    """
    assert not checked(rope).body("sam").held
    assert checked(rope.replace("floor: below", "floor")).body("sam").held


ENDLESS = """
    anchor head-bolt, wall
    anchor floor: below
    attach head-bolt - pulley head
    attach floor - pulley tension
    load arbor: points top, foot
    rope line
        tied to arbor.top as upper
        through head
        {lock}
        through tension
        tied to arbor.foot as lower
"""


def test_an_arbor_on_an_endless_line() -> None:
    """The two strands pull it both ways: it circulates, unless one of them is locked."""
    assert not checked(ENDLESS.format(lock="")).body("arbor").held
    locked = checked(ENDLESS.format(lock="gripped by rope-grab lock - wall, load from head"))
    assert locked.body("arbor").held
    assert falls(locked, "lock slips") == ("arbor",)


def test_an_end_that_hangs_from_the_pulley_that_redirects_its_rope() -> None:
    """Hung from above is not anchored against a pull upwards: the pulley rises with its own rope."""
    result = checked("""
        anchor top
        load bag, weight
        attach bag - ring eye
        rope lift
            tied to bag as bag-knot
            through top
            through pulley low
            tied to low as low-knot
        rope hang
            tied to low
            tied to weight
    """)
    assert not result.body("bag").held


def test_a_cord_between_two_knots_is_rope_like_any_other() -> None:
    """It pulls and never pushes: a load on top of a cord to ground below is not held by it."""
    result = checked("""
        anchor top
        anchor floor: below
        load bag: points eye, lug
        rope cord
            tied to floor
            tied to bag.lug
    """)
    assert not result.body("bag").held


def test_a_strap_to_ground_below_pulls_and_makes_nothing_low() -> None:
    """Tied down by a strap, a redirect may stand as high as it likes; clipped to the bolt it lies low."""
    rope = """
        anchor top
        anchor floor: below
        load bag
        ring eye
        attach floor - {link} - eye
        rope line
            tied to top
            through eye
            tied to bag
    """
    assert checked(rope.format(link="strap down")).body("bag").held
    assert not checked(rope.format(link="carabiner down")).body("bag").held


def test_a_failure_that_happens_to_help_is_not_counted_on() -> None:
    """With the low redirect gone the rope would run straight and hold: what happens is the worst of both."""
    result = checked("""
        anchor top
        anchor floor: below
        load bag
        attach floor - pulley low
        rope line
            tied to top
            through low
            tied to bag
    """)
    assert not result.body("bag").held
    assert falls(result, "low fails") == falls(result, "floor fails") == ("bag",)
    assert result.body("bag").smallest_failure_set == 0


def test_one_order_of_heights_for_all_ropes() -> None:
    """The ring would have to lie above the plate for one rope and below it for the other."""
    result = checked("""
        anchor top
        load bag
        ring eye
        plate flat
        attach flat - bag
        rope one
            tied to top
            through flat
            tied to eye
        rope two
            tied to eye
            tied to flat
    """)
    assert result.body("bag").held is False


def test_places_decide_who_is_higher() -> None:
    """Both anchors 6 m under the worker, by their places."""
    rig = """
        anchor left: at (0, 0, {z})
        anchor right: at (1, 0, {z})
        person sam: points waist, chest, at (0.5, 0, 10)
        rope red
            tied to left
            tied to sam.waist
        rope green
            tied to right
            tied to sam.chest
    """
    assert checked(rig.format(z=12)).body("sam").held
    assert not checked(rig.format(z=4)).body("sam").held


def test_below_for_one_body_alone() -> None:
    outcome = assess(
        rig_of("""
            anchor ledge: below sam
            person sam, vic: points waist
            attach ledge - strap a - sam.waist
            attach ledge - strap b - vic.waist
        """)
    )
    assert [body.name for body in outcome.bodies if body.held] == ["vic"]


def test_a_tag_line_is_never_a_way_of_being_held() -> None:
    text = """
        anchor top, side
        load bag
        rope main
            tied to top
            tied to bag
        rope steering{more}
            tied to side
            tied to bag
    """
    assert assess(rig_of(text.format(more=""))).body("bag").independent == 2
    outcome = assess(rig_of(text.format(more=": tag line, 8 mm")))
    assert outcome.body("bag").independent == 1
    assert {f.id for f in outcome.failures if f.falls} == {
        "top fails",
        "main-knot slips",
        "main-knot-2 slips",
        "main[main-knot..main-knot-2] is cut",
    }


def test_through_a_harness() -> None:
    """A belayer who is tied in: his loop holds the belay device, he himself still holds nobody."""
    text = """
        anchor top, tree
        person jo: standing
        harness loop: worn by jo{more}
        person cy: points waist
        attach tree - sling tie - loop
        attach loop - carabiner crab - brake belay
        belay: operated by jo, self-locking
        rope line
            tied to cy.waist
            through top
            gripped by belay
    """
    rig = rig_of(text.format(more=""))
    assert not assess(rig).body("cy").held
    assert assess(rig).body("cy").only_by_person
    outcome = assess(rig_of(text.format(more=", carries through")))
    assert outcome.body("cy").held
    assert {"tree fails", "tie fails", "loop fails", "crab fails"} <= {f.id for f in outcome.failures if f.falls}


def test_only_by_anothers_weight() -> None:
    """A counterweight is told, and never counted."""
    result = checked("""
        anchor top
        load left, right
        attach top - pulley wheel
        rope line
            tied to left
            through wheel
            tied to right
    """)
    assert {body.fate.kind for body in result.states[0].outcome.bodies} == {Kind.BY_ANOTHERS_WEIGHT}
    assert not result.body("left").held


DECK = """
    anchor left, right
    load deck: points n, s
    person lou: points waist
    rope port
        tied to left
        gripped by descender port-hoist - deck.n
    rope starboard
        tied to right
        gripped by descender starboard-hoist - deck.s
    port-hoist, starboard-hoist: self-locking
    attach deck - lanyard clip - lou.waist
"""


def test_clipped_once_to_a_deck_that_hangs_from_two_hoists() -> None:
    """A load is structure for whoever hangs from it."""
    result = checked(DECK)
    lou = result.body("lou")
    assert (lou.attachments, lou.independent) == (1, 1)
    assert falls(result, "deck fails") == ("lou",)
    assert criticals(result, "lou") == {"deck fails", "clip fails"}


def test_standing_on_a_deck() -> None:
    """The feet hold only while the deck is held and level, and are no attachment."""
    text = DECK.replace("attach deck - lanyard clip - lou.waist", "").replace(
        "lou: points", "lou: stands on deck, points"
    )
    stands = rig_of(text.replace("deck: points n, s", "deck: points n, s, ends n | s"))
    lou = assess(stands).body("lou")
    assert lou.held
    assert lou.attachments == 0
    both = [f for f in stands.failures if f.id in ("port-hoist slips", "starboard-hoist slips")]
    assert what_if(stands, both).fate("lou").kind is Kind.FALLS
    assert what_if(stands, both[:1]).fate("lou").kind is Kind.FALLS  # it tips
    on_feet = next(f for f in stands.failures if f.id == "lou loses footing")
    assert what_if(stands, [on_feet]).fate("lou").kind is Kind.FALLS
