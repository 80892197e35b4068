"""How a litter hangs as its legs get longer or shorter, and how long they must be for a wished attitude."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyser.forces.assembling import Case
from analyser.forces.equilibrium import BodyPose, Equilibrium, Statics
from analyser.forces.newton import BALANCED

STEP = 0.05
"""Metres by which lines are let out or taken in at a time."""

ANGLE = 1e-6
"""Degrees within which a wished attitude is met."""


@dataclass(frozen=True, slots=True)
class Hung:
    """A body's attitude with some lines let out by `out` metres; tensions in newtons by line."""

    out: float
    pose: BodyPose
    tensions: dict[str, float]
    slack: tuple[str, ...]
    residual: float
    equilibrium: Equilibrium

    @property
    def head_up(self) -> float:
        assert self.pose.head_up is not None
        return self.pose.head_up


@dataclass(frozen=True, slots=True)
class Wished:
    """Lines let out (or taken in, when negative) by `out` metres give the attitude that was asked for.

    `lengths` are the metres of those lines at rest then.
    """

    out: float
    lengths: dict[str, float]
    hung: Hung


@dataclass(frozen=True, slots=True)
class OutOfReach:
    """No length that was tried gives the attitude: what those tried did give, in degrees."""

    wished: float
    lowest: float
    highest: float


def hung(
    statics: Statics,
    body: str,
    lines: Sequence[str],
    out: float,
    case: Case | None = None,
    near: Equilibrium | None = None,
) -> Hung:
    """A body with `lines` (soft parts, ropes of one line, lines by name) let out by `out` metres."""
    case = case or Case()
    extra = {**case.extra} | {name: case.extra.get(name, 0.0) + out for name in lines}
    found = statics.equilibrium(replace(case, extra=extra), near)
    tensions = {line.name: line.tension for line in found.lines}
    return Hung(out, found.pose(body), tensions, found.slack, found.residual, found)


def sweep(
    statics: Statics, body: str, lines: Sequence[str], outs: Sequence[float], case: Case | None = None
) -> tuple[Hung, ...]:
    """The body at each of `outs`, each found from the one before it: attitude and every tension
    against rope let out (the small tackle that takes the place of the foot legs, for one)."""
    told: list[Hung] = []
    for out in outs:
        told.append(hung(statics, body, lines, out, case, told[-1].equilibrium if told else None))
    return tuple(told)


def wished(
    statics: Statics,
    body: str,
    lines: Sequence[str],
    head_up: float,
    case: Case | None = None,
    bounds: tuple[float, float] = (-1.0, 1.0),
) -> Wished | OutOfReach:
    """How far `lines` must be let out for the body to hang with `head_up` degrees of head over feet.

    Looked for from the rig as it is, in steps of 5 cm either way up to `bounds` (metres), each found
    from the one before, so that the body gets there without a jump; then by false position (Illinois).
    """
    start = hung(statics, body, lines, 0.0, case)
    rests = {name: start.equilibrium.line(name).rest for name in lines}
    least = max(bounds[0], 0.05 - min(rests.values()))
    seen = [start.head_up]
    for way, bound in ((STEP, bounds[1]), (-STEP, least)):
        a = start
        while abs(a.head_up - head_up) > ANGLE and abs(a.out + way) <= abs(bound):
            b = hung(statics, body, lines, a.out + way, case, a.equilibrium)
            if b.residual > BALANCED:
                break
            seen.append(b.head_up)
            if (a.head_up - head_up) * (b.head_up - head_up) <= 0:
                a = _between(statics, body, lines, head_up, case, a, b)
                break
            a = b
        if abs(a.head_up - head_up) <= ANGLE:
            return Wished(a.out, {name: a.equilibrium.line(name).rest for name in lines}, a)
    return OutOfReach(head_up, min(seen), max(seen))


def _between(
    statics: Statics, body: str, lines: Sequence[str], head_up: float, case: Case | None, a: Hung, b: Hung
) -> Hung:
    """The body at the wished attitude, which lies between two lengths; where it jumps there, the side
    that it jumps from."""
    fa, fb = a.head_up - head_up, b.head_up - head_up
    for _ in range(60):
        out = (a.out * fb - b.out * fa) / (fb - fa)
        now = hung(statics, body, lines, out, case, b.equilibrium)
        f = now.head_up - head_up
        if abs(f) <= ANGLE or abs(b.out - a.out) < 1e-10:
            return now
        if f * fb < 0:
            a, fa = b, fb
        else:
            fa /= 2
        b, fb = now, f
    return b
