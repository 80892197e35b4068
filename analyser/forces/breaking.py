"""What breaks with an overload, and what failures do together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analyser.forces.equilibrium import Statics
from analyser.forces.strength import Factor
from analyser.rig.model import Effects, Failure

TOGETHER = 1e-4
"""Share by which strength factors may differ and still be those of parts that break at once."""


@dataclass(frozen=True, slots=True)
class Broken:
    """One part or line that its load breaks, and by how much it is short."""

    name: str
    factor: Factor
    effects: Effects
    """What is lost with it."""


def effects_of(statics: Statics, failures: Iterable[str | Failure]) -> tuple[tuple[str, ...], Effects]:
    """The names and the joint effects of failures, given by id or themselves. Raises KeyError with the
    id that isn't one of the rig's."""
    known = statics.rig.index.failures
    those = [known[one] if isinstance(one, str) else one for one in failures]
    return tuple(failure.id for failure in those), Effects.joint(failure.effects for failure in those)


def breaks(statics: Statics, row: Factor) -> Effects:
    """What happens when a part, or a rope at its worst knot, breaks."""
    part = statics.rig.parts.get(row.name)
    if part is not None:
        return Effects(gone=frozenset({part.name, *part.points}))
    rope = next(one for one in statics.rig.ropes if row.name.startswith(f"{one.name}["))
    for k, span in enumerate(rope.spans):
        if row.knot in (rope.stations[k].part, rope.stations[k + 1].part) and _in(row.name, rope.name, span):
            return Effects(cut=frozenset({span}))
    first = row.name.removeprefix(f"{rope.name}[").split("..")[0]
    at = next(k for k, station in enumerate(rope.stations) if station.label == first)
    return Effects(cut=frozenset({rope.spans[min(at, len(rope.spans) - 1)]}))


def _in(line: str, rope: str, span: str) -> bool:
    """Does a span touch one of a line's two ends?"""
    ends = line.removeprefix(f"{rope}[").removesuffix("]").split("..")
    return bool({*span.removeprefix(f"{rope}[").removesuffix("]").split("..")} & {*ends})
