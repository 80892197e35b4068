"""Which corners of the bands are worst: all of them brought to rest together, as they hang and after each failure.

The points and lines are those of the middle of the bands; only their figures change from corner to corner. What is
worst there is worked out in full by itself (`spreading.py`): here it is only found.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from analyser.forces.assembling import SHORTEST, Assembly, Case
from analyser.forces.banding import Banded, Point, at_point
from analyser.forces.drawn import Drawn
from analyser.forces.equilibrium import Equilibrium, Statics, brought
from analyser.forces.network import Array
from analyser.forces.stiffness import GRAVITY
from analyser.forces.threads import one_thread
from analyser.forces.together import Figures, Rested, States, Together, starting
from analyser.rig.model import Failure, Rig

AT_ONCE = 1024
"""Corners that are solved together."""
MOST_CROSSING = 6
"""Pulls at one point up to which every side of them is summed."""
APART = ("mass", "stretch", "strength")
"""Figures that change no length and no place."""


@dataclass(frozen=True, slots=True)
class Worst:
    """After one failure (empty: as it hangs): by what is worst there, the corner. Keys: `("down", BODY)`,
    `("tilt", BODY)`, `("head-up", BODY)` and so on, `("pull", LINE)`, `("cross", NODE)`."""

    failure: str
    corner: dict[tuple[str, str], Point]


class Corners:
    """All corners of a rig's bands; `statics` of the middle of every band, and `middle`, its rest."""

    def __init__(
        self, rig: Rig, banded: Sequence[Banded], points: Sequence[Point], statics: Statics, middle: Equilibrium
    ) -> None:
        self.banded, self.points = banded, points
        self.statics, self.middle = statics, middle
        self.said = self._drawn(rig)
        self.contradicting = [point for point, said in zip(points, self.said, strict=True) if said is None]
        self.astray: list[tuple[str, Point]] = []
        """Corners that don't come to rest here, by the failure after which."""

    def _drawn(self, rig: Rig) -> list[Drawn | None]:
        """What each corner says of lengths and places; those alike in them are read once."""
        firm = [k for k, one in enumerate(self.banded) if one.figure not in APART]
        known: dict[Point, Drawn | None] = {}
        told = []
        for point in self.points:
            key = tuple(point[k] for k in firm)
            if key not in known:
                statics = Statics.of(at_point(rig, self.banded, point))
                known[key] = statics.said if isinstance(statics, Statics) else None
            told.append(known[key])
        return told

    def worst(self, failures: Iterable[Failure], *, pulls: bool) -> list[Worst]:
        """What is worst where, as it hangs and after each failure; `pulls`: there too what lines and points carry."""
        kept = [k for k, said in enumerate(self.said) if said is not None]
        best: dict[tuple[str, tuple[str, str]], tuple[float, Point]] = {}
        after = {failure.id: self.statics.equilibrium(Case(failure.effects), self.middle) for failure in failures}
        alike: dict[tuple[object, ...], str] = {}
        same: dict[str, str] = {}
        for name, found in after.items():
            same[name] = alike.setdefault(_structure(found), name)
        with one_thread():
            for first in range(0, len(kept), AT_ONCE):
                chunk = kept[first : first + AT_ONCE]
                base = self._rested(self.middle, chunk, None)
                self._note(best, "", self.middle, base, None, chunk, True)
                for name, found in after.items():
                    if same[name] == name and found.accepted:
                        now = self._rested(found, chunk, base)
                        self._note(best, name, found, now, base, chunk, pulls)
        told: dict[str, dict[tuple[str, str], Point]] = {}
        for (failure, key), (_, point) in best.items():
            told.setdefault(failure, {})[key] = point
        return [Worst(name, told[source]) for name, source in (("", ""), *same.items()) if source in told]

    def _note(
        self,
        best: dict[tuple[str, tuple[str, str]], tuple[float, Point]],
        failure: str,
        found: Equilibrium,
        now: Rested,
        base: Rested | None,
        chunk: Sequence[int],
        pulls: bool,
    ) -> None:
        """Keep the worst corner of each figure."""
        assembly = found.solved.assembly
        rows: dict[tuple[str, str], Array] = {}
        if base is not None:
            before = self.middle.solved.assembly
            for body in self.statics.rig.bodies:
                here = _height(assembly, now, body.name)
                there = _height(before, base, body.name)
                if here is not None and there is not None:
                    rows["down", body.name] = there - here
        for k, name in enumerate(assembly.body_names):
            rows["tilt", name] = -now.states.turns[:, k, 2, 2]
            rows["head-up", name] = now.states.turns[:, k, 2, 0]
            rows["head-down", name] = -now.states.turns[:, k, 2, 0]
            rows["left-up", name] = now.states.turns[:, k, 2, 1]
            rows["left-down", name] = -now.states.turns[:, k, 2, 1]
        if pulls:
            for k, line in enumerate(assembly.lines):
                rows["pull", line.name] = now.tension[:, k]
            for node, sizes in _crossing(assembly, now).items():
                rows["cross", str(node)] = sizes
        gone = np.flatnonzero(np.logical_not(now.balanced))
        self.astray += [(failure, self.points[chunk[int(at)]]) for at in gone]
        for (what, of), values in rows.items():
            self._keep(best, failure, (what, of), np.where(now.balanced, values, -np.inf), chunk)
            if what in ("down", "pull", "cross"):
                self._keep(best, failure, (f"least {what}", of), np.where(now.balanced, -values, -np.inf), chunk)

    def _keep(
        self,
        best: dict[tuple[str, tuple[str, str]], tuple[float, Point]],
        failure: str,
        key: tuple[str, str],
        values: Array,
        chunk: Sequence[int],
    ) -> None:
        at = int(np.argmax(values))
        if np.isfinite(values[at]) and float(values[at]) > best.get((failure, key), (-np.inf, ()))[0]:
            best[failure, key] = float(values[at]), self.points[chunk[at]]

    def _rested(self, found: Equilibrium, chunk: Sequence[int], base: Rested | None) -> Rested:
        assembly = found.solved.assembly
        together = Together(assembly.network, self._figures(assembly, chunk))
        states = starting(brought(assembly, found), len(chunk))
        if base is not None:
            self._from_base(assembly, states, base)
        return together.rest(states)

    def _from_base(self, assembly: Assembly, states: States, base: Rested) -> None:
        """Everything where it was before, case by case."""
        before = self.middle.solved.assembly
        for at in range(assembly.network.free):
            k = assembly.nodes[at]
            names = assembly.lumps.lumps[k].parts if isinstance(k, int) else (k,)
            node = next(
                (n for name in names if (n := before.node_of.get(before.lumps.of.get(name, -1))) is not None), None
            )
            if node is not None:
                states.free[:, at] = base.places[:, node]
        for at, name in enumerate(assembly.body_names):
            if name in before.body_names:
                k = before.body_names.index(name)
                states.centres[:, at] = base.states.centres[:, k]
                states.turns[:, at] = base.states.turns[:, k]
        for at, name in enumerate(assembly.grips):
            states.passed[:, at] = base.states.passed[:, before.grips.index(name)] if name in before.grips else 0.0

    def _figures(self, assembly: Assembly, chunk: Sequence[int]) -> Figures:
        """The numbers of each corner, for the points and lines of one assembly."""
        network = assembly.network
        cases = len(chunk)
        rest = np.zeros((cases, network.lines))
        fixed = np.zeros((cases, *network.fixed.shape))
        offsets = np.zeros((cases, *network.offsets.shape))
        drawn: dict[int, tuple[Array, Array, Array]] = {}
        for row, corner in enumerate(chunk):
            said = self.said[corner]
            assert said is not None
            if id(said) not in drawn:
                drawn[id(said)] = self._lengths(assembly, said)
            rest[row], fixed[row], offsets[row] = drawn[id(said)]
        stiff = np.array([line.ea for line in assembly.lines]) * self._stiffer(assembly, chunk)
        return Figures(rest, stiff / np.maximum(rest, SHORTEST), self._weights(assembly, chunk), fixed, offsets)

    def _lengths(self, assembly: Assembly, said: Drawn) -> tuple[Array, Array, Array]:
        """Metres at rest by line, places of fixed nodes, and offsets of carried ones."""
        middle = self.statics.said
        rest = []
        for line in assembly.lines:
            if line.part is not None:
                rest.append(line.rest + said.rest.get(line.part, 0.0) - middle.rest.get(line.part, 0.0))
            else:
                more = sum(sum(said.spans[span]) - sum(middle.spans[span]) for span in line.spans)
                rest.append(line.rest + more)
        network = assembly.network
        fixed = network.fixed.copy()
        for node in range(network.moving, network.nodes):
            k = assembly.nodes[node]
            names = (k,) if isinstance(k, str) else assembly.lumps.lumps[k].parts
            at = next((said.at[name] for name in names if name in said.at), None)
            if at is not None:
                fixed[node - network.moving] = at
        offsets = network.offsets.copy()
        for row, body in enumerate(network.carrier):
            k = assembly.nodes[network.free + row]
            shape = said.shapes[assembly.body_names[int(body)]].offsets
            names = assembly.lumps.lumps[k].parts if isinstance(k, int) else ()
            at = next((shape[name] for name in names if name in shape), None)
            if at is not None:
                offsets[row] = at
        return np.maximum(np.array(rest), 0.0), fixed, offsets

    def _shares(self, figure: str, chunk: Sequence[int]) -> dict[str, Array]:
        """By name, a figure's value at each corner over that in the middle."""
        told = {}
        for k, one in enumerate(self.banded):
            if one.figure == figure:
                share = np.array([self.points[corner][k] for corner in chunk])
                told[one.of] = one.least + share * (one.most - one.least)
        return told

    def _stiffer(self, assembly: Assembly, chunk: Sequence[int]) -> Array:
        """How many times as stiff each line is as in the middle."""
        told = np.ones((len(chunk), len(assembly.lines)))
        middle = {one.of: 0.5 * (one.least + one.most) for one in self.banded if one.figure == "stretch"}
        for name, values in self._shares("stretch", chunk).items():
            for k, line in enumerate(assembly.lines):
                if name in (line.part, line.rope):
                    told[:, k] = middle[name] / np.maximum(values, 1e-9)
        return told

    def _weights(self, assembly: Assembly, chunk: Sequence[int]) -> Array:
        network = assembly.network
        told = np.repeat(network.weights[None], len(chunk), axis=0)
        middle = {one.of: 0.5 * (one.least + one.most) for one in self.banded if one.figure == "mass"}
        lumps = assembly.lumps
        for name, values in self._shares("mass", chunk).items():
            ends = next((soft.ends for soft in lumps.soft if soft.part == name), None)
            where = [(k, 0.5) for k in ends] if ends else [(lumps.of.get(name, -1), 1.0)]
            for k, share in where:
                node = assembly.node_of.get(k)
                if node is not None and node < network.moving:
                    told[:, node] += share * GRAVITY * (values - middle[name])
        return np.maximum(told, 0.0)


def _crossing(assembly: Assembly, now: Rested) -> dict[int, Array]:
    """For each point, the largest sum of a side of what its lines pull there, case by case: what a ring carries."""
    network = assembly.network
    apart = now.places[:, network.end] - now.places[:, network.start]
    lengths = np.linalg.norm(apart, axis=2)
    along = apart / np.maximum(lengths, 1e-9)[..., None] * now.tension[:, network.line][..., None]
    told = {}
    for node in range(network.nodes):
        out = np.concatenate([along[:, network.start == node], -along[:, network.end == node]], axis=1)
        count = out.shape[1]
        if not 1 < count <= MOST_CROSSING:
            continue
        sides = np.array([[bits >> k & 1 for k in range(count)] for bits in range(1, 2**count)], dtype=float)
        sums = np.einsum("bk,cki->cbi", sides, out)
        told[node] = np.sqrt(np.einsum("cbi,cbi->cb", sums, sums)).max(axis=1)
    return told


def _structure(found: Equilibrium) -> tuple[object, ...]:
    """What makes two failures alike: the same points, lines and figures are left."""
    assembly = found.solved.assembly
    lines = tuple((line.name, line.path, line.rest) for line in assembly.lines)
    return (lines, assembly.nodes, assembly.falls, assembly.network.weights.tobytes())


def _height(assembly: Assembly, now: Rested, name: str) -> Array | None:
    if name in assembly.body_names:
        heights: Array = now.states.centres[:, assembly.body_names.index(name), 2]
        return heights
    node = assembly.node_of.get(assembly.lumps.of.get(name, -1))
    return None if node is None else now.places[:, node, 2]
