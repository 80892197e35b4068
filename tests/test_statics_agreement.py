"""Statics and the rules of holding: they agree on ordinary rigs, and say so where they don't."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from statics import statics_of
from test_statics_properties import random_rig

from analyser.forces import Case, after, every_single
from analyser.forces.agreeing import disagreements

LOWER = """
    anchor left: at (-0.6, 0, 12)
    anchor right: at (0.6, 0, 12)
    person vic: 80 kg
    person sam: 85 kg, points waist, chest, at (0, 0.4, 3)
    person jo: standing
    litter basket: 15 kg, points head-left, head-right, foot-left, foot-right
    ring master: at (0, 0, 4)
    attach left - carabiner left-crab - brake left-brake
    attach right - carabiner right-crab - brake right-brake
    left-brake, right-brake: operated by jo, self-locking
    rope red
        gripped by left-brake
        tied to master with bowline as red-bowline
        tied to carabiner vic-crab - vic with figure-eight as red-tail
    rope green: 20 m
        gripped by right-brake
        tied to master with bowline as green-bowline
        gripped by descender device - sam.waist
        stopper
    vic: at (0, 0, 3.2)
    basket: at (0, 0, 3.2)
    device: operated by sam, self-locking
    interlock red-bowline, green-bowline
    attach master - strap sam-strap - sam.chest
    attach master - strap leg-1 - basket.head-left
    attach master - strap leg-2 - basket.head-right
    attach master - strap leg-3 - basket.foot-left
    attach master - strap leg-4 - basket.foot-right
    attach basket - strap lashing - vic
    sam-strap, leg-1, leg-2, leg-3, leg-4: length 1.4 m
"""


def test_every_single_failure_of_a_litter_lower() -> None:
    statics = statics_of(LOWER)
    assert disagreements(statics.rig, statics.equilibrium()) == ()
    for failure in statics.rig.failures:
        told = after(statics, [failure])
        assert told.accepted, failure.id
        differ = disagreements(statics.rig, told.equilibrium, failure.effects)
        if failure.id == "master fails":  # the litter then hangs from its patient, by the lashing
            assert [(one.body, one.held_by_rules) for one in differ] == [("basket", False)]
            assert "hangs from a person" in differ[0].why
        else:
            assert differ == (), failure.id
    drops = {one.failures[0]: {body.name: body.drop for body in one.moved} for one in every_single(statics)}
    assert 0 < drops["left fails"]["sam"] < 1


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_random_rigs_and_their_single_failures(seed: int) -> None:
    statics = statics_of(random_rig(seed))
    base = statics.equilibrium()
    for failure in statics.rig.failures:
        told = statics.equilibrium(Case(failure.effects), base)
        assert told.accepted
        for one in disagreements(statics.rig, told, failure.effects):
            assert one.why


def test_a_jam_is_a_disagreement_with_its_reason() -> None:
    statics = statics_of("""
        anchor bolt: at (0, 0, 10)
        load a: 100 kg, points eye, at (0, 0, 5)
        load b: 60 kg, points eye, at (0, 0, 4)
        rope red
            tied to a.eye with bowline
            through pulley wheel - bolt
            tied to b.eye with bowline
    """)
    told = disagreements(statics.rig, statics.equilibrium())
    assert [(one.body, one.held_by_rules, one.held_by_statics) for one in told] == [
        ("a", False, True),
        ("b", False, True),
    ]
    assert all("jams" in one.why for one in told)
