"""A stopper at a rope's end, behind a device that would let the end run through."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.language.edit import Edit
from analyser.language.edit import station as made_station
from analyser.rig.model import Nature, Role, Rope
from analyser.uses.mending.around import CONNECTORS, Around
from analyser.uses.mending.proposal import Proposal


def propose(around: Around) -> Iterator[Proposal]:
    by_id = around.rig.index.failures
    for rope in around.rig.ropes:
        for station, at_start in ((rope.stations[0], True), (rope.stations[-1], False)):
            line = around.written.get(station.place)
            if station.role is not Role.GRIP or line is None or rope.closed or not _would_jam(around, rope):
                continue
            bodies = tuple(
                body
                for body, sets in around.worst.items()
                if any(station.part in by_id[f].effects.ungripped for one in sets for f in one if f in by_id)
            )
            if bodies:
                words = f"a stopper at the end of {rope.name}, behind {station.part}"
                stopper = made_station("stopper")
                edit = Edit(becomes={line.place: (stopper, line) if at_start else (line, stopper)})
                yield around.proposal("stopper", words, 1, bodies, edit)


def _would_jam(around: Around, rope: Rope) -> bool:
    """A knot jams at a device, a pulley or a connector; at a stem or in a wide ring it may not."""
    through = [s.part for s in rope.stations if s.role is Role.RUN]
    return all(
        around.rig.parts[name].nature in (Nature.PULLEY, Nature.GRIP) or around.sort(name) in CONNECTORS
        for name in through
    )
