"""Each rule fires on a rig that earns it, at the right line, and is silent on its nearest neighbour."""

from __future__ import annotations

import json

import pytest
from rigs import checked

from analyser.checking.finding import Finding, Rule
from analyser.checking.registry import RULES
from analyser.doors.commands.main import main

BY_NAME = {rule.name: rule for rule in RULES}


def told(text: str) -> list[Finding]:
    """The findings of every state."""
    return [finding for state in checked(text).states for finding in state.findings]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_rule_fires_where_it_is_earned(rule: Rule) -> None:
    found = [finding for finding in told(rule.wrong) if finding.rule == rule.name]
    assert found
    here = [k for k, line in enumerate(rule.wrong.strip().splitlines(), 2) if line.endswith("# here")]
    if here:
        assert {finding.place.line for finding in found} == set(here)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_rule_is_silent_on_the_nearest_neighbour(rule: Rule) -> None:
    assert rule.name not in {finding.rule for finding in told(rule.right)}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_rule_has_a_page(rule: Rule, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", rule.name]) == 0
    page = capsys.readouterr().out
    assert rule.name in page
    for words in (rule.means, rule.matters, rule.mends, rule.source):
        assert words.split()[0] in page
    assert rule.source
    assert main(["explain", rule.name, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["pages"][0]["name"] == rule.name


def test_every_finding_belongs_to_a_rule() -> None:
    for rule in RULES:
        assert {finding.rule for finding in checked(rule.wrong).findings} <= set(BY_NAME)


def test_rules_are_listed_and_a_near_miss_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    page = capsys.readouterr().out
    assert all(rule.name in page for rule in RULES)
    assert main(["explain", "single-pont"]) == 2
    assert "did you mean `single-point`?" in capsys.readouterr().err


def test_an_accepted_failure_is_shown_with_its_reason_and_fails_nothing() -> None:
    result = checked("""
        anchor bolt
        load bag
        attach bolt - strap s - bag
        accept bolt fails, s fails: "a bag of rope, nobody under it"
    """)
    assert {f.accepted for f in result.findings if f.rule == "single-point"} == {"a bag of rope, nobody under it"}
    assert result.met
    assert result.closing == "met, on connections only, with 2 accepted risks and 0 assumptions"


def test_a_sound_part_is_an_assumption_and_never_fails() -> None:
    result = checked("""
        anchor bolt
        load bag
        attach bolt - strap s - bag
        sound bolt, s: "this test"
    """)
    assert result.failures == ()
    assert result.body("bag").independent is None
    assert [one.failure for one in result.rig.sound] == ["bolt fails", "s fails"]
