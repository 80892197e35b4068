"""What drops elsewhere, asked of a rig that has one end of a body alone: the same whether that rig is asked, or the one
that has the whole body."""

from __future__ import annotations

from random_systems import random_system

import analyser
from analyser.holding.system import RigSystem
from analyser.holding.tipping import tippable
from analyser.rig.model import Effects, Rig

TWO_LITTERS = """
rig "Two litters side by side"  # invented
anchor left, right, beam-bolt
litter one: points head, foot, ends head | foot
litter two: points head, foot, ends head | foot
attach left - strap one-head - one.head
attach left - strap one-foot - one.foot
attach right - strap two-head - two.head
attach right - strap two-foot - two.foot
"""


def differ(rig: Rig) -> list[tuple[str, dict[str, int], dict[str, int]]]:
    """Halves of which the two ways tell otherwise."""
    system = RigSystem(rig)
    effects = [Effects(), *(failure.effects for failure in rig.failures)]
    rows = [(one, 1 << column) for column, one in enumerate(effects)]
    found = []
    for seesaws in system.tipping.seesaws.values():
        for half in (half for seesaw in seesaws for half in seesaw.halves):
            assert isinstance(half, RigSystem)
            asked = half.dropped(rows, len(rows))
            itself = half.tipping.dropped(rows, len(rows), half.tipping.seesaws)
            if asked != itself:
                found.append((seesaws[0].part.name, asked, itself))
    return found


def test_what_shares_only_ground_is_told_by_the_rig_that_has_the_body_whole() -> None:
    rig = analyser.read_text(TWO_LITTERS).alone
    system = RigSystem(rig)
    assert system.tipping.apart_from("one") == {"two"} and system.tipping.apart_from("two") == {"one"}
    assert not differ(rig)


def test_it_is_the_same_where_much_hangs_together() -> None:
    rigs = [random_system(seed)[1] for seed in range(810_001, 810_101)]
    several = [rig for rig in rigs if len(tippable(rig)) > 1]
    assert len(several) > 7
    assert not [one for rig in several for one in differ(rig)]
