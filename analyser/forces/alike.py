"""Which failures are followed in time; those that move alike are followed once, and several at a time.

Many single failures are one and the same to what moves (a bolt, its connector, the device on it), and many move
nothing. What is followed is told by its numbers and the names in them, so that it is followed once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from typing import cast

import numpy as np

from analyser.forces.aftermath import Aftermath, Cascade, after, after_effects
from analyser.forces.bearing import bounds
from analyser.forces.breaking import effects_of
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.grounds import Ground
from analyser.forces.motion import STARTS, Motion, motion
from analyser.forces.phases import Ways, moment_of, names_at, phase_of, start_at
from analyser.forces.strength import factors
from analyser.forces.striking import Way
from analyser.forces.threads import one_thread
from analyser.rig.model import Effects, Failure, Nature, Rig
from analyser.working.cases import Progress, in_order

FIRST = 3
"""Failures that move apart from each other which are followed where nothing asks for all."""

MOST_KEPT = 64
"""Motions that are kept after a look at a rig, for the next look at the very same one."""
KEPT: dict[bytes, tuple[Rig, Motion]] = {}
"""What was followed last, by question, and in which rig: a desk, a page that follows a file and a report after a check
look at one rig again and again."""


@dataclass(frozen=True, slots=True)
class Follow:
    """Which single failures are followed: all (`every`), those of `ids` as well, and else those that rank first.
    `starts` a centimetre aside each; `ways`: whether the way itself is kept (to be drawn); `processes` at most,
    where there is much to do (None: one a core)."""

    every: bool = False
    ids: frozenset[str] = frozenset()
    first: int = FIRST
    starts: int = STARTS
    ways: bool = False
    processes: int | None = 1
    progress: Progress | None = None


def in_time(
    statics: Statics, base: Equilibrium, after: Sequence[Aftermath], ground: Ground | None, follow: Follow,
    already: Effects | None = None,
) -> tuple[Aftermath, ...]:  # fmt: skip
    """The aftermaths, those that are followed with what happens in time. Nothing of a failure that moves nothing
    is lost by not following it: its lines stay as they were."""
    groups: dict[bytes, list[int]] = {}
    for k in _wanted(statics, after, follow):
        groups.setdefault(_question(statics, base, after[k], ground, follow, already), []).append(k)
    answers = statics.remembered.answers
    for question in groups:
        if question not in answers and question in KEPT and KEPT[question][0] == statics.rig:
            answers[question] = KEPT[question][1]
    new = [question for question in groups if question not in answers]
    found = in_order(
        [after[groups[question][0]].failures for question in new],
        lambda failures: _one(statics, base, failures, ground, follow, already),
        _several,
        (statics.rig.alone, ground, replace(follow, progress=None), already),
        follow.progress,
        follow.processes,
    )
    answers.update(zip(new, found, strict=True))
    _keep(statics.rig, dict(zip(new, found, strict=True)))
    told = list(after)
    for question, ks in groups.items():
        motion_ = cast(Motion, answers[question])
        for k in ks:
            told[k] = after[k].moving(replace(motion_, failures=after[k].failures))
    return tuple(told)


def _keep(rig: Rig, found: Mapping[bytes, Motion]) -> None:
    """Kept for the next look, the oldest let go."""
    KEPT.update({question: (rig, one) for question, one in found.items()})
    for question in list(KEPT)[: max(0, len(KEPT) - MOST_KEPT)]:
        KEPT.pop(question, None)


def one_in_time(statics: Statics, base: Equilibrium, then: Aftermath, failures: Sequence[Failure]) -> Aftermath:
    """The aftermath of some failures with what happens in time, from the start as drawn alone; followed once for all
    that move alike."""
    if then.motion is not None or not then.accepted:
        return then
    then = replace(then, failures=tuple(failure.id for failure in failures))
    return in_time(statics, base, [then], None, Follow(every=True, starts=0))[0]


def cascade_in_time(
    statics: Statics, failures: Sequence[Failure], base: Equilibrium, seen: dict[Effects, Aftermath]
) -> Cascade:
    """What breaks in time after some failures, in order, and what is left in the end. `seen` keeps what was worked
    out from one and the same base."""
    names, effects = effects_of(statics, failures)
    then = seen[effects] = one_in_time(statics, base, seen.get(effects) or after(statics, failures, base), failures)
    broken = tuple(one.broken for one in then.motion.broken) if then.motion else ()
    effects = Effects.joint([effects, *(one.effects for one in broken)])
    if effects not in seen:
        seen[effects] = after_effects(statics, (*names, *(f"{one.name} breaks" for one in broken)), effects, base)
    return Cascade(broken, seen[effects])


def _wanted(statics: Statics, after: Sequence[Aftermath], follow: Follow) -> list[int]:
    """Failures to follow, in order: where nothing asks for all, those whose quick figures are worst, and whatever
    breaks or comes down to the ground by those."""
    moves = [k for k, one in enumerate(after) if one.accepted]
    if follow.every:
        return moves
    chosen = {k for k in moves if {*after[k].failures} & follow.ids}
    told: dict[bytes, None] = {}
    for k in sorted(moves, key=lambda k: (-_rank(after[k]), k)):
        if len(told) >= follow.first or _rank(after[k]) <= 0:
            break
        told[_digest(after[k])] = None
    chosen |= {k for k in moves if _digest(after[k]) in told}
    for k in moves:
        one = after[k]
        if k not in chosen and _rank(one) > 0:
            weakest = factors(statics.rig, one.equilibrium, one.quick).weakest
            if one.reaches_ground or (weakest is not None and weakest.factor < 1):
                chosen.add(k)
    return sorted(chosen)


def _rank(one: Aftermath) -> float:
    """Newtons by which a line is pulled more than before, out of the energy alone, at the most."""
    grown = max((band.quick - band.before for band in one.lines), default=0.0)
    return grown if grown > 1.0 and one.moved else 0.0


def _digest(one: Aftermath) -> bytes:
    """Alike out of the energy: the same lines that carry, with the same figures."""
    digest = blake2b(digest_size=16)
    for band in sorted((b for b in one.lines if max(b.static, b.quick) > 1.0), key=lambda b: b.name):
        digest.update(f"{band.name} {band.before:.6g} {band.static:.6g} {band.quick:.6g};".encode())
    return digest.digest()


def _question(
    statics: Statics, base: Equilibrium, one: Aftermath, ground: Ground | None, follow: Follow, already: Effects | None
) -> bytes:
    """All numbers and names that the motion after some failures follows from."""
    _, effects = effects_of(statics, one.failures)
    effects |= already or Effects()
    start = start_at(base)
    digest = blake2b(f"motion {follow.starts} {follow.ways} {ground}".encode(), digest_size=20)
    with one_thread():
        phase = phase_of(statics, effects, base, [start], None, False, Ways())
        assembly, small = phase.assembly, phase.small
        digest.update(" ".join(one.equilibrium.falls).encode())
        if small is None:
            return digest.digest()
        carrying = [line.name for line, strand in zip(assembly.lines, small.of_line, strict=True) if strand >= 0]
        digest.update(" ".join(carrying).encode())
        nodes = [*small.points, *small.light, *small.carried, *small.fixed]
        names = [" ".join(_bearing(statics.rig, names_at(assembly, k), effects)) for k in nodes]
        digest.update("; ".join(names).encode())
        limits, moment, masses = bounds(statics.rig, phase), moment_of(phase, [start]), small.masses
    arrays = [masses.mass, masses.weights, masses.body_mass, masses.inertia, masses.carrier, masses.arms, masses.fixed]
    arrays += [masses.start, masses.end, masses.line, masses.rest, masses.compliance, masses.slips, masses.loss]
    arrays += [
        masses.passing,
        limits.line,
        limits.place,
        moment.points,
        moment.centres,
        moment.turns,
        moment.seen.light,
    ]
    for array in arrays:
        digest.update(f"{array.shape}".encode())
        digest.update(np.ascontiguousarray(np.round(array, 9)).tobytes())
    return digest.digest()


def _bearing(rig: Rig, names: Sequence[str], effects: Effects) -> list[str]:
    """Of the parts at a place those that have a mass or a strength, or stand for themselves: no knots."""
    parts = [rig.parts[name] for name in names if name in rig.parts and name not in effects.gone]
    knots = (Nature.KNOT, Nature.STOPPER, Nature.POINT)
    return sorted(part.name for part in parts if part.nature not in knots and (part.is_body or part.quantities))


def _several(
    rig: Rig, ground: Ground | None, follow: Follow, already: Effects | None, failures: Sequence[tuple[str, ...]]
) -> list[Motion]:
    """Some failures, in a process of their own."""
    from analyser.forces.assembling import Case

    statics = Statics.of(rig)
    assert isinstance(statics, Statics)
    base = statics.equilibrium(Case(already or Effects()))
    return [_one(statics, base, one, ground, follow, already) for one in failures]


def _one(
    statics: Statics, base: Equilibrium, failures: tuple[str, ...], ground: Ground | None, follow: Follow,
    already: Effects | None,
) -> Motion:  # fmt: skip
    told = motion(statics, failures, base, already=already, ground=ground, starts=follow.starts)
    return told if follow.ways else replace(told, way=Way(()))
