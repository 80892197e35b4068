"""How long a rope from ground to ground is that says how far it sags under its load: found by trying."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from analyser.forces.drawn import Drawn
from analyser.forces.lumps import lumps_of
from analyser.forces.missing import Missing, Wanted
from analyser.forces.network import Array
from analyser.forces.points import Point
from analyser.forces.rope_lines import RopeLine, rope_lines
from analyser.forces.tensioned import let_out
from analyser.rig.figures import as_force
from analyser.rig.model import Effects, Rig

FITTED = 1e-4
"""Metres within which a sag is met."""

Places = Callable[[Drawn, str, float], tuple[Point, ...]]
"""The places along a line as it comes to rest so many metres longer; none where it carries nothing."""


def fitted(rig: Rig, said: Drawn, hands: bool, places: Places) -> Drawn | Missing:
    """The lengths with every rope that gives its `sag` as long as that makes it (false position on its length);
    as first guessed where nothing hangs on it; what is wrong where no length makes it."""
    for rope in rig.ropes:
        sag = dict(rope.quantities).get("sag")
        laid = [one for one in rope_lines(rig, Effects(), lumps_of(rig, Effects(), hands), hands) if one.rope is rope]
        if sag is None or not laid:
            continue
        line = max(laid, key=lambda one: _metres(said, one))
        now, name, wanted, since = said, str(line.name), sag.si, let_out(rope.quantities)

        def miss(out: float, now: Drawn = now, name: str = name, wanted: float = wanted, since: float = since) -> float:
            return _sag(places(now, name, out - since)) - wanted

        if miss(0.0) <= -wanted:
            continue  # nothing hangs on it
        out = _root(miss, 0.5 * _metres(said, line))
        if out is None:
            why = f"no length of {rope.name} makes it sag {sag.text} under its load"
            return Missing((), (Wanted(f"rope {rope.name}: pretension {as_force(2000, '.2g')}", why, rope.place),))
        said = _longer(said, line, out)
    return said


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
