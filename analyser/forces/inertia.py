"""How bodies with a size resist turning: their mass, its middle, and their moments about it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyser.forces.assembling import Assembly
from analyser.forces.drawn import LITTER, Drawn, towards_head
from analyser.forces.network import EYE, Array
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Nature, Rig

PERSON = (1.75, 0.45, 0.25)
"""Metres of length, width and thickness of who lies in a litter: ours, of a grown person."""
LEAST = 0.3
"""Metres of a load's size along each way, at least: ours."""


@dataclass(frozen=True, slots=True)
class Inertia:
    """`mass` in kg, its `centre` from the body's own centre as drawn, and the moments `about` it (kg m²)."""

    mass: float
    centre: Array
    about: Array


def inertias(rig: Rig, said: Drawn, assembly: Assembly) -> dict[str, Inertia]:
    """For each rigid body that moves: a litter is a slab as long and wide as it is, who lies in it one of a
    person's size, a load a block over its points, all of them even all through."""
    network = assembly.network
    found: dict[str, Inertia] = {}
    for k, name in enumerate(assembly.body_names):
        part = rig.parts[name]
        offsets = said.shapes[name].offsets
        head = np.array(towards_head(offsets))
        pieces: list[tuple[float, Array, Array]] = []
        for c in np.flatnonzero(network.carrier == k):
            node = network.free + int(c)
            mass = float(network.weights[node]) / GRAVITY
            if mass <= 0:
                continue
            lump = assembly.nodes[node]
            names = assembly.lumps.lumps[lump].parts if isinstance(lump, int) else ()
            if isinstance(lump, str) or any(rig.parts[n].nature is Nature.PERSON for n in names if n in rig.parts):
                size = np.array(PERSON)
            elif part.nature is Nature.LITTER and name in names:
                sizes = dict(part.quantities)
                length = sizes["length"].si if "length" in sizes else _extent(offsets, head) or LITTER[0]
                width = sizes["width"].si if "width" in sizes else LITTER[1]
                size = np.array([length, width, 0.2])
            elif name in names:
                spots = np.array([*offsets.values(), (0.0, 0.0, 0.0)])
                size = np.maximum(np.ptp(spots, axis=0), LEAST)
                head = np.array([1.0, 0.0, 0.0])
            else:
                size = np.zeros(3)
            pieces.append((mass, network.offsets[c], _slab(mass, size, head)))
        total = sum(mass for mass, _, _ in pieces)
        if total <= 0:
            pieces, total = [(1e-3, np.zeros(3), 1e-4 * EYE)], 1e-3
        centre = sum((mass * at for mass, at, _ in pieces), np.zeros(3)) / total
        about = np.zeros((3, 3))
        for mass, at, own in pieces:
            r = at - centre
            about += own + mass * (float(r @ r) * EYE - np.outer(r, r))
        least = 1e-3 * total
        about += max(0.0, least - float(np.linalg.eigvalsh(about)[0])) * EYE
        found[name] = Inertia(total, centre, about)
    return found


def _extent(offsets: dict[str, tuple[float, float, float]], along: Array) -> float:
    spots = [float(np.dot(at, along)) for at in offsets.values()]
    return max(spots) - min(spots) if spots else 0.0


def _slab(mass: float, size: Array, along: Array) -> Array:
    """An even slab, as long as the first of its sizes `along` a level way, as wide as the second across it."""
    a, b, c = size
    own = mass / 12 * np.diag([b * b + c * c, a * a + c * c, a * a + b * b])
    x = along / max(float(np.linalg.norm(along)), 1e-9)
    aside = np.cross([0.0, 0.0, 1.0], x)
    if float(np.linalg.norm(aside)) < 1e-6:
        aside = np.array([0.0, 1.0, 0.0])
    y = aside / np.linalg.norm(aside)
    turn = np.column_stack([x, y, np.cross(x, y)])
    moments: Array = turn @ own @ turn.T
    return moments
