"""How each body fares: what the forces say of it at rest and after failures, as plain figures.

How it lies, whether it has turned over or is free to turn, and which frames under it don't stand. What decides one
of these and isn't in the file is asked for. (Drops are told by `aftermath.py`, in time by `motion.py`.)
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from analyser.forces.assembling import is_fixed
from analyser.forces.attitudes import LEVEL, NEUTRAL, Lie, lie_of, steadiness, upwards, with_centre
from analyser.forces.equilibrium import BodyPose, Equilibrium, Statics
from analyser.forces.frames import FrameForce, Stand, frame_forces, hanging_on
from analyser.forces.grounds import ground_of
from analyser.forces.missing import Wanted
from analyser.forces.newton import settle
from analyser.forces.remembered import asked
from analyser.forces.threads import one_thread
from analyser.rig.model import Effects, Nature, Part, Role

ASIDE = 0.1
"""Metres across from which a rope comes to lie otherwise over an edge: ours, no source."""
DOWN = 1.0
"""Metres down from which the ground below is asked for: ours, no source."""


class About(StrEnum):
    """What a missing fact would decide."""

    FRAME = "frame"
    ATTITUDE = "attitude"
    EDGE = "edge"
    GROUND = "ground"
    SPARE = "spare"


@dataclass(frozen=True, slots=True)
class Ask:
    """A fact that decides how somebody fares, and that the file doesn't give; `of`: the frame, body or rope."""

    about: About
    of: str
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class Fares:
    """One body after `failures` (none: as it hangs).

    `known` is False where the forces don't balance, and nothing else counts then; `falls`: nothing in the statics
    holds it. `lies` of a rigid body, and of who lies in one; `steady`: metres by which its centre of mass may lie
    higher before it turns away; `free`: it is free to turn, and between which attitudes. `tipping` are frames that
    don't stand, and that it hangs on; `on_edge` those that stand only by exact balance.
    """

    body: str
    failures: tuple[str, ...]
    known: bool
    falls: bool = False
    lies: Lie | None = None
    steady: float | None = None
    free: tuple[Lie, Lie] | None = None
    tipping: tuple[str, ...] = ()
    on_edge: tuple[str, ...] = ()

    @property
    def over(self) -> bool:
        """Has it turned over?"""
        return bool(self.lies and self.lies.over)

    @property
    def may_turn_over(self) -> bool:
        """Is it free to turn over: would a centre of mass a little higher than given do it?"""
        return not self.over and bool(self.free and any(one.over for one in self.free))

    def level(self, most: float = LEVEL) -> bool | None:
        """Does it lie level within `most` degrees? None: it is free to turn, and may or may not."""
        if self.lies is None or (not self.over and self.lies.off_level <= most and not self.free):
            return True
        ends = self.free or (self.lies,)
        inside = [not one.over and one.off_level <= most for one in ends]
        return all(inside) if all(inside) or not any(inside) else None


@dataclass(frozen=True, slots=True)
class Faring:
    """All bodies after some failures, the frames that carry them, and facts that would decide and are missing."""

    failures: tuple[str, ...]
    bodies: tuple[Fares, ...]
    frames: tuple[FrameForce, ...]
    asks: tuple[Ask, ...]
    down: tuple[str, ...] = ()
    """Frames that are there, and stand no more: a foot or a guy is gone."""

    def of(self, body: str) -> Fares | None:
        return next((one for one in self.bodies if one.body == body), None)

    @property
    def tipping(self) -> tuple[FrameForce, ...]:
        return tuple(one for one in self.frames if one.stand is Stand.TIPS)


def faring(
    statics: Statics, found: Equilibrium, failures: tuple[str, ...] = (), base: Equilibrium | None = None
) -> Faring:
    """How everybody fares at the rest that follows `failures`; `base`: the rest before (None: as written)."""
    rig = statics.rig
    if not found.accepted:
        return Faring(failures, tuple(Fares(body.name, failures, False) for body in rig.bodies), (), ())
    frames = frame_forces(rig, found)
    asks = [Ask(About.SPARE, rope, wanted) for rope, wanted in found.wanted]
    asks += [Ask(About.FRAME, one.name, wanted) for one in frames for wanted in one.wanted]
    hanging = {one.name: hanging_on(found, one.name) for one in frames if one.stand in (Stand.TIPS, Stand.ON_EDGE)}
    asks += [Ask(About.FRAME, one.name, _guy(rig.parts[one.name])) for one in frames if one.stand is Stand.ON_EDGE]
    poses = {pose.name: pose for pose in found.poses}
    margin = _steady(statics, found)
    told = []
    for body in rig.bodies:
        if body.name not in found.solved.assembly.lumps.of:
            continue  # gone itself
        if body.name in found.falls or body.name not in found.at:
            told.append(Fares(body.name, failures, True, falls=body.name in found.falls))
            continue
        pose = poses.get(body.name) or _ridden(found, poses, body.name)
        free = None
        if pose is not None and margin[pose.name] < NEUTRAL:
            free = _free(statics, found, pose)
            asks += [Ask(About.ATTITUDE, pose.name, height) for height in _height(statics, pose.name)]
        told.append(
            Fares(
                body.name,
                failures,
                True,
                lies=pose.lies if pose else None,
                steady=margin[pose.name] if pose else None,
                free=free,
                tipping=_under(body, frames, hanging, Stand.TIPS),
                on_edge=_under(body, frames, hanging, Stand.ON_EDGE),
            )
        )
    asks += _places(statics, found, base)
    return Faring(failures, tuple(told), frames, tuple(dict.fromkeys(asks)), tuple(_down(statics, found, failures)))


def _down(statics: Statics, found: Equilibrium, failures: tuple[str, ...]) -> Iterator[str]:
    rig, lumps = statics.rig, found.solved.assembly.lumps
    effects = Effects.joint(rig.index.failures[one].effects for one in failures)
    for part in rig.index.natured(Nature.FRAME):
        k = lumps.of.get(part.name)
        if k is not None and part.name not in effects.gone and not is_fixed(rig, lumps, k, effects):
            yield part.name


def _places(statics: Statics, found: Equilibrium, base: Equilibrium | None) -> Iterator[Ask]:
    """Places that would decide: of an edge at which a loaded rope comes to lie otherwise, of the ground below
    somebody who comes down."""
    rig, assembly = statics.rig, found.solved.assembly
    before = base.at if base else {body.name: body.at for body in rig.bodies if body.at is not None}
    ropes = {rope.name: rope for rope in rig.ropes}
    for line, pull in zip(assembly.lines, found.solved.tension, strict=True):
        if line.rope is None or pull <= 1e-4 * found.load:
            continue
        stations = ropes[line.rope].stations
        first, last = (next(k for k, one in enumerate(stations) if one.label == line.labels[end]) for end in (0, -1))
        passed = stations[min(first, last) : max(first, last) + 1]
        bare = [one.part for one in passed if one.role is Role.OVER and rig.parts[one.part].at is None]
        lumps = [at for k in line.path if isinstance(at := assembly.nodes[k], int)]
        names = {name for at in lumps for name in assembly.lumps.lumps[at].parts}
        moved = any(math.dist(before[n][:2], found.at[n][:2]) > ASIDE for n in names if n in before and n in found.at)
        for edge in bare if moved else ():
            why = f"{line.rope} comes to lie otherwise over {edge}, which may hold it or cut it"
            yield Ask(About.EDGE, line.rope, Wanted(f"{edge}: at (x, y, z)", why, rig.parts[edge].place))
    if ground_of(rig) is None:
        held = [body for body in rig.bodies if body.name not in found.falls and body.name in found.at]
        deep = [body for body in held if body.name in before and before[body.name][2] - found.at[body.name][2] > DOWN]
        below = next((part for part in rig.parts.values() if part.below), None)
        for body in deep[:1]:
            add = f"{below.name}: at (x, y, z)" if below else "footing ground-below: at (x, y, z), below"
            why = f"whether the ground under {body.name} comes first"
            yield Ask(About.GROUND, body.name, Wanted(add, why, (below or body).place))


def _steady(statics: Statics, found: Equilibrium) -> dict[str, float]:
    network, state = found.solved.assembly.network, found.solved.state
    if not network.bodies:
        return {}
    question = asked("steady", network, state)
    with one_thread():
        told = statics.remembered.once(question, lambda: steadiness(network, state, found.load))
    return dict(zip(found.solved.assembly.body_names, told, strict=True))


def _ridden(found: Equilibrium, poses: dict[str, BodyPose], name: str) -> BodyPose | None:
    """The rigid body that somebody lies in."""
    lumps = found.solved.assembly.lumps
    k = lumps.of.get(name)
    body = lumps.lumps[k].body if k is not None else None
    return poses.get(body) if body else None


def _free(statics: Statics, found: Equilibrium, pose: BodyPose) -> tuple[Lie, Lie]:
    """How a body lies that is free to turn, and how with its centre of mass a centimetre higher than given."""
    assembly = found.solved.assembly
    offsets, ends = statics.said.shapes[pose.name].offsets, statics.rig.parts[pose.name].ends
    body = assembly.body_names.index(pose.name)
    changed = with_centre(assembly.network, body, upwards(offsets, pose.name, ends), NEUTRAL)
    question = asked("free", changed, found.solved.state)
    with one_thread():
        rest = statics.remembered.once(question, lambda: settle(changed, found.solved.state, 200, load=found.load))
    return pose.lies, lie_of(rest.state.turns[body], offsets, pose.name, ends)


def _under(
    body: Part, frames: Sequence[FrameForce], hanging: Mapping[str, frozenset[str]], stand: Stand
) -> tuple[str, ...]:
    mine = {body.name, *body.points}
    return tuple(one.name for one in frames if one.stand is stand and mine & hanging[one.name])


def _guy(frame: Part) -> Wanted:
    why = f"{frame.name} stands only by exact balance: nothing holds it against a push across"
    return Wanted(f"{frame.name}: guyed by side-guy", why, frame.place)


def _height(statics: Statics, litter: str) -> Iterator[Wanted]:
    """The place that tells how high the centre of mass lies: of who lies in the litter, else its own, else of a point
    that something holds it by. None where all of them are given."""
    shape, rig = statics.said.shapes[litter], statics.rig
    inside = [rig.parts[name] for name in shape.offsets if name in rig.parts]
    riding = [part for part in inside if part.is_body and part.name != litter and part.at is None]
    points = [part for part in inside if not part.is_body and part.body == litter and part.at is None]
    own = [rig.parts[litter]] if rig.parts[litter].at is None else []
    other = max(riding, key=_mass, default=None) or next(iter([*own, *points]), None)
    if other is not None:
        why = f"how high the centre of mass lies over the points that {litter} hangs from: as given, it is free to turn"
        yield Wanted(f"{other.name}: at (x, y, z)", why, other.place)


def _mass(part: Part) -> float:
    given = dict(part.quantities).get("mass")
    return given.si if given else 0.0
