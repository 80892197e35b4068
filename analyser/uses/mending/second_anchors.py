"""A second anchor where every way passes one: slung to what hangs there, or given to one of its ropes."""

from __future__ import annotations

import re
from collections.abc import Iterator

from analyser.rig.model import Nature, Role
from analyser.uses.mending.around import CONNECTORS, LENGTHS, LOOPS, RINGS, Around
from analyser.uses.mending.proposal import BECOMES, Change, Proposal, code_and_comment

DEVICES = (Nature.GRIP, Nature.PULLEY)


def propose(around: Around) -> Iterator[Proposal]:
    for ground in grounds(around):
        bodies = tuple(body for body in around.worst if ground in around.failing_in(body))
        second = around.names.fresh(f"second-{ground}")
        sling = around.names.fresh(f"{second}-sling")
        for taste, name in _slung(around, ground):
            line = f"attach anchor {second} - sling {sling} - {name}"
            words = f"a second anchor beside {ground}, slung to {name}"
            yield Proposal("anchor", words, 1, bodies, (line,), taste=taste)
        yield from _moved(around, ground, second, bodies)
        for body in bodies:
            if around.ropes_to(body) or around.rig.parts[body].standing:
                continue
            for point in around.points(body):
                line = f"attach anchor {second} - sling {sling} - {point}"
                words = f"a sling from a second anchor beside {ground} to {point}"
                yield Proposal("anchor", words, 1, (body,), (*around.declared(point, body), line))


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
        elif ground in around.beside[name] and (around.sort(name) in (*CONNECTORS, *LENGTHS, *LOOPS)):
            found.append((2, name))
    return sorted(found)


def _moved(around: Around, ground: str, second: str, bodies: tuple[str, ...]) -> Iterator[Proposal]:
    """Of several ropes at one anchor, one goes to an anchor of its own."""
    here = []
    for rope in around.rig.ropes:
        for station in rope.stations:
            line = around.written(station)
            if station.role not in (Role.TIE, Role.GRIP) or line is None:
                continue
            code, comment = code_and_comment(line)
            chain = rf"(\s*(?:tied\s+to|gripped\s+by)\s+(?:[^,]*\s-\s+)?){re.escape(ground)}(?![\w.-])(.*)"
            found = re.match(chain, code)
            if found and not re.match(r"\s+-\s", found.group(2)):
                text = f"{found.group(1)}anchor {second}{found.group(2)}{comment}"
                here.append((rope.name, Change(station.place.line, BECOMES, text)))
    if len(around.beside.get(ground, ())) > 1:
        for rope_name, change in here:
            words = f"an anchor of its own for {rope_name}, apart from {ground}"
            yield Proposal("anchor", words, 1, bodies, changes=(change,))
