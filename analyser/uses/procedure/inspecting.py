"""What is looked at before the first load, for what the rig has: common practice, no source (facts 12.1)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from analyser.checking.results import Result
from analyser.rig.model import Maker, Nature, Part, Role
from analyser.uses.procedure.kit import every_part


@dataclass(frozen=True, slots=True)
class Look:
    """One kind of thing to look at: what it is, which parts it is, what must be found."""

    of: str
    names: tuple[str, ...]
    find: str


ROPE = "whole length by hand and eye: sheath, soft or flat places, glaze; long enough; both ends known; date"
PEOPLE = "another person touches and names each: buckles, attachments, devices, gates, helmet; calls agreed"


def _natures(*natures: Nature) -> Callable[[Part], bool]:
    return lambda part: part.nature in natures


def _connector(part: Part) -> bool:
    return "connector" in part.family


def _tied(part: Part) -> bool:
    return part.nature is Nature.KNOT and not part.made_before


LOOKS: tuple[tuple[str, Callable[[Part], bool], str], ...] = (
    (
        "Anchors",
        lambda part: part.nature is Nature.GROUND and part.made_by is Maker.FILE,
        "the right one; in or on what holds by itself; nobody can move or take it; pulled the way it is made for",
    ),
    (
        "Structures",
        _natures(Nature.STRUCTURE),
        "sound, and nobody can move it; a vehicle: keys out, brake on, wheels held",
    ),
    ("Frames", _natures(Nature.FRAME), "feet cannot slide or sink; legs locked; guys tight and tied"),
    (
        "Connectors",
        _connector,
        "gate shut and locked; pulled along its length; not on an edge; no crack, bend or sharp wear",
    ),
    (
        "Slings, straps, cords and lanyards",
        lambda part: part.textile,
        "whole length by hand and eye: no cut, melted or stiff place; stitching whole; within its date",
    ),
    (
        "Rings, plates and other joints",
        lambda part: part.nature is Nature.JOINT and not _connector(part) and not part.textile,
        "no crack or bend; pulled the way it is made for",
    ),
    ("Pulleys", _natures(Nature.PULLEY), "wheel turns; side plates shut; rope runs in the groove"),
    (
        "Devices and hitches on a rope",
        _natures(Nature.GRIP),
        "made for this rope's diameter; the right way round; closed; grips when tried low down, before it is relied on",
    ),
    (
        "Knots",
        _tied,
        "the right knot; dressed and set; tail of ten diameters or more",
    ),
    ("Splices and sewn eyes", lambda part: part.made_before, "stitching or tucks whole; no strand drawn or broken"),
    ("Stoppers", _natures(Nature.STOPPER), "tied at the end of the rope; cannot pass the device above it"),
    ("Edges", _natures(Nature.EDGE), "nothing hot, sharp or moving where a rope lies or can swing"),
    ("Edge protection", _natures(Nature.PAD), "in its place under every rope; tied so that it stays there"),
    ("Litters", _natures(Nature.LITTER), "rails, floor and attachment points whole; lashing done and checked"),
    ("Harnesses", _natures(Nature.HARNESS), "buckles done and doubled back; the right attachment point; webbing whole"),
)


def look_at(part: Part | None) -> str:
    """What must be found of one part; of what is no part, a rope."""
    if part is None:
        return ROPE
    if part.nature is Nature.PERSON:
        return PEOPLE
    return next((find for _, belongs, find in LOOKS if belongs(part)), "")


def looks(result: Result) -> tuple[Look, ...]:
    """The list for what this rig has, over all its states; ropes first."""
    parts = every_part(result)
    lain = sorted({name for state in result.states for name in state.rig.index.ropes})
    over = sorted({at.rope.name for state in result.states for at in state.rig.index.stations(Role.OVER)})
    found = []
    if lain:
        found.append(Look("Ropes", tuple(lain), ROPE + (f"; over an edge: {', '.join(over)}" if over else "")))
    for of, belongs, find in LOOKS:
        names = sorted(part.name for part in parts.values() if belongs(part))
        if names:
            found.append(Look(of, tuple(names), find))
    people = sorted(part.name for part in parts.values() if part.nature is Nature.PERSON)
    if people:
        found.append(Look("People", tuple(people), PEOPLE))
    return tuple(found)
