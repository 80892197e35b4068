"""Ropes between two grounds whose length follows from how tight they are: track lines, guys, tie-backs.

`pretension 2 kN` is what a rope pulls with while nothing hangs on it: between grounds *D* apart, over slings of
*Lₛ*, it is at rest (*D* − Σ *Lₛ*(1 + *T*/*EAₛ*)) / (1 + *T*/*EA*) long. `sag 1.5 m` is how far what runs on it hangs
under the straight line between its ends, under its load: the length follows by trying (`tracks.py`). A length that
is shorter than the way between its ends is taken as it stands: the rope was stretched to reach.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from analyser.forces.lumps import Lumps, Soft
from analyser.forces.missing import Wanted
from analyser.forces.points import Point
from analyser.forces.rope_lines import RopeLine
from analyser.forces.stiffness import stiffness
from analyser.rig.model import Rig
from analyser.rig.quantities import let_out

LONGEST = 1.12
"""How much longer than at rest a rope that was pulled tight may be: more is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Between:
    """A line of rope between two grounds: their places, and the slings by which it is held to them."""

    line: RopeLine
    places: tuple[Point, Point]
    slings: tuple[Soft, ...]

    @property
    def apart(self) -> float:
        return math.dist(*self.places)


def pulled_tight(
    rig: Rig,
    lumps: Lumps,
    lines: Sequence[RopeLine],
    place: Sequence[Point | None],
    fixed: Callable[[int], bool],
    rest: Mapping[str, float],
) -> tuple[dict[str, tuple[RopeLine, float]], dict[str, Wanted]]:
    """By rope, a line between two grounds whose metres at rest follow from its pretension, its sag (a first guess), or
    a length that is shorter than the way; and what can't be as it is written. `rest`: metres of soft parts."""
    found: dict[str, tuple[RopeLine, float]] = {}
    wrong: dict[str, Wanted] = {}
    between = between_grounds(lumps, lines, place, fixed)
    for rope in rig.ropes:
        told = dict(rope.quantities)
        pull, sag, given = told.get("pretension"), told.get("sag"), told.get("length")
        one = between.get(rope.name)
        if pull is None and sag is None:
            if one is not None and given is not None and len(rope.spans) == one.line.last - one.line.first:
                way = one.apart - sum(rest.get(soft.part, 0.0) for soft in one.slings)
                if way / LONGEST <= given.si < way:
                    found[rope.name] = one.line, given.si + let_out(rope.quantities)
            continue
        word = "pretension" if pull else "sag"
        why = f"{rope.name} has a {word}, and doesn't lead from ground to ground" if one is None else ""
        if pull and sag:
            why = f"{rope.name} has a pretension and a sag: either follows from the other"
        if why:
            wrong[why] = Wanted(f"rope {rope.name}: {word} …", why, rope.place)
        elif one is not None:
            metres = _at_rest(rig, one, rest, pull.si if pull else 0.0)
            metres = math.hypot(metres, 2 * sag.si) if sag else metres
            found[rope.name] = one.line, metres + let_out(rope.quantities)
    return found, wrong


def between_grounds(
    lumps: Lumps, lines: Sequence[RopeLine], place: Sequence[Point | None], fixed: Callable[[int], bool]
) -> dict[str, Between]:
    """By rope, its longest line that leads from ground to ground, directly or over a sling at an end."""
    found: dict[str, Between] = {}
    for line in lines:
        ends = [_ground(lumps, line.path[k], place, fixed) for k in (0, -1)]
        if any(isinstance(line.path[k], str) for k in (0, -1)) or None in ends:
            continue
        one, other = (end for end in ends if end is not None)
        made = Between(line, (one[0], other[0]), tuple(s for s in (one[1], other[1]) if s is not None))
        if made.apart > 0 and (line.rope.name not in found or found[line.rope.name].apart < made.apart):
            found[line.rope.name] = made
    return found


def _ground(
    lumps: Lumps, k: int | str, place: Sequence[Point | None], fixed: Callable[[int], bool]
) -> tuple[Point, Soft | None] | None:
    """The ground at an end of a line, and the sling between."""
    if not isinstance(k, int):
        return None
    at = place[k]
    if fixed(k):
        return (at, None) if at is not None else None
    for soft in lumps.soft:
        if k in soft.ends:
            other = soft.ends[1] if soft.ends[0] == k else soft.ends[0]
            at = place[other]
            if fixed(other) and at is not None:
                return at, soft
    return None


def _at_rest(rig: Rig, one: Between, rest: Mapping[str, float], pull: float) -> float:
    """Metres of rope at rest where it pulls with `pull` newtons, straight from ground to ground."""
    slings = sum(rest.get(s.part, 0.0) * (1 + pull / stiffness(rig.parts[s.part])[0]) for s in one.slings)
    return (one.apart - slings) / (1 + pull / stiffness(one.line.rope)[0])
