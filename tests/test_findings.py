"""Each rule fires on a rig that earns it, at the right line, and is silent on its nearest neighbour."""

from __future__ import annotations

import importlib
import pkgutil

import pytest
from rigs import checked

import analyser.findings
from analyser.findings.rules import RULES

CASES = {
    "not-held": (
        """
        anchor bolt
        person sam: points waist   # here
        attach bolt - strap s
        """,
        """
        anchor bolt
        person sam: points waist
        attach bolt - strap s - sam.waist
        """,
    ),
    "only-by-person": (
        """
        anchor bolt
        person vic: points waist, chest
        person sam: points waist   # here
        attach bolt - strap s - vic.waist
        attach vic.chest - strap t - sam.waist
        """,
        """
        anchor bolt
        person vic: points waist, chest
        person sam: points waist
        attach bolt - strap s - vic.waist
        attach s - strap t - sam.waist
        """,
    ),
    "single-point": (
        """
        anchor bolt, post
        ring master   # here
        person sam: points waist
        attach bolt - master
        attach post - master
        attach master - strap one - sam.waist
        attach master - strap two - sam.waist
        """,
        """
        anchor bolt, post
        ring master
        person sam: points waist
        attach bolt - master
        attach master - strap one - sam.waist
        attach post - strap two - sam.waist
        """,
    ),
    "held-by-hands": (
        """
        anchor bolt
        person jo: standing
        load bag   # here
        attach bolt - brake bar
        bar: operated by jo
        rope line
            gripped by bar
            tied to bag
        """,
        """
        anchor bolt
        person jo: standing
        load bag
        attach bolt - brake bar
        bar: operated by jo, self-locking
        rope line
            gripped by bar
            tied to bag
        """,
    ),
    "fewer-independent": (
        """
        anchor bolt
        person sam: points waist, chest   # here
        attach bolt - strap one - sam.waist
        attach bolt - strap two - sam.chest
        """,
        """
        anchor bolt, post
        person sam: points waist, chest
        attach bolt - strap one - sam.waist
        attach post - strap two - sam.chest
        """,
    ),
    "shared-edge": (
        """
        anchor left, right
        edge lip: padded by mat   # here
        pad mat
        person sam: points waist, chest
        rope red
            tied to left
            over lip
            tied to sam.waist
        rope green
            tied to right
            over lip
            tied to sam.chest
        """,
        """
        anchor left, right
        edge lip: padded by mat
        pad mat
        person sam: points waist, chest
        rope red
            tied to left
            over lip
            tied to sam.waist
        rope green
            tied to right
            tied to sam.chest
        """,
    ),
    "litter-tips": (
        """
        anchor bolt
        litter basket: points head, foot
        attach bolt - strap one - basket.head
        attach bolt - strap two - basket.foot
        strap three
        attach bolt - three
        """,
        """
        anchor bolt
        litter basket: points head, foot, head-right, foot-right
        attach bolt - strap one - basket.head
        attach bolt - strap two - basket.foot
        attach bolt - strap three - basket.head-right
        attach bolt - strap four - basket.foot-right
        """,
    ),
    "unused-part": (
        """
        anchor bolt
        ring idle   # here
        person sam
        attach bolt - strap s - sam
        """,
        """
        anchor bolt
        ring idle
        person sam
        attach bolt - idle - strap s - sam
        """,
    ),
    "repeated-contact": (
        """
        anchor bolt
        ring eye
        person sam
        attach bolt - eye - sam
        attach bolt - eye   # here
        """,
        """
        anchor bolt
        ring eye
        person sam
        attach bolt - eye - sam
        attach bolt - sam
        """,
    ),
    "below-not-said": (
        """
        anchor top, stake
        person jo: standing
        load bag
        attach top - pulley wheel
        attach stake - brake bar
        bar: operated by jo, self-locking
        rope line   # here
            tied to bag
            through wheel
            gripped by bar
        """,
        """
        anchor top
        anchor stake: not below
        person jo: standing
        load bag
        attach top - pulley wheel
        attach stake - brake bar
        bar: operated by jo, self-locking
        rope line
            tied to bag
            through wheel
            gripped by bar
        """,
    ),
    "unknown-knot": (
        """
        anchor bolt
        person sam
        rope line
            tied to bolt with bowlin   # here
            tied to sam
        """,
        """
        anchor bolt
        person sam
        rope line
            tied to bolt with bowline
            tied to sam
        """,
    ),
}


@pytest.mark.parametrize("rule", CASES)
def test_the_rule_fires_where_it_is_earned(rule: str) -> None:
    wrong = CASES[rule][0]
    result = checked(wrong)
    found = [finding for finding in result.findings if finding.rule == rule]
    assert found
    here = [k for k, line in enumerate(wrong.strip().splitlines(), 2) if line.endswith("# here")]
    if here:
        assert {finding.place.line for finding in found} == set(here)


@pytest.mark.parametrize("rule", CASES)
def test_the_rule_is_silent_on_the_nearest_neighbour(rule: str) -> None:
    assert rule not in {finding.rule for finding in checked(CASES[rule][1]).findings}


def test_every_rule_has_a_page_with_its_source_and_a_case() -> None:
    names = set()
    for module in pkgutil.iter_modules(analyser.findings.__path__):
        loaded = importlib.import_module(f"analyser.findings.{module.name}")
        if hasattr(loaded, "NAME"):
            names.add(loaded.NAME)
            assert loaded.find in RULES
            assert "ource:" in (loaded.__doc__ or "")
    assert names - {"as-written"} <= set(CASES)
    assert len(names) == len(RULES)


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
