"""What has come to lie on the ground holds nobody up but who lies there too. Common practice, no source: a load on the
ground is no anchor."""

from __future__ import annotations

from pathlib import Path

import pytest
from balance import HOLDS, fate

import analyser
from analyser.checking.analysing import analyse
from analyser.rig.model import Rig

FOUND = Path(__file__).parent / "found"
LITTER = """rig "A litter is set down"  # invented
anchor left, right: not below
ring master
attach left - strap red - master
attach right - strap green - master
litter basket: points head, foot
attach master - strap leg-1 - basket.head
attach master - strap leg-2 - basket.foot
person vic: points waist, chest
attach basket - cord lashing - vic.waist
attach basket.head - strap second - vic.chest
person att: points waist
attach master - strap att-tail - att.waist
stage "Down"
    land basket on ground
    detach leg-1 from master
    detach leg-2 from master
    detach red from left
    detach green from right
"""


def states(text: str) -> list[Rig]:
    plan = analyser.read_text(text)
    return [plan.alone, *(step.rig for stage in plan.stages for step in stage.steps)]


@pytest.mark.parametrize("name", ["a-bag-landed-under-a-man", "a-landed-bag-over-a-wheel"])
def test_a_landed_load_is_no_anchor(name: str) -> None:
    result = analyse(analyser.read(FOUND / f"{name}.rig"))
    vic = result.states[-1].outcome.body("vic")
    assert not vic.held or vic.independent == 1


def test_a_landed_litter_holds_itself_and_nobody_beside_it() -> None:
    """Who is lashed to it lies on the ground too, and is asked after no more."""
    result = analyse(analyser.read_text(LITTER))
    last = result.states[-1].outcome
    assert last.body("basket").held and not last.body("att").held
    assert "vic" not in {body.name for body in last.bodies}
    for rig, state in zip(states(LITTER), result.states, strict=True):
        for body in state.outcome.bodies:
            assert body.held == (fate(rig, body.name, []) == HOLDS), (state.number, body.name)
    ground = result.states[-1].rig.parts["ground-under-basket"]
    assert ground.holds_only == ("basket",)
