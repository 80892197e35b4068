"""The second evaluator by itself: the small answers of practice, as readable rigs.

Source of every expectation in the tables: the design's own page, section 5. Physics beside it is common practice, no
source.
"""

from __future__ import annotations

from pathlib import Path

from balance import BY_PERSON, BY_WEIGHT, FALLS, HOLDS, RUNS, SLACKENS, TIPS, told
from rigs import rig_of

import analyser

EXAMPLES = Path(__file__).parent.parent / "examples"

TWO_BRAKES = """
    anchor left, right
    person jo: standing
    person vic: points waist, chest
    attach left - carabiner left-crab - brake left-brake
    attach right - carabiner right-crab - brake right-brake
    left-brake, right-brake: operated by jo
    {more}
    rope red
        tied to vic.waist with figure-eight
        gripped by left-brake
        {red}
    rope green
        tied to vic.chest with figure-eight
        gripped by right-brake
        {green}
"""


def test_two_plain_brakes_in_one_hand() -> None:
    stoppers = TWO_BRAKES.format(more="", red="stopper", green="stopper")
    assert told(stoppers, "vic") == HOLDS
    assert told(stoppers, "vic", "jo lets go") == RUNS
    tied = TWO_BRAKES.format(
        more="anchor rear", red="tied to rear with round-turn", green="tied to rear with round-turn"
    )
    assert told(tied.replace("gripped by left-brake", "gripped by left-brake, tail towards red-round-turn")
                .replace("gripped by right-brake", "gripped by right-brake, tail towards green-round-turn"),
                "vic", "jo lets go") == RUNS  # fmt: skip
    assert told(TWO_BRAKES.format(more="", red="", green=""), "vic", "jo lets go") == FALLS


def test_a_friction_hitch_behind_each_brake_on_the_same_anchor() -> None:
    rig = TWO_BRAKES.format(
        more="attach left - sling a - friction-hitch ha\n    attach right - sling b - friction-hitch hb",
        red="gripped by ha",
        green="gripped by hb",
    )
    rig = rig.replace("gripped by left-brake", "gripped by left-brake, tail towards ha")
    rig = rig.replace("gripped by right-brake", "gripped by right-brake, tail towards hb")
    assert told(rig, "vic", "jo lets go") == HOLDS


BLOCKED = """
    anchor top
    person vic: points waist
    attach top - ring eye
    rope red
        stopper as block
        through eye
        gripped by descender dev - vic.waist, load from eye
        stopper
"""


def test_a_knot_block_behind_a_ring() -> None:
    assert told(BLOCKED, "vic") == HOLDS
    assert told(BLOCKED, "vic", "dev slips") == RUNS
    assert told(BLOCKED, "vic", "block slips") == FALLS


def test_a_descender_on_a_rope_with_a_stopper() -> None:
    rig = """
        anchor top
        person vic: points waist
        rope red
            tied to top with figure-eight
            gripped by descender dev - vic.waist
            stopper
    """
    assert told(rig, "vic") == HOLDS
    assert told(rig, "vic", "dev slips") == RUNS
    assert told(rig, "vic", "dev slips", "red-stopper slips") == FALLS


def test_two_climbers_to_one_trunk_base() -> None:
    rig = """
        anchor limb-1, limb-2
        anchor base: below
        person ann, ben: points waist
        attach limb-1 - ring ring-1
        attach limb-2 - ring ring-2
        rope one
            tied to ann.waist with figure-eight
            through ring-1
            tied to base with round-turn
        rope two
            tied to ben.waist with figure-eight
            through ring-2
            tied to base with round-turn
    """
    assert told(rig, "ann") == HOLDS
    assert told(rig, "ann", "limb-1 fails") == FALLS
    assert told(rig, "ben", "limb-1 fails") == HOLDS


DEVIATION = """
    anchor left, right, side
    edge rib
    person sam: points waist, chest
    attach side - sling turn-sling - carabiner turn
    rope red
        tied to left with figure-eight
        through turn
        over rib, kept clear by turn
        tied to sam.waist with bowline
    rope green
        tied to right with figure-eight
        through turn
        over rib, kept clear by turn
        tied to sam.chest with bowline
"""


def test_one_deviation_bolt_keeps_two_ropes_off_a_rib() -> None:
    assert told(DEVIATION, "sam") == HOLDS
    assert told(DEVIATION, "sam", "rib cuts") == HOLDS
    assert told(DEVIATION, "sam", "side fails") == SLACKENS
    assert told(DEVIATION, "sam", "side fails", "rib cuts") == FALLS
    assert told(DEVIATION, "sam", "turn-sling fails", "rib cuts") == FALLS


A_FRAME = """
    anchor left, right, rear
    footing heel-1, heel-2
    a-frame horse: feet heel-1, heel-2, guyed by back
    edge brow
    person sam: points waist, chest
    attach horse - pulley wheel-1
    attach horse - pulley wheel-2
    rope back
        tied to rear with round-turn
        tied to horse with clove-hitch
    rope red
        tied to left with figure-eight
        through wheel-1
        over brow, kept clear by wheel-1
        tied to sam.waist with bowline
    rope green
        tied to right with figure-eight
        through wheel-2
        over brow, kept clear by wheel-2
        tied to sam.chest with bowline
"""


def test_an_a_frame_over_the_brow() -> None:
    assert told(A_FRAME, "sam", "brow cuts") == HOLDS
    assert told(A_FRAME, "sam", "heel-1 fails") == SLACKENS
    assert told(A_FRAME, "sam", "heel-1 fails", "brow cuts") == FALLS


def test_a_litter_lashed_at_both_ends_to_a_load() -> None:
    rig = """
        anchor left, right
        litter basket: points head, foot
        load crate: points eye, lug
        attach basket.head - strap lash-1 - crate.eye
        attach basket.foot - strap lash-2 - crate.lug
        rope red
            tied to left with figure-eight
            tied to carabiner head-crab - basket.head with figure-eight as head-knot
        rope green
            tied to right with figure-eight
            tied to carabiner foot-crab - basket.foot with figure-eight as foot-knot
    """
    assert told(rig, "basket") == HOLDS
    assert told(rig, "basket", "head-knot slips") == TIPS
    assert told(rig, "basket", "head-crab fails") == TIPS


def test_both_ends_on_one_rope_that_runs_freely() -> None:
    rig = """
        anchor top
        litter basket: points head, foot
        attach top - pulley wheel
        rope red
            tied to basket.head with bowline
            through wheel
            tied to basket.foot with bowline
    """
    assert told(rig, "basket") == TIPS
    upright = """
        anchor top
        litter basket: points head, foot
        attach top - sling up - basket.head
    """
    assert told(upright, "basket") == HOLDS


DECK = """
    anchor left, right
    load deck: points one, two, rail, ends one | two
    person sam: points waist
    attach left - strap hoist-1 - deck.one
    attach right - strap hoist-2 - deck.two
    attach deck.rail - lanyard tie - sam.waist
"""


def test_clipped_once_to_a_deck() -> None:
    rig = rig_of(DECK)
    assert told(rig, "sam") == HOLDS
    assert told(rig, "deck", "hoist-1 fails") == TIPS
    assert told(rig, "sam", "tie fails") == FALLS


def test_feet_on_a_deck_that_hangs() -> None:
    lou = rig_of(DECK + "    person lou: stands on deck, points waist\n    attach deck.rail - lanyard lo - lou.waist\n")
    assert told(lou, "lou") == HOLDS
    assert told(lou, "lou", "lo fails") == HOLDS
    assert told(lou, "lou", "hoist-1 fails") == SLACKENS
    assert told(lou, "lou", "hoist-1 fails", "lo fails") == FALLS


def test_a_litters_foot_on_a_two_to_one() -> None:
    rig = """
        anchor left, right
        litter basket: points head, foot
        attach left - strap up - basket.head
        attach basket.foot - carabiner foot-crab - pulley foot-wheel
        attach right - cam-pulley capture
        rope red
            tied to right with figure-eight as standing-end
            through foot-wheel
            gripped by capture
            stopper
    """
    assert told(rig, "basket") == HOLDS
    assert told(rig, "basket", "capture slips") == TIPS
    assert told(rig, "basket", "up fails") == TIPS
    assert told(rig, "basket", "up fails", "capture slips") == RUNS


TWIN = """
    anchor left, right
    person jo, kim: standing
    person vic: points waist, chest
    attach left - brake one
    attach right - brake two
    one: operated by jo, self-locking
    two: operated by {second}, self-locking
    rope red
        tied to vic.waist with figure-eight
        gripped by one
    rope green
        tied to vic.chest with figure-eight
        gripped by two
"""


def test_haul_with_capture_on_the_anchor() -> None:
    rig = """
        anchor top
        person jo: standing
        person vic: points waist
        attach top - cam-pulley capture
        attach friction-hitch haul-grab - pulley haul-wheel
        rope main
            tied to vic.waist with figure-eight
            gripped by haul-grab
            gripped by capture
            through haul-wheel
            held by jo
    """
    assert told(rig, "vic") == HOLDS
    assert told(rig, "vic", "haul-grab slips") == HOLDS
    assert told(rig, "vic", "capture slips") == BY_PERSON


def test_a_hand_ascender_above_a_chest_ascender() -> None:
    rig = """
        anchor top
        person sam: points waist, chest
        attach sam.waist - lanyard long - ascender hand
        attach sam.chest - ascender chest
        rope red
            tied to top with figure-eight as up
            gripped by hand, load from up
            gripped by chest, load from up
    """
    assert told(rig, "sam", "hand slips") == HOLDS
    assert told(rig, "sam", "chest slips") == HOLDS


TAIL = """
    anchor one, two
    person vic: points waist
    attach one - carabiner brake-crab - brake main
    main: self-locking
    {hitch}
    rope red
        tied to vic.waist with figure-eight as tie-in
        gripped by main, load from tie-in
        {tail}
"""


def test_a_brakes_tail_on_another_bolt() -> None:
    tied = TAIL.format(hitch="", tail="tied to two with figure-eight as tail")
    for failure in ("one fails", "brake-crab fails", "main slips", "main fails"):
        assert told(tied, "vic", failure) == RUNS
    gripped = TAIL.format(hitch="attach two - friction-hitch hitch", tail="gripped by hitch")
    for failure in ("one fails", "brake-crab fails", "main slips", "main fails"):
        assert told(gripped, "vic", failure) == SLACKENS


def test_an_autoblock_on_the_belayers_own_harness() -> None:
    rig = """
        anchor one, two
        person jo: standing, points loop
        person vic: points waist
        attach one - carabiner brake-crab - brake main
        main: operated by jo
        attach jo.loop - carabiner block-crab - friction-hitch block
        rope red
            tied to vic.waist with figure-eight as tie-in
            gripped by main, load from tie-in
            gripped by block
            tied to two with figure-eight as tail
    """
    assert told(rig, "vic", "main slips") == RUNS


def test_a_pre_tensioned_tie_back() -> None:
    rig = """
        anchor front, rear
        person vic: points waist
        ring master
        attach front - sling front-sling - master
        attach master - pulley front-wheel
        attach rear - carabiner rear-crab - pulley rear-wheel
        rope tackle
            tied to master with bowline
            through rear-wheel
            through front-wheel
            tied to rear-crab with bowline
        rope red
            tied to master with figure-eight
            tied to vic.waist with figure-eight
    """
    assert told(rig, "vic") == HOLDS
    assert told(rig, "vic", "front fails") == SLACKENS


def test_a_backup_bolt_on_the_same_rope() -> None:
    rig = """
        anchor main, backup
        person vic: points waist
        rope red
            tied to backup with figure-eight
            tied to main with butterfly
            tied to vic.waist with figure-eight
    """
    assert told(rig, "vic", "main fails") == SLACKENS
    assert told(rig, "vic", "backup fails") == HOLDS


def test_both_anchors_written_under_the_worker() -> None:
    rig = """
        anchor left, right
            left: at (0, 0, 0)
            right: at (1, 0, 0)
        person sam: at (0, 0, 6), points waist, chest
        rope red
            tied to left with figure-eight
            tied to sam.waist with figure-eight
        attach right - lanyard tie - sam.chest
    """
    assert told(rig, "sam") == FALLS
    assert told(rig.replace("(0, 0, 6)", "(0, 0, -6)"), "sam") == HOLDS


def test_main_and_belay_over_one_high_directional() -> None:
    rig = """
        anchor left, right, high
        person vic: points waist, chest
        attach high - carabiner high-crab - plate board
        attach board - pulley one
        attach board - pulley two
        rope red
            tied to left with figure-eight
            through one
            tied to vic.waist with figure-eight
        rope green
            tied to right with figure-eight
            through two
            tied to vic.chest with figure-eight
    """
    assert told(rig, "vic") == HOLDS
    assert told(rig, "vic", "high fails") == SLACKENS
    assert told(rig, "vic", "one fails") == HOLDS


def test_a_three_bolt_sliding_sling() -> None:
    rig = """
        anchor a, b, c
        person vic: points waist
        carabiner master
        attach a - carabiner crab-a
        attach b - carabiner crab-b
        attach c - carabiner crab-c
        rope sliding
            through crab-a
            through master
            through crab-b
            through master
            through crab-c
            through master
            closed with double-fishermans as bend
        attach master - vic.waist
    """
    assert told(rig, "vic") == HOLDS
    assert told(rig, "vic", "b fails") == SLACKENS
    assert told(rig, "vic", "bend slips") == FALLS


def test_a_hitch_below_ones_own_device() -> None:
    rig = """
        anchor top
        person sam: points waist, leg
        attach sam.waist - carabiner waist-crab - descender dev
        attach sam.leg - carabiner leg-crab - friction-hitch hitch
        rope red
            tied to top with figure-eight as up
            gripped by dev, load from up
            gripped by hitch
            stopper
    """
    assert told(rig, "sam", "dev slips") == HOLDS
    assert told(rig, "sam", "waist-crab fails") == HOLDS
    assert told(rig, "sam", "dev slips", "hitch slips") == RUNS


FOCUS = """
    anchor left, right, rear
    person vic: points waist
    ring focus
    attach focus - pulley wheel
    rope main
        tied to rear with figure-eight
        through wheel
        tied to vic.waist with figure-eight
"""


def test_a_floating_focal_point() -> None:
    two = """
    rope left-guy
        tied to left with figure-eight as left-knot
        tied to focus with figure-eight as left-end
    rope right-guy
        tied to right with figure-eight as right-knot
        tied to focus with figure-eight as right-end
    """
    # By the page's words the focal point still stands apart on the guy that is left; how far it swings is
    # for the forces to say.
    assert told(FOCUS + two, "vic", "left fails") == HOLDS
    assert told(FOCUS + two, "vic", "left fails", "right fails") == SLACKENS
    running = """
    rope guy
        tied to left with figure-eight as left-knot
        through focus
        tied to right with figure-eight as right-knot
    """
    # What runs on a rope that is held at both ends keeps its place on it, and comes down with it.
    assert told(FOCUS + running, "vic", "left fails") == SLACKENS


def test_rope_that_must_first_run_through_a_hand() -> None:
    rig = """
        anchor top, rear
        person jo: standing
        person vic: points waist
        attach top - pulley wheel
        rope red
            tied to vic.waist with figure-eight as tie-in
            through wheel
            held by jo, load from tie-in
            tied to rear with figure-eight
    """
    assert told(rig, "vic") == RUNS
    assert told(rig.replace("tied to rear with figure-eight", "stopper"), "vic") == RUNS


def test_a_plain_two_rope_lower() -> None:
    """Nothing slackens, tips or runs, but for the one ring: and then both people are on their tails."""
    rig = analyser.read(EXAMPLES / "litter-lower.rig")
    for body in ("vic", "sam", "basket"):
        odd = {failure.id for failure in rig.failures if told(rig, body, failure.id) != HOLDS}
        assert odd == {"master fails"}
    assert told(rig, "vic", "master fails") == SLACKENS


def test_a_tripods_foot() -> None:
    rig = analyser.read(EXAMPLES / "tripod-raise.rig")
    assert told(rig, "ola", "east-foot fails") == SLACKENS
    assert told(rig, "ola", "back-wall fails") == HOLDS
    assert told(rig, "ola", "capture slips") == HOLDS
    assert told(rig, "ola", "back-wall fails", "capture slips") == RUNS  # the stopper comes up to the wheel


def test_two_masses_over_one_pulley() -> None:
    rig = """
        anchor top
        load left, right
        attach top - pulley wheel
        rope line
            tied to left
            through wheel
            tied to right
    """
    assert told(rig, "left") == BY_WEIGHT


def test_slack_and_absorbers_carry_nothing_by_their_own_word() -> None:
    rig = """
        anchor left, right
        person sam: points waist, chest
        rope red
            tied to left with figure-eight
            tied to sam.waist with figure-eight
        rope green
            tied to right with figure-eight
            slack 0.5 m
            tied to sam.chest with figure-eight
    """
    assert told(rig, "sam") == HOLDS
    assert told(rig, "sam", "left fails") == SLACKENS
    assert told(rig, "sam", "right fails") == HOLDS


def test_losing_footing_never_does_better_than_slackens() -> None:
    rig = """
        anchor bolt
        person sam: standing, exposed, points waist
        attach bolt - lanyard tie - sam.waist
    """
    assert told(rig, "sam") == HOLDS
    assert told(rig, "sam", "sam loses footing") == SLACKENS
    assert told(rig, "sam", "sam loses footing", "bolt fails") == FALLS
