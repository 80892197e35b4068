"""All the ropes of a body pass over one guarded edge.

The edge and its guard count as two, since both must let go; but they share one place, and one
slip of a pad bares every rope. Keep one rope clear of the edge, or guard each with its own pad.
Source: safety alert 3374 on ropes rigged over an edge, of which an extract was seen (facts 11.9,
S14).
"""

from __future__ import annotations

from collections.abc import Iterator

from analyser.findings.finding import Finding, Severity, listed
from analyser.holding.outcome import Outcome
from analyser.rig.model import Nature, Rig, Role

NAME = "shared-edge"


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    for edge in rig.parts.values():
        if edge.nature is not Nature.EDGE:
            continue
        guards = set(edge.guards)
        for rope in rig.ropes:
            for station in rope.stations:
                if station.role is Role.OVER and station.part == edge.name:
                    guards |= set(station.guards)
        bodies = sorted(
            name
            for name, sets in outcome.failure_sets.items()
            if any(_edge_and_guard(cut, edge.name, guards) for cut in sets)
        )
        if bodies:
            text = (
                f"every rope of {listed(bodies)} passes the edge {edge.name}: "
                f"only its guard ({listed(sorted(guards))}) keeps it from being a single point"
            )
            yield Finding(NAME, Severity.CAUTION, (edge.name,), tuple(bodies), edge.place, text)


def _edge_and_guard(cut: tuple[str, ...], edge: str, guards: set[str]) -> bool:
    if len(cut) != 2 or f"{edge} cuts" not in cut:
        return False
    other = next(one for one in cut if one != f"{edge} cuts")
    return any(other == f"{guard} {mode}" for guard in guards for mode in ("shifts", "fails", "slips"))
