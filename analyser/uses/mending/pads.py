"""A pad where an edge is bare, or one for each rope where several share one."""

from __future__ import annotations

import re
from collections.abc import Iterator

from analyser.checking.finding import listed
from analyser.rig.model import Nature, Role, Station
from analyser.uses.mending.around import Around
from analyser.uses.mending.proposal import BECOMES, Change, Proposal, code_and_comment

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
            yield Proposal("pad", words, 0, bodies, (f"pad {pad}", f"{edge.name}: padded by {pad}"), taste=1)
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
    changes: list[Change] = []
    for rope, station in passages:
        line = around.written(station)
        if line is None:
            return
        pad = around.names.fresh(f"{rope}-{edge}-pad")
        if pad in pads:
            return
        pads.append(pad)
        changes.append(Change(station.place.line, BECOMES, _padded(around, line, station, pad)))
    ropes = [rope for rope, _ in passages]
    for_whom = f"each of {listed(ropes)}" if len(ropes) > 1 else ropes[0]
    words = f"a pad of its own for {for_whom} at {edge}"
    yield Proposal("pad", words, 0, bodies, (f"pad {', '.join(pads)}",), tuple(changes))


def _padded(around: Around, line: str, station: Station, pad: str) -> str:
    """The line of a passage with a pad of its own, in place of the pad that it shares."""
    code, comment = code_and_comment(line)
    if len(station.guards) == 1 and around.rig.parts[station.guards[0]].nature is Nature.PAD:
        old = re.escape(station.guards[0])
        changed = re.sub(rf"(\bby\s+){old}(?![\w-])", rf"\g<1>{pad}", code)
        if changed != code:
            return changed + comment
    before, slack, after = code.partition(", slack")
    return f"{before}, padded by {pad}{slack}{after}{comment}"
