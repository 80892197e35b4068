"""What the desk tells of each body: held, one from falling, running to a stopper, as the command's requirements say."""

from __future__ import annotations

import random

import pytest
from desk_client import EXAMPLES
from random_rigs import random_rig_text
from rigs import rig_of, shipped

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.glance import Glances
from analyser.checking.required_holding import held
from analyser.doors.desk.told import at_a_glance, checked, failures_of, supposed
from analyser.holding.outcome import assess
from analyser.language.identities import spoken
from analyser.rig.model import Requirement


def test_a_glance_says_what_the_check_says() -> None:
    """Over the examples: who is held, and what alone brings them down, is the same in both."""
    for path in sorted(EXAMPLES.glob("*.rig")):
        rig = analyser.read(path)
        glance = at_a_glance(rig, Glances())
        told = checked(shipped(path), path.name)["states"][0]["bodies"]
        assert [(b["name"], b["fate"], sorted(b["alone"])) for b in glance["bodies"]] == [
            (b["name"], b["fate"], sorted(b["alone"]) if b["fate"] != "falls" else []) for b in told
        ], path.name


TWO_BRAKES = """rig "Two brakes in one pair of hands"
anchor left, right
person ann: points waist
person kim: standing
brake red-brake, green-brake: operated by kim
attach left - red-brake
attach right - green-brake
rope red
    tied to ann.waist with figure-eight
    gripped by red-brake
    stopper as red-stop
rope green
    tied to ann.waist with figure-eight
    gripped by green-brake
    stopper as green-stop
"""


def test_whoever_runs_to_a_stopper_is_not_told_as_held() -> None:
    rig = rig_of(TWO_BRAKES)
    (ann,) = at_a_glance(rig, Glances())["bodies"]
    assert (ann["fate"], ann["alone"]) == ("one", ["kim lets go"])
    assert checked(analyse(rig), "rig")["states"][0]["bodies"][0]["fate"] == "one"
    said = supposed(rig, failures_of(rig, ["kim lets go"]), "rig")
    assert said["fates"] == {"ann": "runs"}
    told = supposed(rig, failures_of(rig, ["left fails"]), "rig")
    assert told["fates"] == {"ann": "one"}


@pytest.mark.parametrize("seed", range(20))
def test_who_is_not_held_is_what_the_requirement_says(seed: int) -> None:
    """The desk asks sweeps, the requirement the search for failure sets: they name the same failures."""
    rig = rig_of(random_rig_text(random.Random(seed), 1 + seed % 4)).alone
    asked = Requirement("held", "everyone held after any 1 failure", rig.place, number=1)
    outcome = assess(rig)
    names = [part.name for part in rig.bodies]
    reasons = [one.words for one in held(asked, rig, outcome, names, (), None)]
    said = [(failure, body["name"]) for body in at_a_glance(rig, Glances())["bodies"] for failure in body["alone"]]
    assert all(any(one.startswith(f"{spoken(failure)}: {body} ") for one in reasons) for failure, body in said)
    assert len(said) == sum(not one.startswith("nothing failed: ") for one in reasons)
