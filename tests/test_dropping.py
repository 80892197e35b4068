"""What drops elsewhere, asked of a rig that has one end of a body alone: as the rig tells that has the whole body."""

from __future__ import annotations

from random_systems import random_system

import analyser
from analyser.holding.system import RigSystem
from analyser.holding.tipping import tippable
from analyser.rig.model import Effects

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


def test_what_drops_beside_the_whole_body_drops_beside_each_end() -> None:
    """And what the rest of the body alone holds up drops there too."""
    rigs = [random_system(seed)[1] for seed in range(810_001, 810_101)]
    several = [rig for rig in (analyser.read_text(TWO_LITTERS).alone, *rigs) if len(tippable(rig)) > 1]
    assert len(several) > 8
    for rig in several:
        system = RigSystem(rig)
        for name, seesaws in system.tipping.seesaws.items():
            own = {name, *rig.parts[name].points}
            effects = [Effects(), *(one.effects for one in rig.failures if own.isdisjoint(one.effects.gone))]
            rows = [(one, 1 << column) for column, one in enumerate(effects)]
            beside = [other for other in system.tipping.seesaws if other != name]
            whole = system.dropped(rows, len(rows), beside, once=True)
            for half in (half for seesaw in seesaws for half in seesaw.halves):
                assert isinstance(half, RigSystem)
                told = half.dropped(rows, len(rows))
                assert all(not bits & ~told.get(point, 0) for point, bits in whole.items())


def test_what_befalls_the_body_itself_does_not_count_against_it() -> None:
    rig = analyser.read_text(TWO_LITTERS).alone
    system = RigSystem(rig)
    gone = next(one.effects for one in rig.failures if one.id == "two fails")
    (half, _) = system.tipping.seesaws["one"][0].halves
    assert not half.dropped([(gone, 1)], 1)  # its own points go with it
    strap = next(one.effects for one in rig.failures if one.id == "two-foot fails")
    assert half.dropped([(strap, 1)], 1) == {"two.foot": 1}
