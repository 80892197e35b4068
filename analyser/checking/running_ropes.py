"""What a rope runs through or against where it moves: textile, another rope, a bare connector, a knot."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from analyser.checking.finding import Finding, Rule, Severity
from analyser.checking.tracing import concerned, rope_moves
from analyser.holding.outcome import Outcome
from analyser.rig.model import Nature, Rig, Role, Station


def _find_textile(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for rope in rig.ropes:
        for station in rope.stations:
            part = rig.parts[station.part]
            if station.role is Role.RUN and part.textile:
                text = f"{rope.name} runs through {part.name}, a {part.kind}: where it moves, it burns through"
                bodies = concerned(outcome, f"{part.name} fails")
                mend = f"`attach {part.name} - a carabiner` and run the rope through that"
                yield TEXTILE.told(text, (part.name, rope.name), station.place, bodies, mend=mend)


def _find_rope_on_rope(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    fixed = rig.index.fixed
    running: dict[str, list[tuple[str, Station, bool]]] = {}
    for rope in rig.ropes:
        for k, station in enumerate(rope.stations):
            if station.role is Role.RUN and rig.parts[station.part].nature is Nature.JOINT:
                running.setdefault(station.part, []).append((rope.name, station, rope_moves(rope, k, fixed)))
    for name, ropes in running.items():
        for (one, _, moves), (two, station, moves_too) in pairwise(ropes):
            if not moves and not moves_too:
                continue
            other = "itself" if one == two else one
            text = f"{two} runs against {other} in {name}"
            bodies = concerned(outcome, f"{name} fails")
            yield ROPE_ON_ROPE.told(text, (name, two), station.place, bodies)


def _find_connector(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    fixed = rig.index.fixed
    for rope in rig.ropes:
        for k, station in enumerate(rope.stations):
            part = rig.parts[station.part]
            if station.role is Role.RUN and "connector" in part.family and rope_moves(rope, k, fixed):
                text = f"{rope.name} is let out or hauled through {part.name}, a bare {part.kind}"
                bodies = concerned(outcome, f"{part.name} fails")
                mend = f"`attach {part.name} - pulley wheel`, and run the rope through that"
                yield CONNECTOR.told(text, (part.name, rope.name), station.place, bodies, mend=mend)


def _find_knot(rig: Rig, outcome: Outcome, plan: Rig) -> Iterator[Finding]:
    told = " ".join(step.words for stage in plan.stages for step in stage.steps)
    knots = {s.part: rope.name for rope in rig.ropes for s in rope.stations if s.role is Role.TIE}
    for rope in rig.ropes:
        for k, station in enumerate(rope.stations):
            part = rig.parts[station.part]
            if station.role is not Role.GRIP or part.operated_by is None or station.to_start == station.to_end:
                continue
            behind = rope.stations[k + 1 :] if station.to_start else rope.stations[:k]
            for other in behind:
                joined = [name for name in rig.touching[other.part] if knots.get(name, rope.name) != rope.name]
                if other.role is Role.TIE and joined and other.part not in told and joined[0] not in told:
                    text = f"{part.name} lets {rope.name} out up to the knot {other.part}, which joins it to "
                    text += f"{knots[joined[0]]} and does not pass"
                    bodies = concerned(outcome, f"{part.name} fails")
                    yield KNOT.told(text, (other.part, part.name), other.place, bodies)


TEXTILE = Rule(
    name="rope-through-textile",
    severity=Severity.DANGER,
    means="A rope runs through a sling, a strap or another textile.",
    matters="A rope that moves over standing textile melts through it in seconds, at any load that holds a person.",
    mends="Put metal between: a connector, a ring, better a pulley.",
    source=(
        "common practice, no source; that it depends on speed was tested, a report not seen in full (facts 11.24, S131)"
    ),
    wrong="""
anchor tree
person sam, jo: points waist
    jo: standing
sling loop
attach tree - loop
rope red
    tied to sam.waist
    through loop   # here
    held by jo
attach tree - strap s - sam.waist
""",
    right="""
anchor tree
person sam, jo: points waist
    jo: standing
sling loop
attach tree - loop - pulley wheel
rope red
    tied to sam.waist
    through wheel
    held by jo
attach tree - strap s - sam.waist
""",
    find=_find_textile,
)

ROPE_ON_ROPE = Rule(
    name="rope-on-rope",
    severity=Severity.CAUTION,
    means="Two ropes run through one connector or ring, one against the other.",
    matters="Where one moves, it saws on the other: two lines, and one fault that takes both.",
    mends="Give each rope a connector or pulley of its own.",
    source="common practice, no source",
    wrong="""
anchor bolt
person sam: points waist, chest
person jo: standing
attach bolt - ring eye
rope red
    tied to sam.waist
    through eye
    held by jo
rope green
    tied to sam.chest
    through eye   # here
    held by jo
""",
    right="""
anchor bolt
person sam: points waist, chest
person jo: standing
attach bolt - ring eye
attach bolt - ring second-eye
rope red
    tied to sam.waist
    through eye
    held by jo
rope green
    tied to sam.chest
    through second-eye
    held by jo
""",
    find=_find_rope_on_rope,
)

CONNECTOR = Rule(
    name="runs-through-connector",
    severity=Severity.CAUTION,
    means="A rope that is let out or hauled runs through a bare connector, without a pulley.",
    matters=(
        "About half of the pull is lost there (0.53 measured against 0.83 for a small pulley), the rope wears, and "
        "a moving rope can open an unlocked gate."
    ),
    mends="A pulley; for a short lower at least a locking connector, and a look at the gate.",
    source="a pulley and a carabiner measured, extract seen (facts 3.8, S24); the gate: common practice, no source",
    wrong="""
anchor top, low
load bag
person jo: standing
attach top - carabiner crab
attach low - brake b
b: operated by jo, self-locking
rope red
    stopper
    gripped by b
    through crab   # here
    tied to bag
""",
    right="""
anchor top, low
load bag
person jo: standing
attach top - carabiner crab - pulley wheel
attach low - brake b
b: operated by jo, self-locking
rope red
    stopper
    gripped by b
    through wheel
    tied to bag
""",
    find=_find_connector,
)

KNOT = Rule(
    name="knot-in-the-way",
    severity=Severity.CAUTION,
    means="Behind a device that lets a rope out, the rope is joined to another by a knot that will come to the device.",
    matters="The knot jams in the device under load. It is passed with a second device, in steps that are planned.",
    mends="Write the stage in which the knot is passed, and name the knot in it.",
    source="common practice, no source",
    wrong="""
anchor bolt
load bag
person jo: standing
attach bolt - brake b
b: operated by jo, self-locking
rope red
    tied to green-end with double-fishermans as red-join   # here
    gripped by b, load from end
    tied to bag
rope green
    stopper
    tied to bolt as green-end
""",
    right="""
anchor bolt
load bag
person jo: standing
attach bolt - brake b
b: operated by jo, self-locking
rope red
    stopper
    gripped by b
    tied to bag
""",
    find=_find_knot,
)
