"""Checks ask for what they look at by the names of their parameters, and are asked in the states that have it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pytest
from rigs import checked, rig_of

from analyser.checking import registry
from analyser.checking.finding import Finding, Rule, Severity
from analyser.checking.results import Result
from analyser.forces.loads import Loads
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig, Step

STAGED = """
    anchor bolt, post
    person sam: points waist, chest
    attach bolt - strap s - sam.waist
    stage "Change over"
        attach post - strap t - sam.chest
        check "both hang"
        detach s from bolt
"""
PLACED = """
    anchor bolt: at (0, 0, 10)
    person sam: 100 kg, at (0, 0, 9), points waist
    attach bolt - strap s - sam.waist
    s: length 1 m
    stage "Go on"
        check "it hangs"
"""

RULES = registry.RULES


def rule(find: object) -> Rule:
    return Rule("tried", Severity.NOTE, "x", "x", "x", "common practice, no source", "", "", find)  # type: ignore[arg-type]


TRIED = rule(lambda rig: iter(()))


def with_rule(monkeypatch: pytest.MonkeyPatch, find: object, text: str) -> Result:
    monkeypatch.setattr(registry, "RULES", (rule(find), *RULES))
    return checked(text)


def states_told(result: Result) -> list[int]:
    return [state.number for state in result.states for finding in state.findings if finding.rule == "tried"]


def test_a_rule_about_steps_is_asked_after_each_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    def find(step: Step, before: Rig, earlier: Sequence[Step]) -> Iterator[Finding]:
        if step.verb == "detach":
            yield TRIED.told(f"{len(before.parts)} parts, {len(earlier)} steps before", (step.words,), step.place)

    result = with_rule(monkeypatch, find, STAGED)
    assert states_told(result) == [3]
    assert [f.text for f in result.states[3].findings if f.rule == "tried"] == ["7 parts, 2 steps before"]


def test_a_rule_about_the_whole_is_asked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    def find(plan: Rig) -> Iterator[Finding]:
        for stage in plan.stages:
            yield TRIED.told(stage.title, (stage.title,), stage.place)

    assert states_told(with_rule(monkeypatch, find, STAGED)) == [0]


def test_a_rule_about_states_that_looks_at_the_plan_too_tells_the_same_in_each(monkeypatch: pytest.MonkeyPatch) -> None:
    def find(rig: Rig, plan: Rig) -> Iterator[Finding]:
        assert not rig.stages, "a state has none: what looks for them here would tell them of the first state alone"
        for stage in plan.stages:
            yield TRIED.told(stage.title, (stage.title,), stage.place)

    assert states_told(with_rule(monkeypatch, find, STAGED)) == [0, 1, 2, 3]


def test_a_rule_about_forces_is_asked_where_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    def find(loads: Loads) -> Iterator[Finding]:
        yield TRIED.told(f"{len(loads.parts)}", ("s",), rig_of(PLACED).place)

    assert states_told(with_rule(monkeypatch, find, STAGED)) == []
    assert states_told(with_rule(monkeypatch, find, PLACED)) == [0, 1]


def test_what_has_a_default_is_given_where_it_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    def find(outcome: Outcome, step: Step | None = None, loads: Loads | None = None) -> Iterator[Finding]:
        place = rig_of(STAGED).place
        yield TRIED.told(f"{step.verb if step else 'first'} {loads is not None}", ("s",), place)

    result = with_rule(monkeypatch, find, STAGED)
    told = [f.text for state in result.states for f in state.findings if f.rule == "tried"]
    assert told == ["first False", "attach False", "check False", "detach False"]


def test_the_same_question_is_not_asked_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
        asked.append(rig)
        yield from ()

    with_rule(monkeypatch, find, STAGED)
    assert len(asked) == 3, "the hold point changes nothing"


def test_a_name_that_there_is_not_is_refused_at_once() -> None:
    def find(rig: Rig, weather: str) -> Iterator[Finding]:
        yield from ()

    with pytest.raises(TypeError, match="asks for `weather`: there are rig, outcome"):
        rule(find)


def test_a_knot_that_a_stage_passes_is_told_in_no_state() -> None:
    """It came back in the later states: the rule looked for the stages in a rig that has none."""
    (knot,) = (one for one in registry.RULES if one.name == "knot-in-the-way")
    stage = 'stage "Pass it"\n    say "{}"\n    pay out red by 1 m\n'
    for words, told in (("lower away", [True] * 3), ("now red-join", [False] * 3)):
        result = checked(knot.wrong + stage.format(words))
        assert [knot.name in {f.rule for f in state.findings} for state in result.states] == told
