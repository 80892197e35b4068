"""What is remembered of one state's solves never changes what is told of another."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import numpy as np
import pytest
from rigs import rig_of
from statics import statics_of

import analyser
from analyser.checking.all_forces import AllForces
from analyser.checking.analysing import analyse
from analyser.checking.results import Result, State
from analyser.forces import alike
from analyser.forces.alike import Follow
from analyser.forces.assembling import Case, assemble
from analyser.forces.loads import Loads, loads
from analyser.forces.missing import Missing
from analyser.forces.motion import Motion
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
        attach spare - carabiner spare-crab - third - master
        detach third from master
        pay out leg-2 by 0.1 m
"""


def test_states_that_share_their_solves_tell_what_each_tells_alone() -> None:
    rig = rig_of(STAGED)
    together = analyse(rig, forces=True)
    kept = Remembered()
    fresh = 0
    for state in together.states:
        own = Remembered()
        alone = loads(state.rig, failures=True, remembered=own)
        assert _told(together, state, loads(state.rig, failures=True, remembered=kept)) == _told(together, state, alone)
        fresh += len(own.answers)
        # a check follows in time what ranks first in the first state: nothing here asks for more
        follow = Follow() if state.number == 0 else Follow(first=0)
        assert _told(together, state, state.loads) == _told(
            together, state, loads(state.rig, failures=True, follow=follow)
        )
    assert len(kept.answers) < 2 / 3 * fresh  # of four states one is as the first: it was worth it


def _told(result: Result, state: State, one: Loads | Missing | None) -> object:
    assert isinstance(one, Loads)
    return AllForces(replace(result, states=(replace(state, loads=one),)), ()).to_dict()["states"]


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


def test_the_same_rig_is_followed_once_and_another_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """A second look at the very same rig follows nothing and says the same; a rig with another name in it does not
    borrow."""
    followed: list[tuple[str, ...]] = []
    follow = alike._one

    def counted(*asked: Any) -> Motion:
        followed.append(asked[2])
        return follow(*asked)

    monkeypatch.setattr(alike, "_one", counted)
    monkeypatch.setattr(alike, "KEPT", {})
    text = STAGED[: STAGED.index("stage")]
    first = analyser.check(rig_of(text))
    begun = len(followed)
    assert begun
    again = analyser.check(rig_of(text))
    assert len(followed) == begun and again.to_json() == first.to_json()
    analyser.check(rig_of(text.replace("left-crab", "port-crab")))
    assert len(followed) > begun


def test_what_is_kept_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(alike, "KEPT", {})
    rig, one = rig_of(STAGED), cast(Motion, object())
    for number in range(3 * alike.MOST_KEPT):
        alike._keep(rig, {f"{number}".encode(): one})
    assert list(alike.KEPT) == [f"{number}".encode() for number in range(2 * alike.MOST_KEPT, 3 * alike.MOST_KEPT)]
