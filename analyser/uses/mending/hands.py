"""A self-locking device, or one tied off, where a hand is all that grips; a brake for bare hands."""

from __future__ import annotations

import re
from collections.abc import Iterator

from analyser.checking.finding import listed
from analyser.rig.model import Role
from analyser.uses.mending.around import Around
from analyser.uses.mending.proposal import BECOMES, Change, Proposal


def propose(around: Around) -> Iterator[Proposal]:
    rig = around.rig
    bodies = tuple(around.worst)
    gripping = {s.part for rope in rig.ropes for s in rope.stations if s.role is Role.GRIP}
    by_hand = [
        part for part in rig.parts.values() if part.operated_by and not part.self_locking and part.name in gripping
    ]
    groups: set[tuple[str, ...]] = {(part.name,) for part in by_hand}
    groups |= {tuple(p.name for p in by_hand if p.operated_by == one.operated_by) for one in by_hand}
    if by_hand:
        groups.add(tuple(part.name for part in by_hand))
    for group in sorted(groups, key=lambda one: (len(one), one)):
        words = f"{listed(group)} self-locking, or tied off"
        yield Proposal("self-locking", words, 0, bodies, (f"{', '.join(group)}: self-locking",), taste=len(group))
    for rope in rig.ropes:
        for station in rope.stations:
            line = around.written(station)
            if station.role is not Role.HAND or line is None:
                continue
            person = station.part
            brake, anchor = around.names.fresh(f"{person}-brake"), around.names.fresh(f"{person}-anchor")
            held = rf"\bheld(\s+)by(\s+){re.escape(person)}(?![\w-])"
            text = re.sub(held, f"gripped by brake {brake} - anchor {anchor}", line, count=1)
            words = f"a self-locking brake on a new anchor in place of {person}'s bare hands on {rope.name}"
            added = (f"{brake}: operated by {person}, self-locking",)
            yield Proposal("brake", words, 1, bodies, added, (Change(station.place.line, BECOMES, text),))
