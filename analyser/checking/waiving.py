"""Findings that the file accepts, and acceptances that meet nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from analyser.checking.finding import Finding, Rule, Severity
from analyser.language.mistakes import did_you_mean
from analyser.rig.model import Rig


def waive(rig: Rig, found: Iterable[Finding]) -> list[Finding]:
    """The findings, those that the file accepts marked with its reason."""
    reasons = {(one.rule, one.about): one.reason for one in rig.waived}
    return [
        replace(f, accepted=next((reasons[f.rule, a] for a in f.about if (f.rule, a) in reasons), f.accepted))
        for f in found
    ]


def find(plan: Rig, found: Sequence[Finding], rules: Sequence[str]) -> Iterator[Finding]:
    """`accept RULE on PART` lines for which no state has such a finding, or there is no such rule."""
    about = {(finding.rule, part) for finding in found for part in finding.about}
    for one in plan.waived:
        if one.rule not in rules:
            hint = did_you_mean(one.rule, rules, "`stillheld rules` lists them")
            yield RULE.told(f"there is no rule `{one.rule}` to accept on {one.about}: {hint}", (one.about,), one.place)
        elif (one.rule, one.about) not in about:
            text = f"`accept {one.rule} on {one.about}` accepts nothing: the rule says nothing of {one.about} here"
            yield RULE.told(text, (one.about,), one.place, mend="take the line out")


RULE = Rule(
    name="nothing-to-accept",
    severity=Severity.NOTE,
    means="An `accept RULE on PART` line for which there is no finding.",
    matters="The rule or the part is misspelt, or the rig has changed and the reason lives on without its cause.",
    mends="Spell it as the finding does, or take the line out.",
    source="common practice, no source",
    wrong="""
anchor bolt
person sam
attach bolt - strap s - sam
accept short-tail on s: "seen"   # here
""",
    right="""
anchor bolt
person sam
rope red: 11 mm
    tied to bolt with bowline as knot-1, tail 90 mm
    tied to sam
accept short-tail on knot-1: "seen, set hard"
""",
    find=find,
)
