"""Two ropes in one sleeve."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed
from analyser.checking.tracing import concerned
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    inside: dict[str, list[str]] = {}
    for rope in rig.ropes:
        for station in rope.stations:
            sleeves = [guard for guard in station.guards if "sleeve" in rig.parts[guard].family]
            for sleeve in (*station.inside, *sleeves):
                if rope.name not in inside.setdefault(sleeve, []):
                    inside[sleeve].append(rope.name)
    for sleeve, ropes in inside.items():
        if len(ropes) > 1:
            text = f"{listed(ropes)} run in one sleeve, {sleeve}: what gets at it gets at both"
            bodies = concerned(outcome, f"{sleeve} fails", f"{sleeve} shifts")
            yield RULE.told(text, (sleeve, *ropes), rig.parts[sleeve].place, bodies, mend="a sleeve for each rope")


RULE = Rule(
    name="one-sleeve",
    severity=Severity.CAUTION,
    means="Two ropes run in one sleeve, or one sleeve guards both at an edge.",
    matters=(
        "Heat, an edge or a slipped sleeve then meets both ropes in one place: two lines, one fault. "
        "`inside tube` makes that fault one failure, `tube fails`."
    ),
    mends="A sleeve for each rope, apart from each other.",
    source="a safety bulletin on two ropes in one sleeve at a hot part, an extract seen (facts 11.6, S100)",
    wrong="""
anchor left, right
sleeve tube   # here
person sam: points waist, chest
rope red
    tied to left
    inside tube
    tied to sam.waist
rope green
    tied to right
    inside tube
    tied to sam.chest
""",
    right="""
anchor left, right
sleeve tube, second-tube
person sam: points waist, chest
rope red
    tied to left
    inside tube
    tied to sam.waist
rope green
    tied to right
    inside second-tube
    tied to sam.chest
""",
    find=find,
)
