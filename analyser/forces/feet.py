"""Feet push and never pull: who would hold up what they stand on is off it, and it hangs without them.

Who stands on what hangs lies in its point, or in its body, while the feet press on it, and not more along it than
into it (45 degrees: limit ours, no source). Where they don't, the contact is taken out and the rest is found again;
whoever would then be below where the feet were stands there again.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyser.forces import newton
from analyser.forces.assembling import Assembly, Case
from analyser.forces.drawn import Drawn
from analyser.forces.lumps import lumps_of
from analyser.forces.network import Array, places, shape
from analyser.forces.resting import Answer
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Effects, Part, Rig

UP = np.array([0.0, 0.0, 1.0])
STEEP = 0.5**0.5
"""Cosine of the slope on which nobody stands."""
SUNK = 1e-6
"""Metres under the floor from which on somebody has come down on it."""
BESIDE = 0.5
"""Metres beside where the feet were within which they may come down on it again."""


def off_their_feet(case: Case, off: frozenset[str]) -> Case:
    """The same case, with some people's feet off what they stood on."""
    return replace(case, already=case.already | Effects(unfooted=off)) if off else case


def standing_off(
    rig: Rig,
    said: Drawn,
    case: Case,
    assembly: Assembly,
    answer: Answer,
    off: frozenset[str],
    tried: set[frozenset[str]],
) -> frozenset[str]:
    """Whose feet are off, from whose were: the one that would pull hardest more, or one who has come down on it less,
    where that was not tried before."""
    back = {name for name in off if _below(said, assembly, answer, rig.parts[name]) and off - {name} not in tried}
    if back:
        return off - {min(back)}
    here = off_their_feet(case, off)
    pulls = {part.name: _pull(rig, here, assembly, answer, part) for part in rig.parts.values() if part.stands_on}
    worst = max(pulls, key=lambda name: (pulls[name], name), default=None)
    return off | {worst} if worst is not None and pulls[worst] > 1e-6 * newton.scale(assembly.network) else off


def _pull(rig: Rig, case: Case, assembly: Assembly, answer: Answer, person: Part) -> float:
    """Newtons by which somebody's feet press less into what they stand on than along it, or pull it; nought for who
    touches it otherwise too."""
    k = assembly.lumps.of.get(person.name)
    node = assembly.node_of.get(k) if k is not None else None
    if person.name in case.already.unfooted or person.stands_on in case.already.gone or k is None or node is None:
        return 0.0
    apart = lumps_of(rig, off_their_feet(case, frozenset({person.name})).already, case.hands)
    alone = apart.lumps[apart.of[person.name]]
    deck = apart.of.get(str(person.stands_on))
    if deck == apart.of[person.name] or (alone.body is not None and alone.body == person.stands_on):
        return 0.0
    force = _on_these(rig, assembly, answer, node, frozenset(alone.parts))
    up = _up(assembly, answer, person)
    into = -float(force @ up)
    return float(np.linalg.norm(force + into * up)) - into


def _on_these(rig: Rig, assembly: Assembly, answer: Answer, node: int, those: frozenset[str]) -> Array:
    """What the lines at some of a node's parts, and their weight, come to."""
    formed = shape(assembly.network, answer.state)
    ropes = {rope.name: rope for rope in rig.ropes}
    masses = [dict(rig.parts[name].quantities).get("mass") for name in those if name in rig.parts]
    force = -sum(mass.si for mass in masses if mass) * GRAVITY * UP
    for number, line in enumerate(assembly.lines):
        if node not in line.path:
            continue
        station = {str(s.label): s.part for s in ropes[line.rope].stations} if line.rope else {}
        names = [station[label] for label in line.labels] or [f"{line.part}|0", f"{line.part}|1"]
        segments = np.flatnonzero(assembly.network.line == number)
        for at, (here, name) in enumerate(zip(line.path, names, strict=True)):
            if here != node or not those & {name, f"{name}|1"}:
                continue
            if at > 0:
                force = force - answer.tension[number] * formed.directions[segments[at - 1]]
            if at < len(segments):
                force = force + answer.tension[number] * formed.directions[segments[at]]
    return force


def _up(assembly: Assembly, answer: Answer, person: Part) -> Array:
    """Which way the floor that somebody stands on looks."""
    if person.stands_on in assembly.body_names:
        up: Array = answer.state.turns[assembly.body_names.index(person.stands_on)][:, 2]
        return up
    return UP


def _below(said: Drawn, assembly: Assembly, answer: Answer, person: Part) -> bool:
    """Is who is off the feet below where those were, over a floor that one can stand on?"""
    floor, deck = str(person.stands_on), assembly.lumps.of.get(str(person.stands_on))
    k = assembly.lumps.of.get(person.name)
    node = assembly.node_of.get(k) if k is not None else None
    if k is None or node is None or deck is None:
        return False
    at, _ = places(assembly.network, answer.state)
    if floor in assembly.body_names:
        body = assembly.body_names.index(floor)
        turn = answer.state.turns[body]
        feet = answer.state.centres[body] + turn @ np.array(said.shapes[floor].of(assembly.lumps.lumps[k].parts))
        up = turn[:, 2]
    elif deck in assembly.node_of:
        feet, up = at[assembly.node_of[deck]], UP
    else:
        return False
    off = at[node] - feet
    height = float(off @ up)
    aside = float(np.linalg.norm(off - height * up))
    return bool(height < -SUNK and aside < BESIDE and up[2] > STEEP)
