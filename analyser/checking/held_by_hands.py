"""When every person lets go at once, somebody falls."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.consequences import worst_hands_off
from analyser.checking.fates import in_words
from analyser.checking.finding import Finding, Rule, Severity
from analyser.holding.fate import Kind
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    what = [one for one in worst_hands_off(outcome) if one.fate.not_held and one.fate.kind is not Kind.RUNS]
    falls = tuple(sorted(name for one in what for name in one.bodies))
    if falls:
        text = f"with hands off {in_words(what)}"
        yield Finding(RULE.name, RULE.severity, falls, falls, rig.parts[falls[0]].place, text)


RULE = Rule(
    name="held-by-hands",
    severity=Severity.DANGER,
    means="When every person lets go at once, somebody falls.",
    matters=(
        "The whistle test: at any moment a whistle may blow and every hand open. A brake without a "
        "hands-free lock, a haul team without progress capture, a hand on a rope are then nothing."
    ),
    mends="A device that locks by itself, a tie-off, a progress capture.",
    source="county manual quoted at firehouse.com/forums t125939, an extract seen (facts 9.12, S93)",
    wrong="""
anchor bolt
person jo: standing
load bag   # here
attach bolt - brake bar
bar: operated by jo
rope line
    gripped by bar
    tied to bag
""",
    right="""
anchor bolt
person jo: standing
load bag
attach bolt - brake bar
bar: operated by jo, self-locking
rope line
    gripped by bar
    tied to bag
""",
    find=find,
)
