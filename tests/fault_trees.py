"""Fault trees as monotone systems, for tests only: a tree's top event is the loss of its goal.

A gate of failures turns over into a gate of what still works: `and` of failures works while any
input works, `or` while all do, `atleast k of n` while n - k + 1 do.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from analyser.holding.monotone import AtLeast, least

Gates = dict[str, list[Any]]


class FaultTree:
    """A system (`analyser.holding.system.System`) whose goals are that its top events don't happen."""

    def __init__(self, gates: Gates, *tops: str) -> None:
        inputs = {name: _inputs(gate) for name, gate in gates.items()}
        basic = sorted({one for names in inputs.values() for one in names} - set(gates))
        self.events: Sequence[str] = basic
        self.goals: Sequence[str] = tops
        self.variables = variables = {name: v for v, name in enumerate([*basic, *gates])}
        self.count = len(variables)
        self.columns = 1 << 16
        self.gates = []
        for name, gate in gates.items():
            sources = [variables[one] for one in inputs[name]]
            need = {"and": 1, "or": len(sources)}.get(gate[0]) or len(sources) - int(gate[1]) + 1
            self.gates.append(AtLeast(variables[name], [(need, sources)]))

    def sweep(self, bits: Sequence[int], width: int, asked: Mapping[str, int]) -> dict[str, int]:
        full = (1 << width) - 1
        seeds = [full & ~b for b in bits] + [0] * (self.count - len(bits))
        values = least(seeds, [full] * self.count, [()] * self.count, self.gates)
        return {goal: values[self.variables[goal]] for goal in asked}


def _inputs(gate: list[Any]) -> list[str]:
    return [str(one) for one in (gate[2:] if gate[0] == "atleast" else gate[1:])]


def published(name: str) -> tuple[FaultTree, dict[str, Any]]:
    """A tree of tests/published and the counts published for it."""
    data = json.loads((Path(__file__).parent / "published" / f"{name}.json").read_text())
    return FaultTree(data["gates"], data["top"]), data["minimal_cut_sets"]
