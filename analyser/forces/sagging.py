"""How long a rope from ground to ground is that says how far it sags under its load: found by trying."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from analyser.forces.drawn import Drawn
from analyser.forces.lumps import lumps_of
from analyser.forces.missing import Missing, Wanted
from analyser.forces.network import Array
from analyser.forces.points import Point
from analyser.forces.rope_lines import RopeLine, rope_lines
from analyser.rig.figures import as_force
from analyser.rig.model import Effects, Quantity, Rig, Rope
from analyser.rig.quantities import let_out

FITTED = 1e-4
"""Metres within which a sag is met."""

TOGETHER = 0.05
"""Metres by which the sags of ropes that carry one load may differ: they hang in one place."""

Places = Callable[[Drawn, str, dict[str, float]], tuple[Point, ...]]
"""The places along a line as it comes to rest with some lines so many metres longer; none where it carries nothing."""


@dataclass(frozen=True, slots=True)
class _Sagging:
    """A rope that gives its sag, and its line that sags."""

    rope: Rope
    line: RopeLine
    sag: Quantity

    @property
    def name(self) -> str:
        return str(self.line.name)


def fitted(rig: Rig, said: Drawn, hands: bool, places: Places) -> Drawn | Missing:
    """The lengths with every rope that gives its `sag` as long as that makes it (false position on its length);
    as first guessed where nothing hangs on it; what is wrong where no length makes it. Ropes that carry one load, as
    twin tracks do, are let out alike: each has its share of it."""
    for group in _groups(rig, said, hands):
        first, *others = group
        since = {one.name: let_out(one.rope.quantities) for one in group}

        def sag_of(one: _Sagging, out: float, now: Drawn = said, since: dict[str, float] = since) -> float:
            return _sag(places(now, one.name, {name: out - let for name, let in since.items()}))

        def miss(out: float, first: _Sagging = first, sag_of: Callable[..., float] = sag_of) -> float:
            return sag_of(first, out) - first.sag.si

        if miss(0.0) <= -first.sag.si:
            continue  # nothing hangs on it
        out = _root(miss, 0.5 * _metres(said, first.line))
        if out is None:
            why = f"no length of {first.rope.name} makes it sag {first.sag.text} under its load"
            return _instead(first, why)
        for one in others:
            if abs(sag_of(one, out) - one.sag.si) > TOGETHER:
                both, sags = f"{first.rope.name} and {one.rope.name}", f"{first.sag.text} and {one.sag.text}"
                return _instead(one, f"{both} carry one load and can't sag {sags}")
        for one in group:
            said = _longer(said, one.line, out)
    return said


def _instead(one: _Sagging, why: str) -> Missing:
    return Missing((), (Wanted(f"rope {one.rope.name}: pretension {as_force(2000, '.2g')}", why, one.rope.place),))


def _groups(rig: Rig, said: Drawn, hands: bool) -> list[list[_Sagging]]:
    """The ropes that give their sag, those together that carry the same thing."""
    groups: list[tuple[set[int | str], list[_Sagging]]] = []
    every = rope_lines(rig, Effects(), lumps_of(rig, Effects(), hands), hands)
    for rope in rig.ropes:
        sag, laid = dict(rope.quantities).get("sag"), [one for one in every if one.rope is rope]
        if sag is None or not laid:
            continue
        line = max(laid, key=lambda one: _metres(said, one))
        carried, mine = set(line.path[1:-1]), _Sagging(rope, line, sag)
        near = next((group for group in groups if not group[0].isdisjoint(carried)), None)
        if near is None:
            groups.append((carried, [mine]))
        else:
            near[0].update(carried)
            near[1].append(mine)
    return [group for _, group in groups]


def under_chord(first: Array, last: Array, at: Array) -> tuple[float, float]:
    """How far along the straight line between two ends a place is, and how far under it, plumb. Both ends in one place
    make no line."""
    chord = last - first
    size = float(np.linalg.norm(chord))
    if size < 1e-9:
        return 0.0, 0.0
    share = float((at - first) @ chord) / size**2
    if float(np.hypot(chord[0], chord[1])) > 1e-9:
        level = float((at - first)[:2] @ chord[:2]) / float(chord[:2] @ chord[:2])
        return share * size, float((first + level * chord - at)[2])
    return share * size, 0.0


def _sag(places: tuple[Point, ...]) -> float:
    spots = np.array(places, dtype=float)
    return max((under_chord(spots[0], spots[-1], at)[1] for at in spots[1:-1]), default=0.0) if len(spots) else 0.0


def _metres(said: Drawn, line: RopeLine) -> float:
    return sum(sum(said.spans[span]) for span in line.rope.spans[line.first : line.last])


def _root(miss: Callable[[float], float], most: float) -> float | None:
    """Metres by which a line must be longer for its sag to be met, up to `most`; None where none is found."""
    ends: list[tuple[float, float]] = []
    out = 0.0
    while len(ends) < 2 or ends[0][1] * ends[1][1] > 0:
        found = miss(out)
        ends = [*ends[-1:], (out, found)]
        if abs(out) >= most:
            break
        out = math.copysign(min(2 * abs(out), most), out) if out else (-0.01 if found > 0 else 0.01) * most
    if ends[0][1] * ends[-1][1] > 0:
        return None
    (a, fa), (b, fb) = ends
    for _ in range(60):
        if abs(fb) < FITTED or abs(b - a) < 1e-9:
            break
        out = (a * fb - b * fa) / (fb - fa)
        now = miss(out)
        a, fa = (b, fb) if now * fb < 0 else (a, fa / 2)
        b, fb = out, now
    return b


def _longer(said: Drawn, line: RopeLine, out: float) -> Drawn:
    """The same with a line's spans as much longer."""
    own = line.rope.spans[line.first : line.last]
    spans = dict(said.spans)
    for span in own:
        drawn, slack = spans[span]
        spans[span] = (drawn + out / len(own), slack)
    return replace(said, spans=spans)
