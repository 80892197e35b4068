"""A stopper that is taken to lie against what the rope runs through: somebody is held by it as by a tie."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.checking.finding import Finding, Rule, Severity, in_few, verb
from analyser.checking.tracing import concerned
from analyser.holding.outcome import Outcome
from analyser.language.mistakes import Place
from analyser.rig.model import Rig, Role


@dataclass(frozen=True, slots=True)
class Jammed:
    """A stopper that holds as a tie does: it is taken to lie against its neighbours from the start, with no rope to run
    out before."""

    stopper: str
    against: tuple[str, ...]
    rope: str
    place: Place

    @property
    def words(self) -> str:
        return f"{self.stopper} is taken to lie against {' or '.join(self.against)} from the start"


def jams(rig: Rig, outcome: Outcome) -> Iterator[Jammed]:
    """The stoppers by which somebody is held with nothing failed, and what each is taken to lie against."""
    held_by = {name for body in outcome.bodies for way in body.ways for name in way}
    for rope in rig.ropes:
        stations = [station for station in rope.stations if station.role is not Role.OVER]
        for k, station in enumerate(stations):
            if station.role is Role.STOPPER and f"{station.part} slips" in held_by:
                near = (stations[j].part for j in (k - 1, k + 1) if 0 <= j < len(stations))
                yield Jammed(station.part, tuple(near), rope.name, station.place)


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for one in jams(rig, outcome):
        bodies = concerned(outcome, f"{one.stopper} slips")
        if bodies:
            text = (
                f"{one.words}: if it is tied further along, as at the end of {one.rope}, {in_few(bodies)} "
                f"{verb(bodies, 'runs', 'run')} there before anything holds"
            )
            look = f"look at {one.stopper}: it must lie there and not pass"
            mend = f"{look}; if rope lies between, write how much: `slack 20 m` at it"
            yield RULE.told(text, (one.stopper,), one.place, bodies, mend=mend)


RULE = Rule(
    name="stopper-against",
    severity=Severity.CAUTION,
    means="Somebody is held by a stopper that is taken to lie against what its rope runs through.",
    matters=(
        "A knot blocks a rope where it lies against the ring. Tied in the rope's end, tens of metres off, the same "
        "word in the file means a fall of as much."
    ),
    mends="See that it lies there and can't pass, or write how much rope lies between.",
    source="common practice, no source",
    wrong="""
anchor bolt
ring eye
person ann: points waist
attach bolt - sling top - eye
attach ann.waist - descender dev
rope line
    stopper as block   # here
    through eye
    gripped by dev, load from eye
    stopper
dev: operated by ann
""",
    right="""
anchor bolt
ring eye
person ann: points waist
attach bolt - sling top - eye
attach ann.waist - descender dev
rope line
    tied to eye with figure-eight as block
    gripped by dev, load from block
    stopper
dev: operated by ann
""",
    find=find,
)
