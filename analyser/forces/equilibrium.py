"""The equilibrium of a rig: solved, checked on what is left over, and told by name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from analyser.forces import newton
from analyser.forces.assembling import Assembly, Case, Line, assemble
from analyser.forces.attitudes import Lie, lie_of
from analyser.forces.drawn import Drawn, drawn
from analyser.forces.edging import pulled
from analyser.forces.feet import off_their_feet, standing_off
from analyser.forces.lumps import lumps_of
from analyser.forces.missing import Missing, Wanted
from analyser.forces.network import Array, State, pulls, shape
from analyser.forces.points import Point, as_point
from analyser.forces.remembered import Remembered, asked
from analyser.forces.resting import Answer, solve
from analyser.forces.rope_lines import rope_lines
from analyser.forces.sagging import fitted
from analyser.forces.threads import one_thread
from analyser.forces.view import as_pulled
from analyser.language.identities import spoken
from analyser.rig.figures import as_length
from analyser.rig.model import Effects, Nature, Rig, Rope

SLACK = 1e-6
"""Share of the largest load under which a line counts as slack."""


@dataclass(frozen=True, slots=True)
class LineForce:
    """One line: newtons of tension (the same all along), metres as it is and at rest.

    `places` are the places along it, in order; `labels` a rope's stations there.
    """

    name: str
    part: str | None
    rope: str | None
    labels: tuple[str, ...]
    places: tuple[Point, ...]
    tension: float
    slack: bool
    length: float
    rest: float
    ea: float
    default: bool
    """Was its stretch taken from its kind?"""


@dataclass(frozen=True, slots=True)
class BodyPose:
    """A rigid body: its centre, how it is turned from the way it is drawn (rows of a rotation
    matrix), head over feet and left side over right, in degrees (None where it has no such ends), and how it
    lies."""

    name: str
    centre: Point
    turn: tuple[Point, Point, Point]
    lies: Lie

    @property
    def head_up(self) -> float | None:
        return self.lies.head_up

    @property
    def roll(self) -> float | None:
        return self.lies.roll


@dataclass(frozen=True, slots=True)
class Equilibrium:
    """How a rig comes to rest. Forces in newtons, places and lengths in metres.

    `residual` is the largest force (or moment over the size of its body) that is left over,
    as a share of `load`, the largest weight; above 1e-6 `accepted` is False and no figure counts.
    """

    lines: tuple[LineForce, ...]
    reactions: dict[str, Point]
    """What each anchor, footing, frame, edge or standing person is pulled with."""
    at: dict[str, Point]
    """Where each part is."""
    poses: tuple[BodyPose, ...]
    falls: tuple[str, ...]
    """Bodies that nothing in the statics holds."""
    jammed: tuple[tuple[str, str], ...]
    """What has run up, and to what: it presses on it."""
    passed: dict[str, float]
    """Metres of rope that ran through one-way grips until they held."""
    lifted: tuple[tuple[str, str], ...]
    """Ropes that lie clear of an edge (rope, edge)."""
    lifted_feet: tuple[str, ...]
    """Who is off what they stood on, and did not lose their footing first: their feet would have to hold it up."""
    load: float
    residual: float
    assumed: tuple[str, ...]
    doubts: tuple[Wanted, ...]
    """Lengths that can hardly be meant."""
    wanted: tuple[tuple[str, Wanted], ...]
    """Of ropes that run to a stopper, what the file must say for that to be told."""
    solved: Solved = field(repr=False, compare=False)

    @property
    def accepted(self) -> bool:
        return self.residual < newton.BALANCED

    def line(self, name: str) -> LineForce:
        """The line of that name; a rope's name stands for its only line."""
        found = [one for one in self.lines if name in (one.name, one.part)]
        found = found or [one for one in self.lines if one.rope == name]
        if len(found) != 1:
            raise KeyError(f"{name}: {len(found)} lines")
        return found[0]

    def tension(self, name: str) -> float:
        return self.line(name).tension

    def called(self, line: LineForce) -> str:
        """A line as one speaks of it: by its rope, where that is one line only."""
        alone = line.rope is not None and sum(one.rope == line.rope for one in self.lines) == 1
        return line.rope if alone and line.rope else spoken(line.name)

    def said(self, name: str) -> str:
        """The same of a line by its name; of what is no line its name."""
        line = next((one for one in self.lines if one.name == name), None)
        return self.called(line) if line else spoken(name)

    def pose(self, name: str) -> BodyPose:
        return next(one for one in self.poses if one.name == name)

    @property
    def slack(self) -> tuple[str, ...]:
        return tuple(one.name for one in self.lines if one.slack)


@dataclass(frozen=True, slots=True)
class Solved:
    """The numbers behind an equilibrium, for what is worked out from it."""

    assembly: Assembly
    state: State
    tension: Array
    jams: tuple[tuple[int, int], ...]
    """Nodes that press on another, and that other: those first that nothing else presses on."""


class Statics:
    """The statics of one rig: places and lengths read once, then as many cases as are asked.

    >>> import analyser
    >>> rig = analyser.read_text('rig "One bolt"\\nanchor bolt: at (0, 0, 5)\\nperson sam: 100 kg, points waist\\n'
    ...                          'attach bolt - strap line - sam.waist\\nline: length 2 m\\n')
    >>> statics = Statics.of(rig)
    >>> round(statics.equilibrium().tension("line"))
    981
    """

    def __init__(self, rig: Rig, said: Drawn, hands: bool = False, remembered: Remembered | None = None) -> None:
        self.rig = rig
        self.said = said
        self.hands = hands
        self.remembered = remembered if remembered is not None else Remembered()

    @classmethod
    def of(
        cls,
        rig: Rig,
        along: Mapping[str, float] | None = None,
        *,
        hands: bool = False,
        remembered: Remembered | None = None,
    ) -> Statics | Missing:
        """The statics of a rig, or what its file must still say.

        `along`: for people lying in a litter, metres from its middle towards the head. `hands`: bare
        hands will be asked after, so that the places of those who hold rope are needed. `remembered`: what
        was solved of other states of the rig.
        """
        rig = as_pulled(rig)
        said = drawn(rig, dict(along or {}), hands=hands)
        if not isinstance(said, Missing) and any(key == "sag" for rope in rig.ropes for key, _ in rope.quantities):
            said = fitted(rig, said, hands, lambda now, name, out: cls(rig, now, hands, remembered)._places(name, out))
        return said if isinstance(said, Missing) else cls(rig, said, hands, remembered)

    def _places(self, name: str, out: dict[str, float]) -> tuple[Point, ...]:
        """The places along a line at rest, with some lines so many metres longer; none where it carries nothing."""
        lines = {line.name for line in self.equilibrium().lines}
        extra = {one: metres for one, metres in out.items() if one in lines}
        found = self.equilibrium(Case(extra=extra)) if name in lines else None
        return found.line(name).places if found and found.accepted else ()

    def equilibrium(self, case: Case | None = None, near: Equilibrium | None = None) -> Equilibrium:
        """How the rig comes to rest. `near`: an equilibrium to start from (a neighbouring case)."""
        case = case or Case()
        if case.hands and not self.hands:
            raise ValueError("hands are asked after: read the statics with `hands=True`")
        with one_thread():
            return self._equilibrium(case, near)

    def _equilibrium(self, case: Case, near: Equilibrium | None) -> Equilibrium:
        dropped: frozenset[int] = frozenset()
        lifted: frozenset[tuple[str, int]] = frozenset()
        off_feet: frozenset[str] = frozenset()
        tried: set[frozenset[str]] = set()
        _known(self.rig, case)
        for _ in range(40):
            assembly = assemble(self.rig, self.said, off_their_feet(case, off_feet), dropped, lifted)
            dropped = assembly.falls
            solved = self._solved(assembly, near)
            if isinstance(solved, frozenset):
                dropped |= solved
                continue
            off = _lifted_off(self.rig, assembly, solved)
            tried.add(off_feet)
            feet = standing_off(self.rig, self.said, case, assembly, solved, off_feet, tried)
            if not off and feet == off_feet:
                break
            lifted |= off
            off_feet, dropped = feet, dropped if feet == off_feet else frozenset()
        else:
            raise ArithmeticError("the rig does not settle on which edges its ropes lie over, and whose feet rest")
        return _told(self.rig, self.said, assembly, solved, lifted, tuple(sorted(off_feet)))

    def _solved(self, assembly: Assembly, near: Equilibrium | None) -> Answer | frozenset[int]:
        state = brought(assembly, near) if near else assembly.start
        question = asked("near" if near else "rest", assembly.network, state)
        found = self.remembered.once(question, lambda: solve(assembly, state, near is not None))
        return found if isinstance(found, Answer) else _bodies_whole(assembly, found)


def equilibrium(
    rig: Rig, already: Effects | None = None, along: Mapping[str, float] | None = None
) -> Equilibrium | Missing:
    """How a rig comes to rest after `already`, with every hand off; or the facts that are missing."""
    statics = Statics.of(rig, along)
    return statics if isinstance(statics, Missing) else statics.equilibrium(Case(already or Effects()))


def _known(rig: Rig, case: Case) -> None:
    """Raise KeyError for a line to let out that the rig doesn't have, or a rope of several lines."""
    if not case.extra:
        return
    lumps = lumps_of(rig, Effects(), case.hands)
    count = Counter(soft.part for soft in lumps.soft)
    for line in rope_lines(rig, Effects(), lumps, case.hands, case.open):
        count[line.name] += 1
        count[line.rope.name] += 1
    for name in case.extra:
        if count[name] != 1:
            several = sorted(line for line in count if line.startswith(f"{name}["))
            raise KeyError(f"{name} is several lines: {', '.join(several)}" if several else f"no line is called {name}")


def _bodies_whole(assembly: Assembly, falling: Array) -> frozenset[int]:
    """The lumps that fall: with one node of a rigid body, all of it."""
    lumps = assembly.lumps.lumps
    found = {k for at, k in enumerate(assembly.nodes[: len(falling)]) if falling[at] and isinstance(k, int)}
    bodies = {lumps[k].body for k in found} - {None}
    return frozenset(found | {k for k, lump in enumerate(lumps) if lump.body in bodies})


def brought(assembly: Assembly, near: Equilibrium) -> State:
    """A state to start from: everything where it was in a neighbouring equilibrium."""
    state = assembly.start.copy()
    lumps = assembly.lumps.lumps
    for at in range(assembly.network.free):
        k = assembly.nodes[at]
        told = lumps[k].parts if isinstance(k, int) else (k,)
        names = [name for name in told if "|" not in name] or [name.split("|")[0] for name in told]
        found = next((near.at[name] for name in names if name in near.at), None)
        if found is not None:
            state.free[at] = found
    poses = {pose.name: pose for pose in near.poses}
    for at, name in enumerate(assembly.body_names):
        if name in poses:
            state.centres[at] = poses[name].centre
            state.turns[at] = poses[name].turn
    for at, name in enumerate(assembly.grips):
        state.passed[at] = near.passed.get(name, 0.0)
    return state


def _lifted_off(rig: Rig, assembly: Assembly, answer: Answer) -> frozenset[tuple[str, int]]:
    """Ropes that lie clear of an edge, by rope and station: it would have to pull them."""
    network = assembly.network
    formed = shape(network, answer.state)
    off = set()
    ropes = {rope.name: rope for rope in rig.ropes}
    for name, k in assembly.edges:
        node = assembly.node_of[ropes[name].stations[k].part]
        pull = np.zeros(3)
        for number, line in enumerate(assembly.lines):
            mine = (network.line == number) & (line.rope == name)
            for here, sign in ((network.start, 1.0), (network.end, -1.0)):
                pull += sign * formed.tension[number] * formed.directions[mine & (here == node)].sum(axis=0)
        if pulled(rig, ropes[name], k, pull.tolist(), 1e-6 * newton.scale(network)):
            off.add((name, k))
    return frozenset(off)


def _told(
    rig: Rig, said: Drawn, assembly: Assembly, answer: Answer, lifted: frozenset[tuple[str, int]],
    lifted_feet: tuple[str, ...],
) -> Equilibrium:  # fmt: skip
    network = assembly.network
    formed = shape(network, answer.state)
    load = max([float(network.weights.max(initial=0.0)), *assembly.resting.values()])
    points = [as_point(at) for at in formed.places]
    lengths = np.bincount(network.line, formed.lengths, network.lines) if network.lines else np.zeros(0)
    lines = tuple(
        _line(line, points, float(t), load, float(length))
        for line, t, length in zip(assembly.lines, answer.tension, lengths, strict=True)
    )
    at: dict[str, Point] = {name: place for name, place in said.at.items() if "|" not in name}
    for node, k in enumerate(assembly.nodes):
        if isinstance(k, str) and node < network.moving:
            continue  # somebody's feet
        names = assembly.lumps.lumps[k].parts if isinstance(k, int) else (k,)
        points_here = [name for name in names if "|" not in name] or [name.split("|")[0] for name in names]
        at |= dict.fromkeys(points_here, points[node])
    force = pulls(network, formed)
    pressing = _pressing(answer.jams)
    for a, b in pressing:  # what has run up to something rests on it
        force[b] += force[a]
        force[a] = 0
    reactions: dict[str, Point] = {}
    for node in range(network.moving, network.nodes):
        k = assembly.nodes[node]
        name = k if isinstance(k, str) else _grounded(rig, assembly.lumps.lumps[k].parts)
        reactions[name] = as_point(force[node] - np.array([0.0, 0.0, assembly.resting.get(node, 0.0)]))
    falls = sorted(
        name
        for name, k in assembly.lumps.of.items()
        if k in assembly.falls and rig.parts[name].is_body and not rig.parts[name].standing
    )
    ropes = {rope.name: rope for rope in rig.ropes}
    return Equilibrium(
        lines=lines,
        reactions=dict(sorted(reactions.items())),
        at=at,
        poses=tuple(_pose(rig, said, assembly, answer.state, k) for k in range(network.bodies)),
        falls=tuple(falls),
        jammed=tuple(sorted((_node_name(rig, assembly, a), _node_name(rig, assembly, b)) for a, b in pressing)),
        passed={n: float(v) for n, v in zip(assembly.grips, answer.state.passed, strict=True)},
        lifted=tuple(sorted((name, ropes[name].stations[k].part) for name, k in lifted)),
        lifted_feet=lifted_feet,
        load=load,
        residual=answer.residual,
        assumed=_assumed(said, assembly, ropes),
        doubts=said.doubts,
        wanted=tuple(_wanted(assembly, ropes)),
        solved=Solved(assembly, answer.state, answer.tension, pressing),
    )


def _assumed(said: Drawn, assembly: Assembly, ropes: Mapping[str, Rope]) -> tuple[str, ...]:
    """What was taken where the file doesn't say, each once."""
    defaults = sorted({line.rope or line.name for line in assembly.lines if line.default})
    assumed = [*said.assumed]
    if defaults:
        assumed.append(f"stretch taken from the kind: {', '.join(defaults)}")
    if assembly.lumps.unclear:
        assumed.append(f"which end is which told by the order of writing: {', '.join(assembly.lumps.unclear)}")
    for name in assembly.untold:
        how = "doesn't say where its spare rope lies" if _long(ropes[name]) else "gives no length"
        assumed.append(f"{name} runs to its stopper, and {how}: how far isn't told, it holds nothing here")
    if assembly.lumps.spanning:
        assumed.append(f"carries nothing, spans more than two places: {', '.join(assembly.lumps.spanning)}")
    return tuple(dict.fromkeys(assumed))


def _wanted(assembly: Assembly, ropes: Mapping[str, Rope]) -> Iterator[tuple[str, Wanted]]:
    """Of ropes that run to a stopper, what the file must say for that to be told."""
    for name in assembly.untold:
        line = f"rope {name}: spare below" if _long(ropes[name]) else f"rope {name}: {as_length(60, '.2g')}"
        where = f", and whether the rest of {name} lies below or `in the bag above`" if _long(ropes[name]) else ""
        yield name, Wanted(line, f"how far {name} runs to its stopper{where}", ropes[name].place)


def _long(rope: Rope) -> bool:
    """Does the file say how long it is?"""
    return "length" in dict(rope.quantities)


def _pressing(jams: list[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Which node rests on which, where some have run up to each other: all of it comes down on the last
    in order (the fixed one, where there is one), by the fewest between."""
    near: dict[int, set[int]] = {}
    for a, b in jams:
        near.setdefault(a, set()).add(b)
        near.setdefault(b, set()).add(a)
    told: list[tuple[int, int]] = []
    seen: set[int] = set()
    for last in sorted(near, reverse=True):
        todo = [] if last in seen else [last]
        seen |= {last}
        for node in todo:  # grows as it goes
            for other in sorted(near[node] - seen):
                seen.add(other)
                told.append((other, node))
                todo.append(other)
    return tuple(reversed(told))


def _grounded(rig: Rig, names: tuple[str, ...]) -> str:
    """The part of a fixed lump that stands on the ground."""
    parts = [rig.parts[name] for name in names if name in rig.parts]
    for part in parts:
        if part.nature in (Nature.GROUND, Nature.FRAME) or part.standing:
            return part.name
    return names[0]


def _node_name(rig: Rig, assembly: Assembly, node: int) -> str:
    k = assembly.nodes[node]
    if isinstance(k, str):
        return k
    names = [n.split("|")[0] for n in assembly.lumps.lumps[k].parts]
    return min(names, key=lambda n: (n in rig.parts and rig.parts[n].nature is Nature.KNOT, n))


def _line(line: Line, points: list[Point], tension: float, load: float, length: float) -> LineForce:
    slack = tension <= SLACK * load
    return LineForce(
        line.name,
        line.part,
        line.rope,
        line.labels,
        tuple(points[k] for k in line.path),
        tension,
        slack,
        length,
        line.rest,
        line.ea,
        line.default,
    )


def _pose(rig: Rig, said: Drawn, assembly: Assembly, state: State, k: int) -> BodyPose:
    name = assembly.body_names[k]
    turn = state.turns[k]
    lies = lie_of(turn, said.shapes[name].offsets, name, rig.parts[name].ends)
    rows = (as_point(turn[0]), as_point(turn[1]), as_point(turn[2]))
    return BodyPose(name, as_point(state.centres[k]), rows, lies)
