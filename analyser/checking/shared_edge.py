"""All the ropes of a body pass over one guarded edge."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    failures = rig.index.failures
    concerned: dict[str, set[str]] = {}
    lost: dict[str, set[str]] = {}
    for body, sets in outcome.failure_sets.items():
        for edges, others in (both for one, two in sets.of_size(2) for both in ((one, two), (two, one))):
            for name in (
                name for edge in edges if failures[edge].mode == "cuts" for name in failures[edge].effects.cutting
            ):
                for other in others:
                    gone = failures[other].effects.gone.intersection(rig.index.guards(name))
                    if gone:
                        concerned.setdefault(name, set()).add(body)
                        lost.setdefault(name, set()).update(gone)
    for name, bodies in sorted(concerned.items()):
        text = (
            f"every rope of {listed(sorted(bodies))} passes the edge {name}: "
            f"only what guards it there ({listed(sorted(lost[name]))}) keeps it from being a single point"
        )
        place = rig.parts[name].place
        yield Finding(RULE.name, RULE.severity, (name,), tuple(sorted(bodies)), place, text)


RULE = Rule(
    name="shared-edge",
    severity=Severity.CAUTION,
    means="All the ropes of a body pass over one guarded edge.",
    matters=(
        "The edge and its guards count as two, since both must let go; but they share one place, and "
        "one slip of a pad bares the ropes."
    ),
    mends="Keep one rope clear of the edge, or guard each rope with a pad of its own.",
    source="safety alert 3374 on ropes rigged over an edge, an extract seen (facts 11.9, S14)",
    wrong="""
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
    right="""
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
    find=find,
)
