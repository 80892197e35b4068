"""A pad where an edge is bare, or one for each rope where several share one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from analyser.checking.finding import listed
from analyser.language.edit import Edit, declare, more, says, word
from analyser.language.mistakes import Place
from analyser.language.syntax import RopeStation
from analyser.rig.model import Nature, Role, Station
from analyser.uses.mending.around import Around
from analyser.uses.mending.proposal import Proposal

Passage = tuple[str, Station]


def propose(around: Around) -> Iterator[Proposal]:
    """Only edges that take part in what drops somebody."""
    for edge in around.rig.index.natured(Nature.EDGE):
        bodies = tuple(
            body for body, sets in around.worst.items() if any(_cuts(around, edge.name, one) for one in sets)
        )
        passages = [(at.rope.name, at.station) for at in around.rig.index.at(edge.name, Role.OVER)]
        if not bodies or not passages:
            continue
        bare = [(rope, s) for rope, s in passages if not s.guards and not edge.guards]
        if bare:
            pad = around.names.fresh(f"{edge.name}-pad")
            words = f"a pad at {edge.name} for every rope over it"
            edit = Edit((declare("pad", [pad]), more([edge.name], says("guarded_by", pad))))
            yield around.proposal("pad", words, 0, bodies, edit, taste=1)
        shared = _sharing(edge.guards, passages)
        if bare or shared:
            yield from _own(around, edge.name, bodies, [p for p in passages if p in bare or p in shared])


def _cuts(around: Around, edge: str, one: tuple[str, ...]) -> bool:
    known = around.rig.index.failures
    return any(edge in known[name].effects.cutting for name in one if name in known)


def _sharing(for_all: tuple[str, ...], passages: list[Passage]) -> list[Passage]:
    """The passages that have no guard to themselves: of those that share one, all but the first."""
    if for_all and len(passages) > 1:
        return [(rope, s) for rope, s in passages if not s.guards]
    found = []
    for k, (rope, station) in enumerate(passages):
        others = {guard for _, other in passages[:k] for guard in other.guards}
        if station.guards and others.issuperset(station.guards):
            found.append((rope, station))
    return found


def _own(around: Around, edge: str, bodies: tuple[str, ...], passages: list[Passage]) -> Iterator[Proposal]:
    pads: list[str] = []
    becomes: dict[Place, tuple[RopeStation, ...]] = {}
    for rope, station in passages:
        line = around.written.get(station.place)
        if line is None:
            return
        pad = around.names.fresh(f"{rope}-{edge}-pad")
        if pad in pads:
            return
        pads.append(pad)
        shared = len(line.guards) == 1 and around.rig.parts[line.guards[0].text].nature is Nature.PAD
        becomes[line.place] = (replace(line, guards=(*(() if shared else line.guards), word(pad))),)
    ropes = [rope for rope, _ in passages]
    for_whom = f"each of {listed(ropes)}" if len(ropes) > 1 else ropes[0]
    words = f"a pad of its own for {for_whom} at {edge}"
    yield around.proposal("pad", words, 0, bodies, Edit((declare("pad", pads),), becomes))
