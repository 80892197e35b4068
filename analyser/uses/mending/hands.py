"""A self-locking device, or one tied off, where a hand is all that grips; a brake for bare hands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from analyser.checking.finding import listed
from analyser.language.edit import Edit, link, links, more, says
from analyser.language.edit import station as made_station
from analyser.rig.model import Role
from analyser.uses.mending.around import Around
from analyser.uses.mending.proposal import Proposal


def propose(around: Around) -> Iterator[Proposal]:
    rig = around.rig
    bodies = tuple(around.worst)
    gripping = rig.index.parts_in(Role.GRIP)
    by_hand = [
        part for part in rig.parts.values() if part.operated_by and not part.self_locking and part.name in gripping
    ]
    groups: set[tuple[str, ...]] = {(part.name,) for part in by_hand}
    groups |= {tuple(p.name for p in by_hand if p.operated_by == one.operated_by) for one in by_hand}
    if by_hand:
        groups.add(tuple(part.name for part in by_hand))
    for group in sorted(groups, key=lambda one: (len(one), one)):
        words = f"{listed(group)} self-locking, or tied off"
        edit = Edit((more(group, says("self_locking")),))
        yield around.proposal("self-locking", words, 0, bodies, edit, taste=len(group))
    for at in rig.index.stations(Role.HAND):
        line = around.written.get(at.station.place)
        if line is None:
            continue
        person = at.part
        brake, anchor = around.names.fresh(f"{person}-brake"), around.names.fresh(f"{person}-anchor")
        gripped = replace(line, role="gripped", chain=links(link(brake, "brake"), link(anchor, "anchor")))
        laid, stopper = at.rope.stations, made_station("stopper")
        pieces = (*((stopper,) if at.station is laid[0] else ()), gripped)
        pieces += (stopper,) if at.station is laid[-1] and not at.rope.closed else ()
        words = f"a self-locking brake on a new anchor in place of {person}'s bare hands on {at.rope.name}"
        worked = more([brake], says("operated_by", person), says("self_locking"))
        yield around.proposal("brake", words, 1, bodies, Edit((worked,), {line.place: pieces}))
