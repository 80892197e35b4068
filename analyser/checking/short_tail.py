"""A knot that leaves too little rope beyond it."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Asked, Finding, Rule, Severity
from analyser.checking.tracing import concerned
from analyser.holding.outcome import Outcome
from analyser.rig.figures import as_small
from analyser.rig.model import Rig, Role

DIAMETERS = 10


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for rope in rig.ropes:
        thick = dict(rope.quantities).get("diameter")
        for station in rope.stations if thick else ():
            if thick and station.tail and station.tail.si < DIAMETERS * thick.si * (1 - 1e-9):
                least = as_small(DIAMETERS * thick.si, ".4g")
                text = f"the tail of {station.part} is {station.tail.text}: ten diameters of {rope.name} are {least}"
                bodies = concerned(outcome, f"{station.part} slips")
                yield RULE.told(text, (station.part,), station.place, bodies, mend=f"leave {least} at least")


def asks(rig: Rig) -> Iterator[Asked]:
    """Where some tail is given, the others are asked for; and the diameters that they are compared with."""
    if not any(station.tail for rope in rig.ropes for station in rope.stations):
        return
    for rope in rig.ropes:
        ends = [s for s in (rope.stations[0], rope.stations[-1]) if s.role is Role.TIE]
        if any(s.tail for s in rope.stations) and "diameter" not in dict(rope.quantities):
            yield Asked("rope diameter", rope.name, "`11 mm`")
        for station in ends if not rope.closed else ():
            if not station.tail:
                yield Asked("tail", station.part, "`, tail 150 mm`")


RULE = Rule(
    name="short-tail",
    severity=Severity.CAUTION,
    means="The tail of a knot is shorter than ten diameters of its rope.",
    matters="A knot moves when it is loaded and let go, again and again: a short tail works its way in.",
    mends="Tie it with a longer tail; dress and set it.",
    source="common practice, no source (facts 11.26)",
    wrong="""
anchor bolt
person sam
rope red: 11 mm
    tied to bolt with bowline, tail 100 mm   # here
    tied to sam with bowline, tail 150 mm
""",
    right="""
anchor bolt
person sam
rope red: 11 mm
    tied to bolt with bowline, tail 110 mm
    tied to sam with bowline, tail 150 mm
""",
    find=find,
    asks=asks,
)
