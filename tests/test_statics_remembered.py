"""What is remembered of one state's solves never changes what is told of another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from rigs import rig_of
from statics import statics_of

from analyser.checking.all_forces import AllForces
from analyser.checking.analysing import analyse
from analyser.forces.assembling import Case, assemble
from analyser.forces.loads import loads
from analyser.forces.remembered import Remembered, asked

STAGED = """
    anchor left: at (-1, 0, 10), strength 20 kN
    anchor right: at (1, 0, 10), strength 20 kN
    anchor spare: at (0, 1, 10)
    ring master: at (0, 0, 8)
    person sam: 90 kg, points waist, chest
    litter basket: 15 kg, points head, foot
    attach left - carabiner left-crab - strap a - master
    attach right - carabiner right-crab - strap b - master
    a, b: length 2.3 m
    attach master - strap c - sam.waist
    c: length 1 m
    attach master - strap leg-1 - basket.head
    attach master - strap leg-2 - basket.foot
    leg-1, leg-2: length 1.4 m
    require drop at most 1 m after any 1 failure
    stage "On a third line"
        sling third: length 2.2 m
        attach spare - carabiner spare-crab - third
        attach third - master
        say "ready"
        pay out leg-2 by 0.1 m
        detach third from master
        detach third from spare-crab
"""


def test_states_that_share_their_solves_tell_what_each_tells_alone() -> None:
    rig = rig_of(STAGED)
    together = analyse(rig, forces=True)
    kept = Remembered()
    fresh = 0
    for state in together.states:
        alone = loads(state.rig, failures=True)
        shared = loads(state.rig, failures=True, remembered=kept)
        own = Remembered()
        loads(state.rig, failures=True, remembered=own)
        fresh += len(own.answers)
        for other in (shared, state.loads):
            told, own = (
                AllForces(replace(together, states=(replace(state, loads=one),)), ()) for one in (other, alone)
            )
            assert told.to_dict()["states"] == own.to_dict()["states"]
    assert len(kept.answers) < fresh / 2  # and it was worth it


def test_every_number_is_part_of_the_question() -> None:
    statics = statics_of(STAGED.split("require")[0])
    assembly = assemble(statics.rig, statics.said, Case())
    network, state = assembly.network, assembly.start
    before = asked("rest", network, state)
    assert asked("near", network, state) != before != asked("rest", network, state, load=1.0)
    for holder, names in (
        (network, ("offsets", "fixed", "weights", "start", "end", "line", "rest", "rate")),
        (state, ("free", "centres", "turns")),
    ):
        for name in names:
            array = getattr(holder, name)
            flat = array.reshape(-1)
            was = flat[0]
            flat[0] = np.nextafter(was, np.inf) if array.dtype.kind == "f" else was + 1
            assert asked("rest", network, state) != before, name
            flat[0] = was
    assert asked("rest", network, state) == before
