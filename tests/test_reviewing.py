"""Why and how much: ways of being held, ranking, and a search that is stopped."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from random_rigs import rig_texts
from random_systems import random_system
from rigs import checked, rig_of

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.ranked import likely, ranked
from analyser.checking.reasons import reasons
from analyser.doors.commands.main import main
from analyser.holding.fate import HELD
from analyser.holding.happening import judged
from analyser.holding.outcome import after_each
from analyser.holding.reviewing import Review
from analyser.holding.search import Search
from analyser.holding.system import RigSystem
from analyser.rig.model import Effects, Rig

FOUND = Path(__file__).parent / "found"

TWO_LINES = """
    anchor left, right
    ring master
    person ann: points waist, chest
    attach left - strap red - master
    attach right - strap green - master
    attach master - strap a - ann.waist
    attach master - strap b - ann.chest
"""


def test_ways_in_the_rigs_words() -> None:
    told = reasons(rig_of(TWO_LINES), "ann")
    assert told.all_ways
    assert sorted(way.legs for way in told.ways) == [
        ((anchor, line, "master", strap),)
        for anchor, line in (("left", "red"), ("right", "green"))
        for strap in ("a", "b")
    ]


def test_a_way_with_two_legs() -> None:
    rig = rig_of("""
        anchor west, east
        load bag
        rope track
            tied to west as west-knot
            through pulley runner - bag
            tied to east as east-knot
    """)
    (way,) = reasons(rig, "bag").ways
    assert way.legs == (("east", "track", "runner"), ("west", "track")) or len(way.legs) == 2


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(rig_texts())
def test_every_failure_set_breaks_every_way(text: str) -> None:
    rig = analyser.read_text(text)
    for body in rig.bodies:
        told = reasons(rig, body.name)
        for one in told.sets:
            broken = {number for _, numbers in one.breaks for number in numbers}
            assert broken == {way.number for way in told.ways}
            for _, numbers in one.breaks:  # minimal: each failure breaks a way that no other does
                others = {n for name, ns in one.breaks if ns is not numbers for n in ns}
                assert set(numbers) - others or not told.all_ways


@pytest.mark.parametrize("seed", [*range(40204, 40216), 44700, 840913])
def test_portions_tell_no_better_than_the_whole_rig(seed: int) -> None:
    """Each body is asked in its own portion: whoever is held there is held in the whole rig."""
    rig = random_system(seed)[1]
    _no_better_than_the_whole(rig)


@pytest.mark.parametrize("path", sorted(FOUND.glob("*.rig")), ids=lambda path: path.stem)
def test_portions_tell_no_better_where_it_was_hard(path: Path) -> None:
    _no_better_than_the_whole(analyser.read(path))


def _no_better_than_the_whole(rig: Rig) -> None:
    effects = [failure.effects for failure in rig.failures]
    whole = judged(RigSystem(rig), [Effects(), *effects])[1:]
    for failure, mine, its in zip(rig.failures, after_each(rig, effects), whole, strict=True):
        assert set(mine.held) <= set(its.held), failure.id
        assert {name for name in mine.held if mine.fate(name) == HELD} <= {n for n in its.held if its.fate(n) == HELD}


def test_ranking_puts_what_drops_people_first() -> None:
    result = checked(TWO_LINES)
    rows = ranked(result.rig, result.states[0].outcome)
    assert rows[0].part == "master"
    assert rows[0].alone == ("ann",)
    assert rows[0].counts == (1, 0)
    assert {row.part: row.counts for row in rows[1:]} == {
        "left": (0, 2),
        "right": (0, 2),
        "red": (0, 2),
        "green": (0, 2),
        "a": (0, 1),
        "b": (0, 1),
    }


def stop_at(order: int) -> object:
    return lambda size, done, every: size < order


def test_a_search_that_is_stopped_says_how_far_it_went() -> None:
    rig = rig_of(TWO_LINES)
    whole = Review(rig).failure_sets(["ann"], 3)
    assert (whole.complete_to, whole.share) == (3, None)
    cut_short = Review(rig).failure_sets(["ann"], 3, stop_at(3))  # type: ignore[arg-type]
    assert cut_short.complete_to == 2
    assert cut_short.share == 0.0
    assert cut_short.found["ann"] == [cut for cut in whole.found["ann"] if len(cut) <= 2]


def test_a_stopped_search_meets_no_requirement_it_did_not_check() -> None:
    text = (
        "require everyone held after any 2 failures\n"
        + """
anchor a, b, c
person ann: points waist, chest, back
attach a - strap x - ann.waist
attach b - strap y - ann.chest
attach c - strap z - ann.back
"""
    )
    rig = rig_of(text)
    assert analyse(rig, 3).requirements[0].met is True
    stopped = analyse(rig, 3, stop_at(2))  # type: ignore[arg-type]
    assert stopped.requirements[0].met is None
    assert stopped.exit_status == 1
    assert "Complete to order 1 (stopped by the budget" in stopped.complete
    assert stopped.to_dict()["complete_to_order"] == 1


def test_a_budget_of_nothing_still_tells_every_single_failure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "a.rig"
    path.write_text('rig "a"\nanchor bolt\nperson sam\nattach bolt - strap s - sam\n')
    main(["check", str(path), "--json", "--budget", "0s"])
    data = json.loads(capsys.readouterr().out)
    assert data["complete_to_order"] == 1
    assert data["states"][0]["failure_sets"]["sam"] == [["bolt fails"], ["s fails"]]
    assert [one["falls"] for one in data["states"][0]["failures"]] == [["sam"], ["sam"]]


@pytest.mark.parametrize("command", ["why", "rank"])
def test_commands_print_for_people_and_for_scripts(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    example = str(Path(__file__).parent.parent / "examples" / "litter-lower.rig")
    assert main([command, example]) == 0
    page = capsys.readouterr().out
    assert "qualified practice come first" in page.replace("\n", " ")
    assert main([command, example, "--json"]) == 0
    first = capsys.readouterr().out
    assert json.loads(first)["format"] == "stillheld/2"
    main([command, example, "--json"])
    assert capsys.readouterr().out == first


def test_an_unknown_body_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    example = str(Path(__file__).parent.parent / "examples" / "litter-lower.rig")
    assert main(["why", example, "vik"]) == 2
    assert "did you mean `vic`?" in capsys.readouterr().err


TANK = """
    kind relay like ring: likelihood 3e-5
    anchor T: likelihood 5e-6
    relay K2
    ring S, S1, K1, R
    load tank
    attach T - K2 - S - tank
    attach K2 - S1 - K1 - R - tank
    likelihood S, R: 1e-4
    likelihood S1 fails: 3e-5
    likelihood K1: 5e-6
"""


def test_a_published_tree_written_as_a_rig_with_likelihoods() -> None:
    """The pressure tank: rupture = T or K2 or (S and (S1 or K1 or R)); published 3.50133e-5.

    Source: public test file after the fault tree handbook (facts 9.6, S87).
    """
    result = checked(TANK, order=3)
    (tank,) = likely(result.rig, result.states[0].outcome)
    assert tank.exact
    assert tank.value == pytest.approx(3.50133e-5, abs=1e-9)
    assert tank.importances[0].event == "K2 fails"


def test_nothing_is_invented_without_likelihoods() -> None:
    result = checked(TWO_LINES)
    assert likely(result.rig, result.states[0].outcome) == ()
    partly = checked(TWO_LINES + "    likelihood left, right: 1e-4\n")
    (ann,) = likely(partly.rig, partly.states[0].outcome)
    assert ann.value is None
    assert set(ann.missing) == {"master fails", "red fails", "green fails", "a fails", "b fails"}


def test_a_cause_has_its_own_likelihood() -> None:
    rig = rig_of("""
        anchor a, b
        load bag
        attach a - strap s - bag
        attach b - strap t - bag
        cause slide likelihood 1e-3: a fails, b fails
    """)
    assert {f.id: f.likelihood for f in rig.failures if f.likelihood} == {"slide strikes": 1e-3}


@pytest.mark.parametrize("seed", [*range(40), 810401])
def test_what_is_searched_together_is_as_searched_apart(seed: int) -> None:
    review = Review(random_system(seed)[1].alone)
    for one in review.portions:
        alone = Search(one.system).failure_sets(one.portion.bodies, 2)
        assert one.search.failure_sets(one.portion.bodies, 2) == alone
