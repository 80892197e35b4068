"""A second rope: from an anchor that stays, or from a new one, to the body or to the ring it hangs on."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.language.edit import Edit, declare, link, more, says, word
from analyser.language.edit import rope as made_rope
from analyser.language.edit import station as made_station
from analyser.rig.model import Nature, Role, Rope
from analyser.uses.mending.around import RINGS, Around
from analyser.uses.mending.proposal import Proposal
from analyser.uses.mending.second_anchors import grounds

MOST_TOPS = 3


def propose(around: Around) -> Iterator[Proposal]:
    rings: set[str] = set()
    lost = grounds(around)
    for body in around.worst:
        ropes = around.ropes_to(body)
        if not ropes or around.rig.parts[body].standing:
            continue
        tops = _tops(around, body)
        mine = any(ground in around.failing_in(body) for ground in lost)
        rings_near = [name for name in around.near(body) if around.sort(name) in RINGS]
        near = [name for name in rings_near if around.target(name, body) is not None]
        person = around.rig.parts[body].nature is Nature.PERSON
        ends = [(body, point) for point in _points(around, body) if person or not near]
        ends += [("", name) for name in near if name not in rings]
        rings |= set(near)
        if along := _tracks(around, body, ropes):
            for whose, end in ends:
                yield _track(around, body, along[0], whose, end)
            continue
        for whose, end in ends:
            for top in tops:
                yield _line(around, body, ropes, whose, end, top, 2)
            if mine or not tops:
                new = around.names.fresh(f"{whose or end}-anchor")
                yield _line(around, body, ropes, whose, end, new, 3)


def _points(around: Around, body: str) -> list[str]:
    """The first point to take a rope, and one that is not in doubt if that one is."""
    points = around.points(body)
    doubtful = around.failing_in(body)
    return points[:1] + ([p for p in points[1:] if p not in doubtful][:1] if doubtful & set(points[:1]) else [])


def _tops(around: Around, body: str) -> list[str]:
    """Anchors that hold ropes' ends now and stay in most of what drops the body."""
    holding: set[str] = set()
    for part in around.rig.index.parts_in(Role.TIE, Role.GRIP):
        holding |= {name for name in around.touching([part]) if around.is_anchor(name)}
    counted = [(-around.gains(name, body).bit_count(), name) for name in holding]
    return [name for count, name in sorted(counted) if count][:MOST_TOPS]


def _line(
    around: Around, body: str, ropes: list[tuple[Rope, bool]], whose: str, end: str, top: str, size: int
) -> Proposal:
    """The rope in words: it comes to the body as the body's other ropes do."""
    names = around.names
    base = whose or end
    name = names.fresh(f"{base}-line")
    held = link(top, "anchor" if size == 3 else "")
    worker = _worker(around, body, ropes)
    device = _own_device(around, body) and not (worker and not whose)
    worker = None if device else worker
    edges = _edges(ropes)
    pads = [names.fresh(f"{name}-pad" if len(edges) == 1 else f"{name}-{edge}-pad") for edge in edges]
    brake = names.fresh(f"{name}-brake")
    eight = word("figure-eight")
    gripped = (made_station("stopper"), made_station("gripped", link(brake, "brake"), held))
    stations = [*gripped] if worker else [made_station("tied", held, knot=eight)]
    stations += [made_station("over", edge, guards=(word(pad),)) for edge, pad in zip(edges, pads, strict=True)]
    if device:
        grab = link(names.fresh(f"{base}-back-up"), "rope-grab")
        stations += [made_station("gripped", grab, end), made_station("stopper")]
    else:
        stations.append(made_station("tied", end, knot=eight))
    added = [*around.declared(end, body), *([declare("pad", pads)] if pads else []), made_rope(name, *stations)]
    if worker:
        added.append(more([brake], says("operated_by", worker), says("self_locking")))
    where = f"a new anchor, {top}," if size == 3 else top
    how = ", with a back-up device" if device else ", on a brake of its own" if worker else ""
    bodies = tuple(b for b in around.worst if b == whose or (not whose and end in around.near(b)))
    taste = int(not whose)
    words = f"a further rope from {where} to {end}{how}"
    return around.proposal("line", words, size, bodies, Edit(tuple(added)), taste=taste)


def _own_device(around: Around, body: str) -> bool:
    """Does the body go up or down its ropes on a device of its own?"""
    own = around.touching([body, *around.rig.parts[body].points])
    return around.rig.parts[body].nature is Nature.PERSON and any(
        around.rig.parts[name].nature is Nature.GRIP and not around.grounded(name) for name in own
    )


def _worker(around: Around, body: str, ropes: list[tuple[Rope, bool]]) -> str | None:
    """Who lets the body's ropes out or takes them in, if anybody does: at a device, or with bare hands. A line that is
    tied at both ends could not follow."""
    found: list[str] = []
    for rope, _ in ropes:
        for station in rope.stations:
            part = around.rig.parts[station.part]
            if station.role is Role.GRIP:
                found += [one for one in (part.operated_by, part.minded_by) if one]
            elif station.role is Role.HAND:
                found.append(part.name)
    return next((one for one in found if one != body), None)


def _tracks(around: Around, body: str, ropes: list[tuple[Rope, bool]]) -> list[Rope]:
    """The ropes from ground to ground along which the body runs: a line from the ground would hold its place, and no
    strap from there reaches it wherever it is. None leads to what lies under the body."""
    found = []
    for rope, _ in ropes:
        held = [k for k, s in enumerate(rope.stations) if s.role is Role.TIE and around.grounded(s.part)]
        runs = [k for k, s in enumerate(rope.stations) if s.role is Role.RUN and not around.grounded(s.part)]
        if held and any(held[0] < k < held[-1] for k in runs):
            ends = (rope.stations[held[0]].part, rope.stations[held[-1]].part)
            found += [rope] if not any(_under(around, end, body) for end in ends) else []
    return found


def _under(around: Around, end: str, body: str) -> bool:
    """Does a rope's end lie under the body, by its word or by its place? A line that leads down to it guides, and
    holds nobody: what runs on it runs there."""
    whose = around.rig.parts[body]
    for name in {end, *around.rig.touching[end]}:
        part = around.rig.parts[name]
        if part.nature is Nature.GROUND and part.below is not False:
            placed = part.at is not None and whose.at is not None and part.at[2] < whose.at[2]
            if part.below or body in part.below_for or placed:
                return True
    return False


def _track(around: Around, body: str, track: Rope, whose: str, end: str) -> Proposal:
    """A further track beside one, on anchors of its own, with a pulley of its own at the body or its ring."""
    names, eight = around.names, word("figure-eight")
    name = names.fresh(f"{whose or end}-track")
    wheel = link(names.fresh(f"{name}-wheel"), "pulley")
    stations = (
        made_station("tied", link(names.fresh(f"{name}-anchor"), "anchor"), knot=eight),
        made_station("through", wheel, end),
        made_station("tied", link(names.fresh(f"{name}-far-anchor"), "anchor"), knot=eight),
    )
    bodies = tuple(b for b in around.worst if b == whose or (not whose and end in around.near(b)))
    words = f"a further track beside {track.name}, on two new anchors, with a pulley of its own at {end}"
    edit = Edit((*around.declared(end, body), made_rope(name, *stations)))
    return around.proposal("line", words, 3, bodies, edit, taste=int(not whose))


def _edges(ropes: list[tuple[Rope, bool]]) -> list[str]:
    """The edges that the body's ropes pass, from the ground towards the body, each once."""
    found: list[list[str]] = []
    for rope, towards in ropes:
        edges = [s.part for s in rope.stations if s.role is Role.OVER]
        found.append(list(dict.fromkeys(edges if towards else reversed(edges))))
    found.sort(key=lambda edges: (-len(edges), edges))
    return list(dict.fromkeys(edge for edges in found for edge in edges))
