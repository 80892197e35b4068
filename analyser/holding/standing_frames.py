"""The frames that are ground: the least fixed point of what each needs, and what of that is anchored."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from analyser.holding.monotone import at_least
from analyser.holding.scene import Scene

Anchored = Callable[[Mapping[int, int], dict[int, int]], dict[int, int]]
"""Where each part asked for is anchored, given the frames that are ground."""


def standing_frames(scene: Scene, anchored: Anchored, *, still: bool) -> dict[int, int]:
    """Where each frame stands: those whose needs are anchored. `still`: where they stand without giving."""
    structure = scene.structure
    found = scene.on_feet(still=True) if still else dict(scene.feet_only)
    others = [v for v in structure.frames if v not in found or found[v] != scene.there[v]]
    others = [v for v in others if any(_asked_after(scene, name) for name in structure.parts[v].needed)]
    grown = bool(others)
    while grown:
        grown = False
        known = dict(found)
        wanted = {
            structure.index[name]: scene.batch.full
            for v in others
            for name in structure.parts[v].needed
            if _asked_after(scene, name)
        }
        values = anchored(wanted, known)
        for v in others:
            bits = scene.there[v]
            for need in structure.parts[v].needs:
                count, names = need.asked(still=still)
                bits &= at_least(count, [_need(scene, name, values, known) for name in names])
            if bits & ~found.get(v, 0):
                found[v] = found.get(v, 0) | bits
                grown = True
    return found


def _asked_after(scene: Scene, name: str) -> bool:
    """Is a need something else than ground, so that it has to be asked after?"""
    v = scene.structure.index.get(name, -1)
    return v >= 0 and not scene.structure.ground[v] and scene.structure.owner[v] < 0


def _need(scene: Scene, name: str, values: Mapping[int, int], known: Mapping[int, int]) -> int:
    v = scene.structure.index.get(name, -1)
    if v < 0:
        return 0
    if scene.structure.ground[v]:
        return scene.there[v]
    if v in scene.structure.frames:
        return known.get(v, 0)
    return values.get(v, 0)
