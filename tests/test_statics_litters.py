"""Litters: attitude, legs, the tackle that tilts; against a hand derivation of the hanging triangle."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from statics import STIFF, at_rest, statics_of

from analyser.forces.assembling import Case
from analyser.forces.levelling import OutOfReach, Wished, sweep, wished
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Effects

LENGTH, WIDTH = 2.0, 0.5


def litter(head: float, foot: float, more: str = "", stretch: str = STIFF) -> str:
    """A litter of 2.0 x 0.5 m with a patient, 95 kg together, on four legs from a ring."""
    return f"""
        anchor bolt: at (0, 0, 10)
        person vic: 80 kg
        litter basket: 15 kg, length {LENGTH} m, width {WIDTH} m, points head-left, head-right, foot-left, foot-right
        ring master
        attach bolt - strap main - master
        attach master - strap leg-1 - basket.head-left
        attach master - strap leg-2 - basket.head-right
        attach master - strap leg-3 - basket.foot-left
        attach master - strap leg-4 - basket.foot-right
        attach basket - strap lashing - vic
        main: length 2 m
        leg-1, leg-2: length {head} m, {stretch}
        leg-3, leg-4: length {foot} m, {stretch}
        {more}
    """


def by_hand(head: float, foot: float, centre: float) -> tuple[float, float, float]:
    """Head-up angle in degrees, and the tension of each head and foot leg over the weight.

    In the plane of symmetry the ring and the litter are a rigid triangle, the pairs of legs as long as
    their projections; it hangs with the centre of mass (`centre` from the middle towards the head) plumb
    under the ring. Balance of forces across and along the plumb line gives the tensions. [computed]
    """
    a, b = (math.sqrt(leg**2 - (WIDTH / 2) ** 2) for leg in (head, foot))
    along = (b**2 - a**2) / (2 * LENGTH)  # the ring over the litter: towards the head
    high = math.sqrt(a**2 - (LENGTH / 2 - along) ** 2)
    head_up = math.atan2(along - centre, high)
    # angles of the two sides from the plumb line
    to_head = math.atan2(LENGTH / 2 - along, high) + math.atan2(along - centre, high)
    to_foot = math.atan2(LENGTH / 2 + along, high) - math.atan2(along - centre, high)
    total = math.sin(to_head + to_foot)
    pair_head, pair_foot = math.sin(to_foot) / total, math.sin(to_head) / total
    return math.degrees(head_up), pair_head * head / a / 2, pair_foot * foot / b / 2


@pytest.mark.parametrize(
    ("head", "foot", "along"),
    [(1.4, 1.4, 0.0), (1.3, 1.45, 0.0), (1.2, 1.6, 0.0), (1.45, 1.3, 0.0), (1.4, 1.4, 0.15), (1.3, 1.5, -0.1)],
)
def test_attitude_and_legs_against_the_hanging_triangle(head: float, foot: float, along: float) -> None:
    statics = statics_of(litter(head, foot), along={"vic": along})
    found = statics.equilibrium()
    assert found.accepted
    centre = along * 80 / 95
    angle, on_head, on_foot = by_hand(head, foot, centre)
    pose = found.pose("basket")
    weight = 95 * GRAVITY
    assert pose.head_up == pytest.approx(angle, abs=0.01)
    assert pose.roll == pytest.approx(0, abs=1e-4)
    for leg, share in (("leg-1", on_head), ("leg-2", on_head), ("leg-3", on_foot), ("leg-4", on_foot)):
        assert found.tension(leg) / weight == pytest.approx(share, rel=1e-3), leg


def test_half_the_weight_is_at_each_end() -> None:
    # facts 10.8 [computed]: the end load of a level litter is about half of (85 + 15) x 9.81: 0.49 kN
    found = at_rest("""
        anchor head-hook: at (1, 0, 3)
        anchor foot-hook: at (-1, 0, 3)
        litter basket: 100 kg, points head-mid, foot-mid
        basket.head-mid: at (1, 0, 0)
        basket.foot-mid: at (-1, 0, 0)
        attach head-hook - sling a - basket.head-mid
        attach foot-hook - sling b - basket.foot-mid
    """)
    assert found.tension("a") / 1000 == pytest.approx(0.49, abs=0.001)
    assert found.pose("basket").head_up == pytest.approx(0, abs=1e-6)


def test_a_level_rigid_load_on_four_legs_may_hang_on_two() -> None:
    # facts 1.7 [source: S9]: one leg a little short, and a diagonal pair takes all
    found = at_rest(
        litter(1.4, 1.4).replace("leg-1, leg-2: length 1.4 m", "leg-1: length 1.38 m\n        leg-2: length 1.4 m")
    )
    assert len(found.slack) >= 1
    taut = [line.name for line in found.lines if not line.slack and line.name.startswith("leg")]
    assert 2 <= len(taut) <= 3


def test_roll_is_told_with_a_side_that_is_longer() -> None:
    found = at_rest(
        litter(1.4, 1.4, stretch="stretch 3 % at 150 kg")
        .replace("leg-1, leg-2: length 1.4 m", "leg-1, leg-3: length 1.45 m")
        .replace("leg-3, leg-4: length 1.4 m", "leg-2, leg-4: length 1.35 m")
    )
    pose = found.pose("basket")
    assert pose.roll is not None and pose.roll < -1
    assert pose.head_up == pytest.approx(0, abs=1e-3)


def test_the_weight_of_a_patient_who_is_tied_past_the_ring_counts_once() -> None:
    found = at_rest(litter(1.4, 1.4, more="attach master - strap tail - vic\n        tail: length 3 m"))
    assert found.line("tail").slack
    assert found.tension("main") == pytest.approx(95 * GRAVITY)


def test_hung_by_its_head_it_hangs_upright() -> None:
    from analyser.forces import Case
    from analyser.rig.model import Effects

    statics = statics_of(litter(1.4, 1.4))
    found = statics.equilibrium(Case(Effects(gone=frozenset({"leg-3", "leg-4"}))))
    assert found.accepted
    assert found.pose("basket").head_up == pytest.approx(90, abs=0.01)
    assert found.tension("leg-1") * 2 == pytest.approx(95 * GRAVITY * 1.4 / math.sqrt(1.4**2 - 0.25**2), rel=1e-3)


def test_leg_lengths_for_a_wished_attitude() -> None:
    statics = statics_of(litter(1.4, 1.4))
    found = wished(statics, "basket", ("leg-3", "leg-4"), 5.0)
    assert isinstance(found, Wished)
    assert found.hung.head_up == pytest.approx(5, abs=1e-5)
    angle, _, _ = by_hand(1.4, found.lengths["leg-3"], 0)
    assert angle == pytest.approx(5, abs=0.02)
    too_far = wished(statics, "basket", ("leg-3", "leg-4"), 80.0, bounds=(-0.2, 0.2))
    assert isinstance(too_far, OutOfReach) and too_far.highest < 80


FOURS = """
    anchor bolt: at (0, 0, 10)
    person vic: 80 kg
    litter basket: 15 kg, at (0, 0, 7.02), points head-left, head-right, foot-left, foot-right
    ring master: at (0, 0, 8)
    attach bolt - strap main - master
    main: length 2 m
    attach master - strap leg-1 - basket.head-left
    attach master - strap leg-2 - basket.head-right
    leg-1, leg-2: length 1.42 m
    attach basket - strap lashing - vic
    # the small 4:1 in place of the foot legs: two blocks at the ring, two at the feet
    pulley low: at (-0.7, 0, 7.3)
    attach low - sling foot-1 - basket.foot-left
    attach low - sling foot-2 - basket.foot-right
    foot-1, foot-2: length 0.48 m
    attach master - pulley high
    attach master - brake lock
    rope fours: 8 mm
        tied to master with figure-eight as fours-end
        through low
        through high
        through low
        gripped by lock
"""


def test_letting_out_the_small_tackle_tilts_from_level_to_upright() -> None:
    statics = statics_of(FOURS)
    line = "fours[fours-end..lock]"
    told = sweep(statics, "basket", (line,), [0.25 * k for k in range(41)])
    assert all(one.residual < 1e-6 for one in told)
    angles = [one.head_up for one in told]
    assert abs(angles[0]) < 10 and angles[-1] > 88
    assert all(b > a - 1e-6 for a, b in pairwise(angles))
    # the tackle carries less and less, the head legs more and more, in the end all
    tackle = [one.tensions[line] for one in told]
    assert tackle[-1] < 0.02 * tackle[0]
    assert told[-1].tensions["main"] == pytest.approx(95 * GRAVITY)
    # its four strands hold the feet: four times its tension is the pull on the two slings together
    first = told[4].equilibrium
    low, high = first.at["low"], first.at["master"]
    along = [(h - w) / math.dist(low, high) for h, w in zip(high, low, strict=True)]
    slings = [first.line(name) for name in ("foot-1", "foot-2")]
    pull = [sum(s.tension * (s.places[1][i] - s.places[0][i]) / s.length for s in slings) for i in range(3)]
    assert math.hypot(*pull) == pytest.approx(4 * told[4].tensions[line], rel=1e-6)
    assert sum(a * p for a, p in zip(along, pull, strict=True)) == pytest.approx(-math.hypot(*pull), rel=1e-6)


def test_the_weight_of_who_stands_on_a_deck_rests_on_it_until_they_lose_footing() -> None:
    """Moments about the other hanger: the deck's weight in the middle, Lou's at a third (worked by hand)."""
    text = f"""
        anchor left: at (-1.5, 0, 10)
        anchor right: at (1.5, 0, 10)
        load deck: 120 kg, points n, s, ends n | s, length 3 m, width 1 m, at (0, 0, 5)
        deck.n: at (-1.5, 0, 5)
        deck.s: at (1.5, 0, 5)
        attach left - strap a - deck.n
        attach right - strap b - deck.s
        a, b: length 5 m, {STIFF}
        person lou: stands on deck, 80 kg, at (0.5, 0, 6), points waist
        attach deck - lanyard clip - lou.waist
        clip: length 2 m, {STIFF}
    """
    found = at_rest(text)
    assert found.tension("a") == pytest.approx((60 + 80 / 3) * GRAVITY, rel=0.01)
    assert found.tension("b") == pytest.approx((60 + 160 / 3) * GRAVITY, rel=0.01)
    fallen = statics_of(text).equilibrium(Case(already=Effects(unfooted=frozenset({"lou"}))))
    assert fallen.accepted and fallen.tension("clip") == pytest.approx(80 * GRAVITY, rel=0.01)


@pytest.mark.parametrize("crab", ["a-crab", "z-crab"])
def test_where_a_point_of_a_body_is_does_not_hang_on_names(crab: str) -> None:
    """A level litter on two legs of 1.80 m: 981 N / 2 / (1.5 / 1.80) = 590 N each, by the force triangle."""
    rest = at_rest(f"""
        anchor bolt: at (0, 0, 10)
        ring master: at (0, 0, 8)
        litter basket: 100 kg, points head, foot, at (0, 0, 6.5), length 2 m
        attach bolt - strap up - master
        attach master - strap leg-h - carabiner {crab} (locking) - basket.head
        attach master - strap leg-f - carabiner m-crab (locking) - basket.foot
    """)
    legs = {line.name: line.tension for line in rest.lines if line.name.startswith("leg")}
    assert all(abs(tension - 589.5) < 6 for tension in legs.values()) and len(legs) == 2
    assert abs(rest.pose("basket").head_up) < 0.1
