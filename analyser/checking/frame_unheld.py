"""A frame that by the connections does not stand with nothing failed, and on which somebody counts all the same.

Ropes that only bend at it hold without it: nobody falls, and no reading of what holds whom tells that they drop.
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, listed, verb
from analyser.holding.outcome import Outcome
from analyser.holding.system import RigSystem
from analyser.rig.index import reached
from analyser.rig.model import Nature, Part, Rig, Role


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    frames = [part for part in rig.parts.values() if part.nature is Nature.FRAME]
    used = {frame.name: on_it for frame in frames if (on_it := _on_it(rig, frame, outcome))}
    stands = RigSystem(rig).bearing([], 1) if used else {}
    for frame in frames:
        bodies = used.get(frame.name, [])
        if not bodies or stands.get(frame.name):
            continue
        roped = _roped(rig, frame)
        text = f"with nothing failed {frame.name} does not stand by what counts"
        if roped:
            text += f": it needs {listed(sorted(roped))}, held by what stands"
        if hands := sorted({hand for knot in roped for hand in roped[knot]}):
            text += f"; the bare hands of {listed(hands)} count for nothing"
        text += f". {listed(bodies)} {verb(bodies, 'hangs', 'hang')} on it, or by a rope that bends there"
        yield RULE.told(text, (frame.name,), frame.place, bodies)


def _on_it(rig: Rig, frame: Part, outcome: Outcome) -> list[str]:
    """Who hangs on a frame, or by a rope that meets it elsewhere than at what it needs."""
    needs = {*frame.needed}
    ground = {part.name for part in rig.parts.values() if part.nature in (Nature.GROUND, Nature.FRAME)}
    near = reached(rig.index.joined_by_ropes, [frame.name], (ground | needs) - {frame.name})
    return sorted(body.name for body in outcome.bodies if body.held and body.name in near)


def _roped(rig: Rig, frame: Part) -> dict[str, list[str]]:
    """The knots that a frame needs, and whose bare hands hold the rope of each."""
    needs = {*frame.needed}
    found: dict[str, list[str]] = {}
    for rope in rig.ropes:
        for knot in (s.part for s in rope.stations if s.role is Role.TIE and s.part in needs):
            found[knot] = [s.part for s in rope.stations if s.role is Role.HAND]
    return found


RULE = Rule(
    name="frame-not-held",
    severity=Severity.DANGER,
    means="A frame on which somebody hangs, or at which their rope bends, does not stand with nothing failed.",
    matters=(
        "Ropes over it hold without it, so that nobody counts as falling: but it goes over, everybody on those ropes "
        "drops, and what it kept off an edge lies on it. A guy in somebody's hands is no guy."
    ),
    mends="A guy tied off, or in a device that grips by itself; the foot or the guy that is missing.",
    source="common practice, no source",
    wrong="""
footing left-foot, right-foot: below
anchor bolt
person kim: standing
person sam: points waist
a-frame head: feet left-foot, right-foot, guyed by guy-knot   # here
rope guy
    held by kim
    tied to head with clove-hitch as guy-knot
attach head - pulley wheel
rope main
    tied to bolt
    through wheel
    tied to sam.waist
""",
    right="""
footing left-foot, right-foot: below
anchor bolt, stake
person sam: points waist
a-frame head: feet left-foot, right-foot, guyed by guy-knot
rope guy
    tied to stake with round-turn
    tied to head with clove-hitch as guy-knot
attach head - pulley wheel
rope main
    tied to bolt
    through wheel
    tied to sam.waist
""",
    find=find,
)
