"""Ropes and what grips them, by their diameters."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Asked, Finding, Rule, Severity
from analyser.checking.tracing import concerned
from analyser.holding.outcome import Outcome
from analyser.rig.model import Quantity, Rig, Role, Rope, Station


def _gripped(rig: Rig) -> Iterator[tuple[Rope, Station, Quantity | None]]:
    """Every rope at every part that grips it or that it runs through, with its diameter."""
    for rope in rig.ropes:
        for station in rope.stations:
            if station.role in (Role.GRIP, Role.RUN):
                yield rope, station, dict(rope.quantities).get("diameter")


def _find_range(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for rope, station, thick in _gripped(rig):
        part = rig.parts[station.part]
        if part.takes and thick and not part.takes[0].si - 1e-9 <= thick.si <= part.takes[1].si + 1e-9:
            low, high = part.takes
            text = f"{part.name} takes {low.text} to {high.text}, and {rope.name} is {thick.text}"
            bodies = concerned(outcome, f"{part.name} fails", f"{part.name} slips")
            yield RANGE.told(text, (part.name, rope.name), station.place, bodies)


def _ask_diameter(rig: Rig) -> Iterator[Asked]:
    for rope, station, thick in _gripped(rig):
        if rig.parts[station.part].takes and not thick:
            yield Asked("rope diameter", rope.name, "`11 mm`")


def _find_cord(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for rope, station, thick in _gripped(rig):
        part = rig.parts[station.part]
        cord = dict(part.quantities).get("diameter")
        if station.role is Role.GRIP and "friction-hitch" in part.family and cord and thick and cord.si >= thick.si:
            text = f"the cord of {part.name} ({cord.text}) is not thinner than {rope.name} ({thick.text})"
            bodies = concerned(outcome, f"{part.name} slips")
            yield CORD.told(text, (part.name, rope.name), station.place, bodies, mend="a thinner, softer cord")


RANGE = Rule(
    name="rope-not-for-device",
    severity=Severity.CAUTION,
    means="A rope is thinner or thicker than what the device, the grab or the pulley on it is made for.",
    matters="On too thin a rope a device may run or not lock; too thick a rope jams or doesn't seat.",
    mends="The maker's range decides: another rope, or another device.",
    source="the maker's own range, written as `takes 10 to 11.5 mm`; its use: common practice, no source",
    wrong="""
anchor bolt
person sam
attach sam - descender d
d: takes 10 to 11.5 mm
rope red: 9 mm
    tied to bolt
    gripped by d   # here
    stopper
""",
    right="""
anchor bolt
person sam
attach sam - descender d
d: takes 10 to 11.5 mm
rope red: 11.5 mm
    tied to bolt
    gripped by d
    stopper
""",
    find=_find_range,
    asks=_ask_diameter,
)

CORD = Rule(
    name="hitch-cord-too-thick",
    severity=Severity.CAUTION,
    means="The cord of a friction hitch is not thinner than the rope it grips.",
    matters="A hitch of equal or thicker cord does not bite: it slides when it should hold.",
    mends="A cord some millimetres thinner than the rope.",
    source="common practice, no source",
    wrong="""
anchor bolt
person sam
friction-hitch hitch: 11 mm
attach hitch - sam
rope red: 11 mm
    tied to bolt
    gripped by hitch   # here
""",
    right="""
anchor bolt
person sam
friction-hitch hitch: 8 mm
attach hitch - sam
rope red: 11 mm
    tied to bolt
    gripped by hitch
""",
    find=_find_cord,
)
