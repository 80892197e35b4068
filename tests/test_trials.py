"""Tests before weighting: which line is weighted, who hangs on it, which slips show, what only a look finds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from rigs import rig_of

import analyser
from analyser.holding.outcome import after_each
from analyser.rig.model import Effects, Rig
from analyser.uses.field.trying import NEVER_JOINED, Trial, Trials, trials
from analyser.uses.incident.slips import with_slips

EXAMPLES = Path(__file__).parent.parent / "examples"
RIGS = sorted(EXAMPLES.rglob("*.rig"))[::2]
TWO = """
    anchor left, right
    person sam: points waist, chest
    descender d
    d: operated by sam, self-locking
    attach d - carabiner crab - sam.waist
    edge lip
    pad mat
    rope red
        tied to left with bowline as top
        over lip, padded by mat
        gripped by d
        stopper as end
    attach right - strap s - sam.chest
"""


def by_line(tests: Trials) -> dict[str, Trial]:
    return {test.line: test for test in tests.tests}


def test_each_line_alone_with_the_other_on() -> None:
    tests = trials(rig_of(TWO))
    found = by_line(tests)
    assert set(found) == {"red", "s"}
    assert (found["red"].slack, found["red"].bodies) == (("s",), ("sam",))
    assert set(found["red"].shows) == {
        "top slips",
        "top to left never joined",
        "d slips",
        "crab fails",
        "d to crab never joined",
        "crab to sam.waist never joined",
    }
    assert set(found["s"].shows) == {"right to s never joined", "s to sam.chest never joined"}
    assert found["red"].along == ("left", "red", "d", "crab")


def test_what_no_test_shows_is_looked_at() -> None:
    assert trials(rig_of(TWO)).look == ("end slips", "mat shifts")


def test_a_device_the_wrong_way_round_shows_by_running_though_a_stopper_would_catch() -> None:
    rig = rig_of(TWO)
    (alone,) = after_each(rig, [next(f for f in rig.failures if f.id == "d slips").effects])
    assert alone.held == ("sam",)  # on the other line
    assert "d slips" in by_line(trials(rig))["red"].shows


def test_what_nothing_else_catches_is_told() -> None:
    tests = trials(rig_of("anchor bolt\nperson sam\nrope red\n    tied to bolt as top\n    tied to sam as low\n"))
    (test,) = tests.tests
    assert (test.slack, test.uncaught) == ((), test.shows)
    assert all(slip.alone == ("sam",) for slip in tests.slips)


def test_a_lone_device_that_would_run_to_a_stopper_is_caught_by_nothing() -> None:
    text = TWO.replace("    attach right - strap s - sam.chest\n", "")
    (test,) = trials(rig_of(text)).tests
    assert "d slips" in test.uncaught


def test_a_persons_own_attachments_are_tried_where_they_show_more() -> None:
    tests = trials(analyser.read(EXAMPLES / "litter-lower.rig"))
    assert [(test.number, test.line, test.of) for test in tests.tests] == [
        *((1, "red", None), (2, "green", None), (3, "sam-crab", "sam"), (4, "sam-strap", "sam")),
        *((5, "vic-crab", "vic"), (6, "lashing", "vic")),
    ]
    assert "sam-descender slips" in tests.tests[2].fresh
    assert all("leg" in one or "mat" in one or "bowline" in one or "stopper" in one for one in tests.look)


def test_who_stands_hangs_on_nothing() -> None:
    tests = trials(analyser.read(EXAMPLES / "tripod-raise.rig"))
    assert {test.line: test.bodies for test in tests.tests} == {"second": ("ola",), "main": ("ola",)}


def test_a_slip_of_ones_own_is_tried_as_well() -> None:
    rig = rig_of(TWO.rstrip() + '\n    latent s fails: "its stitching is cut where nobody looks"\n')
    tests = trials(rig)
    assert "s fails" in by_line(tests)["s"].shows
    assert [slip.reason for slip in tests.slips if slip.failure == "s fails"] == [
        "its stitching is cut where nobody looks"
    ]


def test_a_rig_that_holds_nobody_has_no_tests() -> None:
    assert trials(rig_of("anchor bolt\nperson sam\nring r\nattach bolt - r\n")).tests == ()


@pytest.mark.parametrize("path", RIGS, ids=lambda path: str(path.relative_to(EXAMPLES)))
def test_every_slip_is_either_shown_or_looked_at_and_shows_only_what_it_weakens(path: Path) -> None:
    rig = analyser.read(path)
    tests = trials(rig)
    shown = {one for test in tests.tests for one in test.shows}
    assert shown.isdisjoint(tests.look)
    assert shown | set(tests.look) == {slip.failure for slip in tests.slips}
    assert [one for test in tests.tests for one in test.fresh] == list(dict.fromkeys(_fresh(tests)))
    deadly = _deadly(rig)
    for slip in tests.slips:
        if slip.failure in deadly and slip.how == NEVER_JOINED:
            assert slip.failure in shown, "what drops somebody alone shows in some test, or nothing is weighted"


def _fresh(tests: Trials) -> list[str]:
    return [one for test in tests.tests for one in test.shows]


def _deadly(rig: Rig) -> set[str]:
    """Slips that drop somebody who hangs on one single line, by the rules alone."""
    slipping = with_slips(replace(rig, stages=())).rig
    base, *after = after_each(slipping, [Effects(), *(f.effects for f in slipping.failures)])
    return {f.id for f, then in zip(slipping.failures, after, strict=True) if set(then.falls) - set(base.falls)}
