"""A rope's tail: past the knot at its end, the rope goes on to a point of the body."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.language.edit import Edit, link, word
from analyser.language.edit import station as made_station
from analyser.rig.model import Nature, Role
from analyser.uses.mending.around import Around
from analyser.uses.mending.proposal import Proposal


def _not_on_from(around: Around, met: str, body: str) -> bool:
    """Ground, a body, or what hangs at somebody else: no tail goes on from there."""
    ground = around.rig.parts[met].nature is Nature.GROUND
    return ground or around.owner(met) is not None or around.worn_by_another(met, body)


def propose(around: Around) -> Iterator[Proposal]:
    for body in around.worst:
        near = set(around.near(body))
        for rope in around.rig.ropes:
            if rope.closed:
                continue
            ends = (rope.stations[0], rope.stations[1], True), (rope.stations[-1], rope.stations[-2], False)
            for station, inner, at_start in ends:
                line = around.written.get(station.place)
                met = [name for name in around.beside.get(station.part, ()) if name in near]
                if station.role is not Role.TIE or line is None or not met:
                    continue
                if around.rig.parts[station.part].made_before:  # no rope goes on past it
                    continue
                if not (around.gains(station.part, body) or around.gains(inner.part, body)):
                    continue
                if any(_not_on_from(around, one, body) for one in met):
                    continue
                for point in around.points(body):
                    crab = link(around.names.fresh(f"{body}-tail-crab"), "carabiner")
                    further = made_station("tied", crab, point, knot=word("figure-eight"))
                    becomes = {line.place: (further, line) if at_start else (line, further)}
                    words = f"a long tail of {rope.name} past {station.part}, tied on to {point}"
                    edit = Edit(around.declared(point, body), becomes)
                    yield around.proposal("tail", words, 0, (body,), edit, taste=1)
