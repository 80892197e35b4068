"""What the forces say of frames and litters that connections can't: a frame that tips, a litter that turns over.
Told where forces are worked out; and what is required of who is held, or level, counts on it there."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot
from typing import TYPE_CHECKING

from analyser.checking.finding import Finding, Rule, Severity
from analyser.checking.sentences import do, in_few, listed, verb
from analyser.rig.figures import as_force, as_length
from analyser.rig.model import Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.faring import Fares, Faring
    from analyser.forces.frames import FrameForce
    from analyser.forces.loads import Loads


def where_words(one: FrameForce) -> str:
    """Where the line of a frame's load meets the ground, seen from its feet."""
    lies = one.footprint
    if lies.margin is None:
        return "the line of its load never comes down to the feet"
    side = listed(lies.over)
    if lies.margin < 0:
        return f"the line of its load meets the ground {as_length(-lies.margin)} outside the feet, beyond {side}"
    if len(one.legs) < 3:
        return f"the line of its load meets the ground on the line of {side}"
    return f"the line of its load meets the ground {as_length(lies.margin)} inside the feet, nearest to {side}"


def frame_words(one: FrameForce) -> str:
    """`head tips: pulled with 1.33 kN, and the line of its load …`."""
    guys = sorted(one.guys)
    less = f", and {listed(guys)} {verb(guys, 'holds', 'hold')} it on another side" if guys else ""
    return f"{one.name} tips: pulled with {as_force(hypot(*one.load))}, and {where_words(one)}{less}"


def lie_words(one: Fares) -> str:
    """How a body lies: `turns over (rolled 179 deg)`, `hangs with its head 12 deg DOWN`."""
    lies = one.lies
    assert lies is not None
    if one.over:
        how = f"rolled {abs(lies.roll):.0f} deg" if lies.roll is not None else f"{lies.tilt:.0f} deg off upright"
        return f"turns over ({how})"
    pieces = []
    if lies.head_up is not None and abs(lies.head_up) >= 0.5:
        pieces.append(f"its head {abs(lies.head_up):.0f} deg {'up' if lies.head_up > 0 else 'DOWN'}")
    if lies.roll is not None and abs(lies.roll) >= 0.5:
        pieces.append(f"a roll of {abs(lies.roll):.0f} deg")
    return f"hangs with {' and '.join(pieces)}" if pieces else "hangs level"


def free_words(one: Fares) -> str:
    """That nothing keeps a body's attitude, and where it may turn to."""
    assert one.free is not None
    to = "turn over" if one.may_turn_over else f"lie up to {max(lie.off_level for lie in one.free):.0f} deg off level"
    return f"is free to turn (neutral balance): it may stay as it is, or {to}"


def amiss(one: Fares | None) -> str:
    """What is amiss with somebody who is connected: `head tips under it`, `turns over (rolled 179 deg)`; empty where
    nothing is."""
    told = [f"{do(one.tipping, 'tips', 'tip')} under it"] if one and one.tipping else []
    return "; ".join([*told, *([lie_words(one)] if one and one.over else [])])


def tipping_frames(rig: Rig, loads: Loads) -> Iterator[Finding]:
    alike: dict[tuple[str, tuple[str, ...]], list[tuple[Faring, FrameForce]]] = {}
    for faring in loads.faring:
        for one in faring.tipping:
            on = tuple(body.body for body in faring.bodies if one.name in body.tipping)
            alike.setdefault((one.name, on), []).append((faring, one))
    at_rest = {name for (name, _), rows in alike.items() if not rows[0][0].failures}
    for (name, on), rows in alike.items():
        faring, one = rows[0]
        if name in at_rest and faring.failures:
            continue  # it tips with nothing failed
        failures = [word for row, _ in rows for word in row.failures] if faring.failures else []
        after = f"after {in_few(failures)}: " if failures else ""
        with_it = f"; {do(on, 'hangs', 'hang')} on it" if on else ""
        mend = "a guy on the far side, feet further apart, or turn the rope so that it pulls between the feet"
        yield FRAME.told(f"{after}{frame_words(one)}{with_it}", (name,), rig.parts[name].place, on, mend=mend)


def turned_over(rig: Rig, loads: Loads) -> Iterator[Finding]:
    over: dict[str, list[Fares]] = {}
    for faring in loads.faring:
        for one in faring.bodies:
            if one.over and any(pose.name == one.body for pose in loads.now.poses):
                over.setdefault(one.body, []).append(one)
    for name, rows in over.items():
        first = rows[0]
        faring = next(one for one in loads.faring if one.failures == first.failures)
        riding = [one.body for one in faring.bodies if one.lies == first.lies]
        failures = [word for one in rows for word in one.failures] if first.failures else []
        text = f"{f'after {in_few(failures)}: ' if failures else ''}{name} {lie_words(first)}"
        text += "" if failures else " with nothing failed"
        mend = "legs that meet further above it, a strap at each corner, or the load lashed lower"
        yield TURNS.told(text, (name,), rig.parts[name].place, riding, mend=mend)


FRAME = Rule(
    name="frame-tips",
    severity=Severity.DANGER,
    means=(
        "A tripod, an A-frame or a gin pole does not stand under what pulls on its head, at rest or after one "
        "failure: some leg would have to pull, or some guy to push."
    ),
    matters=(
        "The forces at its head balance only if the ground holds a foot down, and the ground doesn't: the frame goes "
        "over, with all that hangs on it. Turning a haul line at the head towards a wall is the usual way to it."
    ),
    mends="A guy against the pull, feet further apart, a lower head, or a haul line that leaves between the feet.",
    source="statics of forces at a point: forces/statics.md",
    wrong="""
footing a: at (1, 0, 0)
footing b: at (-0.5, 0.866, 0)
footing c: at (-0.5, -0.866, 0)
anchor wall: at (5, 0, 0)
tripod head: feet a, b, c, at (0, 0, 2.4)   # here
person vic: 80 kg, at (0, 0, -3)
attach head - pulley wheel
rope main
    tied to vic with figure-eight
    through wheel
    tied to wall with round-turn
""",
    right="""
footing a: at (1, 0, 0)
footing b: at (-0.5, 0.866, 0)
footing c: at (-0.5, -0.866, 0)
anchor wall: at (0.5, 0, 0)
tripod head: feet a, b, c, at (0, 0, 2.4)
person vic: 80 kg, at (0, 0, -3)
attach head - pulley wheel
rope main
    tied to vic with figure-eight
    through wheel
    tied to wall with round-turn
""",
    find=tipping_frames,
)
TURNS = Rule(
    name="turns-over",
    severity=Severity.DANGER,
    means="A litter or a load turns over, at rest or after one failure: its upper side comes to lie below.",
    matters="Whoever lies in it hangs in the lashing with the face down, and what isn't lashed falls out.",
    mends="Legs that meet further above the centre of mass, a second strap at each corner, the load lashed lower.",
    source="the least energy of a rigid body on its lines: forces/statics.md",
    wrong="""
anchor bolt: at (0, 0, 10)
litter basket: 95 kg, at (0, 0, 7.15), points head-left, head-right, foot-left, foot-right   # here
basket.head-left: at (1, 0.25, 7)
basket.head-right: at (1, -0.25, 7)
basket.foot-left: at (-1, 0.25, 7)
basket.foot-right: at (-1, -0.25, 7)
ring master
attach bolt - strap main - master
attach master - strap leg-1 - basket.head-left
attach master - strap leg-2 - basket.head-right
attach master - strap leg-3 - basket.foot-left
attach master - strap leg-4 - basket.foot-right
main: length 2 m
leg-1, leg-2, leg-3, leg-4: length 1.4 m
""",
    right="""
anchor bolt: at (0, 0, 10)
litter basket: 95 kg, at (0, 0, 6.85), points head-left, head-right, foot-left, foot-right
basket.head-left: at (1, 0.25, 7)
basket.head-right: at (1, -0.25, 7)
basket.foot-left: at (-1, 0.25, 7)
basket.foot-right: at (-1, -0.25, 7)
ring master
attach bolt - strap main - master
attach master - strap leg-1 - basket.head-left
attach master - strap leg-2 - basket.head-right
attach master - strap leg-3 - basket.foot-left
attach master - strap leg-4 - basket.foot-right
main: length 2 m
leg-1, leg-2, leg-3, leg-4: length 1.4 m
""",
    find=turned_over,
)
