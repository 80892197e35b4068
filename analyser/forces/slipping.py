"""Which lines slip or lose: devices, hitches and absorbers that let rope through at a force, ropes that give back
less than they took. Only what the file, or a kind with its source, says."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.forces.assembling import Assembly
from analyser.forces.drawn import Drawn
from analyser.rig.model import Part, Quantity, Rig, Role, Rope


@dataclass(frozen=True, slots=True)
class Slip:
    """Newtons at which line number `line` slips, and newtons per unit of strain of what comes into it then: rope
    of line `from_` (None: of none that pulls), at the part `by`. `room`: metres that can come, where it is known."""

    force: float
    ea: float
    line: int
    by: str
    from_: int | None = None
    room: float | None = None


def slips(rig: Rig, said: Drawn, assembly: Assembly) -> dict[int, Slip]:
    """By line: where it slips first."""
    ropes = {rope.name: rope for rope in rig.ropes}
    found: dict[int, Slip] = {}
    for k, line in enumerate(assembly.lines):
        if line.part is not None:
            told = _figure(rig.parts[line.part], "slips at")
            if told is not None:
                found[k] = Slip(told.si, line.ea, k, line.part, None, _metres(rig.parts[line.part]))
            continue
        rope = ropes[line.rope or ""]
        for label in (line.labels[0], line.labels[-1]):
            at, station = next((n, s) for n, s in enumerate(rope.stations) if s.label == label)
            part = rig.parts.get(station.part)
            told = _figure(part, "slips at") if part is not None and station.role is Role.GRIP else None
            if part is None or told is None or (k in found and found[k].force <= told.si):
                continue
            other = next(
                (
                    n
                    for n, one in enumerate(assembly.lines)
                    if n != k and one.rope == line.rope and label in (one.labels[0], one.labels[-1])
                ),
                None,
            )
            room = [one for one in (_behind(rope, at, label, line.labels, said), _metres(part)) if one is not None]
            found[k] = Slip(told.si, line.ea, k, station.part, other, min(room, default=None))
    return found


def _behind(rope: Rope, at: int, label: str, labels: tuple[str, ...], said: Drawn) -> float | None:
    """Metres of rope behind a device: to the rope's end, or the next thing that holds it; None where it isn't told."""
    towards_end = label == labels[-1]
    tail = said.tails.get(rope.name, (None, None))[1 if towards_end else 0]
    spans = rope.spans[at:] if towards_end else rope.spans[:at]
    return None if tail is None else tail + sum(sum(said.spans.get(span, (0.0, 0.0))) for span in spans)


def losses(rig: Rig, assembly: Assembly) -> dict[int, float]:
    """By line: the share of the energy of its first stretch that it doesn't give back, where the file says so."""
    ropes = {rope.name: rope for rope in rig.ropes}
    found: dict[int, float] = {}
    for k, line in enumerate(assembly.lines):
        of: Part | Rope = rig.parts[line.part] if line.part is not None else ropes[line.rope or ""]
        told = _figure(of, "loss")
        if told is not None:
            found[k] = min(told.si, 0.95)
    return found


def _figure(of: Part | Rope | None, key: str) -> Quantity | None:
    return dict(of.quantities).get(key) if of is not None else None


def _metres(of: Part) -> float | None:
    told = _figure(of, "slips up to")
    return told.si if told else None
