"""A device that lets its rope out by itself, at a limited speed: who hangs on it alone is being let down."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig, Role


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    down = tuple(body.name for body in outcome.bodies if not body.held)
    for part in rig.parts.values():
        runs = any(not at.station.to_start and not at.station.to_end for at in rig.index.at(part.name, Role.GRIP))
        if part.lowers and runs and down:
            text = f"{part.name} lets its rope out by itself, at its own speed: who hangs on it alone comes down"
            yield RULE.told(text, (part.name,), part.place, down)


RULE = Rule(
    name="lowers-by-itself",
    severity=Severity.NOTE,
    means="A device lets its rope out by itself, at a limited speed, whenever somebody hangs on it.",
    matters=(
        "It sets people down where there is a floor to stand on, and stops nobody: who hangs on it alone counts as not "
        "held, however slowly they come down. What its speed is the file does not say."
    ),
    mends="`lock off` it where somebody shall stay, or hold them by something else as long as they shall.",
    source="common practice, no source",
    wrong="""
anchor beam
person vic: points chest
attach beam - automatic-descender box   # here
rope line
    stopper
    gripped by box
    tied to vic.chest with sewn-eye
""",
    right="""
anchor beam
person vic: points chest
attach beam - automatic-descender box
rope line
    stopper
    gripped by box
    tied to vic.chest with sewn-eye
attach beam - strap holding - vic.chest
""",
    find=find,
)
