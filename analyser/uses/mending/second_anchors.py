"""A second anchor where every way passes one: slung to what hangs there, or given to one of its ropes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from analyser.language.edit import Edit, attach, link
from analyser.rig.model import Nature, Role
from analyser.uses.mending.around import LOOPS, RINGS, Around
from analyser.uses.mending.proposal import Proposal

DEVICES = (Nature.GRIP, Nature.PULLEY)


def propose(around: Around) -> Iterator[Proposal]:
    for ground in grounds(around):
        bodies = tuple(body for body in around.worst if ground in around.failing_in(body))
        second = around.names.fresh(f"second-{ground}")
        sling = around.names.fresh(f"{second}-sling")
        for taste, name in _slung(around, ground):
            words = f"a second anchor beside {ground}, slung to {name}"
            edit = Edit((attach(link(second, "anchor"), link(sling, "sling"), name),))
            yield around.proposal("anchor", words, 1, bodies, edit, taste=taste)
        yield from _moved(around, ground, second, bodies)
        for body in bodies:
            if around.ropes_to(body) or around.rig.parts[body].standing:
                continue
            for point in around.points(body):
                words = f"a sling from a second anchor beside {ground} to {point}"
                slung = attach(link(second, "anchor"), link(sling, "sling"), point)
                edit = Edit((*around.declared(point, body), slung))
                yield around.proposal("anchor", words, 1, (body,), edit)


def grounds(around: Around) -> list[str]:
    """Anchors whose loss is among what drops a body in need."""
    lost = {name for body in around.worst for name in around.failing_in(body)}
    return [name for name in sorted(lost) if around.is_anchor(name)]


def _slung(around: Around, ground: str) -> list[tuple[int, str]]:
    """What a sling from a second anchor may go to: rings first, then devices, then what is at the
    first anchor itself."""
    found = []
    for name in around.touching([ground]):
        part = around.rig.parts[name]
        if name == ground or around.owner(name) or not around.attachable(name):
            continue
        if any(around.owner(other) for other in around.beside.get(name, ())) and around.sort(name) not in RINGS:
            continue
        if around.sort(name) in RINGS:
            found.append((0, name))
        elif part.nature in DEVICES:
            found.append((1, name))
        elif (
            ground in around.beside[name] and around.sort(name) in LOOPS
        ):  # no third pull on a connector, no sling in a sling
            found.append((2, name))
    return sorted(found)


def _moved(around: Around, ground: str, second: str, bodies: tuple[str, ...]) -> Iterator[Proposal]:
    """Of several ropes at one anchor, one goes to an anchor of its own."""
    if len(around.beside.get(ground, ())) < 2:
        return
    for at in around.rig.index.stations(Role.TIE, Role.GRIP):
        line = around.written.get(at.station.place)
        last = line.chain[-1] if line and line.chain else None
        if line and last and last.name and last.name.text == ground and not last.kind:
            moved = replace(line, chain=(*line.chain[:-1], link(second, "anchor")))
            words = f"an anchor of its own for {at.rope.name}, apart from {ground}"
            yield around.proposal("anchor", words, 1, bodies, Edit(becomes={line.place: (moved,)}))
