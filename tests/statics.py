"""Helpers for the tests of the statics: a rig from text, at rest, and a balance drawn up by hand."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from rigs import rig_of

from analyser.forces import Equilibrium, Missing, Statics
from analyser.forces.stiffness import GRAVITY
from analyser.rig.model import Rig

STIFF = "stretch 0 % at 100 kg"


def statics_of(text: str, along: dict[str, float] | None = None) -> Statics:
    found = Statics.of(rig_of(text), along)
    assert not isinstance(found, Missing), found.text
    return found


def at_rest(text: str) -> Equilibrium:
    """The equilibrium of a rig, accepted and balanced at every free point by a sum of our own."""
    statics = statics_of(text)
    found = statics.equilibrium()
    assert found.accepted, found.residual
    if not found.jammed:
        assert unbalanced(statics.rig, found) < 1e-6
    return found


def wanted(text: str) -> list[str]:
    """The lines that a rig without enough places and lengths is asked for."""
    found = Statics.of(rig_of(text))
    assert isinstance(found, Missing)
    return [one.line for one in found.wanted]


def unbalanced(rig: Rig, found: Equilibrium) -> float:
    """The largest sum of forces and weights at any free point or body, over the largest weight.

    Reckoned from what the equilibrium tells (places, tensions, reactions), not from its matrices:
    points are told apart by their places, bodies by their names.
    """
    sums: dict[tuple[float, ...], np.ndarray] = defaultdict(lambda: np.zeros(3))
    on_body: dict[tuple[float, ...], str] = {}
    for name, part in rig.parts.items():
        pose = next((p for p in found.poses if part.name == p.name or part.body == p.name), None)
        if pose and name in found.at:
            on_body[found.at[name]] = pose.name
    names = {pose.name for pose in found.poses}
    touching = [pair for c in rig.contacts if c.given for pair in ((c.a, c.b), (c.b, c.a))]
    for body, lashing in touching:
        for one, lashed in touching:
            if body in names and one == lashing and lashed in found.at and rig.parts[lashed].is_body and lashed != body:
                on_body.setdefault(found.at[lashed], body)
    for name, part in rig.parts.items():  # whoever stands on it
        if part.stands_on in names and name in found.at:
            on_body.setdefault(found.at[name], part.stands_on)
    heaviest = 0.0
    for line in found.lines:
        for a, b in zip(line.places, line.places[1:], strict=False):
            apart = np.subtract(b, a)
            size = np.linalg.norm(apart)
            if size > 0:
                sums[a] += line.tension * apart / size
                sums[b] -= line.tension * apart / size
    weights: dict[tuple[float, ...], float] = defaultdict(float)
    for part in rig.parts.values():
        mass = dict(part.quantities).get("mass")
        if mass and part.name in found.at and part.name not in found.falls and not part.standing:
            place = found.at[part.name]
            if part.stands_on in names and on_body.get(place) == part.stands_on:  # over the feet, on the deck
                pose = next(p for p in found.poses if p.name == part.stands_on)
                up = np.array(pose.turn)[:, 2]
                height = float(up @ np.subtract(place, pose.centre))
                place = tuple(np.subtract(place, min(1.0, max(height, 0.0)) * up))
                on_body[place] = part.stands_on
            weights[place] += mass.si * GRAVITY
    for place, weight in weights.items():
        sums[place] += (0, 0, -weight)
        heaviest = max(heaviest, weight)
    grounded = {found.at[name] for name in found.reactions}
    bodies: dict[str, np.ndarray] = defaultdict(lambda: np.zeros(6))
    centres = {pose.name: pose.centre for pose in found.poses}
    worst = 0.0
    for place, force in sums.items():
        if place in grounded:
            continue
        if place in on_body:
            name = on_body[place]
            bodies[name] += np.concatenate([force, np.cross(np.subtract(place, centres[name]), force)])
        else:
            worst = max(worst, float(np.linalg.norm(force)))
    for both in bodies.values():
        worst = max(worst, float(np.linalg.norm(both[:3])), float(np.linalg.norm(both[3:])))
    return worst / max(heaviest, 1e-9)
